"""Samples: the moments of a drive at which the airflow ratio was seen, and where in the table each belongs."""

from dataclasses import dataclass, replace

import numpy as np

from workbench.maths.signals import gating
from workbench.maths.signals.axes import axis_role
from workbench.maths.signals.delay import seen_by_sensor, source_times
from workbench.maths.signals.disturbances import (
    DRY,
    SLOW_FILM_S,
    Film,
    film_filling,
    growth_rate,
    injected_fuel,
    manifold_filling,
    mixture_command,
    purge_loads,
    still_answered,
    storage_empty,
)
from workbench.maths.signals.gating import engine_gates, follows, precedes
from workbench.maths.signals.purge_levels import Levels
from workbench.maths.signals.ratio import SURELY_OPEN, Signals
from workbench.maths.signals.series import change_rate, filled, moving_mean, row_step, turning_points
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import Delay, Source
from workbench.model.gate import Gates
from workbench.model.table import Table

WINDOW_S = 2.0  # trims are averaged over one or two swings of the loop: common practice, no source
FEWEST_TURNS, LONGEST_SWING_S, USUAL_SWING_S = 20, 4.0, 1.0
PURGED_WEIGHT = 0.1  # what a sample under purge counts where vapour is modelled: common practice, no source
FILM_HALVES = 0.5  # at such a filling a sample counts half: a film is not modelled closer (common practice, no source)
UPSET_HALVES = 0.1  # the same for trims, of what a film lately took up or gave off; seen on virtual cars made by others
# Over how many lags and which part of its way a reading is spread, and at least how long where the delay is not known;
# which change of the command within how many seconds is a step. Behind a catalyst a reading is true about a second
# after the command stepped. All of it is common practice, no source.
BLUR_LAGS, BLUR_WAY, BLUR_UNKNOWN_S, BLUR_BEHIND_S = 2.0, 0.25, 0.5, 1.2
ABRUPT, STEP_S = 0.03, 0.5
# How late the mixture of a pull follows its flow: a hot-film meter answers in 15 to 35 ms, and what is left of a quick
# film adds to it or, made up for too well, takes from it. Common practice, no source.
PULL_LATE_S = 0.025
PLAIN_FILM = 0.1  # a film that takes up less of the fuel than this is left to the pocket calculator


