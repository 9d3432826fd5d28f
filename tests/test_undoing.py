"""Whatever was recorded can be taken back, one thing after the other, and done again; nothing of it is lost."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.commands.declaring.kinds import TableName
from workbench.commands.record.exports import export
from workbench.commands.record.revisions import roll_back
from workbench.commands.record.undoing import redo, undo
from workbench.commands.table.hand import scale
from workbench.errors import InputError, NothingToUndoError, StaleError
from workbench.model.deed import Acknowledgement, InCar
from workbench.model.derived import ComputedChannel
from workbench.model.ecu_format import EcuFormat, Storage
from workbench.model.evidence import KeptDelay
from workbench.model.log import AnalogueInput, Drive, LeftOut
from workbench.model.state import (
    Acknowledged,
    BranchNamed,
    Change,
    ChannelComputed,
    DriveAdded,
    DriveCorrected,
    EcuFormatSet,
    InputStated,
    PutInCar,
    SettingsSet,
    State,
    TakenBack,
)
from workbench.session import Session

ACTS = (
    "scale", "settings", "delay", "storage", "log", "role", "left out", "input", "computed", "caution", "branch", "car",
    "roll back",
)  # fmt: skip


def change_for(act: str, n: int, state: State, make_drive: Callable[..., Drive]) -> Change:  # noqa: C901, PLR0911 - one each
    """Make a change of a kind that fits the state."""
    if act == "settings":
        return SettingsSet(replace(state.settings, part_throttle_target=0.01 + n / 1000))
    if act == "delay":
        return SettingsSet(replace(state.settings, delays=(KeptDelay(n % 2, 0.1 + n / 100, 0.5, 0.08),)))
    if act == "input":
        return InputStated("MAF", "V", AnalogueInput("MAF", "V", "g/s", ((0.0, 0.0), (5.0, 100.0 + n))))
    if act == "computed":
        return ChannelComputed("Twice", ComputedChannel("Twice", f"2 * MAF + {n}", "g/s"))
    if act == "storage":
        return EcuFormatSet("airflow", EcuFormat(storage=Storage(step=0.001 * (n + 1), bits=24)))
    if act == "log" or (act in ("role", "left out") and not state.drives):
        return DriveAdded((replace(make_drive(state.next_drive), id=state.next_drive),))
    if act == "role":
        return DriveCorrected(state.drives[-1].id, 1, "after", {"load": "MAF"} if n % 2 else {})
    if act == "left out":
        last = state.drives[-1]
        return DriveCorrected(
            last.id, last.revision, last.wideband, last.as_read.roles, left_out=(LeftOut(0.1, 0.2 + n / 100, "lifted"),)
        )
    if act == "roll back" and (back := roll_back(state, 1).change) is not None:
        return back
    if act == "caution":
        return Acknowledged(Acknowledgement(f"1:hot-{n % 3}", "hot", f"reason {n}", "me", "2026-01-01T00:00:00Z"))
    if act == "branch":
        return BranchNamed(1, f"branch {n}" if n % 3 else "")
    if act == "car":
        return PutInCar(InCar(state.head().id, f"2026-01-01T00:00:{n:02d}Z", "me"))
    made = scale(state, by=1.01 + n / 100).change
    assert made is not None
    return made


def seen(state: State) -> dict[str, Any]:
    """Give all that a user sees of a state, without what only grows."""
    return {
        "heads": dict(state.history.heads),
        "settings": state.settings,
        "storage": state.ecu_format().storage,
        "logs": [(each.id, each.wideband, dict(each.log.roles)) for each in state.drives],
        "branches": dict(state.branches),
        "in_car": [mark for marks in state.in_car.values() for mark in marks],
        "left_out": [each.left_out for each in state.drives],
        "values": [repr(each.values.tolist()) for drive in state.drives for each in drive.log.channels],
        "inputs": dict(state.inputs),
        "computed": dict(state.computed),
        "acknowledged": {name: said.reason for name, said in state.acknowledged.items()},
    }


@given(st.lists(st.sampled_from(ACTS), min_size=1, max_size=12))
def test_all_is_taken_back_in_turn_and_done_again(acts: list[str]) -> None:
    from tempfile import TemporaryDirectory

    with TemporaryDirectory() as folder:
        _back_and_forth(Path(folder) / "car.session", acts)


def _back_and_forth(path: Path, acts: list[str]) -> None:
    with Session.create(path, _curve(), author="tester") as session:
        states = [seen(session.state)]
        for n, act in enumerate(acts):
            session.record(change_for(act, n, session.state, _drive))
            states.append(seen(session.state))
        for expected in reversed(states[:-1]):
            change = undo(session.state).change
            assert change is not None
            session.record(change)
            assert seen(session.state) == expected
        with pytest.raises(NothingToUndoError):
            undo(session.state)
        with Session.open(path) as again:
            assert seen(again.state) == states[0]
        for expected in states[1:]:
            change = redo(session.state).change
            assert change is not None
            session.record(change)
            assert seen(session.state) == expected
        with Session.open(path) as again:
            assert seen(again.state) == states[-1]
            assert again.state.sequence == 1 + 3 * len(acts)


def test_what_a_later_change_stands_on_is_not_taken_back_before_it(
    session: Session, make_drive: Callable[..., Drive]
) -> None:
    session.record(DriveAdded((make_drive(1),)))
    added = session.state.sequence
    session.record(DriveCorrected(1, 1, "after", {}))
    with pytest.raises(StaleError):
        session.record(TakenBack(added))


def test_a_log_taken_out_counts_no_more_and_its_number_is_not_given_again(
    session: Session, make_drive: Callable[..., Drive]
) -> None:
    session.record(DriveAdded((make_drive(1),)))
    answer = undo(session.state)
    assert "town.csv" in answer.lines[0]
    assert answer.change is not None
    session.record(answer.change)
    assert session.state.drives == ()
    with pytest.raises(InputError, match="was removed"):
        session.state.drive(1)
    session.record(DriveAdded((make_drive(2),)))
    assert [each.id for each in session.state.drives] == [2]


def _curve() -> Any:
    import numpy as np

    from workbench.model.table import Axis, Table

    axis = Axis("sensor signal", "Hz", np.array([1000.0, 2000, 3000]))
    return Table("airflow", "mass airflow", "g/s", (axis,), np.array([2.0, 6.0, 15.5]))


def _drive(number: int) -> Drive:
    import numpy as np

    from workbench.model.log import Channel, Log
    from workbench.model.packing import Column

    time = np.arange(20) / 20
    log = Log("town.csv", f"{number:064x}", Column(time), (Channel("MAF", "g/s", Column(5 + time), "g/s"),), {}, {})
    return Drive(number, log, 1, "before", "2026-01-01T00:00:00Z")


def test_an_undo_to_what_is_leaner_than_what_was_driven_is_told(
    session: Session, make_drive: Callable[..., Drive]
) -> None:
    session.record(scale(session.state, by=1.05).change)
    session.record(DriveAdded((make_drive(1, 2),)))
    told = undo(session.state, table=TableName("airflow"))
    assert any(
        "leaner at high load than revision 2, which was driven last, by up to 4.8 %" in each for each in told.lines
    )
    session.record(told.change)
    assert not any("leaner" in each for each in redo(session.state, table=TableName("airflow")).lines)


def test_a_redo_to_what_is_leaner_than_what_was_driven_is_told(
    session: Session, make_drive: Callable[..., Drive]
) -> None:
    session.record(scale(session.state, by=0.95).change)
    session.record(DriveAdded((make_drive(1, 1),)))
    session.record(undo(session.state, table=TableName("airflow")).change)
    told = redo(session.state, table=TableName("airflow"))
    assert any(
        "leaner at high load than revision 1, which was driven last, by up to 5.0 %" in each for each in told.lines
    )
    assert told.data["leaner_than_driven"]


def test_rolling_back_to_what_is_leaner_than_what_was_driven_is_told(
    session: Session, make_drive: Callable[..., Drive]
) -> None:
    session.record(scale(session.state, by=1.05).change)
    session.record(DriveAdded((make_drive(1, 2),)))
    told = roll_back(session.state, 1)
    assert any("lean the mixture at high load since revision 2" in each for each in told.warnings)
    assert told.data["lean_step"]["name"] == "lean-step-at-high-load"
    richer = roll_back(session.state, 2)
    assert not richer.warnings
    session.record(told.change)
    assert not any("leaner" in each for each in undo(session.state, table=TableName("airflow")).lines)


def test_a_lean_draft_needs_its_yes_by_name(session: Session, make_drive: Callable[..., Drive], tmp_path: Path) -> None:
    session.record(scale(session.state, by=0.95).change)
    with pytest.raises(InputError, match="lean the mixture at high load") as refused:
        export(session.state, tmp_path / "out.csv", draft=True)
    assert "A draft is flashed too" in refused.value.hint
    assert not list(tmp_path.glob("out*"))
    accepted = ("lean-step-at-high-load",)
    assert export(session.state, tmp_path / "out.csv", draft=True, accept=accepted).data["lean_step"] is not None
    session.record(undo(session.state, table=TableName("airflow")).change)
    assert export(session.state, tmp_path / "back.csv", draft=True).data["lean_step"] is None
