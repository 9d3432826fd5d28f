"""Without logged trims a wideband in closed loop reads 1 whatever the table says: that is no good news."""

from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import drive
from workbench.demo.engine import stale_table, true_multipliers
from workbench.demo.scenario import Scenario
from workbench.errors import InputError
from workbench.maths.evidence import gather_evidence
from workbench.maths.signals.gating import HIDDEN
from workbench.model.evidence import Evidence
from workbench.model.history import History, brought_in
from workbench.model.log import Drive, Log
from workbench.model.packing import Column
from workbench.model.state import Settings
from workbench.work import run

CAR = Scenario(seed=3, minutes=4.0, pulls=2)


def evidence_of(log: Log) -> Evidence:
    first = brought_in(1, stale_table(CAR), "new", {}, "", "", "")
    history = History((first,), {first.table.name: 1}, {}, {})
    return run(gather_evidence(history, first, (Drive(1, log, 1),), Settings()))


def without(log: Log, *roles: str) -> Log:
    return replace(log, roles={role: name for role, name in log.roles.items() if role not in roles})


@pytest.mark.parametrize("also", [(), ("fuel_system",)])
def test_closed_loop_is_left_out_and_said(also: tuple[str, ...]) -> None:
    whole = drive(CAR).log
    found = evidence_of(without(whole, "stft_1", "ltft_1", *also))
    gate_counts = {gate.name: gate.rejected for gate in found.gates}
    closed = np.isin(whole.playing("fuel_system"), (2,))
    assert gate_counts[HIDDEN] > 0.9 * closed.sum()
    kept = found.kept[0].rows
    assert not closed[kept].any() or closed[kept].mean() < 0.03
    assert any("No short-term trims are logged" in note and "reset them first" in note for note in found.notes)


def test_a_drive_in_closed_loop_alone_is_refused() -> None:
    log = drive(replace(CAR, pulls=0, start_coolant_c=88.0)).log
    started = int(np.flatnonzero(np.equal(log.playing("fuel_system"), 2))[0])  # before that it is open loop
    log = replace(
        log,
        time=Column(log.time.values[started:]),
        channels=tuple(replace(each, column=Column(each.values[started:])) for each in log.channels),
    )
    with pytest.raises(InputError, match="closed loop hides it"):
        evidence_of(without(log, "stft_1", "ltft_1"))


def still(log: Log, *names: str) -> Log:
    return replace(
        log,
        channels=tuple(
            replace(each, column=Column(np.zeros(each.column.rows))) if each.name in names else each
            for each in log.channels
        ),
    )


def test_a_trim_that_never_moves_in_closed_loop_is_dead() -> None:
    whole = drive(CAR).log
    found = evidence_of(still(whole, whole.roles["stft_1"]))
    assert any("never moves although" in note for note in found.notes)
    assert {gate.name: gate.rejected for gate in found.gates}[HIDDEN] > 1000


def test_open_loop_with_trims_at_rest_is_good_evidence() -> None:
    """Closed loop switched off for the drive, no status logged: the wideband tells all."""
    car = replace(CAR, closed_loop=False)
    log = without(drive(car).log, "fuel_system")
    found = evidence_of(log)
    assert any("open loop is assumed throughout" in note for note in found.notes)
    proven = found.stands("proven")
    assert proven.sum() > 15
    assert np.nanmax(np.abs(found.ratio - true_multipliers(car, found.table))[proven]) < 0.01
