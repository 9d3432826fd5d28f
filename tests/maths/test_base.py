"""What the drives say of the car does not depend on which corrections were written down in between."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.declaring.registry import Answer
from workbench.commands.table.clipboard import multiply_by_paste, paste
from workbench.commands.table.donors import take_donor
from workbench.commands.table.hand import scale
from workbench.commands.table.shaping import blend, fill
from workbench.demo.drive import DriveRecord, drive
from workbench.demo.rounds import drives_of, first_round, history_of
from workbench.demo.scenario import Scenario
from workbench.files.tables.tables import write_table_text
from workbench.maths.drives.drive_fit import smoothing_baseline
from workbench.maths.evidence import gather_evidence
from workbench.model.cells import read_cells
from workbench.model.evidence import Evidence
from workbench.model.history import History, Origin
from workbench.model.state import Settings, State
from workbench.model.table import Table
from workbench.session import Session
from workbench.work import run

MakeRecord = Callable[..., DriveRecord]
SHORT = {"minutes": 5.0, "pulls": 1, "start_coolant_c": 80.0}


def evidence_of(history: History, head: int, records: tuple[DriveRecord, ...]) -> Evidence:
    return run(gather_evidence(history, history.revision(head), drives_of(records), Settings()))


def history_with(tables: tuple[Table, ...], origin: Origin) -> History:
    """Make a history of several tables, each of that origin but the first."""
    plain = history_of(tables)
    revisions = tuple(each if each.parent is None else replace(each, origin=origin) for each in plain.revisions)
    return History(revisions, dict(plain.heads), {}, {})


@pytest.mark.parametrize(("kind", "origin"), [("curve", "measured"), ("grid", "measured"), ("curve", "by hand")])
def test_the_same_drive_says_the_same_of_the_car_whatever_was_corrected_since(
    record_of: MakeRecord, kind: str, origin: Origin
) -> None:
    record = record_of(seed=1, kind=kind, **SHORT)
    bumpy = record.table.with_values(
        record.table.values * (1 + 0.02 * np.sin(np.arange(record.table.values.size))).reshape(record.table.shape)
    )
    first = evidence_of(history_of((record.table,)), 1, (record,))
    later = evidence_of(history_with((record.table, bumpy), origin), 2, (record,))
    both = later.driven & first.driven
    # Whether a cell that is only led through is known closely enough to be thin may turn on nearly nothing.
    assert np.sum(later.driven != first.driven) <= 1
    apart = later.ratio * bumpy.values / (first.ratio * record.table.values) - 1
    assert np.abs(apart[both]).max() < 1e-3
    # Which of two neighbouring cells a pass counts for may change where hardly any lies between them: thin cells only.
    same = np.isclose(later.half_width * bumpy.values, first.half_width * record.table.values, rtol=0.05, atol=1e-4)
    assert same[first.stands("proven")].all()
    assert np.mean(same[both]) > 0.85


def test_knowledge_from_elsewhere_is_where_counting_begins(record_of: MakeRecord) -> None:
    table = record_of(seed=1, **SHORT).table
    other, third = table.with_values(table.values * 1.1), table.with_values(table.values * 1.2)
    assert (
        smoothing_baseline(
            history_with((table, other, third), "measured"), history_with((table, other, third), "measured").revision(3)
        )
        is table
    )
    pasted = history_with((table, other, third), "brought in whole")
    assert smoothing_baseline(pasted, pasted.revision(3)) is third


def test_cells_that_no_drive_reached_are_not_known_better_after_a_correction() -> None:
    """Counted from the corrected table, its carried-on cells would pass for known: the intervals would lie."""
    scenario = Scenario(seed=2, kind="grid")
    one = first_round(scenario)
    second = drive(scenario, one.table, number=2)
    records = (*one.records, second)
    from_base = evidence_of(history_with(one.tables, "measured"), 2, records)
    from_head = evidence_of(history_with(one.tables, "brought in whole"), 2, records)
    truth = second.truth.values / one.table.values
    held = []
    for evidence in (from_base, from_head):
        thin = evidence.stands("thin")
        held.append(float(np.mean((np.abs(evidence.ratio - truth) <= evidence.half_width)[thin])))
    assert held[0] > 0.85
    assert held[0] >= held[1]
    thin = from_base.stands("thin") & from_head.stands("thin")
    scatter = [next(each.size for each in found.budget if each.name == "scatter") for found in (from_base, from_head)]
    assert np.median(scatter[0][thin]) > np.median(scatter[1][thin])


HAND: dict[str, Callable[[State], Answer]] = {
    "blend": lambda state: blend(state, 1, share=0.5),
    "fill": lambda state: fill(state, cells=read_cells("2")),
    "multiply-by-paste": lambda state: multiply_by_paste(state, text="1.02", cells=read_cells("2")),
    "paste of one cell": lambda state: paste(state, text="13.5", cells=read_cells("2")),
    "paste of one value into all": lambda state: paste(state, text="13.5", cells=read_cells("all")),
}


@pytest.mark.parametrize("name", HAND)
def test_what_is_done_by_hand_does_not_reset_the_baseline(name: str, session: Session) -> None:
    session.record(scale(session.state, by=1.05).change)
    session.record(HAND[name](session.state).change)
    head = session.state.head()
    assert head.id == 3
    assert smoothing_baseline(session.state.history, head) is session.state.history.revision(1).table


WHOLE: dict[str, Callable[[State, Path], Answer]] = {
    "paste": lambda state, _: paste(state, text="3\n8\n14\n30\n60", cells=read_cells("0")),
    "take-donor": take_donor,
}


@pytest.mark.parametrize("name", WHOLE)
def test_a_table_brought_in_whole_is_the_baseline_from_then_on(name: str, session: Session, tmp_path: Path) -> None:
    donor = tmp_path / "donor.csv"
    donor.write_text(write_table_text(session.state.table().with_values(session.state.table().values * 1.3)))
    session.record(scale(session.state, by=1.05).change)
    session.record(WHOLE[name](session.state, donor).change)
    session.record(scale(session.state, by=1.01).change)
    head = session.state.head()
    assert smoothing_baseline(session.state.history, head) is session.state.history.revision(3).table
