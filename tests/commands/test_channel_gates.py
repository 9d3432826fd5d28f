"""Gates of the user's own: on any channel, counted like the others, recorded and undone."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.evidence.evidence import evidence
from workbench.commands.logs.logs import add_log
from workbench.commands.logs.stating import compute
from workbench.commands.record.settings import settings
from workbench.commands.record.undoing import undo
from workbench.commands.table.tables import new
from workbench.errors import InputError
from workbench.maths.signals.gating import follows
from workbench.model.evidence import Evidence
from workbench.model.gate import ChannelGate
from workbench.session import Session
from workbench.work import run


@pytest.fixture
def session(car: Path, tmp_path: Path) -> Iterator[Session]:
    new(tmp_path / "car.session", car / "airflow_stale.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as opened:
        opened.record(run(add_log(opened.state, (car / "part_throttle_drive.csv",))).change)
        yield opened


def found(session: Session) -> Evidence:
    answer = run(evidence(session.state)).value
    assert isinstance(answer, Evidence)
    return answer


def test_only_samples_within_the_range_count_and_the_others_are_counted(session: Session, tmp_path: Path) -> None:
    before = found(session)
    told = settings(session.state, gate_channel=("Vehicle speed=30:80:2",))
    assert "gate of your own: rejected where Vehicle speed is outside 30 to 80, and for 2 s after" in told.lines
    session.record(told.change)
    after = found(session)
    log = session.state.drive(1).log
    channel = log.channel("Vehicle speed")
    assert channel is not None
    outside = (channel.values < 30) | (channel.values > 80)
    held = follows(outside, log.time.values, 2.0)
    name = "Vehicle speed outside 30 to 80"
    (count,) = [each for each in after.gates if each.name == name]
    assert count.rejected == pytest.approx(held.sum(), rel=0.02)  # at the moment its gas left the engine
    assert 0 < count.alone <= count.rejected
    assert 1000 < after.samples_used < before.samples_used
    (kept,) = after.kept
    assert name in kept.gates
    with Session.open(tmp_path / "car.session") as again:
        assert again.state.settings.gates.channels == (ChannelGate("Vehicle speed", 30.0, 80.0, 2.0),)
    session.record(undo(session.state).change)
    assert found(session).samples_used == before.samples_used


def test_a_gate_may_be_on_a_role_or_on_a_computed_channel_with_one_end(session: Session) -> None:
    session.record(compute(session.state, "rise", "derivative('Coolant temperature')").change)
    session.record(settings(session.state, gate_channel=("battery_voltage=13:", "rise=:0.5")).change)
    assert [each.name for each in session.state.settings.gates.channels] == [
        "battery_voltage below 13",
        "rise above 0.5",
    ]
    names = [each.name for each in found(session).gates]
    assert names[-2:] == ["battery_voltage below 13", "rise above 0.5"]
    answer = settings(session.state, gate_channel=("rise=",))
    assert not any("rise" in line for line in answer.lines)
    assert sum("battery_voltage is below 13" in line for line in answer.lines) == 1


def test_a_log_without_the_channel_is_told_and_keeps_its_samples(session: Session, car: Path) -> None:
    session.record(settings(session.state, gate_channel=("Purge=:1",)).change)
    head, *rows = (line.split(",") for line in (car / "part_throttle_drive.csv").read_text().splitlines())
    at = head.index("Purge (%)")
    path = car / "no_purge.csv"
    path.write_text("\n".join(",".join(cell for i, cell in enumerate(row) if i != at) for row in (head, *rows[10:])))
    session.record(run(add_log(session.state, (path,), again=True)).change)
    told = run(evidence(session.state)).value
    assert isinstance(told, Evidence)
    assert any("no_purge.csv has no channel 'Purge': that gate rejects nothing of it" in note for note in told.notes)


def test_what_is_not_known_does_not_count(session: Session) -> None:
    session.record(compute(session.state, "holes", "where('Engine speed' > 1500, 1, 0 / ('Purge' - 'Purge'))").change)
    session.record(settings(session.state, gate_channel=("holes=0:2",)).change)
    log = session.state.drive(1).log
    speed = log.playing("engine_speed")
    assert speed is not None
    (count,) = [each for each in found(session).gates if each.name == "holes outside 0 to 2"]
    assert count.rejected >= 0.5 * float(np.sum(speed <= 1500))


@pytest.mark.parametrize(
    "word",
    ["Purge", "Purge=5", "Purge=a:b", "=1:2", "Purge=5:1", "Purge=:", "Purge=1:2:-1", "Purge=1:2:3:4", "Purge=nan:1",
     "Nothing=1:2", "Throttle="],
)  # fmt: skip
def test_what_cannot_be_a_gate_is_refused(session: Session, word: str) -> None:
    with pytest.raises(InputError):
        settings(session.state, gate_channel=(word,))
