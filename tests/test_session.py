"""The one object that changes: a model of it beside it, and its promises."""

import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from workbench.commands.declaring.registry import Answer
from workbench.commands.record.exports import replay_problems
from workbench.commands.record.revisions import roll_back
from workbench.commands.record.undoing import redo, undo
from workbench.commands.table.hand import scale, set_cells
from workbench.errors import FileError, NothingToUndoError, StaleError
from workbench.model.cells import read_cells
from workbench.model.state import Applied, Change, HeadMoved, State
from workbench.model.table import Axis, Table
from workbench.session import Session, copy_shipped


def test_subscribers_are_told_after_the_change_is_kept(session: Session) -> None:
    told: list[tuple[Change | None, int]] = []
    end = session.subscribe(lambda change, state: told.append((change, state.sequence)))
    change = scale(session.state, by=1.1).change
    assert change is not None
    assert session.record(change) is session.state
    end()
    end()
    session.record(HeadMoved("airflow", 1))
    assert told == [(change, 2)]


def test_a_change_made_from_an_older_head_is_refused(session: Session) -> None:
    first, second = scale(session.state, by=1.1).change, scale(session.state, by=1.2).change
    assert first is not None
    assert second is not None
    after = session.record(first)
    with pytest.raises(StaleError):
        session.record(second)
    assert session.state is after


def test_what_another_wrote_is_looked_at_before_it_is_taken_in(session: Session) -> None:
    assert session.ahead() is None
    with Session.open(Path(session.state.path)) as other:
        change = scale(other.state, by=1.1).change
        assert change is not None
        other.record(change)
    before = session.state
    for _ in range(2):
        seen = session.ahead()
        assert seen is not None
        assert seen.sequence == before.sequence + 1
        assert session.state is before
    assert session.reload()
    assert session.state.table().values[0] == pytest.approx(1.1 * before.table().values[0])
    assert session.ahead() is None


def test_who_cannot_wait_is_refused_at_once_while_another_writes(session: Session) -> None:
    change = scale(session.state, by=1.1).change
    assert change is not None
    session.wait_for_others(0.0)
    with closing(sqlite3.connect(session.state.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(FileError):
            session.record(change)
        other.execute("ROLLBACK")
    assert session.record(change).sequence == 2


def test_a_state_is_a_value_of_its_own(session: Session) -> None:
    before = session.state
    change = set_cells(before, to=3.0, cells=read_cells("0")).change
    assert change is not None
    session.record(change)
    assert before.table().values[0] == 2.0
    assert session.state.table().values[0] == 3.0
    with pytest.raises(ValueError, match="read-only"):
        session.state.table().values[0] = 4.0


def test_a_session_without_a_table_is_refused(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("workbench.files.store.store.Store.changes", lambda self, after=0: [])
    with pytest.raises(FileError, match="holds no table"):
        Session.open(Path(session.state.path))


def test_a_file_whose_changes_do_not_follow_is_refused(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    stray = Applied(session.state.head())
    monkeypatch.setattr("workbench.files.store.store.Store.changes", lambda self, after=0: [stray, stray])
    with pytest.raises(FileError, match="change 2 does not follow"):
        Session.open(Path(session.state.path))


class Model(RuleBasedStateMachine):
    """Apply, undo, redo, roll back and reopen, against plain lists of values."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        axis = Axis("signal", "Hz", np.arange(1.0, 5))
        table = Table("airflow", "mass airflow", "g/s", (axis,), np.array([0.1, 1.7, 33.3, 120.0]))
        self.session = Session.create(Path(self.folder.name) / "car.session", table)
        self.values = {1: table.values.tolist()}
        self.parent: dict[int, int | None] = {1: None}
        self.left: dict[int, int] = {}
        self.head = 1

    def teardown(self) -> None:
        self.session.close()
        self.folder.cleanup()

    def keep(self, answer: Answer) -> None:
        if answer.change is None:
            return
        state = self.session.record(answer.change)
        if isinstance(answer.change, Applied):
            number = answer.change.revision.id
            self.parent[number], self.head = self.head, number
            self.values[number] = state.table().values.tolist()

    @rule(by=st.floats(0.5, 2), first=st.integers(0, 3), length=st.integers(0, 3))
    def scaled(self, by: float, first: int, length: int) -> None:
        cells = read_cells(f"{first}:{min(first + length, 3)}")
        expected = list(self.values[self.head])
        for i in range(first, min(first + length, 3) + 1):
            expected[i] *= by
        self.keep(scale(self.session.state, by=by, cells=cells))
        assert self.values[self.head] == expected

    @rule(to=st.floats(1e-6, 1e6), at=st.integers(0, 3))
    def was_set(self, to: float, at: int) -> None:
        expected = list(self.values[self.head])
        expected[at] = to
        self.keep(set_cells(self.session.state, to=to, cells=read_cells(str(at))))
        assert self.values[self.head] == expected

    @rule()
    def undone(self) -> None:
        before = self.parent[self.head]
        if before is None:
            with pytest.raises(NothingToUndoError):
                undo(self.session.state)
            return
        self.keep(undo(self.session.state))
        self.left[before], self.head = self.head, before

    @rule()
    def redone(self) -> None:
        if self.head not in self.left:
            with pytest.raises(NothingToUndoError):
                redo(self.session.state)
            return
        self.keep(redo(self.session.state))
        self.head = self.left[self.head]

    @precondition(lambda self: len(self.values) > 1)
    @rule(data=st.data())
    def rolled_back(self, data: st.DataObject) -> None:
        to = data.draw(st.sampled_from(sorted(self.values)))
        self.keep(roll_back(self.session.state, to))
        assert self.values[self.head] == self.values[to]

    @rule()
    def reopened(self) -> None:
        self.session.close()
        self.session = Session.open(Path(self.session.state.path))

    @invariant()
    def agrees(self) -> None:
        state: State = self.session.state
        assert state.head().id == self.head
        assert state.table().values.tolist() == self.values[self.head]
        assert {each.id: each.table.values.tolist() for each in state.history.revisions} == self.values
        assert replay_problems(state.history) == []


TestModel = Model.TestCase
TestModel.settings = settings(
    max_examples=15, stateful_step_count=20, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)


@pytest.mark.parametrize("much", [4, 100, 4096])
def test_what_was_written_over_in_place_is_found(session: Session, much: int) -> None:
    """The pages that were read may still be at hand: then only the file's own first bytes tell."""
    session.find_file()
    with Path(session.state.path).open("r+b") as file:
        file.write(b"x" * much)
    with pytest.raises(FileError):
        session.find_file()


def test_a_shipped_session_that_is_missing_is_named(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"gone\.session cannot be read") as refused:
        copy_shipped(tmp_path / "gone.session", tmp_path / "mine.session")
    assert "Install the program again" in str(refused.value.hint)
    assert not (tmp_path / "mine.session").exists()


def test_a_session_that_is_gone_is_found_gone(session: Session) -> None:
    Path(session.state.path).unlink()
    with pytest.raises(FileError):
        session.find_file()
