"""What belongs to the exhaust of the car: where its wideband sits and how late it sees, found from all drives together.

There are three answers for the place: before the catalyst, after it, or that the logs cannot tell. Two things tell it.
Swings of the closed loop that come through show a sensor before the catalyst; from their absence nothing follows, since
a long way and a slow sensor take them away as well. Then commands and fuel cuts are carried to the sensor with and
without a store in between (level' = 0.2314 * airflow * (1 - 1/lambda), kept within 0..capacity), and the readings must
lie clearly nearer to one of both. Where neither tells, only what holds at both places is used, and the user is asked.
"""

from collections.abc import Generator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from workbench.maths.drives import delay_estimation
from workbench.maths.drives.delay_estimation import COARSE_S, DEFAULT, SWING_S, Course, course, huber_loss
from workbench.maths.drives.drive_fit import DriveFit, expected_ratio, film_of, read_again
from workbench.maths.drives.loop_answer import delay_by_loop
from workbench.maths.signals.delay import seen_by_sensor, source_times
from workbench.maths.signals.disturbances import OXYGEN, mixture_command
from workbench.maths.signals.gating import COLD, NO_READING, NOT_RUNNING, PURGE, engine_gates, follows, precedes
from workbench.maths.signals.series import filled, moving_mean, row_step
from workbench.maths.solve.solve import HUBER, Solution, huber_weights, spread_of
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import Delay, Source
from workbench.model.gate import Gates
from workbench.model.table import Table
from workbench.phrases import call, flag, phrase

# Behind a catalyst where the log cannot tell: its own volume and the pipe to it. Common practice, no source.
BEHIND = Delay(fixed_s=0.10, volume_g=3.0, lag_s=0.10, source="default")
SENSOR_LAG_S, LEFT_UNFOLLOWED = 0.2, 0.4  # slower is gas that mixes or a store; share of the movement left over
RICH = 0.94  # lambda under which a pull or its entry is meant
FEWEST_CALM = 200  # rows in which the loop may be watched
LONG_ENOUGH_S = 25.0  # of them, before what comes through is believed: in fewer swings chance looks like an answer
SLOW_SWING_S = 6.0
# Share of the predicted swing from which it comes through, from which it does in the other window, and at most.
THROUGH, ALSO_THROUGH, MOST_THROUGH = 0.7, 0.5, 1.4
TOLD_SWING = 0.0025  # of lambda, standard deviation: a smaller one drowns in the steps of a trim
# Correlation from which a reading follows the trims, and which proves it where swings are so small that the loop's
# answer to what came through a full store may pass for them.
FOLLOWS, PROVES, SMALL_SWING = 0.14, 0.35, 0.002
TRIED_FIXED_S, TRIED_VOLUME_G = (0.02, 0.15, 0.4, 0.8), (0.5, 1.5, 4.0, 8.0)
TRIED_LAG_S = (0.08, 0.4)  # gas that mixes in a long pipe looks like a slow sensor
TRIED_STORES_G = (0.4, 0.8, 1.5)  # oxygen: common stores are of the order of a gram (common practice, no source)
HALF = 0.5  # full is a store that a swinging loop keeps
# Full is one whose loop is a little rich or lean of the middle: it lets the one or the other through at once.
TRIED_LEVELS = (0.02, 0.2, 0.8, 0.98)
FAR, NOTICED_S, FEWEST_FAR = 0.06, 4.0, 150  # from lambda 1, how long after it, and rows of it
LEAST_OFF = 0.02  # of lambda: readings that lie nearer than this to what was carried to them agree
# Of the other place's loss, from which the readings tell the place: what is taken for before the catalyst though it is
# behind costs more than the other way round.
NEARER, NEARER_BEFORE = 0.70, 0.65
RETURNS = 0.02  # of the way to its own level that a closed loop brings a store back in a row of 0.1 s
AIR = 10.0  # lambda that stands for a fuel cut
RANGE = (0.7, 1.3)  # of lambda, outside which sensors differ


@dataclass(frozen=True)
class Exhaust:
    """Where the wideband of some drives sits, and how late it sees the mixture.

    Attributes:
        place: "before", "after" or "unknown".
        delay: of all of them.
        why: what the place rests on, as a sentence; empty where it was stated.
    """

    place: str
    delay: Delay
    why: str = ""


