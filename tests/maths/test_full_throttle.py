"""Full throttle as one factor where cells have no evidence of their own; thin cells leaned no further than was read."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from workbench.commands.evidence.proposing import mark_followers
from workbench.demo.rounds import Round
from workbench.maths.table.correction import correction
from workbench.maths.table.easing import STEP
from workbench.maths.table.full_throttle import FullThrottle, full_throttle
from workbench.maths.table.own_readings import as_read, borne_out, was_read
from workbench.model.evidence import Evidence, Samples

MakeRound = Callable[..., Round]


@pytest.fixture(scope="session")
def found(round_of: MakeRound) -> Evidence:
    """A short drive with one pull: proven, thin and undriven cells."""
    return round_of(seed=2, minutes=4.0, pulls=1, start_coolant_c=85.0).evidence


def pulled(found: Evidence, low: float, high: float, ratios: list[float], pulls: int = 3) -> Evidence:
    """Replace all samples by pulls through a range of the curve, each with the same ratios evenly along it."""
    many = len(ratios)
    rows = np.concatenate([np.arange(many) + 1000 * n for n in range(pulls)])
    samples = Samples(
        drive=1,
        rows=rows,
        position=np.tile(np.linspace(low, high, many), pulls)[:, None],
        ratio=np.tile(ratios, pulls),
        weight=np.ones(many * pulls),
        full_throttle=np.ones(many * pulls, dtype=np.bool_),
        plain=np.ones(many * pulls, dtype=np.bool_),
        rejected_by=np.full(4000, -1),
        gates=(),
    )
    return replace(found, kept=(samples,))


def whole(found: Evidence) -> FullThrottle:
    made = full_throttle(found, {1: np.arange(4000) / 10})
    assert made is not None
    return made


def test_the_factor_is_the_mean_of_all_pulls_over_their_range_with_an_interval_that_holds_it(found: Evidence) -> None:
    points = found.table.axes[0].breakpoints
    scatter = np.random.default_rng(3).normal(0, 0.01, 20)
    made = whole(pulled(found, points[-6], points[-2], list(0.95 + scatter)))
    assert made.pulls == 3
    assert made.samples == 60
    assert abs(made.factor - 0.95) < made.half_width < 0.02
    assert made.spread < 0.01
    assert np.array_equal(np.flatnonzero(made.inside), np.arange(points.size - 6, points.size - 1))
    assert made.high == (points[-2],)


def test_what_a_single_cell_departs_from_the_factor_widens_its_interval_there(found: Evidence) -> None:
    points = found.table.axes[0].breakpoints
    even, sloping = (
        whole(pulled(found, points[-6], points[-2], list(np.linspace(0.95 - by, 0.95 + by, 40)))) for by in (0.0, 0.05)
    )
    assert even.known
    assert even.of_a_cell < 0.02
    assert sloping.of_a_cell > 0.05


def test_too_few_samples_make_no_factor(found: Evidence) -> None:
    points = found.table.axes[0].breakpoints
    assert full_throttle(pulled(found, points[-3], points[-2], [0.9, 0.9], 2), {1: np.arange(4000) / 10}) is None
    assert full_throttle(replace(found, kept=()), {}) is None


def driven_below(found: Evidence, cells: int, ratio: float) -> Evidence:
    """Give the evidence of a curve whose last cells nobody drove, and the same ratio in all others and beyond."""
    size = found.table.shape[0]
    standing = np.where(np.arange(size) < size - cells, 2, 0)
    return replace(
        found,
        standing=standing,
        ratio=np.where(standing > 0, ratio, np.nan),
        half_width=np.where(standing > 0, 0.01, np.nan),
        inferred=np.where(standing > 0, np.nan, ratio),
    )


def test_undriven_cells_that_pulls_went_through_take_the_factor_and_join_without_a_step(found: Evidence) -> None:
    """As where a slow logger leaves no cell at full throttle with evidence of its own."""
    flat = driven_below(found, 6, 1.0)
    points = found.table.axes[0].breakpoints
    made = whole(pulled(flat, points[-4], points[-2], [1.05] * 10))
    multipliers = correction(flat, full=made).multipliers
    np.testing.assert_allclose(multipliers[-4:-1], 1.05, atol=2e-3)
    assert np.abs(np.diff(np.log(multipliers))).max() <= STEP + 1e-9
    assert multipliers[0] == 1
    assert "It stands in 3 cells without evidence of their own" in made.sentence(found.table, 3)


def test_what_pulls_know_stands_and_what_is_only_carried_on_gives_way(found: Evidence) -> None:
    flat = driven_below(found, 12, 1.05)
    points = found.table.axes[0].breakpoints
    made = whole(pulled(flat, points[-4], points[-2], [0.97] * 20))
    multipliers = correction(flat, full=made).multipliers
    np.testing.assert_allclose(multipliers[-4:-1], 0.97, atol=2e-3)
    assert np.abs(np.diff(np.log(multipliers))).max() <= STEP + 1e-9
    assert multipliers[0] == pytest.approx(1.05)


def few(found: Evidence, ratio: list[float], samples: list[float], mean: list[float], count: list[int]) -> Evidence:
    """Give the evidence of a curve whose first cells are as told, thin where they have few samples, proven beyond."""
    size, told = found.table.shape[0], len(ratio)
    rest = [1.0] * (size - told)
    amount = np.array(samples + [50.0] * (size - told))
    return replace(
        found,
        ratio=np.array(ratio + rest),
        samples=amount,
        standing=np.where(amount < 5, 1, 2),
        half_width=np.full(size, 0.01),
        mean=np.array(mean + rest),
        count=np.array(count + [50] * (size - told)),
        spread=np.full(size, 0.004),
    )


def test_a_thin_cell_is_leaned_no_further_than_its_own_few_readings_say(found: Evidence) -> None:
    told = few(found, [0.96, 0.96], [50.0, 2.0], [0.96, 0.99], [50, 4])
    made = as_read(told, told.ratio, None)
    assert made[1] == 0.99
    assert made[0] == 0.96  # proven


def test_a_cell_between_two_that_were_read_is_interpolated_and_one_beyond_them_is_not_borne_out(
    found: Evidence,
) -> None:
    nan = float("nan")
    told = few(found, [0.9, 0.93, 0.9, 0.94], [1.0, 50.0, 1.0, 50.0], [nan, 0.93, nan, 0.94], [0, 50, 0, 50])
    assert list(was_read(told, None)[:4]) == [False, True, False, True]
    assert list(borne_out(told, None)[:4]) == [False, True, True, True]
    assert as_read(told, told.ratio, None)[2] == 0.93  # no leaner than the leaner of both sides
    assert np.all(as_read(told, told.ratio, None) >= told.ratio)


def test_nothing_is_made_richer_than_the_evidence_has_it_where_it_does_not_lean(found: Evidence) -> None:
    told = few(found, [1.02, 1.03], [1.0, 50.0], [1.08, 1.03], [5, 50])
    np.testing.assert_array_equal(as_read(told, told.ratio, None), told.ratio)


def test_a_cell_that_a_pull_felt_is_borne_out_within_the_interval_of_all_pulls(found: Evidence) -> None:
    nan, size = float("nan"), found.table.shape[0]
    told = few(found, [0.9, 1.0], [3.0, 50.0], [nan, 1.0], [0, 50])
    inside = np.arange(size) == 0
    full = FullThrottle(0.94, 0.005, 0.0, (0.0,), (1.0,), inside, np.where(inside, 3.0, 0.0), 3, 30)
    assert borne_out(told, full)[0]
    assert not borne_out(told, None)[0]
    assert as_read(told, told.ratio, full)[0] == pytest.approx(0.935)


def test_a_thin_cell_that_no_reading_bears_out_is_marked_as_inferred(found: Evidence) -> None:
    nan = float("nan")
    told = few(found, [0.9, 0.93, 0.9, 0.94], [1.0, 50.0, 1.0, 50.0], [nan, 0.93, nan, 0.94], [0, 50, 0, 50])
    made = correction(told)
    marked = mark_followers(told, made, None)
    assert list(np.flatnonzero(marked.inferred)) == [0]  # and not the one between two that were read
    assert marked.changed[0]
    assert "1 of the thin cells has no readings of its own" in marked.notes[-1]
    read = few(found, [0.9, 0.93], [1.0, 50.0], [0.9, 0.93], [3, 50])
    assert mark_followers(read, made, None) is made
