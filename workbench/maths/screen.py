"""Does the remaining error follow some other channel? Then this table is not the culprit.

The residuals of the solve and the channel are averaged over blocks of time (so that their dependence in time is
counted), both cleared of what the cell they lie in explains, and set against each other. Several channels are tried,
so each interval is widened for the number of them (Bonferroni).
"""

from collections.abc import Mapping

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
        One effect for every channel that moved enough, in the order given.
    """
    tried = {name: values for name, values in channels.items() if _moves(values)}
    found = [_effect(name, residual, weight, cell, block, values, len(tried)) for name, values in tried.items()]
    return tuple(effect for effect in found if effect is not None)


def _moves(values: FloatArray) -> bool:
    there = values[np.isfinite(values)]
    return there.size > 100 and float(np.quantile(there, 0.95) - np.quantile(there, 0.05)) > 1e-6


def _effect(
    name: str,
    residual: FloatArray,
    weight: FloatArray,
    cell: IntArray,
    block: IntArray,
    values: FloatArray,
    tried: int,
) -> Effect | None:
    from scipy import stats

    use = np.isfinite(values) & (weight > 0)
    e, w, x, b, k = residual[use], weight[use], values[use], block[use], cell[use]
    low, high = (float(q) for q in np.quantile(x, [0.05, 0.95]))
    within = x - _means(k, x, w)[k]
    left = e - _means(k, e, w)[k]
    amount = np.bincount(b, w)
    full: BoolArray = amount > 0
    amount_full = amount[full]
    mean_x = np.bincount(b, w * within)[full] / amount_full
    mean_e = np.bincount(b, w * left)[full] / amount_full
    strength = float(np.sum(amount_full * mean_x**2))
    freedom = int(full.sum()) - 2
    if freedom < FEWEST_BLOCKS or strength <= 1e-12:
        return None
    slope = float(np.sum(amount_full * mean_x * mean_e)) / strength
    rest = mean_e - slope * mean_x
    # Blocks differ in weight and scatter, so the variance is the sandwich form (White 1980).
    variance = float(np.sum((amount_full * mean_x * rest) ** 2)) / strength**2
    quantile = float(stats.t.ppf(1 - 0.025 / tried, freedom))
    reach = high - low
    return Effect(name, slope * reach, quantile * float(np.sqrt(variance)) * reach, low, high)


def _means(group: IntArray, values: FloatArray, weight: FloatArray) -> FloatArray:
    amount = np.bincount(group, weight)
    total = np.bincount(group, weight * values)
    return np.where(amount > 0, total / np.where(amount > 0, amount, 1.0), 0.0)
