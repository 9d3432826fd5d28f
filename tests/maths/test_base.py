"""What the drives say of the car does not depend on which corrections were written down in between."""

from collections.abc import Callable

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord, drive
from workbench.demo.rounds import drives_of, first_round, history_of
from workbench.demo.scenario import Scenario
from workbench.maths.drives.drive_fit import smoothing_baseline
from workbench.maths.evidence import gather_evidence
from workbench.model.evidence import Evidence
from workbench.model.history import History, Revision
from workbench.model.state import Settings
from workbench.model.table import Table
from workbench.work import run

MakeRecord = Callable[..., DriveRecord]
SHORT = {"minutes": 5.0, "pulls": 1, "start_coolant_c": 80.0}


def evidence_of(history: History, head: int, records: tuple[DriveRecord, ...]) -> Evidence:
    return run(gather_evidence(history, history.revision(head), drives_of(records), Settings()))


def history_with(tables: tuple[Table, ...], operation: str) -> History:
    """Make a history of several tables, each made by that operation from the one before."""
    plain = history_of(tables)
    revisions = tuple(
        Revision(r.id, r.parent, r.table, "new" if r.parent is None else operation, {}, "", "", "", r.multipliers)
        for r in plain.revisions
    )
    return History(revisions, dict(plain.heads), {}, {})


@pytest.mark.parametrize(("kind", "operation"), [("curve", "correct"), ("grid", "correct"), ("curve", "carry-on")])
def test_the_same_drive_says_the_same_of_the_car_whatever_was_corrected_since(
    record_of: MakeRecord, kind: str, operation: str
) -> None:
    record = record_of(seed=1, kind=kind, **SHORT)
    bumpy = record.table.with_values(
        record.table.values * (1 + 0.02 * np.sin(np.arange(record.table.values.size))).reshape(record.table.shape)
    )
    first = evidence_of(history_of((record.table,)), 1, (record,))
    later = evidence_of(history_with((record.table, bumpy), operation), 2, (record,))
    np.testing.assert_allclose(later.ratio * bumpy.values, first.ratio * record.table.values, rtol=1e-3)
    np.testing.assert_allclose(
        later.half_width * bumpy.values, first.half_width * record.table.values, rtol=0.05, atol=1e-4
    )


def test_knowledge_from_elsewhere_is_where_counting_begins(record_of: MakeRecord) -> None:
    table = record_of(seed=1, **SHORT).table
    other, third = table.with_values(table.values * 1.1), table.with_values(table.values * 1.2)
    assert (
        smoothing_baseline(
            history_with((table, other, third), "correct"), history_with((table, other, third), "correct").revision(3)
        )
        is table
    )
    pasted = history_with((table, other, third), "paste")
    assert smoothing_baseline(pasted, pasted.revision(3)) is third


def test_cells_that_no_drive_reached_are_not_known_better_after_a_correction() -> None:
    """Counted from the corrected table, its carried-on cells would pass for known: the intervals would lie."""
    scenario = Scenario(seed=2, kind="grid")
    one = first_round(scenario)
    second = drive(scenario, one.table, number=2)
    records = (*one.records, second)
    from_base = evidence_of(history_with(one.tables, "correct"), 2, records)
    from_head = evidence_of(history_with(one.tables, "paste"), 2, records)
    truth = second.truth.values / one.table.values
    held = []
    for evidence in (from_base, from_head):
        thin = evidence.stands("thin")
        held.append(float(np.mean((np.abs(evidence.ratio - truth) <= evidence.half_width)[thin])))
    assert held[0] > 0.85
    assert held[0] > held[1] + 0.15
