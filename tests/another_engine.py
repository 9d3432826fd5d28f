"""How near the truth the workbench comes on an engine that shares no model with its estimator.

    python tests/another_engine.py [--seeds 8] [--only NAME]

The engine of the demo has the fuel film, the purge and the plain exhaust that the estimator knows of. This one differs
wherever a real one may: two films, one of them slow, which the ECU makes up for as the throttle opens and not as it
shuts; exhaust gas that mixes on its way; a wideband of second order whose noise hangs together, which reports at its
own 10 Hz in steps of 0.01; long trims per engine speed and load that are not reset and move in steps of their own; a
closed loop that integrates without a jump; a canister that fills again, whose flow follows the vacuum; a logger that
asks one channel after another. Everything here is invented.

Printed are errors in percent over the cells that were driven at part throttle for 2 s or more, and over those of full
throttle; "hold" is the share of proven cells whose 95 % interval holds the truth.
"""

import argparse
import os
from dataclasses import dataclass, replace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from workbench.demo.rounds import history_of
from workbench.maths.evidence import gather_evidence
from workbench.maths.table.correction import correction
from workbench.maths.table.interpolation import look_up, nearest
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Channel, Drive, Log, Role
from workbench.model.packing import Column
from workbench.model.state import Settings
from workbench.model.table import Axis, Table
from workbench.work import run

STEP = 0.02  # s
AFR = 14.7
UNITS: dict[Role, tuple[str, float]] = {
    "engine_speed": ("rpm", 1.0),
    "sensor_signal": ("V", 0.005),
    "airflow": ("g/s", 0.01),
    "manifold_pressure": ("kPa", 1.0),
    "throttle": ("%", 100 / 255),
    "coolant_temperature": ("degC", 1.0),
    "fuel_system": ("", 1.0),
    "lambda_commanded": ("lambda", 2 / 65536),
    "lambda_measured": ("lambda", 0.01),
    "stft_1": ("%", 100 / 128),
    "ltft_1": ("%", 100 / 128),
    "purge": ("%", 100 / 255),
}


@dataclass(frozen=True)
class Car:
    """What can be varied."""

    seed: int = 1
    minutes: float = 15.0
    pulls: int = 3
    row_s: float = 0.1
    polled: bool = True
    purge: str = "logged"
    wideband: bool = True
    film: float = 1.0  # scales both films
    grid: bool = False


@dataclass(frozen=True, eq=False)
class Motion:
    """What the car does; arrays of shape (steps,)."""

    rpm: FloatArray
    load: FloatArray  # share of what the engine can take at this speed
    pulling: BoolArray


def motion(car: Car, random: np.random.Generator) -> Motion:
    """Wander through speed and load: a new wish every few seconds, met at a pace of its own; then the pulls."""
    steps = int(car.minutes * 60 / STEP)
    rpm, load = np.empty(steps), np.empty(steps)
    n, p, wish_n, wish_p, pace_n, pace_p, left = 800.0, 0.18, 800.0, 0.18, 1.0, 1.0, 20.0
    for k in range(steps):
        left -= STEP
        if left <= 0:
            left = random.exponential(5.0) + 0.8
            kind = random.uniform()
            if kind < 0.12:
                wish_n, wish_p, left = 800.0, 0.18, random.uniform(4, 12)
            elif kind < 0.3:
                wish_n, wish_p = random.uniform(1300, 3500), 0.12
            else:
                wish_n, wish_p = random.uniform(1200, 3200) + random.exponential(500), random.uniform(0.2, 0.75)
            pace_n, pace_p = random.uniform(1.0, 3.0), random.uniform(0.15, 0.8)
        n += (min(wish_n, 5800.0) - n) * STEP / pace_n
        p += (wish_p - p) * STEP / pace_p
        rpm[k], load[k] = n, p
    pulling = np.zeros(steps, dtype=np.bool_)
    for _ in range(car.pulls):
        seconds = random.uniform(6.0, 9.0)
        up = np.linspace(2000.0, 6000.0, int(seconds / STEP))
        settle = np.full(int(6.0 / STEP), 2000.0)
        rpm = np.concatenate([rpm, settle, up, np.linspace(6000.0, 2000.0, int(5.0 / STEP))])
        rise = np.minimum(np.arange(up.size) * STEP / 0.25, 1.0)
        load = np.concatenate(
            [load, np.full(settle.size, 0.35), 0.35 + 0.65 * rise, np.linspace(1.0, 0.15, int(5.0 / STEP))]
        )
        more = np.zeros(settle.size + up.size + int(5.0 / STEP), dtype=np.bool_)
        more[settle.size : settle.size + up.size] = True
        pulling = np.concatenate([pulling, more])
    jitter = np.convolve(random.normal(0, 1, rpm.size), np.ones(40) / 40**0.5, "same")
    return Motion(rpm * (1 + 0.004 * jitter), np.clip(load * (1 + 0.01 * np.roll(jitter, 15)), 0.06, 1.0), pulling)


