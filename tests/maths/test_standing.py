"""Counting as a person would with a pocket calculator, the standing of cells, targets and what to drive next."""

import statistics
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.demo.rounds import Round
from workbench.maths.table.interpolation import PIECE, spread
from workbench.maths.verdict import standing
from workbench.maths.verdict.plan import plan, traffic
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import Samples, Target
from workbench.model.table import Axis, Table

MakeRound = Callable[..., Round]
CURVE = Table("airflow", "airflow", "g/s", (Axis("sensor", "Hz", np.arange(1000.0, 11000, 1000)),), np.arange(10.0) + 1)


def samples(x: FloatArray, ratio: FloatArray, full: BoolArray | None = None, plain: BoolArray | None = None) -> Samples:
    none, every = np.zeros(x.size, dtype=np.bool_), np.ones(x.size, dtype=np.bool_)
    return Samples(
        drive=1,
        rows=np.arange(x.size),
        position=x[:, None],
        ratio=ratio,
        weight=np.ones(x.size),
        full_throttle=none if full is None else full,
        plain=every if plain is None else plain,
        rejected_by=np.full(x.size, -1),
        gates=(),
    )


def by_pocket_calculator(breakpoints: list[float], pairs: list[tuple[float, float]]) -> dict[int, list[float]]:
    """Sort values to the breakpoint that is nearest, one after the other."""
    found: dict[int, list[float]] = {}
    for x, value in pairs:
        apart = [abs(x - point) for point in breakpoints]
        found.setdefault(apart.index(min(apart)), []).append(value)
    return found


def test_plain_statistics_are_those_of_a_pocket_calculator(round_of: MakeRound) -> None:
    """On a whole drive, with python's own statistics (PEP 450): mean, median, standard deviation with n - 1."""
    evidence = round_of(seed=1, minutes=6.0, pulls=2, start_coolant_c=80.0).evidence
    kept = evidence.kept[0]
    pairs = [(float(x), float(r)) for x, r, p in zip(kept.position[:, 0], kept.ratio, kept.plain, strict=True) if p]
    groups = by_pocket_calculator(evidence.table.axes[0].breakpoints.tolist(), pairs)
    assert len(groups) > 30
    for cell, values in groups.items():
        assert evidence.count[cell] == len(values)
        assert evidence.mean[cell] == pytest.approx(statistics.fmean(values), abs=1e-9)
        assert evidence.median[cell] == pytest.approx(statistics.median(values), abs=1e-9)
        if len(values) > 1:
            assert evidence.spread[cell] == pytest.approx(statistics.stdev(values), abs=1e-9)
    assert np.array_equal(np.flatnonzero(evidence.count), sorted(groups))


def test_worked_values_of_a_cell() -> None:
    """40 CFR 1065.602: y 10.60, 11.91, 11.09 -> mean 11.20, standard deviation (N - 1) 0.6619."""
    y = np.array([10.60, 11.91, 11.09])
    found = standing.plain_statistics(CURVE, (samples(np.array([2900.0, 3000, 3400]), y),))
    mean, median, spread, count, full = (each[2] for each in found)
    assert (mean, median, spread) == (pytest.approx(11.20), pytest.approx(11.09), pytest.approx(0.6619, abs=5e-5))
    assert count == 3
    assert not full


def test_empty_cells_hold_nothing_and_single_samples_have_no_spread() -> None:
    mean, median, spread, count, _ = standing.plain_statistics(
        CURVE, (samples(np.array([5000.0]), np.array([1.1])), samples(np.zeros(0), np.zeros(0)))
    )
    assert (mean[4], median[4], count[4]) == (1.1, 1.1, 1)
    assert np.isnan(spread).all()
    assert np.isnan(np.delete(mean, 4)).all()


def test_samples_that_need_a_model_are_not_counted_by_hand() -> None:
    plain = np.array([True, True, False])
    found = standing.plain_statistics(CURVE, (samples(np.full(3, 2000.0), np.array([1.0, 1.2, 9.0]), plain=plain),))
    assert (found[0][1], found[3][1]) == (pytest.approx(1.1), 2)