@dataclass(frozen=True, eq=False)
class Readings:
    """What one drive says, row by row of its log; all arrays have shape (rows,) unless said otherwise.

    Attributes:
        kept: rows that count.
        by_trims: rows whose ratio rests on the trims alone.
        position: where in the table each row's gas was metered, shape (rows, axes).
        ratio: airflow ratio against the driven revision's table.
        film: part of the injected fuel that a film of share 1 would be taking up; 0 in a pull.
        slow_film: the same for a second, slow film beside it.
        upset: part of the injected fuel that such a film was taking up or giving off, as far as it still tells.
        answered: how long of late the film filled (above 0) or emptied, where the trims still answer it; 0 elsewhere.
        pull_rate: how fast the injected fuel grows in a pull, as a share of it, 1/s; 0 elsewhere.
        open_trims: log of the factors of short and long trim that count in the ratio though the loop was open, shape
            (rows, 2).
        manifold: part of the measured air that a manifold of time constant 1 s at 1000 rpm would be taking up.
        purge: what purge vapour of each shape would take off the ratio, shape (rows, 2); 0 where it is not modelled.
        purged: rows under purge, or so shortly after it that its vapour may still arrive.
        weight: of each row, 0..1.
        plain: rows that need no model of film or purge.
        rejected: gate -> rows it rejects.
    """

    kept: BoolArray
    by_trims: BoolArray
    position: FloatArray
    ratio: FloatArray
    film: FloatArray
    slow_film: FloatArray
    upset: FloatArray
    answered: FloatArray
    pull_rate: FloatArray
    open_trims: FloatArray
    manifold: FloatArray
    purge: FloatArray
    purged: BoolArray
    weight: FloatArray
    plain: BoolArray
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
        place: where the wideband sits: "before", "after", "unknown" or "none".
    """
    engine = engine_gates(seen, table, gates)
    loads = purge_loads(seen)
    trims = _by_trims(seen, table, engine, gates, loads) if source != "wideband" and seen.has_trims else None
    wideband = None
    if source != "trims" and place != "none":
        wideband = _by_wideband(seen, table, engine, gates, delay, film, place, loads)
    if wideband is None or trims is None:
        return wideband or trims or _nothing(seen, engine)
    return _with_trims(wideband, trims)


def _with_trims(wideband: Readings, trims: Readings) -> Readings:
    """Put the trims' readings where the wideband has none; into the wideband's own arrays, which nobody else holds."""
    use = trims.kept & ~wideband.kept
    pairs = (
        (wideband.position, trims.position),
        (wideband.ratio, trims.ratio),
        (wideband.film, trims.film),
        (wideband.slow_film, trims.slow_film),
        (wideband.upset, trims.upset),
        (wideband.answered, trims.answered),
        (wideband.pull_rate, trims.pull_rate),
        (wideband.manifold, trims.manifold),
        (wideband.weight, trims.weight),
        (wideband.plain, trims.plain),
        (wideband.purged, trims.purged),
    )
    for into, values in pairs:
        np.copyto(into, values, where=use if into.ndim == 1 else use[:, None])
    for mask in wideband.rejected.values():
        mask &= ~use  # noqa: PLW2901 - in place
    for both, own in ((wideband.purge, trims.purge), (wideband.open_trims, trims.open_trims)):
        if both.flags.writeable:
            np.copyto(both, own, where=use[:, None])
    return replace(wideband, kept=wideband.kept | use, by_trims=use)


def passed(rejected: dict[str, BoolArray]) -> BoolArray:
    """Mark the rows that no gate rejects."""
    passed = np.ones_like(next(iter(rejected.values())))
    for mask in rejected.values():
        passed &= ~mask
    return passed


def left_engine(seen: Signals, delay: Delay) -> FloatArray:
    """Give for every row the moment at which the gas that the wideband meets had left the engine, s, shape (rows,)."""
    return source_times(seen.time, filled(seen.airflow), delay.fixed_s, delay.volume_g)


def film_at_sensor(seen: Signals, delay: Delay, constant_s: float) -> FloatArray:
    """Return what a film of share 1 was taking up when the gas that the wideband meets was made, shape (rows,)."""
    source = left_engine(seen, delay)
    filling = filled(film_filling(seen, constant_s))
    return seen_by_sensor(filling, seen.time, source, delay.lag_s, row_step(seen.time))


def _ahead_of_manifold(table: Table) -> bool:
    """Tell whether the table is read by a sensor ahead of the manifold."""
    return not any(axis_role(axis) == "manifold_pressure" for axis in table.axes)


def _by_wideband(
    seen: Signals,
    table: Table,
    engine: dict[str, BoolArray],
    gates: Gates,
    delay: Delay,
    film: Film,
    place: str,
    loads: FloatArray | None,
) -> Readings:
    step = row_step(seen.time)
    source = left_engine(seen, delay)

    def carried(values: FloatArray) -> FloatArray:
        return seen_by_sensor(filled(values), seen.time, source, delay.lag_s, step)

    command = carried(mixture_command(seen))
    position = np.stack([carried(column) for column in seen.position.T], axis=1)
    filling = carried(film_filling(seen, film.constant_s))
    manifold = carried(manifold_filling(seen)) if _ahead_of_manifold(table) else np.zeros(seen.time.size)
    at = np.clip(np.searchsorted(seen.time, source), 0, seen.time.size - 1)
    in_pull = seen.full[at]
    pull_rate = np.where(in_pull, carried(growth_rate(seen)), 0.0)
    # A film found in tip-ins goes with the delay that was found beside it: over the seconds of a pull neither is known
    # closely enough, so a pull has a lateness of its own.
    taken_up = np.where(in_pull, PULL_LATE_S * pull_rate, film.share * filling)
    rejected = {name: mask[at] | mask[np.maximum(at - 1, 0)] for name, mask in engine.items()}
    rejected[gating.LOOP] = rejected[gating.LOOP] | _blurred(seen, source, delay, place)
    purged = _set_purge_aside(rejected, loads)
    # A trim at its limit is still what the engine got: trim and wideband together stay right.
    del rejected[gating.CLIPPED]
    if not seen.has_trims:
        rejected[gating.HIDDEN] = _perhaps_closed(seen)[at]
    rejected[gating.NO_COMMAND] = ~np.isfinite(seen.commanded)[at]
    rejected[gating.NO_READING] = rejected[gating.NO_READING] | ~np.isfinite(seen.measured)
    rejected[gating.FILM] = np.abs(filling) > gates.film
    rejected[gating.RANGE] = (seen.measured <= gates.lambda_low) | (seen.measured >= gates.lambda_high)
    # Without closed loop nothing swings through 1: a store is soon full or empty, and stays so.
    if place == "after" or (place == "unknown" and seen.closed.any()):
        rejected[gating.STORAGE] = ~storage_empty(seen, at) | seen.closed[at]
    return Readings(
        kept=passed(rejected),
        by_trims=np.zeros(seen.time.size, dtype=np.bool_),
        position=position,
        ratio=seen.measured / command * (1 - taken_up) * (1 + film.manifold * manifold),
        film=np.where(in_pull, 0.0, filling),
        slow_film=carried(film_filling(seen, SLOW_FILM_S)),
        upset=np.where(in_pull, 0.0, np.abs(filling)),
        answered=np.zeros(seen.time.size),
        pull_rate=pull_rate,
        open_trims=np.stack([carried(each) for each in seen.open_trims.T], axis=1)
        if seen.open_trims.any()
        else _none(seen),
        manifold=manifold,
        purge=_none(seen) if loads is None else np.stack([carried(load) for load in loads.T], axis=1),
        purged=purged,
        weight=np.where(purged, PURGED_WEIGHT, 1.0) * seen.weight / (1 + (filling / FILM_HALVES) ** 2),
        plain=~purged & (np.abs(filling) <= PLAIN_FILM),
        rejected=rejected,
    )


def _blurred(seen: Signals, source: FloatArray, delay: Delay, place: str) -> BoolArray:
    """Mark readings in which gas from before and after an abrupt change of the mixture may be mixed.

    A sensor's lag, and gas that mixes on its way, spread a reading over moments around the one it is booked to. What
    runs evenly cancels there; a fuel cut or a step of the command does not.
    """
    reach = BLUR_LAGS * delay.lag_s + BLUR_WAY * np.clip(seen.time - source, 0.0, 4.0)
    if delay.source == "default":
        reach = np.maximum(reach, BLUR_UNKNOWN_S if place == "before" else BLUR_BEHIND_S)
    command = filled(seen.commanded)
    moved = np.abs(
        np.interp(seen.time + STEP_S / 2, seen.time, command) - np.interp(seen.time - STEP_S / 2, seen.time, command)
    )
    abrupt = (moved > ABRUPT) | np.diff(seen.cut, prepend=seen.cut[:1])
    at = np.append(seen.time[abrupt], np.inf)
    following = at[np.searchsorted(at, source)]
    before = np.append(-np.inf, at)[np.searchsorted(at, source)]
    return np.asarray((following - source < reach) | (source - before < reach))


def _by_trims(
    seen: Signals, table: Table, engine: dict[str, BoolArray], gates: Gates, loads: FloatArray | None
) -> Readings:
    # A long trim kept by speed and load jumps wherever the engine goes: only what the loop does itself tells its swing.
    turns = turning_points(seen.loop_action)
    swing = _swing(turns, seen)
    window = max(WINDOW_S, 2.01 * row_step(seen.time)) if swing is None else swing
    half = window / 2
    ratio = 1 / moving_mean(mixture_command(seen) * seen.bank / seen.loop_holds, seen.time, window)
    position = np.stack([moving_mean(filled(column), seen.time, window) for column in seen.position.T], axis=1)
    rejected = {name: follows(mask, seen.time, half) | precedes(mask, seen.time, half) for name, mask in engine.items()}
    rejected[gating.NO_READING] = rejected[gating.NO_READING] | ~seen.trim_read
    # Averages go over rows that are filled in where something is unknown: what was filled in is no evidence.
    unknown = ~np.isfinite(seen.commanded)
    rejected[gating.NO_COMMAND] = follows(unknown, seen.time, half) | precedes(unknown, seen.time, half)
    purged = _set_purge_aside(rejected, loads)
    rejected[gating.OPEN] = follows(~seen.closed, seen.time, half) | precedes(~seen.closed, seen.time, half)
    if swing is None:
        slow = change_rate(seen.airflow, seen.time, window) <= gates.steady_for_trims_per_s
        rejected[gating.FAST] = rejected[gating.FAST] | ~slow
        away = ~seen.closed if loads is not None else ~seen.closed | (seen.purge > gates.purge_percent)
        rejected[gating.LOOP] = follows(away, seen.time, gates.settle_for_trims_s + half)
        drift = np.abs(np.interp(seen.time + half, seen.time, ratio) - np.interp(seen.time - half, seen.time, ratio))
        rejected[gating.UNSETTLED] = drift > gates.settled
    else:
        rejected[gating.UNSETTLED] = ~_swings_around(turns, seen.jumps, seen.time, swing)

    def averaged(values: FloatArray) -> FloatArray:
        return moving_mean(values, seen.time, window)

    filling = averaged(film_filling(seen, DRY.constant_s))
    upset, answered = still_answered(seen, swing or USUAL_SWING_S)
    manifold = averaged(manifold_filling(seen)) if _ahead_of_manifold(table) else np.zeros(seen.time.size)
    return Readings(
        kept=passed(rejected),
        by_trims=np.ones(seen.time.size, dtype=np.bool_),
        position=position,
        ratio=ratio,
        film=filling,
        slow_film=averaged(film_filling(seen, SLOW_FILM_S)),
        upset=upset,
        answered=answered,
        pull_rate=np.zeros(seen.time.size),
        open_trims=_none(seen),
        manifold=manifold,
        purge=_none(seen) if loads is None else np.stack([averaged(load) for load in loads.T], axis=1),
        purged=purged,
        weight=np.where(purged, PURGED_WEIGHT, 1.0) * seen.weight / (1 + (upset / UPSET_HALVES) ** 2),
        plain=~purged & (np.abs(filling) <= PLAIN_FILM),
        rejected=rejected,
    )


def under_vapour(read: Readings, seen: Signals, levels: Levels) -> Readings:
    """Treat rows at which vapour was found out like those under logged purge: it is modelled, and they count less.

    How the valve worked is not known: vapour may be a share of the fuel, or flow evenly and matter less where more fuel
    is injected. Both shapes are estimated.
    """
    fuel = np.maximum(injected_fuel(seen), 1.0)
    evenly = float(np.mean(fuel[levels.low])) / fuel
    return replace(
        read,
        kept=read.kept & ~levels.edge,
        purge=np.stack([levels.low.astype(np.float64), np.where(levels.low, evenly, 0.0)], axis=1),
        purged=read.purged | levels.low,
        weight=np.where(levels.low, PURGED_WEIGHT * read.weight, read.weight),
        plain=read.plain & ~levels.low,
        rejected={**read.rejected, gating.UNLOGGED_PURGE: levels.edge},
    )


def _perhaps_closed(seen: Signals) -> BoolArray:
    """Mark rows at which the ECU was, or may have been, in closed loop: there unlogged trims hold lambda."""
    if seen.loop_logged:
        return seen.closed
    unsure: BoolArray = ~(np.abs(seen.commanded - 1) > SURELY_OPEN) & ~seen.full
    return unsure


def _set_purge_aside(rejected: dict[str, BoolArray], loads: FloatArray | None) -> BoolArray:
    """Take purge out of the gates where its vapour is modelled, and mark the rows under it."""
    return np.zeros_like(rejected[gating.PURGE]) if loads is None else rejected.pop(gating.PURGE)


def _none(seen: Signals) -> FloatArray:
    """Return no effect at every row: one row of zeros, seen as many; not to be written to."""
    return np.broadcast_to(np.zeros(2), (seen.time.size, 2))


def _swing(turns: BoolArray, seen: Signals) -> float | None:
    """Return the period of the loop's swing, s; None where the log is too coarse to show it."""
    at = seen.time[turns & seen.closed]
    if at.size < FEWEST_TURNS or seen.held:
        return None
    period = 2 * float(np.median(np.diff(at)))
    if period < 4 * row_step(seen.time) or period > LONGEST_SWING_S:
        return None
    return float(np.clip(period, 0.4, WINDOW_S))