def look_again(
    known: list[DriveFit], head: Table, solution: Solution, gates: Gates, source: Source
) -> Generator[float, None, list[DriveFit]]:
    """Find film, place and delay from what a first solution expects, and read the drives again; yields the share done.

    Drives that are not said to have been driven with the wideband elsewhere, or with another delay, share one exhaust.
    """
    found, done = list(known), 0.0
    groups: dict[tuple[str, Delay | None], list[int]] = {}
    for number, driven in enumerate(known):
        if driven.place != "none" and source != "trims":
            groups.setdefault((driven.stated_place, driven.said), []).append(number)
    for (place, stated), numbers in groups.items():
        group = [known[k] for k in numbers]
        part = len(group) / len(known)
        # A film shifts what transients look like, and so does a delay: each is found again after the other.
        film = film_of(group, head, solution, gates, stated or group[0].delay)
        group = [replace(driven, film=film) for driven in group]
        yield done + 0.2 * part
        exhaust = exhaust_of(group, head, solution, gates, place, stated)
        yield done + 0.7 * part
        film = film_of(group, head, solution, gates, exhaust.delay)
        for at, (k, driven) in enumerate(zip(numbers, group, strict=True)):
            yield done + (0.9 + 0.1 * at / len(group)) * part
            read = read_again(driven, head, solution, gates, source, exhaust.place, exhaust.delay, film, exhaust.why)
            found[k] = read.put_aside()
        done += part
    return found


def exhaust_of(
    group: Sequence[DriveFit], head: Table, solution: Solution, gates: Gates, place: str, stated: Delay | None
) -> Exhaust:
    """Find the exhaust that some drives share.

    Args:
        group: the drives.
        head: the table that the solution belongs to.
        solution: best knowledge so far.
        gates: limits.
        place: of the wideband where it was said, "auto" otherwise.
        stated: fixes the delay.
    """
    ratios = [expected_ratio(driven, head, solution) for driven in group]
    paths = [
        course(driven.seen, driven.table, gates, ratio, stated or driven.delay)
        for driven, ratio in zip(group, ratios, strict=True)
    ]
    own, why = None, ""
    if place == "auto" or (stated is None and place != "after"):
        own = delay_estimation.estimate(*paths)
    delay = stated or own
    if place == "auto":
        # Where it sits is the car's, whatever delay somebody states.
        place, why = place_of_wideband(paths, own or DEFAULT)
        if place == "unknown" and _follows_closely(paths, own):
            place, why = (
                "before",
                "The wideband follows the predicted mixture as fast as a sensor can: it is before the catalyst.",
            )
        if place == "unknown":
            stretches = [_stretch(d, ratio, gates) for d, ratio in zip(group, ratios, strict=True)]
            place, why = _place_by_store(stretches, why)
    if place != "before" and stated is None:
        reason = "oxygen storage hides it; the default is used"
        if place == "unknown":
            reason = "the wideband's position is not known: the default is used"
        delay = replace(BEHIND, carried_by=reason) if place == "after" or delay is None else delay
    elif stated is None:
        delay = _sooner(delay_by_loop([driven.seen for driven in group]), delay, paths)
    return Exhaust(place, delay or DEFAULT, why)


def _sooner(by_loop: Delay | None, by_prediction: Delay | None, paths: Sequence[Course]) -> Delay | None:
    """Give the shorter of two delays at the median airflow: a closed loop makes a prediction look late, never early."""
    if by_loop is None or by_prediction is None or by_prediction.source != "estimated":
        return by_loop or by_prediction
    flow = float(np.median(np.concatenate([path.airflow[path.usable] for path in paths])))
    return min(by_loop, by_prediction, key=lambda each: each.fixed_s + each.volume_g / flow + each.lag_s)


def place_of_wideband(paths: Sequence[Course], delay: Delay) -> tuple[str, str]:
    """Tell from closed-loop swings of all drives whether the wideband sits before the catalyst.

    A sensor before it shows the swings that the trims cause, at some delay; oxygen storage takes them away at every
    one. So does gas that mixes on a long way, and the lag of a slow sensor: their absence proves nothing; their
    presence does. Slow loops swing over several seconds, which a store of a gram calms as well.

    Returns:
        "before" or "unknown", and a sentence that says what it rests on.
    """
    fine = [path for path in paths if path.reading_s <= COARSE_S]
    step_s = float(np.mean([path.step_s for path in fine])) if fine else 0.0
    calmed, through, proven, watched_s = "", [], False, 0.0
    for window_s in (SWING_S, SLOW_SWING_S) if fine else ():
        swing, answer = _best_followed(fine, delay, window_s)
        if swing.size < FEWEST_CALM:
            continue
        share = _typical_slope(swing, answer)
        agreed = float(np.corrcoef(_usual(swing), _usual(answer))[0, 1])
        through.append(share if agreed > FOLLOWS and share <= MOST_THROUGH else 0.0)
        size = spread_of(swing, np.ones(swing.size))
        proven |= agreed > PROVES or size > SMALL_SWING
        watched_s = max(watched_s, swing.size * step_s)
        if share < ALSO_THROUGH and size >= TOLD_SWING:
            calmed = phrase(
                "The wideband shows only {share:.0f} % of the swings that the trims cause, as after the catalyst, but "
                "also far down a pipe",
                share=100 * max(share, 0.0),
            )
    # Slow moments break through a store: quick swings must come through as well.
    if proven and watched_s >= LONG_ENOUGH_S and min(through) >= ALSO_THROUGH and max(through) >= THROUGH:
        said = "The wideband shows {share:.0f} % of the trims' swings: it is before the catalyst."
        return "before", phrase(said, share=100 * max(through))
    if calmed and max(through) < ALSO_THROUGH:
        return "unknown", calmed
    return "unknown", "The trims' swings are too small, or logged too slowly, to show the wideband's position"


