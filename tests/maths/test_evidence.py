"""Evidence as a whole: how near one drive comes to a truth that only the virtual car knows, and how sure it says it is.

The benchmark in tests/benchmarks/convergence.py prints the same over twenty cars.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from threadpoolctl import threadpool_info

from workbench.demo.drive import DriveRecord
from workbench.demo.engine import true_table
from workbench.demo.judging import judge, meter_linearity
from workbench.demo.rounds import Round, drives_of, evidence_of_records, history_of
from workbench.errors import InputError
from workbench.maths import evidence as gathering
from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.evidence import gather_evidence
from workbench.model.arrays import BoolArray
from workbench.model.evidence import Delay
from workbench.model.log import Log
from workbench.model.packing import Column
from workbench.model.state import Settings
from workbench.work import Cancelled, Progress, may_stop, run

CARS = (1, 2, 3)
SHORT = {"seed": 2, "minutes": 4.0, "pulls": 1, "start_coolant_c": 85.0}
MakeRound = Callable[..., Round]
MakeRecord = Callable[..., DriveRecord]


def inside(found: Round, share: float = 1.0) -> BoolArray:
    """Tell for every proven cell whether its interval, or a share of it, holds the truth."""
    evidence = found.evidence
    truth = true_table(found.scenario).values / evidence.table.values
    covered: BoolArray = (np.abs(evidence.ratio - truth) <= share * evidence.half_width)[evidence.stands("proven")]
    return covered


@pytest.mark.parametrize("seed", CARS)
def test_one_drive_brings_the_curve_inside_one_percent(round_of: MakeRound, seed: int) -> None:
    found = round_of(seed=seed)
    seen = judge(found.scenario, found.table, found.records)
    assert seen.within(part=1.0, full=1.0), seen
    assert seen.part.rms <= 0.35
    assert meter_linearity(found.scenario, found.table, found.records).passed
    before = judge(found.scenario, found.tables[0], found.records)
    assert before.part.largest > 8


@pytest.mark.parametrize("seed", CARS)
def test_two_drives_pooled_stay_inside_seven_tenths(second_of: MakeRound, seed: int) -> None:
    found = second_of(seed=seed)
    seen = judge(found.scenario, found.table, found.records)
    assert seen.within(part=0.7, full=0.7), seen
    assert found.evidence.drives == (1, 2)


@pytest.mark.parametrize(("seed", "storage"), [(1, 0.5), (2, 1.0), (3, 2.0)])
def test_behind_the_catalyst_it_stays_inside_one_and_a_half(round_of: MakeRound, seed: int, storage: float) -> None:
    found = round_of(seed=seed, wideband="after", oxygen_storage_g=storage)
    assert found.evidence.wideband[1] != "before"  # a large store takes long to tell itself from a long pipe
    seen = judge(found.scenario, found.table, found.records)
    assert seen.within(part=1.5, full=1.2), seen


@pytest.mark.parametrize("seed", CARS)
def test_trims_alone_do_for_part_throttle(round_of: MakeRound, seed: int) -> None:
    found = round_of(seed=seed, wideband="none")
    assert judge(found.scenario, found.table, found.records).part.largest <= 1.5
    assert found.evidence.full_target.worst_cell is None  # in open loop nothing was seen


@pytest.mark.parametrize("seed", CARS)
def test_a_grid_does_as_well(round_of: MakeRound, seed: int) -> None:
    """Cells that are only passed while waiting for the fuel cut have no sample: neighbours carry them."""
    found = round_of(seed=seed, kind="grid")
    seen = judge(found.scenario, found.table, found.records)
    assert seen.within(part=1.0, full=1.0), seen
    assert seen.part.rms <= 0.35


def test_cells_passed_in_a_pull_follow_those_that_were_seen_in_it(round_of: MakeRound) -> None:
    """This car crosses cells in its pulls just after the loop opens, where no sample is taken."""
    found = round_of(seed=6, kind="grid")
    assert judge(found.scenario, found.table, found.records).full.largest <= 1.0


def test_intervals_hold_what_they_say_and_no_more(round_of: MakeRound) -> None:
    whole = np.concatenate([inside(round_of(seed=seed)) for seed in CARS])
    # Instruments and loop of the demo are exact, so what the intervals allow for them is not used up.
    half = np.concatenate([inside(round_of(seed=seed), 0.2) for seed in CARS])
    assert whole.size > 100
    assert whole.mean() > 0.9
    assert half.mean() < 0.9


def test_samples_cells_and_gates_add_up(round_of: MakeRound) -> None:
    found = round_of(seed=1)
    evidence, log = found.evidence, found.records[0].log
    kept = evidence.kept[0]
    assert evidence.samples_used == kept.rows.size == kept.ratio.size
    assert evidence.samples.sum() == pytest.approx(kept.weight.sum())
    assert evidence.count.sum() == kept.plain.sum()
    assert kept.rejected_by.size == log.rows
    assert np.array_equal(np.flatnonzero(kept.rejected_by < 0), kept.rows)
    for gate in evidence.gates:
        first = np.sum(kept.rejected_by == kept.gates.index(gate.name)) if gate.name in kept.gates else 0
        # A row that only one gate takes is booked to it; one that several take, to one of them.
        assert gate.alone <= first <= gate.rejected, gate
    assert np.all(evidence.visits[evidence.stands("proven")] >= 2)
    assert np.array_equal(np.isfinite(evidence.ratio), evidence.driven)
    assert np.array_equal(np.isfinite(evidence.half_width), evidence.driven)


def test_the_samples_shown_agree_with_the_ratios(round_of: MakeRound) -> None:
    """What is laid over the log and the table is what the ratios came from."""
    evidence = round_of(seed=1).evidence
    rich = (evidence.count > 100) & evidence.stands("proven") & ~evidence.full_throttle
    assert rich.sum() > 20
    assert np.max(np.abs(evidence.mean - evidence.ratio)[rich]) < 0.02


def test_a_right_table_is_left_alone(round_of: MakeRound) -> None:
    seen = [round_of(seed=seed, error_scale=0.0).evidence for seed in CARS]
    errors = np.concatenate([(evidence.ratio - 1)[evidence.stands("proven")] for evidence in seen])
    widths = np.concatenate([evidence.half_width[evidence.stands("proven")] for evidence in seen])
    assert np.mean(np.abs(errors) <= widths) > 0.7  # the trims stand on few levels: rounding is nearly all there is
    assert np.max(np.abs(errors)) < 0.01
    assert all(evidence.part_target.inside_cells == 1 for evidence in seen)


@settings(max_examples=4, deadline=None)
@given(factor=st.floats(0.7, 1.4))
def test_scaling_today_s_table_scales_the_ratios_back(record_of: MakeRecord, factor: float) -> None:
    """The same truth comes out whatever today's table is: values times ratio do not change."""
    record = record_of(**SHORT)
    stale = record.table
    scaled = stale.with_values(stale.values * factor)
    plain = evidence_of_records((stale,), (record,))
    history = history_of((stale, scaled))
    other = run(gather_evidence(history, history.revision(2), drives_of((record,)), Settings()))
    both = plain.stands("proven") & other.stands("proven")
    assert both.sum() >= 20
    np.testing.assert_allclose((stale.values * plain.ratio)[both], (scaled.values * other.ratio)[both], rtol=5e-4)