def tables(car: Car) -> tuple[Table, Table]:
    """Give the ECU's table and the true one."""
    random = np.random.default_rng([car.seed, 1])
    if car.grid:
        rpm = Axis("Engine speed", "rpm", np.array([600, 900, 1200, 1600, 2000, 2500, 3000, 3600, 4200, 5000, 6000.0]))
        kpa = Axis("Manifold pressure", "kPa", np.array([15, 25, 35, 45, 55, 65, 75, 85, 100.0]))
        shape = (rpm.breakpoints[:, None] / 6000, kpa.breakpoints[None, :] / 100)
        held = np.round(70 + 18 * np.sin(2.5 * shape[0]) * (0.6 + 0.4 * shape[1]), 1)
        error = random.normal(0.0, 0.05) + random.normal(0, 0.05) * (shape[0] - 0.5)
        error = error + random.normal(0, 0.06) * (shape[1] - 0.5) + 0.012 * np.sin(5 * shape[0] + 3 * shape[1])
        table = Table("efficiency", "Volumetric efficiency", "%", (rpm, kpa), held)
        return table, table.with_values(held * (1 + error))
    volts = Axis("Airflow sensor", "V", np.round(np.linspace(1.0, 4.8, 32), 3))
    held = np.round(0.35 * (volts.breakpoints / 0.9) ** 3.9, 3)
    along = np.linspace(0.0, 1.0, 32)
    error = random.normal(0.08, 0.05) + random.normal(0, 0.06) * (along - 0.5)
    for _ in range(3):
        error = error + random.normal(0, 0.015) * np.exp(-0.5 * ((along - random.uniform(0.25, 0.95)) / 0.06) ** 2)
    table = Table("airflow", "Airflow", "g/s", (volts,), held)
    return table, table.with_values(held * (1 + error))


def breathing(rpm: FloatArray, kpa: FloatArray) -> FloatArray:
    """Airflow at a filling of 1: p V n / (2 R T), 2 litres at 300 K."""
    return kpa * 2.0 * rpm / (120 * 0.287 * 300)


def drive(car: Car, held: Table, truth: Table, number: int) -> tuple[Drive, FloatArray, BoolArray]:
    """Drive and log; also give the true position of every step (steps, axes) and which were at full throttle."""
    random = np.random.default_rng([car.seed, number, 2])
    moved = motion(car, random)
    rpm, steps = moved.rpm, moved.rpm.size
    kpa = 12.0 + 88.0 * moved.load
    if car.grid:
        position = np.stack([rpm, kpa], axis=1)
        noisy = np.stack([rpm, kpa + random.normal(0, 0.2, steps)], axis=1)
        each = breathing(rpm, kpa)
        air, believed = each * look_up(truth, position) / 100, breathing(rpm, noisy[:, 1]) * look_up(held, noisy) / 100
    else:
        air = breathing(rpm, kpa) * 0.8
        volts = np.interp(air, truth.values, truth.axes[0].breakpoints)
        position = volts[:, None]
        noisy = position + random.normal(0, 0.003, (steps, 1))
        believed = look_up(held, noisy)
    gas, short, long, status, command, purge = _fuelled(car, moved, kpa, air, believed, random)
    sensed = _sensed(gas, air, random)
    rows: dict[Role, FloatArray] = {
        "engine_speed": rpm,
        "manifold_pressure": kpa if not car.grid else noisy[:, 1],
        "airflow": believed,
        "throttle": np.where(moved.pulling, 96.0, 12.0 + 55.0 * moved.load),
        "coolant_temperature": np.full(steps, 86.0),
        "fuel_system": status,
        "lambda_commanded": command,
        "stft_1": 100 * short,
        "ltft_1": 100 * long,
    }
    if not car.grid:
        rows["sensor_signal"] = noisy[:, 0]
    if car.wideband:
        rows["lambda_measured"] = sensed
    if car.purge == "logged":
        rows["purge"] = purge
    return Drive(number, _logged(car, rows), number, "auto"), position, moved.pulling


