"""The ECU's mixture control: when it is closed, what it commands, short and long trims."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from family.air import STEP_S, Array, largest_flow
from family.driver import Drive, Flags, smooth
from family.parts import Car

WARM_ENOUGH = 30.0  # °C from which the loop may close
LEARNS = 70.0  # °C from which trims are learnt
SHORT_LIMIT, LONG_LIMIT = 0.25, 0.2

Short = Callable[[float], float]


@dataclass(frozen=True)
class Regime:
    """What the ECU does when, per step.

    Attributes:
        coolant: °C.
        commanded: lambda.
        closed: loop closed.
        cut: fuel cut.
        full: full-throttle mixture commanded.
        status: fuel system status as in SAE J1979: 1 open loop, cold; 2 closed; 4 open loop by load or overrun.
    """

    coolant: Array
    commanded: Array
    closed: Flags
    cut: Flags
    full: Flags
    status: Array


def regime_of(car: Car, drive: Drive) -> Regime:
    """Work out what the ECU does when; it depends on the drive alone."""
    time = drive.time
    loop, engine = car.loop, car.engine
    target = 88.0 if car.route.coolant < 80 else car.route.coolant
    coolant = target - (target - car.route.coolant) * np.exp(-time / 200)
    cut = _cut(car, drive)
    asked = drive.opening > 0.6
    full = asked & (smooth(asked.astype(float), 0.15) > 0.6)
    share = np.clip((drive.rpm - 2000) / (engine.redline - 2000), 0, 1)
    rich = loop.full[0] + (loop.full[1] - loop.full[0]) * share
    blend = _ramp(full, loop.step)
    cold = np.clip((60 - coolant) / 60, 0, 1)
    base = np.where(coolant < WARM_ENOUGH, 1 - 0.1 * cold, 1.0)
    commanded = base + (np.minimum(rich, base) - base) * blend
    ready = (time > loop.ready) & (coolant >= min(WARM_ENOUGH, target))
    ran_out = _ramp(~cut, 1.2) >= 1  # an overrun leaves air in the exhaust: the loop waits for it to pass
    closed = ready & ~cut & (blend == 0) & ran_out
    status = np.where(closed, 2.0, np.where(~ready, 1.0, 4.0))
    return Regime(coolant, commanded, closed, cut, full | (blend > 0), status)


def _cut(car: Car, drive: Drive) -> Flags:
    """Fuel is cut some time after the pedal came up, above one speed, until the pedal or a lower speed ends it."""
    after, above, resume = round(car.fuel.cut_after / STEP_S), car.fuel.cut_above, car.fuel.resume
    cut = np.zeros(len(drive.time), bool)
    waited, on = 0, False
    for i, (closed, rpm) in enumerate(zip(drive.closed.tolist(), drive.rpm.tolist(), strict=True)):
        waited = waited + 1 if closed else 0
        on = (on and closed and rpm > resume) or (waited > after and rpm > above)
        cut[i] = on
    return cut


def _ramp(on: Flags, seconds: float) -> Array:
    """Rise from 0 to 1 in some seconds while on, and drop to 0 at once when off."""
    index = np.arange(len(on))
    last_off = np.maximum.accumulate(np.where(on, -1, index))
    return np.asarray(np.clip((index - last_off) * STEP_S / seconds, 0, 1) * on)


def short_trim(car: Car) -> Short:
    """Give the short trim's step: from the lambda that the ECU's sensor sees, in closed loop, to the trim as a share.

    It is asked in closed loop only; between, it starts again from 0.
    """
    loop = car.loop
    centre, short = loop.centre, 0.0
    if loop.kind == "jumping":
        ramp, jump, rich = 0.025 * loop.speed * STEP_S, 0.012 * loop.gain, False

        def jumping(seen: float) -> float:
            nonlocal short, rich
            if (seen < centre) != rich:
                rich = not rich
                short += -jump if rich else jump
            short += -ramp if rich else ramp
            short = min(SHORT_LIMIT, max(-SHORT_LIMIT, short))
            return short

        return jumping
    kept = 0.0
    proportion = 0.0 if loop.kind == "integrating" else 0.2 * loop.gain
    speed = (0.6 if loop.kind == "integrating" else 0.25) * loop.speed * STEP_S

    def integrating(seen: float) -> float:
        nonlocal kept
        error = min(0.3, max(-0.3, seen - centre))
        kept = min(SHORT_LIMIT, max(-SHORT_LIMIT, kept + speed * error))
        return kept + proportion * error

    return integrating


def zones(car: Car, rpm: Array, flow: Array) -> tuple[list[int], list[int], list[float], int]:
    """Find the zones of the long trim: the two that count in each step, the share of the second, and how many."""
    count = len(rpm)
    if car.long.kind == "single":
        return [0] * count, [0] * count, [0.0] * count, 1
    if car.long.kind == "flow":
        nodes = largest_flow(car.engine) * np.array([0.02, 0.06, 0.13, 0.25, 0.45, 0.75])
        place = np.interp(flow, nodes, np.arange(6.0))
        low = np.minimum(place.astype(int), 4)
        return low.tolist(), (low + 1).tolist(), (place - low).tolist(), 6
    share = flow / np.maximum(rpm, 300) * car.engine.redline / largest_flow(car.engine)
    row = np.digitize(rpm, np.array([1100, 2000, 3200]))
    column = np.digitize(share, [0.2, 0.4, 0.65])
    cell = (4 * row + column).tolist()
    return cell, cell, [0.0] * count, 16


def learnt_before(car: Car, low: list[int], high: list[int], count: int, error: Array, held: Flags) -> list[float]:
    """Give what the zones hold at the start: a share of the mean error that the loop met in each."""
    zone = np.concatenate((np.asarray(low)[held], np.asarray(high)[held]))
    what = np.concatenate((error[held], error[held]))
    weight = np.bincount(zone, minlength=count)
    mean = np.bincount(zone, what, minlength=count) / np.maximum(weight, 1)
    return np.clip(car.long.start * mean, -LONG_LIMIT, LONG_LIMIT).tolist()  # type: ignore[no-any-return]
