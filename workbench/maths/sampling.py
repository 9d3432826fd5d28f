"""Samples: the moments of a drive at which the airflow ratio was seen, and where in the table each belongs."""

from dataclasses import dataclass

import numpy as np

from workbench.maths import gating
from workbench.maths.delay import seen_by_sensor, source_times
from workbench.maths.gating import change_rate, engine_gates, follows, precedes
from workbench.maths.ratio import Signals
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import Delay, Source
from workbench.model.gate import Gates
from workbench.model.table import Table

WINDOW_S = 2.0  # trims are averaged over one or two swings of the loop: common practice, no source
FILM_S = (0.1, 0.2, 0.35, 0.6, 1.0)  # time constants tried for a warm fuel film: common practice, no source
STORAGE_G = 3.0  # oxygen that must have been used up before a reading behind the catalyst counts: twice a common store
OXYGEN = 0.2314  # mass fraction of oxygen in dry air


@dataclass(frozen=True)
class Film:
    """The fuel film on the walls, as far as the ECU does not make up for it.

    Attributes:
        share: part of the injected fuel that wets the walls, 0..1.
        constant_s: time constant with which it evaporates, s.
    """

    share: float
    constant_s: float


DRY = Film(0.0, 0.35)


@dataclass(frozen=True, eq=False)
class Readings:
    """What one drive says, row by row of its log; all arrays have shape (rows,) unless said otherwise.

    Attributes:
        kept: rows that count.
        by_trims: rows whose ratio rests on the trims alone.
        position: where in the table each row's gas was metered, shape (rows, axes).
        ratio: airflow ratio against the driven revision's table.
        film: part of the injected fuel that a film of share 1 would be taking up.
        weight: of each row, 0..1.
        rejected: gate -> rows it rejects.
    """

    kept: BoolArray
    by_trims: BoolArray
    position: FloatArray
    ratio: FloatArray
    film: FloatArray
    weight: FloatArray
    rejected: dict[str, BoolArray]


def read_drive(
    seen: Signals, table: Table, gates: Gates, delay: Delay, film: Film, source: Source, place: str
) -> Readings:
    """Turn a drive's signals into readings of the airflow ratio.

    Args:
        seen: the drive.
        table: the revision it was driven on.
        gates: limits.
        delay: of the wideband.
        film: as far as it is known.
        source: what to use: both, trims or wideband.
        place: where the wideband sits: "before", "after" or "none".
    """
    engine = engine_gates(seen, table, gates)
    wideband = _by_wideband(seen, engine, gates, delay, film, place) if source != "trims" and place != "none" else None
    trims = _by_trims(seen, engine, gates) if source != "wideband" and seen.has_trims else None
    if wideband is None or trims is None:
        return wideband or trims or _nothing(seen, engine)
    use = trims.kept & ~wideband.kept
    return Readings(
        kept=wideband.kept | trims.kept,
        by_trims=use,
        position=np.where(use[:, None], trims.position, wideband.position),
        ratio=np.where(use, trims.ratio, wideband.ratio),
        film=np.where(use, 0.0, wideband.film),
        weight=wideband.weight,
        rejected={name: mask & ~use for name, mask in wideband.rejected.items()},
    )


def mixture_command(seen: Signals) -> FloatArray:
    """Give commanded lambda over fuel factor: the lambda the sensor would see if the table were right, (rows,)."""
    return filled(seen.commanded / seen.fuel)


def filled(values: FloatArray) -> FloatArray:
    """Fill missing values from their neighbours in time, 1 where all are missing; shape kept."""
    whole = np.isfinite(values)
    if whole.all():
        return values
    if not whole.any():
        return np.ones_like(values)
    rows = np.arange(values.size)
    return np.interp(rows, rows[whole], values[whole])


def film_filling(seen: Signals, constant_s: float) -> FloatArray:
    """Give the part of the injected fuel that a film of share 1 would be taking up, shape (rows,), -1..1.

    Injected fuel wets the walls and evaporates with a time constant; while the film fills the cylinder gets less:
    film' = share * injected - film / constant (two-parameter film model after Aquino 1981, SAE 810494, from memory),
    so the cylinder lacks share * (injected - injected lagged by the constant).
    """
    injected = filled(seen.table_value) / np.maximum(mixture_command(seen), 0.3)
    injected = np.where(seen.cut, 0.0, injected)
    lagged = seen_by_sensor(injected, seen.time, seen.time, constant_s, row_step(seen.time))
    filling: FloatArray = np.where(seen.cut, 0.0, (injected - lagged) / np.maximum(injected, 1e-9))
    return np.clip(filling, -1.0, 1.0)


def row_step(time: FloatArray) -> float:
    """Give the typical time between rows, s."""
    steps = np.diff(time)
    steps = steps[steps > 0]
    return float(np.median(steps)) if steps.size else 1.0