@dataclass
class _Canister:
    """Gives off vapour while its valve is open, the more the deeper the manifold's vacuum, and fills again slowly."""

    duty: float = 0.0
    laden: float = 1.0

    def vapour(self, wanted: float, kpa: float) -> float:
        self.duty += (wanted - self.duty) * STEP / 1.5
        vapour = 0.05 * self.duty * max(1 - kpa / 100, 0.05) ** 0.5 * self.laden
        self.laden = min(max(self.laden - vapour * STEP / 6 + 0.002 * STEP, 0.05), 1.0)
        return vapour


@dataclass
class _Loop:
    """Integrates what the narrow sensor says; what it keeps asking for goes over into the long trims bit by bit."""

    long: FloatArray
    short: float = 0.0
    seen: float = 1.0
    held_s: float = 0.0

    def act(self, closed: bool, gas: float, air: float, cell: tuple[int, int], purging: bool) -> None:
        self.seen += (gas - self.seen) * STEP / 0.08
        if not closed:
            self.short = 0.0
            return
        speed = 0.02 + 0.05 * air / 60
        self.short = min(max(self.short + (-speed if self.seen < 1 else speed) * STEP, -0.25), 0.25)
        self.held_s = self.held_s + STEP if abs(self.short) > 0.015 and not purging else max(self.held_s - STEP, 0.0)
        if self.held_s > 1.0:
            over = 0.003 * np.sign(self.short)
            self.long[cell] += over
            self.short -= over
            self.held_s = 0.0


@dataclass
class _Walls:
    """Two films, of which the ECU makes up for one, as the throttle opens and not as it shuts."""

    scale: float
    lagged: float
    fast: float = 0.0
    slow: float = 0.0

    def reach_cylinder(self, asked: float, rpm: float) -> float:
        self.lagged += (asked - self.lagged) * STEP / 0.3
        shares = 0.10 * self.scale, 0.05 * self.scale
        injected = asked + (0.6 * shares[0] * max(asked - self.lagged, 0.0) if asked > 0 else 0.0)
        given = self.fast / 0.25, self.slow / (1.5 / (0.5 + rpm / 3000))
        self.fast += (injected * shares[0] - given[0]) * STEP
        self.slow += (injected * shares[1] - given[1]) * STEP
        return injected * (1 - sum(shares)) + sum(given)


