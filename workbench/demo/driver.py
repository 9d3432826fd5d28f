"""The driver of the demo: what the car does over time. Nothing here depends on the mixture, so all of it is arrays.

Speed is planned first, in knots; gear, engine speed and power follow from it, and the air from the power. The car
(1350 kg, five gears) and the ways of driving are invented for the demo.
"""

from dataclasses import dataclass, field

import numpy as np

from workbench.demo import engine
from workbench.demo.scenario import STEP_S, Scenario
from workbench.model.arrays import BoolArray, FloatArray

MASS_KG, TURNING_MASS = 1350.0, 1.06
DRAG_AREA = 0.66  # m2, drag coefficient times frontal area
ROLLING = 0.011
GRAVITY, AIR_DENSITY = 9.80665, 1.2
GEARS = np.array([13.3, 7.6, 5.9, 4.3, 3.2])  # with the final drive
WHEEL_M = 1.95  # circumference
DRIVELINE = 0.92
FIRST_RPM, LAST_RPM = 2000.0, 6200.0  # of a pull
PART_SHARE = 0.74  # of the full-load airflow: as far as the driver goes without a pull


@dataclass(frozen=True, eq=False)
class Trace:
    """What the car does, per inner step; arrays have the shape (steps,).

    Attributes:
        time: s.
        rpm: engine speed.
        speed_kmh: of the vehicle.
        airflow: that the driver's foot asks for, g/s.
        throttle: %.
        pulling: full throttle in a pull.
        pulls: start and end of each pull, s.
    """

    time: FloatArray
    rpm: FloatArray
    speed_kmh: FloatArray
    airflow: FloatArray
    throttle: FloatArray
    pulling: BoolArray
    pulls: tuple[tuple[float, float], ...]


@dataclass
class _Plan:
    """Knots of the drive: from each knot on, shift at `shift` rpm, or stay in `gear` where that is not 0."""

    time: list[float] = field(default_factory=lambda: [0.0])
    speed: list[float] = field(default_factory=lambda: [0.0])
    shift: list[float] = field(default_factory=lambda: [2600.0])
    gear: list[int] = field(default_factory=lambda: [0])
    pulls: list[tuple[float, float]] = field(default_factory=list)

    def go(self, seconds: float, speed: float, shift: float = 2400.0, gear: int = 0) -> None:
        """Move on to another speed (m/s) in a straight line."""
        self.time.append(self.time[-1] + seconds)
        self.speed.append(max(speed, 0.0))
        self.shift[-1], self.gear[-1] = shift, gear
        self.shift.append(shift)
        self.gear.append(gear)

    def accelerate(self, speed: float, kilowatts: float, shift: float) -> None:
        """Speed up at a constant power at the wheels, no faster than 2.6 m/s2."""
        shift = max(shift, 1.25 * _speed_for(kilowatts))
        v = self.speed[-1]
        while v < speed:
            free = kilowatts * 1000.0 / max(v, 1.0) - _resistance(v)
            v += float(np.clip(free / (MASS_KG * TURNING_MASS), 0.15, 2.6)) * 0.5
            self.go(0.5, min(v, speed + 0.5), shift)

    def slow(self, speed: float, rate: float) -> None:
        """Slow down evenly (m/s2)."""
        self.go(max(self.speed[-1] - speed, 0.0) / rate + 0.05, speed, 2100.0)

    def end_at(self, seconds: float) -> None:
        """Cut the plan at a time."""
        speed = float(np.interp(seconds, self.time, self.speed))
        keep = [i for i, t in enumerate(self.time) if t < seconds]
        self.time, self.speed = [self.time[i] for i in keep], [self.speed[i] for i in keep]
        self.shift, self.gear = [self.shift[i] for i in keep], [self.gear[i] for i in keep]
        self.go(max(seconds - self.time[-1], 0.01), speed, self.shift[-1])

    def pull(self, gear: int, settle: float) -> None:
        """Settle at low engine speed in a gear, press the pedal down until the engine turns fast, and roll out."""
        per_speed = 60.0 / WHEEL_M * GEARS[gear - 1]
        start = FIRST_RPM / per_speed
        if self.speed[-1] > start:
            self.slow(start, 1.8)
        else:
            self.accelerate(start, 35.0, 3000.0)
        self.go(settle, start, gear=gear)
        speeds = np.linspace(start, LAST_RPM / per_speed, 85)
        rpm = speeds * per_speed
        force = engine.brake_kw_at_full_load(rpm) * 1000.0 * DRIVELINE / speeds - _resistance(speeds)
        pace = MASS_KG * TURNING_MASS / force
        seconds = np.concatenate([[0.0], np.cumsum(0.5 * (pace[1:] + pace[:-1]) * np.diff(speeds))])
        begin = self.time[-1]
        for dt, v in zip(np.diff(seconds), speeds[1:], strict=True):
            self.go(float(dt), float(v), gear=gear)
        self.pulls.append((float(begin), float(self.time[-1])))
        self.go(4.0, self.speed[-1] - 5.0, gear=gear)


