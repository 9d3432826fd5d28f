"""A table that is leaner at high load than what is in the car does not go back there unasked."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from workbench.commands.declaring.registry import Answer
from workbench.commands.record.approving import approve
from workbench.commands.record.branches import put_in_car
from workbench.commands.record.exports import export
from workbench.commands.record.undoing import undo
from workbench.commands.table.hand import scale
from workbench.errors import InputError
from workbench.files.disk.clock import now
from workbench.model.log import Drive
from workbench.model.state import DriveAdded
from workbench.session import Session
from workbench.work import run

LEAN = ("lean-step-at-high-load",)
STANDING = (*LEAN, "undriven-changed", "not-driven-since", "no-evidence")
YES = tuple(f"{name}=looked into" for name in STANDING)
SINCE_2 = "lean the mixture at high load since revision 2"


class Desk:
    """A session in which each deed is done a minute after the one before."""

    def __init__(self, session: Session, make_drive: Callable[..., Drive], monkeypatch: pytest.MonkeyPatch) -> None:
        """Begin at noon."""
        self.session, self._make, self._patch, self._clock = session, make_drive, monkeypatch, 1_900_000_000

    def do(self, deed: Callable[..., object], *given: object, **named: object) -> Answer[object]:
        """Do it and record it."""
        self.later()
        outcome = deed(self.session.state, *given, **named)
        answer: Answer[object] = outcome if isinstance(outcome, Answer) else run(outcome)  # type: ignore[arg-type]
        if answer.change is not None:
            self.session.record(answer.change)
        return answer

    def drive(self, revision: int) -> None:
        """Add a log that was driven with a revision."""
        self.later()
        number = self.session.state.next_drive
        self.session.record(DriveAdded((replace(self._make(number, revision, f"{number}.csv"), added=now()),)))

    def later(self) -> None:
        """Let a minute pass."""
        self._clock += 60
        self._patch.setenv("SOURCE_DATE_EPOCH", str(self._clock))


@pytest.fixture
def desk(session: Session, make_drive: Callable[..., Drive], monkeypatch: pytest.MonkeyPatch) -> Desk:
    return Desk(session, make_drive, monkeypatch)


@pytest.fixture
def corrected(desk: Desk) -> Desk:
    """Revision 1 was driven and ran lean; revision 2, richer by a tenth, is driven now."""
    desk.drive(1)
    desk.do(scale, by=1.1)
    desk.do(export, Path(desk.session.state.path).with_name("two.csv"), draft=True)
    return desk


@pytest.mark.parametrize("how", ["put", "driven", "both"])
def test_what_ran_lean_does_not_go_back_unasked(corrected: Desk, how: str, tmp_path: Path) -> None:
    if how != "driven":
        corrected.do(put_in_car, 2)
    if how != "put":
        corrected.drive(2)
    with pytest.raises(InputError, match=SINCE_2) as refused:
        corrected.do(put_in_car, 1)
    assert refused.value.details["accept"] == list(LEAN)
    with pytest.raises(InputError, match=SINCE_2):
        corrected.do(export, tmp_path / "one.csv", revision=1, draft=True)
    assert corrected.do(put_in_car, 2).warnings == ()  # what is there already
    told = corrected.do(export, tmp_path / "one.csv", revision=1, draft=True, accept=LEAN)
    assert isinstance(told.data["lean_step"], dict)
    assert corrected.do(put_in_car, 1).warnings == ()  # that very step was accepted as the draft was made
    assert corrected.do(put_in_car, 2).warnings == ()  # richer
    with pytest.raises(InputError, match=SINCE_2):  # the yes was given before revision 2 was put there again
        corrected.do(put_in_car, 1)
    assert SINCE_2 in str(corrected.do(put_in_car, 1, accept=LEAN).warnings)


@pytest.mark.parametrize("marked", [False, True])
def test_the_usual_way_asks_once(desk: Desk, tmp_path: Path, *, marked: bool) -> None:
    if marked:
        desk.do(put_in_car, 1)
    desk.drive(1)
    desk.do(scale, by=0.95)
    desk.do(approve, by="A. Tester", accept=YES)
    desk.drive(1)  # once more, before it goes in
    desk.do(export, tmp_path / "out.csv")
    assert desk.do(put_in_car).warnings == ()
    desk.do(undo)
    desk.do(put_in_car, 2)


def test_an_approval_of_before_does_not_speak_for_what_came_after(desk: Desk, tmp_path: Path) -> None:
    desk.drive(1)
    desk.do(scale, by=0.95)
    desk.do(approve, by="A. Tester", accept=YES)
    desk.do(put_in_car)
    desk.drive(2)
    desk.do(put_in_car, 1)
    with pytest.raises(InputError, match="lean the mixture at high load since revision 1"):
        desk.do(put_in_car, 2)
    with pytest.raises(InputError, match="lean the mixture at high load since revision 1"):
        desk.do(export, tmp_path / "out.csv", revision=2, draft=True)


def test_what_was_in_the_car_before_may_be_recorded_late(corrected: Desk) -> None:
    before = now()
    corrected.do(put_in_car, 2)
    assert "was in the car from" in corrected.do(put_in_car, 1, at=before).lines[0]