def _fuelled(
    car: Car, moved: Motion, kpa: FloatArray, air: FloatArray, believed: FloatArray, random: np.random.Generator
) -> tuple[FloatArray, ...]:
    """Run films, canister and closed loop; give lambda, short and long trim, status, command and purge duty."""
    steps = air.size
    loop, canister = _Loop(random.normal(0.02, 0.02, (6, 4))), _Canister()
    walls = _Walls(car.film, believed[0] / AFR)
    out, gases, shut_s = np.empty((6, steps)), np.ones(steps + 40), 0.0
    for k in range(steps):
        n, p, pull = moved.rpm[k], kpa[k], moved.pulling[k]
        shut_s = shut_s + STEP if p < 24 and n > 1500 else 0.0
        cut, started = shut_s > 0.5, k * STEP > 12
        closed = started and not pull and not cut
        command = 0.87 if pull else 1.0 if started else 0.97
        open_for = car.purge != "off" and closed and air[k] > 4 and (k * STEP) % 120 < 70
        vapour = canister.vapour(min(0.5, air[k] / 40) if open_for else 0.0, p)
        waits = int(min(0.12 / STEP + 0.5 / max(air[k], 1.5) / STEP, 38))
        cell = min(int(n // 1000), 5), min(int(p // 25), 3)
        loop.act(closed, gases[k - 1 - waits], air[k], cell, canister.duty >= 0.02)
        trims = (1 + loop.short) * (1 + loop.long[cell])
        fuel = walls.reach_cylinder(0.0 if cut else believed[k] / (AFR * command) * trims, n) + vapour
        gases[k] = min(air[k] / AFR / max(fuel, 1e-9), 8.0)
        status = 2.0 if closed else 4.0
        out[:, k] = gases[k], loop.short, loop.long[cell], status, 1.99 if cut else command, 100 * canister.duty
    return tuple(out)


def _sensed(gas: FloatArray, air: FloatArray, random: np.random.Generator) -> FloatArray:
    """Carry the gas to a wideband: it mixes in the pipe, waits, and the sensor and its box follow it one by one."""
    out, mixed, tip, box, noise = np.empty(gas.size), 1.0, 1.0, 1.0, 0.0
    waits = np.round((0.06 + 0.3 / np.maximum(air, 1.5)) / STEP).astype(int)
    for k in range(gas.size):
        here = 1 / gas[max(k - waits[k], 0)]
        mixed += (here - mixed) * min(STEP * air[k] / 0.25, 1.0)
        tip += (mixed - tip) * STEP / 0.05
        box += (tip - box) * STEP / 0.06
        noise += -noise * STEP / 0.3 + random.normal(0, 0.003 * (2 * STEP / 0.3) ** 0.5)
        out[k] = 1 / box * (1 + noise)
    every = round(0.1 / STEP)  # its own reports
    return np.clip(np.repeat(out[::every], every)[: gas.size], 0.6, 1.99)


def _logged(car: Car, rows: dict[Role, FloatArray]) -> Log:
    """Ask one channel after another, if that is how the logger works, and stamp a row with its beginning."""
    every = round(car.row_s / STEP)
    starts = np.arange(0, next(iter(rows.values())).size - every, every)
    channels, roles = [], {}
    for turn, (role, values) in enumerate(rows.items()):
        late = round(turn * car.row_s / len(rows) / STEP) if car.polled else 0
        unit, step = UNITS[role]
        channels.append(Channel(role, unit, Column(np.round(values[starts + late] / step) * step), unit))
        roles[role] = role
    return Log("another.csv", f"{car}", Column(np.round(starts * STEP, 3)), tuple(channels), roles)


@dataclass(frozen=True)
class Found:
    """Errors after a correction, %, and whether the intervals of proven cells held the truth."""

    part: FloatArray
    full: FloatArray
    inside: BoolArray
    notes: tuple[str, ...]


def rounds(car: Car, count: int) -> list[Found]:
    """Drive and correct some times."""
    held, truth = tables(car)
    in_car, drives, found, places, pulls = [held], [], [], [], []
    for number in range(1, count + 1):
        made, position, pulling = drive(car, in_car[-1], truth, number)
        drives.append(made)
        places.append(position)
        pulls.append(pulling)
        history = history_of(tuple(in_car))
        evidence = run(gather_evidence(history, history.revisions[-1], tuple(drives), Settings()))
        in_car.append(in_car[-1].with_values(in_car[-1].values * correction(evidence).multipliers))
        error = 100 * (in_car[-1].values / truth.values - 1)
        at, full = np.concatenate(places), np.concatenate(pulls)
        cell = nearest(held.axes, at)
        time = [np.bincount(cell[mask], minlength=held.values.size) * STEP for mask in (~full, full)]
        want = truth.values / evidence.table.values
        inside = (np.abs(evidence.ratio - want) <= evidence.half_width)[evidence.stands("proven")]
        found.append(Found(error.ravel()[time[0] >= 2], error.ravel()[time[1] >= 0.5], inside, evidence.notes))
    return found


USUAL = Car()
VARIANTS = {
    "usual": USUAL,
    "no film": replace(USUAL, film=0.0),
    "one moment a row": replace(USUAL, polled=False),
    "20 Hz, one moment": replace(USUAL, polled=False, row_s=0.06),
    "polled at 4 Hz": replace(USUAL, row_s=0.24),
    "polled at 1 Hz": replace(USUAL, row_s=1.0),
    "5 minutes": replace(USUAL, minutes=5.0),
    "purge off": replace(USUAL, purge="off"),
    "purge hidden": replace(USUAL, purge="hidden"),
    "no wideband": replace(USUAL, wideband=False, pulls=0),
    "grid": replace(USUAL, grid=True),
    "grid, purge off": replace(USUAL, grid=True, purge="off"),
}


def main() -> None:
    """Print the table."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--seeds", type=int, default=8)
    words.add_argument("--only", default="")
    given = words.parse_args()
    print(f"{'what':<20} drives  part worst  mean worst   rms   full worst   hold")
    for name, car in VARIANTS.items():
        if given.only and given.only != name:
            continue
        cars = [rounds(replace(car, seed=seed), 2) for seed in range(1, given.seeds + 1)]
        for turn in (0, 1):
            found = [car[turn] for car in cars]
            worst = [float(np.abs(f.part).max()) for f in found]
            full = max((float(np.abs(f.full).max()) for f in found if f.full.size), default=float("nan"))
            rms = float(np.sqrt(np.mean(np.concatenate([f.part for f in found]) ** 2)))
            inside = np.concatenate([f.inside for f in found])
            print(
                f"{name:<20} {turn + 1:>6}  {max(worst):>10.2f}  {np.mean(worst):>10.2f}  {rms:>4.2f}  {full:>11.2f}  "
                f"{100 * inside.mean():>4.0f} % of {inside.size}",
                flush=True,
            )


if __name__ == "__main__":
    main()
