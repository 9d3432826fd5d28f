"""Does the remaining error follow some other channel? Then this table is not the culprit.

The residuals of the solve and the channel are averaged over blocks of time (so that their dependence in time is
counted), both cleared of what the cell they lie in explains, and set against each other. Several channels are tried,
so each interval is widened for the number of them (Bonferroni). What follows the culprit only because it moves with it
(coolant with intake temperature) is no second culprit: once a channel stands out, the others are held against what is
left beside it.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import Effect

FEWEST_BLOCKS = 12


def screen(
    residual: FloatArray,
    weight: FloatArray,
    cell: IntArray,
    block: IntArray,
    channels: Mapping[str, FloatArray],
) -> tuple[Effect, ...]:
    """Set the remaining error against each channel.

    Args:
        residual: of the solve, shape (samples,).
        weight: of each sample, same shape.
        cell: nearest cell of each sample.
        block: stretch of time of each sample.
        channels: name -> its value at each sample; NaN where missing.

    Returns:
        One effect for every channel that moved enough, in the order given: of the channel that stands out most by
        itself, of the others beside it, and so on until none is left that stands out.
    """
    seen = _Seen(residual, weight, cell, block, {name: x for name, x in channels.items() if _moves(x)})
    found: dict[str, Effect] = {}
    while True:
        beside = tuple(name for name in seen.channels if name in found and found[name].stands_out)
        rest = {name: _effect(seen, name, beside) for name in seen.channels if name not in beside}
        effects = {name: effect for name, effect in rest.items() if effect is not None}
        outstanding = [effect for effect in effects.values() if effect.stands_out]
        if not outstanding:
            found.update(effects)
            return tuple(found[name] for name in seen.channels if name in found)
        strongest = max(outstanding, key=lambda effect: abs(effect.change) / max(effect.half_width, 1e-12))
        found[strongest.channel] = strongest


@dataclass(frozen=True, eq=False)
class _Seen:
    """What `screen` was given, of the channels those that move."""

    residual: FloatArray
    weight: FloatArray
    cell: IntArray
    block: IntArray
    channels: Mapping[str, FloatArray]


def _moves(values: FloatArray) -> bool:
    there = values[np.isfinite(values)]
    return there.size > 100 and float(np.quantile(there, 0.95) - np.quantile(there, 0.05)) > 1e-6


def _effect(seen: _Seen, name: str, beside: tuple[str, ...]) -> Effect | None:
    """Return the effect of a channel beside others; None where too few stretches of time tell it."""
    from scipy import stats

    columns = [seen.channels[each] for each in (name, *beside)]
    use = np.all([np.isfinite(column) for column in columns], axis=0) & (seen.weight > 0)
    block, weight = seen.block[use], seen.weight[use]
    amount = np.bincount(block, weight).astype(np.float64)
    full: BoolArray = amount > 0
    freedom = int(full.sum()) - 2 - len(beside)
    if freedom < FEWEST_BLOCKS:
        return None

    def averaged(values: FloatArray) -> FloatArray:
        within = values - _means(seen.cell[use], values, weight)[seen.cell[use]]
        means: FloatArray = np.bincount(block, weight * within)[full] / amount[full]
        return means

    x, *others = (averaged(column[use]) for column in columns)
    error, count = averaged(seen.residual[use]), amount[full]
    moved = float(np.sum(count * x**2))
    if others:
        x, error = (_cleared(values, np.stack(others, axis=1), count) for values in (x, error))
    if float(np.sum(count * x**2)) <= max(1e-12, 1e-6 * moved):  # it says what the others have said
        return None
    slope, deviation = _slope(x, error, count)
    # What one stretch of time carries by itself is a moment, and no channel that the error follows.
    carries = np.arange(x.size) != np.argmax(np.sign(slope) * count * x * error)
    rest, unsure = _slope(x[carries], error[carries], count[carries])
    if np.sign(slope) * rest * deviation < abs(slope) * unsure:
        slope, deviation = rest, unsure
    quantile = float(stats.t.ppf(1 - 0.025 / len(seen.channels), freedom))
    low, high = (float(q) for q in np.quantile(columns[0][use], [0.05, 0.95]))
    reach = high - low
    return Effect(name, slope * reach, quantile * deviation * reach, low, high, beside)


def _slope(x: FloatArray, error: FloatArray, weight: FloatArray) -> tuple[float, float]:
    """Return the slope of an error over x, and its standard deviation.

    Blocks differ in weight and scatter, so the variance is the sandwich form (White 1980).
    """
    strength = max(float(np.sum(weight * x**2)), 1e-30)
    slope = float(np.sum(weight * x * error)) / strength
    return slope, float(np.sqrt(np.sum((weight * x * (error - slope * x)) ** 2))) / strength


def _cleared(values: FloatArray, others: FloatArray, weight: FloatArray) -> FloatArray:
    """Take away what other columns explain, by weighted least squares."""
    root = np.sqrt(weight)[:, None]
    slopes = np.linalg.lstsq(root * others, root[:, 0] * values, rcond=None)[0]
    left: FloatArray = values - others @ slopes
    return left


def _means(group: IntArray, values: FloatArray, weight: FloatArray) -> FloatArray:
    amount = np.bincount(group, weight)
    total = np.bincount(group, weight * values)
    return np.where(amount > 0, total / np.where(amount > 0, amount, 1.0), 0.0)