def plan_drive(scenario: Scenario, number: int) -> Trace:
    """Drive the scenario; `number` varies the driver, not the car."""
    random = np.random.Generator(np.random.PCG64([scenario.seed, number, 10]))
    plan = _Plan()
    _mixed(plan, random, scenario.minutes * 60.0)
    for k in range(scenario.pulls):
        plan.pull((3, 2)[k % 2], random.uniform(5.0, 8.0))
        plan.slow(plan.speed[-1] * 0.6, 1.7)
        plan.go(random.uniform(6.0, 10.0), plan.speed[-1])
    return _trace(plan, random)


def _resistance(speed: FloatArray | float) -> FloatArray | float:
    return MASS_KG * GRAVITY * ROLLING + 0.5 * AIR_DENSITY * DRAG_AREA * speed * speed


def _speed_for(kilowatts: float) -> float:
    """Engine speed at which a power at the wheels takes six tenths of what the engine can, rpm."""
    rpm = np.linspace(1000.0, 4600.0, 37)
    return float(np.interp(kilowatts / DRIVELINE, 0.6 * engine.brake_kw_at_full_load(rpm), rpm))


def _mixed(plan: _Plan, random: np.random.Generator, seconds: float) -> None:
    """Fill the time with town, country road, steady cruising and brisk accelerations, in turn and by chance."""
    plan.go(min(25.0, 8.0 + seconds / 30.0), 0.0)
    while plan.time[-1] < seconds:
        for kind in ("town", *random.permutation(["country", "cruise", "brisk", "brisk", "country"])):
            if plan.time[-1] < seconds:
                WAYS[str(kind)](plan, random)
    if seconds > 0:
        plan.end_at(seconds)


def _town(plan: _Plan, random: np.random.Generator) -> None:
    for _ in range(int(random.integers(1, 4))):
        plan.accelerate(random.uniform(8.0, 15.5), random.uniform(10.0, 28.0), random.uniform(2200.0, 3000.0))
        _hold(plan, random, random.uniform(6.0, 16.0), 1900.0)
        plan.slow(0.0, random.uniform(1.3, 2.2))
        plan.go(random.uniform(5.0, 14.0), 0.0)


def _country(plan: _Plan, random: np.random.Generator) -> None:
    plan.accelerate(random.uniform(19.0, 27.0), random.uniform(20.0, 52.0), random.uniform(2600.0, 3600.0))
    _hold(plan, random, random.uniform(8.0, 20.0), random.uniform(2000.0, 2900.0))
    plan.slow(random.uniform(12.0, 16.0), random.uniform(1.0, 1.8))
    _hold(plan, random, random.uniform(4.0, 9.0), 2300.0)


def _cruise(plan: _Plan, random: np.random.Generator) -> None:
    plan.accelerate(random.uniform(26.0, 37.0), random.uniform(35.0, 70.0), random.uniform(3000.0, 4200.0))
    _hold(plan, random, random.uniform(18.0, 35.0), random.uniform(2700.0, 3800.0))
    plan.slow(random.uniform(15.0, 22.0), random.uniform(0.9, 1.6))


def _brisk(plan: _Plan, random: np.random.Generator) -> None:
    plan.accelerate(random.uniform(24.0, 36.0), random.uniform(60.0, 112.0), random.uniform(4700.0, 5900.0))
    _hold(plan, random, random.uniform(2.0, 6.0), 3600.0)
    plan.slow(random.uniform(9.0, 15.0), random.uniform(1.3, 2.4))
    _hold(plan, random, random.uniform(2.0, 6.0), 2400.0)


WAYS = {"town": _town, "country": _country, "cruise": _cruise, "brisk": _brisk}


def _hold(plan: _Plan, random: np.random.Generator, seconds: float, shift: float) -> None:
    """Keep the speed, as well as a driver does: within half a metre a second, corrected every few seconds."""
    speed, left = plan.speed[-1], seconds
    while left > 0:
        span = min(left, random.uniform(2.0, 5.0))
        plan.go(span, speed + random.uniform(-0.5, 0.5), shift)
        left -= span