def test_a_stated_delay_is_taken_and_a_wrong_one_does_harm(record_of: MakeRecord) -> None:
    record = record_of(**SHORT)
    stated, before = Delay(0.08, 0.6, 0.08, "stated"), Settings(wideband="before")
    evidence = evidence_of_records((record.table,), (record,), settings=before, stated=stated)
    assert evidence.delay[1] is stated
    late = Delay(1.5, 5.0, 0.3, "stated")
    wrong = evidence_of_records((record.table,), (record,), settings=before, stated=late)
    proven = evidence.stands("proven")
    assert np.count_nonzero(wrong.stands("proven")) < np.count_nonzero(proven) / 4
    known = proven & wrong.driven
    assert np.median(wrong.half_width[known]) > 1.4 * np.median(evidence.half_width[known])


def test_pooling_proves_more_and_is_nearer_the_truth_than_its_drives_on_average(second_of: MakeRound) -> None:
    squares = {"pooled": 0.0, "first": 0.0, "second": 0.0}
    for seed in CARS:
        found = second_of(seed=seed, minutes=3.0, pulls=2)
        history, drives = history_of(found.tables[:2]), drives_of(found.records)
        truth = true_table(found.scenario).values / found.tables[1].values
        parts = {"pooled": found.evidence}
        for name, drive in zip(("first", "second"), drives, strict=True):
            parts[name] = run(gather_evidence(history, history.revision(2), (drive,), Settings()))
        known = np.all([part.stands("proven") for part in parts.values()], axis=0)
        for name, part in parts.items():
            squares[name] += float(np.mean((part.ratio - truth)[known] ** 2))
        proven = {name: int(part.stands("proven").sum()) for name, part in parts.items()}
        assert proven["pooled"] >= max(proven["first"], proven["second"])
    assert squares["pooled"] < (squares["first"] + squares["second"]) / 2
    assert squares["pooled"] < squares["first"]


