"""Where the wideband sits, as the user says it for the car or for one log; also that nobody can tell."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.evidence.evidence import evidence
from workbench.commands.logs.logs import amend_log
from workbench.commands.record.plain_form import pack, unpack
from workbench.commands.record.settings import settings
from workbench.commands.record.undoing import undo
from workbench.demo.drive import drive
from workbench.demo.engine import stale_table
from workbench.demo.scenario import Scenario
from workbench.errors import InputError
from workbench.files.store.rows import kind_and_payload, to_json
from workbench.files.store.versions import version_of
from workbench.model.evidence import Evidence
from workbench.model.log import CarsWideband, Drive
from workbench.model.state import DriveAdded, SettingsSet
from workbench.session import Session
from workbench.work import run

CAR = Scenario(seed=7, minutes=3, pulls=1, start_coolant_c=84.0, rate_hz=10.0)


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """Two drives of a virtual car, whose wideband sits before the catalyst."""
    logs = [replace(drive(CAR, number=number).log, name=f"{number}.csv", sha256=f"{number:064x}") for number in (1, 2)]
    with Session.create(tmp_path / "car.session", stale_table(CAR)) as made:
        made.record(DriveAdded(tuple(Drive(number, log, 1) for number, log in enumerate(logs, 1))))
        yield made


def found(session: Session) -> Evidence:
    return run(evidence(session.state)).value


def state_it(session: Session, place: CarsWideband) -> tuple[str, ...]:
    answer = settings(session.state, wideband=place, against_logs=True)
    assert answer.change is not None
    session.record(answer.change)
    return answer.lines


def test_that_nobody_can_tell_leaves_it_to_the_logs_and_a_log_may_have_its_own(session: Session) -> None:
    by_itself = found(session)
    assert set(by_itself.wideband.values()) == {"before"}
    said = state_it(session, "unknown")
    assert "wideband: nobody can tell its position; recognised from the drives where they show it" in said
    told = found(session)
    assert told.wideband == by_itself.wideband
    np.testing.assert_array_equal(told.ratio, by_itself.ratio)
    own = amend_log(session.state, 2, wideband="after", against_logs=True).change
    assert own is not None
    session.record(own)
    assert found(session).wideband == {1: "before", 2: "after"}
    state_it(session, "after")
    assert set(found(session).wideband.values()) == {"after"}
    taken_back = undo(session.state).change
    assert taken_back is not None
    session.record(taken_back)
    assert session.state.settings.wideband == "unknown"


def test_it_is_kept_and_only_a_session_that_says_it_asks_for_a_newer_program(session: Session, tmp_path: Path) -> None:
    """A program that does not know the answer would take the settings for damaged: it is told to be too old."""
    versions = {}
    places: tuple[CarsWideband, ...] = ("auto", "before", "unknown")
    for place in places:
        kind, payload = kind_and_payload(SettingsSet(replace(session.state.settings, wideband=place)))
        versions[place] = version_of(kind, to_json(payload))
    assert versions == {"auto": 1, "before": 1, "unknown": 4}
    state_it(session, "unknown")
    run(unpack(session.state, tmp_path / "plain"))
    run(pack(tmp_path / "plain", tmp_path / "again.session"))
    for path in (Path(session.state.path), tmp_path / "again.session"):
        with Session.open(path) as again:
            assert again.state.settings.wideband == "unknown"


def test_a_place_that_the_logs_tell_otherwise_is_taken_only_once_it_is_said_to_be_so(session: Session) -> None:
    """It was taken without a word, most readings were left out, and the verdict looked better for it."""
    assert set(found(session).placed_by) == {1, 2}
    for refused in (
        lambda: settings(session.state, wideband="after"),
        lambda: amend_log(session.state, 2, wideband="after"),
    ):
        with pytest.raises(InputError) as refusal:
            refused()
        assert "Stated was after the catalyst, but" in refusal.value.message
        assert "it is before the catalyst" in refusal.value.message
        assert "--against-logs" in str(refusal.value.hint)
        assert refusal.value.details["confirm"] == "against_logs"
    assert settings(session.state, wideband="before").change is not None, "what the logs say needs no word"
    assert amend_log(session.state, 1, wideband="before").change is not None
    assert settings(session.state, wideband="after", against_logs=True).change is not None