def test_a_cell_is_of_full_throttle_when_most_of_its_samples_are() -> None:
    full = np.array([True, True, False, True, False])
    x = np.array([3000.0, 3000, 3000, 7000, 7000])
    found = standing.plain_statistics(CURVE, (samples(x, np.ones(5), full),))[4]
    assert found.tolist() == [False, False, True] + [False] * 7


def test_visits_are_separate_times() -> None:
    """Rows within three seconds belong to one visit; a second drive is a visit of its own."""
    time = np.array([0.0, 1, 2, 10, 11, 11.5])
    x = np.array([3000.0, 3000, 3000, 3000, 3000, 8000])
    first = samples(x, np.ones(6))
    assert standing.count_visits(CURVE, (first,), (time,))[2] == 2
    assert standing.count_visits(CURVE, (first, first), (time, time))[2] == 4
    assert standing.count_visits(CURVE, (first,), (time,))[7] == 1
    assert standing.count_visits(CURVE, (first,), (time,)).sum() == 3


def test_visits_go_on_from_piece_to_piece() -> None:
    """Counted cell by cell: a gap of more than three seconds between rows that weigh at least 0.02 there."""
    random = np.random.default_rng(7)
    count = 2 * PIECE + 100
    time = np.cumsum(random.choice([0.0, 0.05, 0.4], count))
    x = 5500 + 5500 * np.sin(time / 15) + random.normal(0, 60, count)
    nodes = spread(CURVE.axes, x[:, None])
    expected = []
    for cell in range(10):
        when = time[((nodes.cell == cell) & (nodes.weight >= 0.02)).any(axis=1)]
        expected.append(int(np.sum(np.diff(when) > 3)) + (when.size > 0))
    assert standing.count_visits(CURVE, (samples(x, np.ones(count)),), (time,)).tolist() == expected
    assert max(expected) > 30


def stands(amount: list[float], visits: list[int], half_width: list[float], passed: list[bool]) -> list[int]:
    own = np.array(visits, dtype=np.float64)
    found = standing.standing(
        np.array(amount), np.array(visits), np.array(half_width), np.array(half_width), np.array(passed), own, 0 * own
    )
    assert isinstance(found, np.ndarray)
    return [int(code) for code in found]


def test_what_is_only_interpolated_is_thin_at_best() -> None:
    """Samples between two breakpoints speak of both; a cell is proven only by visits with readings nearest to it."""
    amount, visits, half_width = np.full(3, 50.0), np.full(3, 9), np.full(3, 0.005)
    own = np.array([4.0, 0.0, 1.0])
    found = standing.standing(amount, visits, half_width, half_width, np.ones(3, dtype=np.bool_), own, 0 * own)
    assert found.tolist() == [2, 1, 1]


def test_what_its_own_readings_could_not_hold_is_not_proven_by_its_neighbours() -> None:
    """A few seconds under changing vapour tell a cell to some percent; the rest is how smooth its neighbours are."""
    amount, visits, half_width, passed = np.full(4, 20.0), np.full(4, 30), np.full(4, 0.012), np.ones(4, dtype=np.bool_)
    alone = np.array([0.004, 0.049, 0.051, np.inf])
    found = standing.standing(amount, visits, half_width, half_width, passed, visits.astype(np.float64), alone)
    assert found.tolist() == [2, 2, 1, 1]


def test_proven_wants_samples_visits_and_a_narrow_interval() -> None:
    good = (100.0, 3, 0.005)
    for change, code in (
        ({}, 2),
        ({"amount": 4.0}, 1),
        ({"visits": 1}, 1),
        ({"half_width": 0.021}, 1),
        ({"half_width": 0.07}, 0),
        ({"amount": 0.0, "visits": 0, "half_width": 0.5}, 0),
    ):
        amount, visits, half_width = {
            **dict(zip(("amount", "visits", "half_width"), good, strict=True)),
            **change,
        }.values()
        assert stands([amount], [int(visits)], [half_width], [True]) == [code], change


def test_a_cell_that_was_passed_is_carried_by_its_neighbours() -> None:
    """A chain of cells that the solve knows closely and the engine passed, from a driven one on."""
    amount, visits = [50.0, 0, 0, 0, 0, 0], [4, 0, 0, 0, 0, 0]
    half_width = [0.004, 0.01, 0.02, 0.039, 0.041, 0.02]
    assert stands(amount, visits, half_width, [True] * 6) == [2, 1, 1, 1, 0, 0]
    assert stands(amount, visits, half_width, [True, True, False, True, True, True]) == [2, 1, 0, 0, 0, 0]