def _best_followed(paths: Sequence[Course], delay: Delay, window_s: float) -> tuple[FloatArray, FloatArray]:
    """Return predicted swings and those measured, at the delay at which they agree best, over all calm rows."""
    best, pair = -np.inf, (np.zeros(0), np.zeros(0))
    answers = [path.measured - moving_mean(filled(path.measured), path.time, window_s) for path in paths]
    tried = [(f, v, lag) for f in TRIED_FIXED_S for v in TRIED_VOLUME_G for lag in TRIED_LAG_S]
    for fixed, volume, lag in [(delay.fixed_s, delay.volume_g, delay.lag_s), *tried]:
        swings, answered = [], []
        for path, answer in zip(paths, answers, strict=True):
            source = source_times(path.time, path.airflow, fixed, volume)
            carried = seen_by_sensor(path.predicted, path.time, source, lag, path.step_s)
            away = path.away | path.jump | (np.abs(carried - 1) > FAR)
            calm = path.usable & ~(follows(away, path.time, window_s) | precedes(away, path.time, window_s))
            swings.append((carried - moving_mean(carried, path.time, window_s))[calm])
            answered.append(answer[calm])
        swing, answer = np.concatenate(swings), np.concatenate(answered)
        if swing.size < FEWEST_CALM or np.std(swing) == 0 or np.std(answer) == 0:
            continue
        agreed = float(np.corrcoef(swing, answer)[0, 1])
        if agreed > best:
            best, pair = agreed, (swing, answer)
    return pair


def _usual(values: FloatArray) -> FloatArray:
    """Cut to what is usual: rare large moments break through a store as well."""
    limit = 3 * spread_of(values, np.ones(values.size))
    return np.clip(values, -limit, limit)


def _follows_closely(paths: Sequence[Course], delay: Delay | None) -> bool:
    """Tell whether readings follow what was predicted, most of it, within the lag of a sensor: a store adds more."""
    fine = [path for path in paths if path.reading_s <= COARSE_S]
    if delay is None or delay.source != "estimated" or delay.lag_s >= SENSOR_LAG_S or not fine:
        return False
    numbers = (delay.fixed_s, delay.volume_g, delay.lag_s)
    # In sustained rich running a catalyst lets everything through as well.
    lean = np.concatenate([((path.predicted > RICH) & (path.measured > RICH))[path.usable] for path in fine])
    left = np.concatenate([delay_estimation.misfit(path, numbers) for path in fine])[lean]
    measured = np.concatenate([path.measured[path.usable] for path in fine])[lean]
    if measured.size < FEWEST_CALM:
        return False
    still = measured - np.median(measured)
    scale = spread_of(still, np.ones(still.size))
    return huber_loss(left, scale) < LEFT_UNFOLLOWED * huber_loss(still, scale)


def _typical_slope(swing: FloatArray, answer: FloatArray) -> float:
    """Return the slope that most samples follow; the few that break through a full store are weighed down."""
    weight = np.ones(swing.size)
    slope = 0.0
    for _ in range(15):
        slope = float((weight * swing) @ answer / ((weight * swing) @ swing))
        rest = answer - slope * swing
        weight = huber_weights(rest, spread_of(rest, np.ones(rest.size)) / HUBER) ** 2
    return slope


@dataclass(frozen=True, eq=False)
class _Stretch:
    """One drive with its fuel cuts, for carrying what left the engine through a store; arrays (rows,).

    What passes a store is worked out for each size of it, as it leaves the engine: in plug flow it does not matter
    whether gas is carried first and stored then, or the other way round.
    """

    time: FloatArray
    airflow: FloatArray
    left: FloatArray
    resting: BoolArray
    passed: dict[tuple[float, float], FloatArray]
    measured: FloatArray
    compared: BoolArray
    step_s: float

    def after(self, store_g: float, level: float) -> FloatArray:
        """Return the lambda behind a store of such a size that a closed loop keeps so full, shape (rows,)."""
        if (store_g, level) not in self.passed:
            air = self.airflow * self.step_s
            gas = through_store(self.left, air, store_g, self.resting, level) if store_g else self.left
            self.passed[store_g, level] = np.clip(gas, *RANGE)
        return self.passed[store_g, level]


