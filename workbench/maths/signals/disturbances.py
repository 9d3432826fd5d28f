"""What moves the mixture beside the airflow table, or hides it: the fuel film, purge vapour, stored oxygen."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.signals.delay import seen_by_sensor
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.series import carried, filled, row_step
from workbench.model.arrays import BoolArray, FloatArray, IntArray

FILM_S = (0.1, 0.2, 0.35, 0.6, 1.0)  # time constants tried for a warm fuel film: common practice, no source
# Of a second film that lies farther from the valve: the ECU makes up for one film, and in a pull the slow one lacks
# fuel all the way. One to three seconds when warm: common practice, no source.
SLOW_FILM_S = 2.0
GROWTH_S = 0.1  # over about which the growth of the injected fuel is worked out
RATE_S, FASTEST = 0.3, 5.0  # over which filling is worked out, s, and at most, 1/s per 1000 rpm
MOST_GIVEN_OFF = -4.0  # of the injected fuel; what more is given off says nothing of the table
# Of the fuel that a film of share 1 takes up, from which a sensor that tells rich from lean sees nothing else; and over
# how many swings the loop forgets. Seen on virtual cars made by others.
NOTICED, SWINGS_BEHIND = 0.05, 2.0
# Oxygen that readings themselves must have shown to be taken out: where the mixture came out leaner than commanded, the
# command empties a store that is yet full. Of the order of a common store (common practice, no source).
SHOWN_G = 1.0
READ_S = 1.5  # for so long at most a reading stands for the rows after it (common practice, no source)
STORAGE_G = 3.0  # oxygen that must have been used up before a reading behind the catalyst counts: twice a common store
SURELY_RICH = 0.985  # lambda under which oxygen is taken out of a store
OXYGEN = 0.2314  # mass fraction of oxygen in dry air
FEWEST_PURGED = 200  # rows with the valve open, and as many with it shut, to tell purge from the table


@dataclass(frozen=True)
class Film:
    """The fuel film on the walls and the filling of the manifold, as far as the ECU does not make up for them.

    Attributes:
        share: part of the injected fuel that wets the walls, 0..1.
        constant_s: time constant with which it evaporates, s.
        manifold: time constant of the manifold times engine speed, s * 1000 rpm; 0 where the table is read by what the
            cylinders meet.
    """

    share: float
    constant_s: float
    manifold: float = 0.0


DRY = Film(0.0, 0.35)


def mixture_command(seen: Signals) -> FloatArray:
    """Return commanded lambda over fuel factor: the lambda the sensor would see if the table were right, (rows,).

    Where another table shared the work, it is what the airflow that the ECU used lets expect; where the sensor sits in
    one of two banks, what is to be seen there.
    """
    return filled(seen.commanded / (seen.fuel * seen.bank) * seen.share)


def film_filling(seen: Signals, constant_s: float) -> FloatArray:
    """Return the part of the injected fuel that a film of share 1 would be taking up, shape (rows,).

    It is 1 at most; below 0 the film gives off fuel, many times what is injected where a throttle shuts at high speed.

    Injected fuel wets the walls and evaporates with a time constant; while the film fills the cylinder gets less:
    film' = share * injected - film / constant (two-parameter film model after Aquino 1981, SAE 810494, from memory),
    so the cylinder lacks share * (injected - injected lagged by the constant).
    """
    injected = injected_fuel(seen)
    lagged = seen_by_sensor(injected, seen.time, seen.time, constant_s, row_step(seen.time))
    filling: FloatArray = np.where(seen.cut, 0.0, (injected - lagged) / np.maximum(injected, 1e-9))
    return np.clip(filling, MOST_GIVEN_OFF, 1.0)


def still_answered(seen: Signals, swing_s: float) -> tuple[FloatArray, FloatArray]:
    """Give what the loop may still be answering of films that filled or emptied, shape (rows,) each.

    A loop answers late, and takes back at its own pace what it added while a film filled: what it holds is true again
    only some swings after the throttle moved. A sensor that only tells rich from lean makes it run as long, and not as
    far, as the mixture was off.

    Args:
        seen: the drive.
        swing_s: period of the loop's swing, s.

    Returns:
        How much of the fuel a film of share 1 was taking up or giving off lately; and how long of late it filled (above
        0) or emptied (below), as a share of the time.
    """
    filling = filled(film_filling(seen, FILM_S[-2]))
    ways = (np.abs(filling), np.clip(filling / NOTICED, -1.0, 1.0))
    much, way = (
        seen_by_sensor(each, seen.time, seen.time, SWINGS_BEHIND * swing_s, row_step(seen.time)) for each in ways
    )
    return much, way


def growth_rate(seen: Signals) -> FloatArray:
    """Return how fast the injected fuel grows, as a share of itself, 1/s, shape (rows,).

    Whatever is late by a short time T, a meter or a quick film of share x and constant c with T = x c, makes the
    cylinder lack T times this (first term of the series in T).
    """
    return film_filling(seen, GROWTH_S) / GROWTH_S


def manifold_filling(seen: Signals) -> FloatArray:
    """Give the part of the measured air that a manifold of time constant 1 s at 1000 rpm would be taking up, (rows,).

    Air that passes the sensor fills the manifold before it reaches the cylinders. With p V = m R T and cylinders that
    take p Vd n / (120 R T) times their filling, the stored mass is K m / n in steady flow, so the cylinders lack
    K d(m / n) / dt (ideal gas; mean-value model after Hendricks 1990, SAE 900616, from memory). K = 120 V / (Vd
    filling) is 0.1 to 0.35 s * 1000 rpm for volumes of 0.8 to 2.5 displacements.
    """
    flow, speed = np.maximum(filled(seen.airflow), 0.1), filled(seen.speed)
    if not np.isfinite(seen.speed).any():
        return np.zeros(flow.size)
    stored = flow / (np.maximum(speed, 300.0) / 1000)
    half = max(RATE_S / 2, row_step(seen.time))
    later, earlier = (np.interp(seen.time + by, seen.time, stored) for by in (half, -half))
    return np.clip((later - earlier) / (2 * half) / flow, -FASTEST, FASTEST)


def injected_fuel(seen: Signals) -> FloatArray:
    """Give what is proportional to the injected fuel: airflow over the lambda asked for, g/s of air, shape (rows,)."""
    injected = filled(seen.airflow) / np.maximum(filled(seen.commanded / seen.fuel), 0.3)
    return np.where(seen.cut, 0.0, injected)


def purge_loads(seen: Signals) -> FloatArray | None:
    """Return the shapes that purge vapour takes over the injected fuel, shape (rows, 2); None where it cannot be told.

    Vapour flows with the valve's opening and mixes with the injected fuel; the canister empties while the valve is
    open, so the second shape is the first times the opening so far. How much vapour each stands for is estimated.
    """
    opening = np.nan_to_num(seen.purge) / 100
    if min((opening > 0).sum(), (opening == 0).sum()) < FEWEST_PURGED:
        return None
    load = opening / np.maximum(injected_fuel(seen), 1.0)
    emptied = np.cumsum(opening * np.diff(seen.time, prepend=seen.time[0]))
    # Scaled to about 1, so that both effects are found with the same care.
    first = load / float(np.mean(load[opening > 0]))
    return np.stack([first, first * emptied / max(float(emptied[-1]), 1e-9)], axis=1)


def storage_empty(seen: Signals, at: IntArray) -> BoolArray:
    """Mark readings before which rich gas has used up whatever oxygen a catalyst may have held, shape (rows,).

    Args:
        seen: the drive.
        at: row in which the gas of each reading left the engine, shape (rows,).
    """
    stands = carried(seen.measured, seen.time, READ_S)
    shown = _oxygen_taken(seen, np.where(np.isfinite(stands), stands, 1.0))
    return np.asarray((_oxygen_taken(seen, mixture_command(seen))[at] > STORAGE_G) & (shown > SHOWN_G))


def _oxygen_taken(seen: Signals, mixture: FloatArray) -> FloatArray:
    """Give the oxygen that gas of some mixture has taken out since the last rest at lambda 1, g, shape (rows,)."""
    # level' = 0.2314 * airflow * (1 - 1/lambda)
    taken = OXYGEN * seen.airflow * np.maximum(1 / mixture - 1, 0.0) * np.diff(seen.time, prepend=seen.time[0])
    taken[seen.closed | seen.cut | (mixture > SURELY_RICH)] = 0.0
    total = np.cumsum(np.nan_to_num(taken))
    resting = seen.closed | seen.cut
    since = np.maximum.accumulate(np.where(resting, total, 0.0))
    return np.asarray(total - since)