@given(
    st.lists(st.floats(0.8, 1.2), min_size=3, max_size=30),
    st.floats(0.001, 0.2),
)
def test_a_target_counts_what_is_inside(ratios: list[float], limit: float) -> None:
    ratio = np.array(ratios)
    chosen = np.arange(ratio.size) % 3 != 1
    amount = np.arange(ratio.size) + 1.0
    found = standing.target(limit, ratio, np.full(ratio.size, 0.01), (amount, chosen))
    errors = [abs(r - 1) for r, c in zip(ratios, chosen, strict=True) if c]
    assert found.inside_cells == pytest.approx(sum(e <= limit for e in errors) / len(errors))
    assert abs(found.worst) == max(errors)
    assert found.worst_cell is not None
    assert ratio[found.worst_cell] - 1 == found.worst
    assert (found.inside_cells == 1) == (abs(found.worst) <= limit) == (found.inside_time == 1)


def test_a_cell_driven_at_both_throttles_is_judged_at_both() -> None:
    """Two of ten samples at 3000 Hz are at full throttle: no majority, but the narrower target holds there."""
    x = np.array([3000.0] * 10 + [6000.0] * 4)
    full = np.array([True] * 2 + [False] * 8 + [True] * 4)
    kept = (samples(x, np.ones(x.size), full),)
    driven = np.isin(np.arange(10), [2, 5])
    amount = np.where(driven, 10.0, 0.0)
    part, at_full = standing.by_regime(CURVE, kept, amount, np.arange(10) == 5, driven)
    assert np.flatnonzero(part[1]).tolist() == [2]
    assert np.flatnonzero(at_full[1]).tolist() == [2, 5]
    assert (part[0][2], at_full[0][2], at_full[0][5]) == (8.0, 2.0, 10.0)
    found = standing.target(0.01, np.full(10, 1.03), np.full(10, 0.01), at_full, np.arange(10) == 5)
    assert found.proven == pytest.approx(10 / 12)


def test_the_worst_cell_is_one_that_was_read_and_the_least_known_may_be_any() -> None:
    ratio, half = np.array([1.0, 1.02, 1.09]), np.array([0.004, 0.004, 0.05])
    told = standing.target(0.03, ratio, half, (np.array([9.0, 5.0, 0.0]), np.ones(3, dtype=np.bool_)))
    assert (told.worst_cell, told.inside_cells) == ((1,), 1.0)
    assert told.widest_cell == (2,)
    assert not replace(told, measured=True).reached


def test_no_time_is_inside_a_target_in_cells_that_were_not_read() -> None:
    """A slow log leaves less than a sample in many cells: where all are 11 % off, none is inside."""
    off = np.full(6, 1.11)
    amount = np.array([9.0, 0.2, 0.4, 5.0, 0.3, 0.0])
    told = standing.target(0.05, off, np.full(6, 0.01), (amount, np.ones(6, dtype=np.bool_)))
    assert (told.inside_cells, told.inside_time) == (0.0, 0.0)


def test_a_target_without_cells_says_nothing() -> None:
    nothing = standing.target(0.05, np.ones(3), np.ones(3), (np.ones(3), np.zeros(3, dtype=np.bool_)))
    assert nothing.worst_cell is None
    assert np.isnan(nothing.inside_cells)


PROVEN, THIN, UNDRIVEN = 2, 1, 0


def planned(codes: list[int], visited: list[int], full: list[bool] | None = None) -> tuple[str, ...]:
    code: IntArray = np.array(codes)
    half_width = np.choose(code, [np.nan, 0.05, 0.005])
    at_full = np.zeros(code.size, dtype=np.bool_) if full is None else np.array(full)
    return plan(CURVE, code, half_width, np.array(visited), at_full, 0.02)