def _by_wideband(
    seen: Signals, engine: dict[str, BoolArray], gates: Gates, delay: Delay, film: Film, place: str
) -> Readings:
    step = row_step(seen.time)
    source = source_times(seen.time, seen.airflow, delay.fixed_s, delay.volume_g)

    def carried(values: FloatArray) -> FloatArray:
        return seen_by_sensor(filled(values), seen.time, source, delay.lag_s, step)

    command = carried(mixture_command(seen))
    position = np.stack([carried(column) for column in seen.position.T], axis=1)
    filling = carried(film_filling(seen, film.constant_s))
    at = np.clip(np.searchsorted(seen.time, source), 0, seen.time.size - 1)
    rejected = {name: mask[at] | mask[np.maximum(at - 1, 0)] for name, mask in engine.items()}
    rejected[gating.NO_COMMAND] = ~np.isfinite(seen.commanded)[at]
    rejected[gating.NO_READING] = rejected[gating.NO_READING] | ~np.isfinite(seen.measured)
    rejected[gating.FILM] = np.abs(filling) > gates.film
    rejected[gating.RANGE] = (seen.measured <= gates.lambda_low) | (seen.measured >= gates.lambda_high)
    if place == "after":
        rejected[gating.STORAGE] = ~_storage_empty(seen)[at] | seen.closed[at]
    return Readings(
        kept=~np.any(list(rejected.values()), axis=0),
        by_trims=np.zeros(seen.time.size, dtype=np.bool_),
        position=position,
        ratio=seen.measured / command * (1 - film.share * filling),
        film=filling,
        weight=seen.weight,
        rejected=rejected,
    )


def _by_trims(seen: Signals, engine: dict[str, BoolArray], gates: Gates) -> Readings:
    window = max(WINDOW_S, 2.01 * row_step(seen.time))
    ratio = 1 / moving_mean(mixture_command(seen), seen.time, window)
    position = np.stack([moving_mean(filled(column), seen.time, window) for column in seen.position.T], axis=1)
    half = window / 2
    rejected = {name: follows(mask, seen.time, half) | precedes(mask, seen.time, half) for name, mask in engine.items()}
    # Within the window's own reach of the ends there is not a whole window.
    rejected[gating.OPEN] = follows(~seen.closed, seen.time, half) | precedes(~seen.closed, seen.time, half)
    slow = change_rate(seen.airflow, seen.time, window) <= gates.steady_for_trims_per_s
    rejected[gating.FAST] = rejected[gating.FAST] | ~slow
    drift = np.abs(np.interp(seen.time + half, seen.time, ratio) - np.interp(seen.time - half, seen.time, ratio))
    rejected[gating.UNSETTLED] = drift > gates.settled
    return Readings(
        kept=~np.any(list(rejected.values()), axis=0),
        by_trims=np.ones(seen.time.size, dtype=np.bool_),
        position=position,
        ratio=ratio,
        film=np.zeros(seen.time.size),
        weight=seen.weight,
        rejected=rejected,
    )


def _nothing(seen: Signals, engine: dict[str, BoolArray]) -> Readings:
    rows = seen.time.size
    return Readings(
        kept=np.zeros(rows, dtype=np.bool_),
        by_trims=np.zeros(rows, dtype=np.bool_),
        position=seen.position,
        ratio=np.full(rows, np.nan),
        film=np.zeros(rows),
        weight=seen.weight,
        rejected={**engine, gating.NO_READING: np.ones(rows, dtype=np.bool_)},
    )


def moving_mean(values: FloatArray, time: FloatArray, window_s: float) -> FloatArray:
    """Give the mean over a window of time around each row, shape (rows,)."""
    steps = np.diff(time)
    area = np.concatenate([[0.0], np.cumsum(steps * (values[1:] + values[:-1]) / 2)])
    early, late = np.maximum(time - window_s / 2, time[0]), np.minimum(time + window_s / 2, time[-1])
    span = late - early
    inside = np.interp(late, time, area) - np.interp(early, time, area)
    mean: FloatArray = np.where(span > 0, inside / np.where(span > 0, span, 1.0), values)
    return mean


def _storage_empty(seen: Signals) -> BoolArray:
    """Mark rows at which rich gas has used up whatever oxygen a catalyst may have held."""
    command = mixture_command(seen)
    # level' = 0.2314 * airflow * (1 - 1/lambda): oxygen taken out while rich, booked from the last rest at 1.
    taken = OXYGEN * seen.airflow * np.maximum(1 / command - 1, 0.0) * np.diff(seen.time, prepend=seen.time[0])
    taken[seen.closed | seen.cut | (command > 0.985)] = 0.0
    total = np.cumsum(taken)
    resting = seen.closed | seen.cut
    since = np.maximum.accumulate(np.where(resting, total, 0.0))
    return total - since > STORAGE_G


def blocks(time: FloatArray, seconds: float = 10.0) -> IntArray:
    """Number stretches of time, for counting how far samples depend on each other; shape (rows,)."""
    numbers: IntArray = np.floor((time - time[0]) / seconds).astype(np.int64)
    return numbers
