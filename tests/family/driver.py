"""The driver: legs in town and on the road, idles, overruns, shifts, and pulls in one gear.

Speeds are followed by plain mechanics; the air that an engine needs for them comes from an indicated efficiency of
36 % and a heating value of 43 kJ/g (common figures, from memory). Legs are followed at 10 Hz, the rest runs at the
model's step.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.signal import lfilter

from family.air import STEP_S, Array, largest_flow, opening_for, swallowing
from family.parts import Car, Engine

COARSE_S = 0.1
PULL_S = 40.0  # that a pull takes with the way to it
LONGEST = 300.0  # s that a drive may run over its time
AIR_PER_KW = 14.7 / (0.36 * 43)  # g/s per kW of indicated power
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Drive:
    """What the driver does with the car.

    Attributes:
        time, speed, rpm: s, km/h, rpm, per step.
        opening: of the throttle, 0..1.
        wide: pedal on the floor.
        closed: pedal up.
        pulls: first and last step of each pull.
    """

    time: Array
    speed: Array
    rpm: Array
    opening: Array
    wide: Flags
    closed: Flags
    pulls: tuple[tuple[int, int], ...]


@dataclass
class _Leg:
    """A stretch: accelerate or brake to a speed (km/h) at a rate (m/s²), then hold it."""

    speed: float
    rate: float
    hold: float
    pull: bool = False


class _Plan:
    """Draws one leg after the other.

    Pulls come between the others, from the first quarter of the time on, or at the end where they are logged apart.
    """

    def __init__(self, car: Car, rng: np.random.Generator) -> None:
        self.route, self.rng = car.route, rng
        self.brisk = 0.7 + 0.6 * car.route.briskness
        self.pulled, self.change_at, self.town = 0, 0.0, True

    def next(self, now: float) -> _Leg | None:
        """Give the leg that begins now (s); None when the drive is over."""
        route, rng = self.route, self.rng
        left = route.pulls - self.pulled
        first = route.seconds - PULL_S * route.pulls if route.apart else 0.25 * route.seconds
        each = PULL_S if route.apart else 0.7 * route.seconds / max(route.pulls, 1)
        if left and now > first + each * self.pulled:
            self.pulled += 1
            return _Leg(0, self.brisk, 0, pull=True)
        if not left and now > route.seconds:
            return None
        if now >= self.change_at:
            self.town, self.change_at = bool(rng.random() < route.town), now + rng.uniform(60, 240)
        if self.town:
            speed = float(rng.choice([0, 25, 35, 45, 50, 60], p=[0.25, 0.15, 0.15, 0.2, 0.15, 0.1]))
            hold = rng.uniform(5, 25) if speed else rng.uniform(6, 25)
            return _Leg(speed * rng.uniform(0.9, 1.1), self.brisk * rng.uniform(0.5, 1.7), hold)
        speed = float(rng.choice([70, 80, 90, 100, 115, 130]))
        return _Leg(speed * rng.uniform(0.93, 1.07), self.brisk * rng.uniform(0.3, 1.2), rng.uniform(10, 40))


def drive(car: Car, route_seed: int, *, lift: bool = False) -> Drive:
    """Drive the car.

    Args:
        car: what was drawn.
        route_seed: chance of this drive.
        lift: in the last pull the foot comes up for half a second.
    """
    rng = np.random.default_rng([car.seed, 100, route_seed])
    engine = car.engine
    followed = _Follower(car, rng)
    speed, gear, wide, shifting = (
        each[: followed.count] for each in (followed.speed, followed.gears, followed.wide, followed.shifting)
    )
    pulls = tuple(followed.pulls)
    coarse = np.arange(len(speed)) * COARSE_S
    time = np.arange(0, coarse[-1], STEP_S)
    v = smooth(np.interp(time, coarse, speed), 0.3)
    at = np.minimum((time / COARSE_S).astype(int), len(gear) - 1)
    turned = v / np.asarray(engine.gearing)[gear[at]] * 1000
    rpm = smooth(np.maximum(turned, engine.idle), 0.12) + wander(rng, len(time), 8.0, 0.8)
    wide_fine = wide[at]
    power = _power(engine, v, np.gradient(v, STEP_S) / 3.6) * (1 - 0.97 * shifting[at])
    friction = engine.friction * engine.displacement * np.clip(rpm, 400, None) / 120 / 1000 + 0.6
    flow = AIR_PER_KW * (np.maximum(power, 0) + friction)
    # a foot is never still; at idle a controller moves the throttle little
    flow = flow * np.exp(wander(rng, len(time), 1.0, 1.0) * smooth(np.where(v > 5, 0.04, 0.015), 0.5))
    lowest = 0.12 * swallowing(engine, rpm) * engine.barometer
    ceiling = swallowing(engine, rpm) * (0.88 * engine.barometer - engine.residual)
    closed = ((power < 0) | (shifting[at] > 0)) & (v > 5) & ~wide_fine
    flow = np.where(closed, lowest, np.clip(flow, lowest, ceiling))
    if car.route.gap:
        flow = np.where(wide_fine, flow, _around_gap(engine, flow))
    opening = np.where(wide_fine, 1.0, np.minimum(opening_for(engine, flow, rpm), 0.35))
    if lift and pulls:
        start, end = pulls[-1]
        middle = (start + end) // 2
        opening[middle : middle + 50] = 0.02
    return Drive(time, v, rpm, smooth(opening, 0.07), wide_fine, closed, pulls)


def _around_gap(engine: Engine, flow: Array) -> Array:
    low, high = gap_flows(engine)
    return np.where((flow > low) & (flow < high), np.where(flow < (low * high) ** 0.5, low, high), flow)


def gap_flows(engine: Engine) -> tuple[float, float]:
    """Flows between which a driver who leaves a gap does not stay."""
    top = largest_flow(engine)
    return 0.13 * top, 0.24 * top


def _power(engine: Engine, speed: Array, acceleration: Array) -> Array:
    """Power at the wheels in kW, from mass, rolling (1.2 %) and drag (0.7 m²); speed km/h, acceleration m/s²."""
    v = speed / 3.6
    return (engine.mass * (1.08 * acceleration + 0.012 * 9.81) + 0.5 * 1.2 * 0.7 * v**2) * v / 1000 / 0.93


class _Follower:
    """Follows the legs at 10 Hz: speed, gear, pedal on the floor, shifts (0 or 1), and pulls in steps of the model."""

    def __init__(self, car: Car, rng: np.random.Generator) -> None:
        self.engine, self.plan = car.engine, _Plan(car, rng)
        count = int((car.route.seconds + LONGEST) / COARSE_S)
        self.speed, self.shifting = np.zeros(count), np.zeros(count)
        self.gears, self.wide = np.zeros(count, np.intp), np.zeros(count, bool)
        self.pulls: list[tuple[int, int]] = []
        self.pull_gear = _pull_gear(car.engine)
        self.wander = wander(rng, count, 0.08, 3.0, COARSE_S)
        self.leg, self.held, self.pulling = _Leg(0, 1, rng.uniform(5, 20)), 0.0, -1
        self.v, self.gear, self.shift = 0.0, 0, 0
        self.count = next((k + 1 for k in range(count) if not self._step(k)), count)

    def _step(self, k: int) -> bool:
        """Go on for a tenth of a second; False when the drive is over."""
        if self.pulling >= 0:
            self._pull(k)
        else:
            self._roll(k)
        self.speed[k], self.gears[k] = self.v, self.gear
        if not self.leg.pull and self.held >= self.leg.hold:
            following = self.plan.next(k * COARSE_S)
            if following is None:
                return False
            self.leg, self.held = following, 0.0
        return True

    def _pull(self, k: int) -> None:
        self.v, ended = _pulled(self.engine, self.v, self.pull_gear)
        self.wide[k], self.gear = True, self.pull_gear
        if ended or k == len(self.speed) - 1:
            self.pulls.append((round(self.pulling * COARSE_S / STEP_S), round(k * COARSE_S / STEP_S)))
            self.pulling, self.leg, self.held = -1, _Leg(70, 1.0, 3), 0.0

    def _roll(self, k: int) -> None:
        leg = self.leg
        start = self.engine.gearing[self.pull_gear] * 1.9 * max(1.0, self.engine.idle / 800)
        target, rate = (start, 1.2) if leg.pull else (leg.speed, leg.rate)
        if abs(self.v - target) < 1.5:
            self.held += COARSE_S
        if leg.pull and self.held > 4.0:  # rolls steadily before the foot goes down
            self.pulling = k + 1
        change = np.clip((target - self.v) * 0.6, -3.6 * max(rate, 0.8), 3.6 * rate)
        self.v = max(0.0, self.v + COARSE_S * (change + 3.6 * self.wander[k] * (self.v > 10)))
        wanted = self.pull_gear if leg.pull and self.held > 0 else _gear_for(self.engine, self.v, change, self.gear)
        if wanted != self.gear and self.shift == 0:
            self.gear, self.shift = wanted, 5
        self.shifting[k] = float(self.shift > 0)
        self.shift = max(0, self.shift - 1)


def _pull_gear(engine: Engine) -> int:
    """The third gear, or the second where the third would end beyond 125 km/h."""
    return 2 if engine.gearing[2] * engine.redline / 1000 < 125 else 1


def _pulled(engine: Engine, v: float, gear: int) -> tuple[float, bool]:
    """One tenth of a second at full throttle: the speed after it, and whether the pull is over."""
    rpm = np.array([v / engine.gearing[gear] * 1000])
    flow = float(swallowing(engine, rpm)[0]) * (0.97 * engine.barometer - engine.residual)
    friction = engine.friction * engine.displacement * float(rpm[0]) / 120 / 1000
    power = 0.93 * (flow / AIR_PER_KW / 1.12 - friction)  # rich, so less efficient
    drag = float(_power(engine, np.array([v]), np.array([0.0]))[0])
    rate = float(np.clip(1000 * (power - drag) / (1.08 * engine.mass * v / 3.6), 0.2, 6))
    v += 3.6 * COARSE_S * rate
    return v, v / engine.gearing[gear] * 1000 > 0.965 * engine.redline or rate <= 0.2


def _gear_for(engine: Engine, v: float, change: float, gear: int) -> int:
    """Shift up above, down below speeds that rise with how hard one accelerates."""
    rpm = v / engine.gearing[gear] * 1000
    up, down = 2300 + 350 * max(change, 0) / 3.6, 1300.0
    if rpm > up and gear < len(engine.gearing) - 1:
        return gear + 1
    if rpm < down and gear > 0:
        return gear - 1
    return gear


def smooth(values: Array, seconds: float, step: float = STEP_S) -> Array:
    """First-order lag."""
    a = 1 - np.exp(-step / seconds)
    out, _ = lfilter([a], [1, a - 1], values, zi=[(1 - a) * values[0]])
    return np.asarray(out)


def wander(rng: np.random.Generator, count: int, size: float, seconds: float, step: float = STEP_S) -> Array:
    """Chance with a memory: standard deviation `size`, correlation time `seconds`."""
    keep = np.exp(-step / seconds)
    white = rng.standard_normal(count) * size * np.sqrt(1 - keep**2)
    return np.asarray(lfilter([1], [1, -keep], white))
