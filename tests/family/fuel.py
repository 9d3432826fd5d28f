"""Fuel: the injector, and two films on the wall of which the ECU makes up for a part.

dm/dt = x f - m/T for each film; what reaches the cylinder is (1 - x1 - x2) f + m1/T1 + m2/T2 (the usual x-tau model of
fuel puddling, from memory). The ECU inverts one film with a part of the share and the mean time constant. Flows g/s.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from family.air import STEP_S, Array, largest_flow
from family.parts import Car

STOICHIOMETRIC = 14.7

Injector = Callable[[int, float], float]
Wall = Callable[[int, float], float]


@dataclass(frozen=True)
class FuelFault:
    """What is wrong with the delivery of fuel.

    Attributes:
        offset: s that every pulse is longer than the ECU believes.
        pump: share of fuel that is missing at the largest fuel flow; begins at 55 % of it.
        missing: share of fuel that does not arrive, per step.
    """

    offset: float = 0.0
    pump: float = 0.0
    missing: Array | None = None


def coldness(coolant: Array) -> Array:
    """1 at 0 °C, 0 at 85 °C and above."""
    return np.clip((85 - coolant) / 85, 0, 1)


def injected(car: Car, start: float = 0.0) -> Callable[[float], float]:
    """Give the ECU's part: from the fuel wanted in the cylinder to the fuel it injects; it keeps a film of its own.

    Args:
        car: what was drawn.
        start: flow for which the film stands at first.
    """
    (x1, t1), (x2, t2) = car.fuel.films
    share = car.fuel.made_up * (x1 + x2)
    time = (x1 * t1 + x2 * t2) / (x1 + x2)
    film = share * time * start

    def step(wanted: float) -> float:
        nonlocal film
        given = (wanted - film / time) / (1 - share)
        if given < 0 or wanted <= 0:
            given = 0.0
        film += STEP_S * (share * given - film / time)
        return given

    return step


def delivered(car: Car, rpm: Array, fault: FuelFault) -> Injector:
    """Give the injector: from the fuel the ECU means to inject in a step to what leaves it."""
    largest = largest_fuel_flow(car)
    # an injector is sized for 85 % duty at the largest fuel flow; each pulse delivers offset * its static flow more
    static = largest / 0.85
    extra = (fault.offset * static * np.asarray(rpm) / 120).tolist()
    missing = None if fault.missing is None else fault.missing.tolist()

    def step(i: int, meant: float) -> float:
        if meant <= 0:
            return 0.0
        flow = meant + extra[i]
        if fault.pump:
            flow *= pump_share(meant / largest, fault.pump)
        if missing is not None:
            flow *= 1 - missing[i]
        return flow if flow > 0 else 0.0

    return step


def pump_share(load: Any, weak: float) -> Any:
    """Share of fuel that still flows when a pump tires: falls from 55 % of the largest fuel flow on.

    Args:
        load: fuel flow as a share of the largest, a number or an array.
        weak: share that is missing at the largest.
    """
    over = (load - 0.55) / 0.45
    return 1 - weak * (np.clip(over, 0, 1.2) if isinstance(over, np.ndarray) else min(1.2, max(0.0, over)))


def largest_fuel_flow(car: Car) -> float:
    """Fuel flow of the largest airflow at lambda 0.82, g/s."""
    return largest_flow(car.engine) / (0.82 * STOICHIOMETRIC)


def wall(car: Car, coolant: Array, start: float = 0.0) -> Wall:
    """Give the two films: from the fuel that leaves the injector to what reaches the cylinder.

    Args:
        car: what was drawn.
        coolant: °C, per step.
        start: flow for which the films stand at first.
    """
    (x1, t1), (x2, t2) = car.fuel.films
    more: list[float] = (1 + car.fuel.cold * coldness(coolant)).tolist()
    one, two = x1 * more[0] * t1 * start, x2 * more[0] * t2 * start

    def step(i: int, flow: float) -> float:
        nonlocal one, two
        a, b = x1 * more[i], x2 * more[i]
        given = one / t1
        slow = two / t2
        one += STEP_S * (a * flow - given)
        two += STEP_S * (b * flow - slow)
        return (1 - a - b) * flow + given + slow

    return step
