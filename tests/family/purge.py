"""The canister: when its valve opens, and how much fuel comes with the air.

Under purge part of the engine's air does not pass the airflow sensor, and its vapour is fuel that no injector metered.
"""

import numpy as np

from family.air import STEP_S, Array
from family.driver import Flags, smooth
from family.parts import Car


def duty_of(car: Car, rng: np.random.Generator, allowed: Flags) -> Array:
    """Give the valve's duty, 0 to 1, per step: episodes that ramp up slowly and shut at once.

    Args:
        car: what was drawn.
        rng: chance.
        allowed: where the ECU may purge: warm, closed loop, part throttle.
    """
    duty = np.zeros(len(allowed))
    if car.purge.kind == "none":
        return duty
    at = int(rng.uniform(5, 60) / STEP_S)
    while at < len(duty):
        long = 5 if car.purge.kind == "steady" else 1
        on = int(long * car.purge.on * rng.uniform(0.5, 1.5) / STEP_S)
        height = rng.uniform(0.4, 1.0)
        end = min(at + on, len(duty))
        rise = np.minimum(1, np.arange(end - at) * STEP_S / rng.uniform(3, 12))
        duty[at:end] = height * rise
        at = end + int(car.purge.off * rng.uniform(0.5, 1.5) / STEP_S)
    return np.where(allowed, smooth(np.where(allowed, duty, 0.0), 0.15), 0.0)


def choked_flow(car: Car, duty: Array) -> Array:
    """Flow of the valve were it choked, g/s."""
    return duty * car.purge.flow * car.engine.displacement


def vapour_share(car: Car, rng: np.random.Generator, duty: Array, flow: Array) -> Array:
    """Mass share of fuel in the purge flow, per step."""
    purge = car.purge
    if purge.kind == "episode":
        begins = (duty > 0) & (np.concatenate(([0.0], duty[:-1])) == 0)
        rest = np.cumsum(duty == 0)
        # a short lift of the foot shuts the valve but begins no new episode: that takes 8 s of rest
        new = begins & (np.diff(rest[begins], prepend=-9999) * STEP_S > 8)[np.maximum(np.cumsum(begins) - 1, 0)]
        each = purge.vapour * rng.uniform(0.3, 1.7, int(new.sum()) + 1)
        return np.asarray(each[np.cumsum(new)])
    if purge.kind == "emptying":
        return np.asarray(purge.vapour * np.exp(-np.cumsum(flow) * STEP_S / purge.capacity))
    return np.full(len(duty), purge.vapour)


def logged(car: Car, duty: Array) -> tuple[str, Array] | None:
    """Give the channel that a log has of it, if any."""
    if car.purge.logged == "duty":
        return "EVAP Purge Duty (%)", 100 * duty
    if car.purge.logged == "flag":
        return "Purge Active", (duty > 0).astype(float)
    return None