def _swings_around(turns: BoolArray, jumps: BoolArray, time: FloatArray, swing: float) -> BoolArray:
    """Mark the rows with a turning point shortly before and one shortly after: there the loop holds its target.

    Where another long trim begins to act the loop must turn anew, half a swing later at least: what it did before is
    still on its way to the sensor.
    """
    reach = 0.75 * swing
    turned, jumped = (np.maximum.accumulate(np.where(each, time, -np.inf)) for each in (turns, jumps))
    anew = (turned >= jumped + swing / 2) & ~precedes(jumps, time, swing / 2)
    return follows(turns, time, reach) & precedes(turns, time, reach) & anew


def _nothing(seen: Signals, engine: dict[str, BoolArray]) -> Readings:
    rows = seen.time.size
    return Readings(
        kept=np.zeros(rows, dtype=np.bool_),
        by_trims=np.zeros(rows, dtype=np.bool_),
        position=seen.position,
        ratio=np.full(rows, np.nan),
        film=np.zeros(rows),
        slow_film=np.zeros(rows),
        upset=np.zeros(rows),
        answered=np.zeros(rows),
        pull_rate=np.zeros(rows),
        open_trims=_none(seen),
        manifold=np.zeros(rows),
        purge=_none(seen),
        purged=np.zeros(rows, dtype=np.bool_),
        weight=seen.weight,
        plain=np.zeros(rows, dtype=np.bool_),
        rejected={**engine, gating.NO_READING: np.ones(rows, dtype=np.bool_)},
    )