def test_progress_is_told_and_ends(record_of: MakeRecord) -> None:
    record = record_of(**SHORT)
    history = history_of((record.table,))
    told: list[Progress] = []
    run(gather_evidence(history, history.revision(1), drives_of((record,)), Settings()), told.append)
    assert [step.done for step in told] == sorted(step.done for step in told)
    assert all(step.done < step.total and step.text for step in told)
    assert record.log.name in told[0].text
    assert len({step.done for step in told}) > 8  # what all drives share takes longest, and is told in parts


def test_a_long_step_is_stopped_in_its_middle(record_of: MakeRecord) -> None:
    """What all drives share is one least-squares fit, which yields nothing: it asks by itself."""
    record = record_of(**SHORT)
    history = history_of((record.table,))
    job = gather_evidence(history, history.revision(1), drives_of((record,)), Settings())
    told: list[Progress] = []
    asked: list[int] = []

    def cancelled() -> bool:
        asked.append(len(told))
        return asked[-20:] == [len(told)] * 20  # well within one step

    with pytest.raises(Cancelled):
        run(job, told.append, cancelled)
    assert told[-1].text.startswith("finding the wideband")
    may_stop()  # nobody is asked any more


def test_all_of_it_is_worked_out_on_one_thread(record_of: MakeRecord) -> None:
    """How several share a sum decides its last bits: evidence would differ with the number of cores."""
    record = record_of(**SHORT)
    history = history_of((record.table,))
    before = threads_of_sums()
    job = gather_evidence(history, history.revision(1), drives_of((record,)), Settings())
    assert all(threads_of_sums() == {1} for _ in job)
    assert threads_of_sums() >= before


def threads_of_sums() -> set[int]:
    return {library["num_threads"] for library in threadpool_info() if library["user_api"] == "blas"}


def test_samples_are_kept_packed_once_they_are_read(record_of: MakeRecord) -> None:
    record = record_of(**SHORT)
    history = history_of((record.table,))
    (drive,) = drives_of((record,))
    whole = run(gather_evidence(history, history.revision(1), (drive,), Settings()))
    columns = [drive.log.time, *(channel.column for channel in drive.log.channels)]
    packed = Log(
        drive.log.name,
        drive.log.sha256,
        Column(packed=columns[0].pack(), rows=drive.log.rows),
        tuple(
            replace(each, column=Column(packed=each.column.pack(), rows=drive.log.rows)) for each in drive.log.channels
        ),
        drive.log.roles,
    )
    again = run(gather_evidence(history, history.revision(1), (replace(drive, log=packed),), Settings()))
    assert np.array_equal(again.ratio, whole.ratio, equal_nan=True)
    assert all(each.column._values is None for each in packed.channels)


def test_no_drive_at_all_is_refused(record_of: MakeRecord) -> None:
    history = history_of((record_of(**SHORT).table,))
    with pytest.raises(InputError, match="no drive"):
        run(gather_evidence(history, history.revision(1), (), Settings()))


@pytest.mark.parametrize(("left", "said"), [(0, "No sample of"), (1, "Too few samples .* gates, 1"), (9, "Too few")])
def test_samples_too_few_to_tell_a_spread_are_refused(
    left: int, said: str, round_of: MakeRound, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = round_of(seed=1)
    look = gathering.first_look

    def few(*arguments: Any) -> DriveFit:
        driven = look(*arguments)
        kept = driven.read.kept & (np.cumsum(driven.read.kept) <= left)
        return replace(driven, read=replace(driven.read, kept=kept))

    monkeypatch.setattr(gathering, "first_look", few)
    with pytest.raises(InputError, match=said):
        evidence_of_records(found.tables[:1], found.records[:1])
