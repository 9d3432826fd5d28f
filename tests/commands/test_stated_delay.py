"""A stated delay: seconds alone, three numbers, or three named ones."""

import json
from collections.abc import Iterator
from dataclasses import asdict, replace
from pathlib import Path

import pytest

from workbench.commands.evidence.delays import wideband_delay
from workbench.commands.evidence.evidence import evidence, stated
from workbench.commands.record.plain_form import pack, unpack
from workbench.commands.record.undoing import redo, undo
from workbench.demo.drive import drive
from workbench.demo.engine import stale_table
from workbench.demo.scenario import Scenario
from workbench.errors import InputError
from workbench.files.store.decoding import read_settings
from workbench.files.store.rows import kind_and_payload, to_json
from workbench.files.store.versions import version_of
from workbench.model.log import Drive
from workbench.model.state import DriveAdded, SettingsSet
from workbench.session import Session
from workbench.work import run

CAR = Scenario(seed=7, minutes=3, pulls=1, start_coolant_c=84.0, rate_hz=10.0)


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        ("1.1", (1.1, 0.0, 0.0)),
        ("0.1,1.0,0.08", (0.1, 1.0, 0.08)),
        ("fixed=0.1, volume=1.0, lag=0.08", (0.1, 1.0, 0.08)),
        ("volume=2", (0.0, 2.0, 0.0)),
    ],
)
def test_what_is_meant(words: str, meant: tuple[float, float, float]) -> None:
    delay = stated(words)
    assert delay is not None
    assert (delay.fixed_s, delay.volume_g, delay.lag_s) == meant


@pytest.mark.parametrize("words", ["x", "1,2", "late=1", "fixed=1,fixed=2", "9", "-1"])
def test_what_is_refused(words: str) -> None:
    with pytest.raises(InputError):
        stated(words)


@pytest.fixture
def two_drives(tmp_path: Path) -> Iterator[Session]:
    """Two drives of a virtual car with a wideband."""
    logs = [replace(drive(CAR, number=number).log, name=f"{number}.csv", sha256=f"{number:064x}") for number in (1, 2)]
    with Session.create(tmp_path / "car.session", stale_table(CAR)) as made:
        made.record(DriveAdded(tuple(Drive(number, log, 1) for number, log in enumerate(logs, 1))))
        yield made


def kept(session: Session, words: str, log: int | None = None) -> tuple[str, ...]:
    answer = wideband_delay(session.state, words, log=log)
    assert answer.change is not None
    session.record(answer.change)
    return answer.lines


def used(session: Session) -> dict[int, tuple[float, str, str]]:
    found = run(evidence(session.state)).value
    return {number: (each.fixed_s, each.source, each.carried_by) for number, each in found.delay.items()}


def test_a_delay_is_kept_for_the_car_and_for_one_drive_and_undone(two_drives: Session) -> None:
    before = used(two_drives)
    assert {source for _, source, _ in before.values()} <= {"estimated", "default"}
    assert kept(two_drives, "0.3") == ("The wideband's delay of the car is kept: 0.30 s + 0 g / airflow, lag 0.00 s.",)
    assert used(two_drives) == dict.fromkeys((1, 2), (0.3, "stated", "stated for the car"))
    kept(two_drives, "fixed=0.4,lag=0.1", log=2)
    own = {1: (0.3, "stated", "stated for the car"), 2: (0.4, "stated", "stated for drive 2")}
    assert used(two_drives) == own
    # What is said with the command itself goes before what is kept.
    found = run(evidence(two_drives.state, delay="0.2")).value
    assert {each.fixed_s for each in found.delay.values()} == {0.2}
    with Session.open(Path(two_drives.state.path)) as again:
        assert used(again) == own
    told = undo(two_drives.state)
    assert told.lines == ("Undone: the wideband's delay of drive 2.",)
    assert told.change is not None
    two_drives.record(told.change)
    assert {each for each, _, _ in used(two_drives).values()} == {0.3}
    back = redo(two_drives.state).change
    assert back is not None
    two_drives.record(back)
    assert used(two_drives) == own
    assert "estimated from the logs again" in kept(two_drives, "")[0]
    assert used(two_drives)[2] == own[2]
    assert used(two_drives)[1][1] in ("estimated", "default")
    kept(two_drives, "", log=2)
    assert used(two_drives) == before


def test_what_cannot_be_kept_is_refused(two_drives: Session) -> None:
    with pytest.raises(InputError, match="No delay is kept for the car"):
        wideband_delay(two_drives.state)
    with pytest.raises(InputError, match="There is no drive 7"):
        wideband_delay(two_drives.state, "1.1", log=7)
    with pytest.raises(InputError, match="out of range"):
        wideband_delay(two_drives.state, "9")
    kept(two_drives, "1.1")
    assert wideband_delay(two_drives.state, "1.1").change is None


def test_a_session_with_a_kept_delay_asks_for_a_program_that_knows_it(two_drives: Session, tmp_path: Path) -> None:
    kept(two_drives, "1.1", log=1)
    kind, payload = kind_and_payload(SettingsSet(two_drives.state.settings))
    assert version_of(kind, to_json(payload)) == 3
    run(unpack(two_drives.state, tmp_path / "plain"))
    run(pack(tmp_path / "plain", tmp_path / "again.session"))
    with Session.open(tmp_path / "again.session") as again:
        assert again.state.settings == two_drives.state.settings
    broken = {**asdict(two_drives.state.settings), "delays": [{"drive": 1, "fixed_s": 9, "volume_g": 0, "lag_s": 0}]}
    with pytest.raises(ValueError, match="the delay of drive 1"):
        read_settings(json.loads(to_json(broken)))


def test_a_stated_delay_does_not_change_where_the_wideband_sits(two_drives: Session) -> None:
    """A delay that was set by eye, wrongly, took a third of the samples away: the place was not found any more."""
    before = run(evidence(two_drives.state)).value
    assert set(before.wideband.values()) == {"before"}
    kept(two_drives, "2.5")
    after = run(evidence(two_drives.state)).value
    assert after.wideband == before.wideband