def _trace(plan: _Plan, random: np.random.Generator) -> Trace:
    time = np.arange(0.0, plan.time[-1], STEP_S)
    exact = np.interp(time, plan.time, plan.speed)
    here = np.clip(np.searchsorted(plan.time, time, side="right") - 1, 0, len(plan.time) - 1)
    pulling = np.zeros(time.shape, dtype=np.bool_)
    for begin, end in plan.pulls:
        pulling |= (time >= begin) & (time < end)
    speed = np.where(pulling, exact, _smoothed(_smoothed(exact, 0.5), 0.5))
    shift, forced = np.array(plan.shift)[here], np.array(plan.gear)[here]
    gear = _gears(speed, shift, forced)
    raw = _smoothed(speed * 60.0 / WHEEL_M * GEARS[gear], 0.35)
    wanted_kw = _wheel_kw(time, speed, random) / DRIVELINE
    slip = 750.0 * np.clip(wanted_kw / 8.0, 0.0, 1.0)
    idle = engine.IDLE_RPM * (1.0 + 0.01 * _wobble(random, time, 1.0))
    rpm = np.maximum(np.where(pulling, speed * 60.0 / WHEEL_M * GEARS[gear], raw), idle + slip)
    changing = _smoothed((np.diff(gear, prepend=gear[0]) != 0).astype(np.float64) * 0.5 / STEP_S, 0.5) > 0.1
    changing &= ~pulling
    airflow, throttle = _foot(time, rpm, np.where(changing, -50.0, wanted_kw), pulling, random)
    return Trace(time, rpm, speed * 3.6, airflow, throttle, pulling, tuple(plan.pulls))


def _wheel_kw(time: FloatArray, speed: FloatArray, random: np.random.Generator) -> FloatArray:
    """Power at the wheels, kW: inertia, drag, rolling, and a road that goes up and down by 2.5 %."""
    grade = 0.025 * _wobble(random, time, 14.0)
    acceleration = np.gradient(speed, STEP_S)
    force = MASS_KG * TURNING_MASS * acceleration + _resistance(speed) + MASS_KG * GRAVITY * grade
    return np.where(speed > 0.3, force * speed / 1000.0, 0.0)


def _foot(
    time: FloatArray, rpm: FloatArray, brake_kw: FloatArray, pulling: BoolArray, random: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Turn power into airflow and throttle; at full throttle the engine takes what it can after 0.3 s."""
    closed, full = engine.closed_throttle_airflow(rpm), engine.full_load_airflow(rpm)
    loads = 1.0 + 0.02 * _wobble(random, time, 1.3) + 0.03 * _wobble(random, time, 9.0)
    part = np.clip(engine.airflow_for(brake_kw, rpm) * loads, closed, PART_SHARE * full)
    part = np.maximum(_smoothed(part, 0.2), closed)
    pressed = _smoothed(np.where(pulling, 1.0, 0.0), 0.3)
    airflow = part + (full - part) * pressed
    share = np.clip((part - closed) / (full - closed), 0.0, 1.0) / PART_SHARE
    throttle = 13.0 + 45.0 * share**1.1
    return airflow, throttle + (99.6 - throttle) * _smoothed(np.where(pulling, 1.0, 0.0), 0.15)


def _gears(speed: FloatArray, shift: FloatArray, forced: FloatArray) -> FloatArray:
    """Lowest gear that stays under the shifting speed, as index; a gear is kept for 1.5 s at least."""
    rpm = speed[:, None] * 60.0 / WHEEL_M * GEARS[None, :]
    fits = rpm <= shift[:, None]
    gear = np.where(fits.any(axis=1), np.argmax(fits, axis=1), len(GEARS) - 1)
    gear = np.where(forced > 0, forced - 1, gear)
    starts = np.flatnonzero(np.diff(gear, prepend=-1))
    lengths = np.diff(starts, append=gear.size)
    kept = starts[(lengths * STEP_S >= 1.5) | (forced[starts] > 0) | (starts == 0)]
    return np.asarray(gear[kept][np.searchsorted(kept, np.arange(gear.size), side="right") - 1])


def _smoothed(values: FloatArray, seconds: float) -> FloatArray:
    """Mean over the last `seconds`, ends held; the whole change is done after that time."""
    width = max(round(seconds / STEP_S), 1)
    padded = np.concatenate([np.full(width, values[0]), values])
    sums = np.cumsum(padded)
    return np.asarray((sums[width:] - sums[:-width]) / width)


def _wobble(random: np.random.Generator, time: FloatArray, seconds: float) -> FloatArray:
    """Slow noise between -1 and 1 that turns about every so many seconds."""
    count = int(time[-1] / seconds) + 3
    return _smoothed(np.interp(time / seconds, np.arange(count), random.uniform(-1.0, 1.0, count)), 0.5 * seconds)
