"""Does the remaining error follow some other channel? Then this table is not the culprit.

The residuals of the solve and the channel are averaged over blocks of time (so that their dependence in time is
counted), both cleared of what the cell they lie in explains, and set against each other. Several channels are tried,
so each interval is widened for the number of them (Bonferroni).
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray, IntArray

FEWEST_BLOCKS = 12
WORTH_SAYING = 0.01  # effects under 1 % over a channel's range are left alone: common practice, no source

# What to look at first; common practice, no source.
ADVICE: Mapping[str, str] = {
    "intake_temperature": "look at the intake temperature sensor's table and its place before this one",
    "coolant_temperature": "look at the warm-up enrichment and the coolant sensor's table before this one",
    "engine_speed": "look at injector dead time, exhaust leaks and the volumetric efficiency before this one",
    "battery_voltage": "look at the injector dead time over voltage before this one",
    "purge": "purge vapour reached the engine: drive with it off, or leave those stretches out",
    "manifold_pressure": "look at injector flow, fuel pressure and the manifold for leaks before this one",
    "time": "something drifted during the drive (heat soak, fuel temperature, a sensor): drive again and compare",
}


@dataclass(frozen=True)
class Effect:
    """How much the remaining error changes with a channel.

    Attributes:
        channel: its role, or "time" for the time since the start.
        change: of the airflow ratio from the channel's 5 % to its 95 % quantile.
        half_width: of its 95 % interval, all tried channels counted.
        low, high: those quantiles.
    """

    channel: str
    change: float
    half_width: float
    low: float
    high: float

    @property
    def stands_out(self) -> bool:
        """Whether the interval leaves out zero and the effect is worth saying."""
        return abs(self.change) > self.half_width and abs(self.change) >= WORTH_SAYING

    @property
    def sentence(self) -> str:
        """What it is and what to look at first."""
        name = self.channel.replace("_", " ")
        return (
            f"The remaining error follows {name}: {100 * self.change:+.1f} % (±{100 * self.half_width:.1f}) from "
            f"{self.low:.4g} to {self.high:.4g}. {ADVICE[self.channel].capitalize()}."
        )


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