def _stretch(driven: DriveFit, ratio: FloatArray, gates: Gates) -> _Stretch:
    seen = driven.seen
    engine = engine_gates(seen, driven.table, gates)
    left = np.where(seen.cut, AIR, filled(ratio) * mixture_command(seen))
    far = seen.cut | (np.abs(seen.commanded - 1) > FAR)
    # The loop swings the store about its middle; what is not known exactly must not fill or empty it over minutes.
    resting = seen.closed & ~far
    left[resting] = 1.0
    far = follows(far, seen.time, NOTICED_S)
    away = engine[NOT_RUNNING] | engine[COLD] | engine[NO_READING] | engine[PURGE] | ~np.isfinite(seen.measured)
    step = max(1, round(0.1 / row_step(seen.time)))
    rows, step_s = slice(None, None, step), step * row_step(seen.time)
    return _Stretch(
        seen.time[rows],
        filled(seen.airflow)[rows],
        left[rows],
        resting[rows],
        {},
        np.clip(seen.measured, *RANGE)[rows],
        (far & ~away)[rows],
        step_s,
    )


def _place_by_store(stretches: Sequence[_Stretch], why: str) -> tuple[str, str]:
    """Carry commands and fuel cuts to the wideband with and without a store of oxygen, and see which lies nearer."""
    usable = [each for each in stretches if each.step_s <= COARSE_S]
    unknown = (
        "unknown",
        (
            phrase(
                "{why}, so it is unknown. Only evidence valid on both sides of the catalyst is used; to use more, "
                "state the position with settings {wideband_flag}, or for one drive with "
                "{amend_log_command} {wideband_flag}.",
                wideband_flag=flag("wideband"),
                why=why,
                amend_log_command=call("amend-log"),
            )
        ),
    )
    if sum(int(each.compared.sum()) for each in usable) < FEWEST_FAR:
        return unknown

    def least(
        stores: Sequence[float],
        fixed_s: Sequence[float] = TRIED_FIXED_S,
        volume_g: Sequence[float] = TRIED_VOLUME_G,
        lag_s: Sequence[float] = TRIED_LAG_S,
        levels: Sequence[float] = (HALF,),
    ) -> float:
        return min(
            _apart(usable, (fixed, volume, lag), store, level)
            for store in stores
            for level in levels
            for fixed in fixed_s
            for volume in volume_g
            for lag in lag_s
        )

    without, through = least((0.0,)), least(TRIED_STORES_G)
    # A long way imitates a store: only what comes without one speaks against it, however full the store may have been.
    quick = least((0.0,), TRIED_FIXED_S[:2], TRIED_VOLUME_G[:2], TRIED_LAG_S[:1])
    if quick < NEARER_BEFORE * through and quick < NEARER_BEFORE * least(TRIED_STORES_G, levels=TRIED_LEVELS):
        return "before", "The wideband responds at once after commands and fuel cuts: it is before the catalyst."
    if through < NEARER * without:
        return "after", (
            "After commands and fuel cuts the wideband stays at 1 while stored oxygen lasts: it is after the "
            "catalyst and is used only in sustained rich running."
        )
    return unknown


def _apart(stretches: Sequence[_Stretch], numbers: tuple[float, float, float], store_g: float, level: float) -> float:
    fixed_s, volume_g, lag_s = numbers
    total = 0.0
    for each in stretches:
        source = source_times(each.time, each.airflow, fixed_s, volume_g)
        carried = seen_by_sensor(each.after(store_g, level), each.time, source, lag_s, each.step_s)
        total += huber_loss((each.measured - carried)[each.compared], LEAST_OFF)
    return total


def through_store(
    mixture: FloatArray,
    air_g: FloatArray,
    store_g: float,
    resting: BoolArray | None = None,
    level: float = HALF,
) -> FloatArray:
    """Return the lambda that leaves a store of oxygen, shape (rows,).

    Args:
        mixture: lambda that enters it, shape (rows,).
        air_g: air that passes in each row, g.
        store_g: oxygen that it holds, g.
        resting: rows in which a closed loop brings it back to its level.
        level: part of it that is full at first, and to which a closed loop brings it back.
    """
    flow = OXYGEN * np.maximum(air_g, 1e-6)
    rest = [False] * mixture.size if resting is None else resting.tolist()
    kept = level * store_g
    held, left = kept, []
    for oxygen, rests in zip((flow * (1 - 1 / mixture)).tolist(), rest, strict=True):
        wanted = held + oxygen
        held = min(max(wanted, 0.0), store_g)
        left.append(wanted - held)
        if rests:
            held += RETURNS * (kept - held)
    return np.asarray(1 / (1 - np.array(left) / flow))