def test_the_plan_names_stretches_that_matter_the_most_travelled_first() -> None:
    codes = [PROVEN, THIN, THIN, PROVEN, PROVEN, UNDRIVEN, PROVEN, UNDRIVEN, UNDRIVEN, UNDRIVEN]
    said = planned(codes, [9, 40, 30, 9, 9, 0, 9, 100, 0, 0])
    steady = "about 10 s in all, as steady as traffic allows, on two occasions"
    assert list(said) == [
        f"Drive sensor 8000 Hz: {steady} (no evidence yet).",
        f"Drive sensor 2000 to 3000 Hz: {steady} (2 thin).",
        f"Drive sensor 6000 Hz: {steady} (no evidence yet).",
        "Log only with a passenger at the laptop or on a closed course, within local rules.",
    ]


def test_cells_of_full_throttle_are_asked_for_in_pulls() -> None:
    said = planned([PROVEN] * 7 + [THIN] * 3, [9] * 10, [False] * 7 + [True] * 3)
    assert said[0].startswith("Drive sensor 8000 to 10000 Hz: in pulls at full throttle, each through the whole range")


def test_nothing_is_planned_when_all_that_matters_is_proven() -> None:
    assert planned([PROVEN] * 8 + [UNDRIVEN] * 2, [9] * 8 + [0] * 2) == ()


def test_no_more_than_four_stretches_are_named() -> None:
    codes = [PROVEN, THIN] * 5
    assert len(planned(codes, [9] * 10)) == 5


def test_a_grid_s_plan_names_both_axes() -> None:
    axes = (
        Axis("Engine speed", "rpm", np.arange(1000.0, 4001, 1000)),
        Axis("Pressure", "kPa", np.array([30.0, 60, 90])),
    )
    grid = Table("efficiency", "efficiency", "%", axes, np.full((4, 3), 80.0))
    code = np.full((4, 3), PROVEN)
    code[1, 1:] = THIN
    visited = np.ones((4, 3), dtype=np.int64)
    said = plan(grid, code, np.where(code == THIN, 0.05, 0.005), visited, np.zeros((4, 3), dtype=np.bool_), 0.02)
    assert said[0].startswith("Drive engine speed 2000 rpm and pressure 60 to 90 kPa: about 10 s")


def test_a_real_gap_is_planned(round_of: MakeRound) -> None:
    """Trims alone prove little in three minutes: what the engine passed and is not known is left to drive."""
    evidence = round_of(seed=1, minutes=3.0, pulls=0, start_coolant_c=80.0, wideband="none").evidence
    assert evidence.stands("thin").any()
    assert len(evidence.plan) > 1
    assert evidence.plan[-1].startswith("Log only with a passenger")
    for sentence in evidence.plan[:-1]:
        assert sentence.startswith(("Hold ", "Let the engine idle", "Coast ", "Drive airflow sensor "))
        assert "irflow sensor " in sentence


def test_traffic_counts_rows_by_nearest_cell() -> None:
    position = np.array([[1000.0], [1400], [1600], [np.nan], [99000]])
    assert traffic(CURVE, (position, position[:1])).tolist() == [3, 1] + [0] * 7 + [1]


def test_touched_marks_cells_that_count() -> None:
    position = np.array([[2500.0], [5010], [np.nan]])
    assert np.flatnonzero(standing.touched(CURVE, (position,))).tolist() == [1, 2, 4]


def test_what_was_not_driven_with_a_revision_is_only_expected(curve: Table) -> None:
    good = Target(0.05, 1.0, 1.0, 0.01, (2,), 0.004)
    assert not good.reached
    assert "Part throttle, expected: 100 %" in good.sentence("Part throttle", curve)
    assert "not driven yet with this revision" in good.sentence("Part throttle", curve)
    driven = replace(good, measured=True)
    assert driven.reached
    assert driven.sentence("Part throttle", curve).startswith("Part throttle: 100 %")
    assert not replace(driven, worst=0.06).reached
    unsure = replace(driven, widest=0.07, widest_cell=(3,))
    assert unsure.inside
    assert not unsure.reached  # a cell that is known to 7 % shows nothing to be within 5 %
    assert "known only to ±7.0 % at" in unsure.sentence("Part throttle", curve)
    nothing = Target(0.05, float("nan"), float("nan"), float("nan"), None, float("nan"), measured=True)
    assert not nothing.reached
    assert nothing.sentence("Full throttle", curve) == "Full throttle: not driven yet."
