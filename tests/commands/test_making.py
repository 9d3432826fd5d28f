"""Revisions as commands make them, and what every declared command is guarded by."""

from typing import Annotated

import numpy as np
import pytest

from workbench.commands.declaring.kinds import FIRST, Between, TableName
from workbench.commands.declaring.making import bring_in, revise, revised
from workbench.commands.declaring.registry import COMMANDS, Answer, command
from workbench.commands.declaring.telling import plain
from workbench.commands.record.exports import replay_problems
from workbench.commands.table.hand import scale
from workbench.errors import InputError
from workbench.model.history import History
from workbench.model.state import Applied, State
from workbench.model.table import Axis, Table
from workbench.session import Session


def test_a_fault_of_a_command_is_not_recorded(session: Session, curve: Table) -> None:
    after = curve.with_values(curve.values * 1.1)
    with pytest.raises(ValueError, match="not both"):
        revise(session.state, "airflow", after, np.full(5, 1.2), "x", {}, "")
    other = Table("airflow", "mass airflow", "g/s", (Axis("s", "Hz", np.arange(5.0)),), curve.values)
    with pytest.raises(ValueError, match="set outright"):
        revise(session.state, "airflow", other, np.ones(5), "x", {}, "")


def test_a_revision_knows_what_when_and_who(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "0")
    monkeypatch.setattr("workbench.commands.declaring.making.user_name", lambda: "someone")
    change = scale(session.state, by=1.1, note="why").change
    assert isinstance(change, Applied)
    made = change.revision
    assert (made.author, made.time, made.note, made.operation) == ("someone", "1970-01-01T00:00:00Z", "why", "scale")
    assert made.arguments == {"by": 1.1, "cells": "all"}
    assert made.digest == made.chained(session.state.head().digest)


def test_labels_alone_are_a_change(session: Session, curve: Table) -> None:
    renamed = Table("airflow", "airflow", "g/s", curve.axes, curve.values)
    assert revised(session.state, renamed, "set", {}, "").change is not None


def test_two_tables_have_two_names(session: Session, curve: Table) -> None:
    with pytest.raises(InputError, match="already"):
        bring_in(session.state, curve, "add-table", {}, "")


def test_plain_values_are_json() -> None:
    value = {"a": np.array([[1.0, np.nan]]), 2: (np.float64("inf"), np.int64(3), True, None), "c": Between}
    assert plain(value) == {"a": [[1.0, None]], "2": [None, 3, True, None], "c": str(Between)}


def test_a_replay_finds_what_was_changed(session: Session) -> None:
    state = session.record(scale(session.state, by=1.1).change)
    first, second = state.history.revisions
    assert replay_problems(state.history) == []
    table = second.table.with_values(second.table.values + 1)
    changed = type(second)(**{**second.__dict__, "table": table})
    problems = replay_problems(History((first, changed), {"airflow": 2}, {}, {}))
    assert len(problems) == 2
    assert "digest does not match" in problems[0]
    assert "in 5 cells (first at 1000 Hz)" in problems[1]


def test_every_declared_command_is_guarded() -> None:
    @command("A test", menu="Test", word="a-test")
    def act(
        state: State,
        *,
        share: Annotated[float, Between(0, 1)] = 0.5,
        count: Annotated[int | None, Between(1, 3)] = None,
        many: tuple[float, ...] = (),
        table: TableName = FIRST,
    ) -> Answer[None]:
        """Do nothing.

        Args:
            share: a share
                over two lines.
            count: a count.
            many: numbers.
            table: a table.
        """
        return Answer(None, dict)

    try:
        declared = COMMANDS["a-test"]
        assert declared.takes_state
        assert declared.parameters[0].help == "a share over two lines."
        state = State("", History((), {}, {}, {}))
        assert act(state, share=1, count=3, many=(1.0,)) == Answer(None, dict)
        for wrong in ({"share": 1.1}, {"share": float("nan")}, {"count": 4}, {"many": (1.0, float("inf"))}):
            with pytest.raises(InputError):
                act(state, **wrong)
        with pytest.raises(ValueError, match="two commands"):
            command("Another", menu="Test", word="a-test")(act)
    finally:
        del COMMANDS["a-test"]
