"""A virtual car of the corpus's own: one drive of four and a half minutes whose truth is known.

It shares nothing with the workbench, neither its demo's engine nor its estimator. All numbers are invented for the
corpus; formulas are textbook ones (ideal gas, road load). Two petrol cars are driven: one bank, and two banks.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STEP_S = 0.0125
EVERY = 4  # steps a logged row: 20 Hz
RATE_HZ = 20.0
SECONDS = 275.0
BAROMETER = 99.0  # kPa
LITRES = 2.0
IDLE_RPM = 780.0
GEARS = (118.0, 67.0, 46.0, 35.0, 28.0)  # rpm for each km/h
PULLS = ((186.0, 3), (228.0, 2))  # where the driver floors it, s, and in which gear (from 1)

WAYPOINTS = np.array(
    [
        (0, 0), (5, 0), (13, 32), (22, 48), (30, 44), (38, 60), (48, 84), (62, 92), (70, 66), (76, 52), (86, 70),
        (100, 104), (114, 112), (124, 84), (132, 46), (140, 30), (146, 0), (154, 0), (163, 42), (174, 58), (186, 50),
        (196, 112), (206, 92), (214, 62), (220, 40), (228, 36), (234, 84), (242, 76), (252, 50), (262, 30), (268, 0),
        (275, 0),
    ],
    dtype=float,
)  # fmt: skip

HERTZ = np.linspace(2200.0, 9000.0, 18)
TRUE = ((HERTZ - 600.0) / 1650.0) ** (1.0 / 0.35)
STALE = TRUE * (0.945 + 0.035 * np.sin(HERTZ / 1100.0))
"""Breakpoints of the airflow curve, Hz; what the sensor passes there, g/s; and what the ECU believes, g/s."""


@dataclass(frozen=True, eq=False)
class Frame:
    """A logged drive: name of the quantity -> values (rows,), in base units; `time` in s from 0."""

    of: dict[str, Floats]

    def __getitem__(self, key: str) -> Floats:
        return self.of[key]

    @property
    def rows(self) -> int:
        return int(self.of["time"].size)


@cache
def drive(banks: int = 1) -> Frame:
    """Drive once; the same values every time."""
    random = np.random.Generator(np.random.PCG64([15, banks]))
    road = _road(random)
    loops = [_loop(road, random) for _ in range(banks)]
    mixture = 1.0 / np.mean([1.0 / loop["mixture"] for loop in loops], axis=0)
    seen = _carried(mixture, road["air"], 0.08, 0.6)
    seen = _lagged(seen, 0.07) * (1.0 + 0.003 * random.normal(size=seen.size))
    rows = {
        "time": road["time"], "rpm": np.round(road["rpm"] * 4) / 4, "map": np.round(road["map"], 1),
        "hz": np.round(road["hz"]), "maf": np.round(road["ecu"], 2), "throttle": np.round(road["throttle"], 2),
        "coolant": np.round(road["coolant"]), "iat": np.round(road["iat"]), "baro": np.full_like(seen, BAROMETER),
        "volts": np.round(14.0 + 0.03 * random.normal(size=seen.size), 2), "status": loops[0]["status"],
        "cmd": np.round(loops[0]["cmd"], 4), "lam": np.round(np.clip(seen, 0.62, 1.99), 3),
        "stft": np.round(loops[0]["stft"], 2), "ltft": np.round(loops[0]["ltft"], 2),
        "purge": np.round(road["purge"], 1), "inj": np.round(loops[0]["inj"], 3), "speed": np.round(road["speed"], 1),
        "spark": np.round(12.0 + road["rpm"] / 300.0 - road["map"] / 10.0, 1),
    }  # fmt: skip
    if banks == 2:
        rows |= {"stft2": np.round(loops[1]["stft"], 2), "ltft2": np.round(loops[1]["ltft"], 2)}
    logged = {key: values[::EVERY] for key, values in rows.items()}
    logged["time"] = np.arange(logged["rpm"].size) / RATE_HZ
    return Frame(logged)


def breath(rpm: float | Floats) -> float | Floats:
    """Airflow at full throttle, g/s: displacement, charge density at 100 kPa and 300 K, and a hump of resonance."""
    return LITRES * rpm / 120.0 * 1.15 * (0.80 + 0.12 * np.exp(-(((rpm - 4200.0) / 2000.0) ** 2)))


def _road(random: np.random.Generator) -> dict[str, Floats]:
    """Drive along the waypoints: speed, engine speed, airflow, throttle and what follows from them."""
    count = round(SECONDS / STEP_S)
    time = np.arange(count) * STEP_S
    ahead = np.interp(time + 0.8, WAYPOINTS[:, 0], WAYPOINTS[:, 1])
    wander = _lagged(random.normal(0.0, 1.0, count), 0.7) * 9.0
    out = {key: np.zeros(count) for key in ("rpm", "air", "throttle", "speed", "cut", "full")}
    speed, air, rpm, gear, cut_for, shift_for = 0.0, 2.5, IDLE_RPM, 0, 0.0, 0.0
    for k in range(count):
        pull = next((g for t, g in PULLS if t <= time[k] < t + 9.0 and rpm < 6150.0), 0)
        if pull == 0 and shift_for <= 0 and (turned := _shift(gear, speed)) != gear:
            gear, shift_for = turned, 0.35
        gear, shift_for = (pull - 1 if pull else gear), shift_for - STEP_S
        want_rpm = max(IDLE_RPM, speed * GEARS[gear])
        rpm += (want_rpm - rpm) * min(1.0, STEP_S / 0.12)
        metres = speed / 3.6
        effort = np.clip((ahead[k] - speed) / 3.6 / 1.2, -2.5, 1.9)
        load = 1400.0 * effort + 190.0 + 0.42 * metres**2
        friction = 2.0 * (rpm / IDLE_RPM) ** 1.25
        want = load * max(metres, 0.6 if ahead[k] > 1 else 0.0) / 880.0 + friction + 0.02 * wander[k] * rpm / 800.0
        most = float(breath(rpm)) * 0.97
        lifted = want < 0.55 * friction and rpm > 1350.0 and not pull
        cut_for = cut_for + STEP_S if lifted else 0.0
        want = 0.3 * friction if shift_for > 0 else want
        air += (np.clip(most if pull else want, 0.14 * most, most) - air) * STEP_S / (0.07 if pull else 0.16)
        force = ((air if cut_for < 0.4 else 0.0) - friction) * 880.0 / max(metres, 1.5)
        held = -1400.0 * 2.6 if lifted and effort < -0.8 else 0.0
        speed = max(0.0, speed + 3.6 * STEP_S * (force + held - 190.0 * (speed > 0) - 0.42 * metres**2) / 1400.0)
        out["rpm"][k], out["air"][k], out["speed"][k] = rpm, air, speed
        out["cut"][k], out["full"][k] = cut_for >= 0.4, bool(pull)
        fill = (air / most - 0.14) / 0.86
        out["throttle"][k] = 97.5 if pull else 3.5 + 72.0 * np.clip(fill, 0, 1) * (rpm / 6000.0) ** 0.7
    return {"time": time, **out, **_sensed(out, time, random)}


def _shift(gear: int, speed: float) -> int:
    rpm = speed * GEARS[gear]
    if rpm > 2900.0 and gear < len(GEARS) - 1:
        return gear + 1
    if rpm < 1250.0 and gear > 0:
        return gear - 1
    return gear


def _sensed(out: dict[str, Floats], time: Floats, random: np.random.Generator) -> dict[str, Floats]:
    noise = random.normal(size=(3, time.size))
    hertz = np.interp(out["air"], TRUE, HERTZ)
    full = 0.97 * np.asarray(breath(out["rpm"]))
    warm = 89.0 - 21.0 * np.exp(-time / 38.0)
    return {
        "map": BAROMETER * np.clip(0.05 + 0.94 * out["air"] / full, 0.0, 0.99) + 0.15 * noise[0],
        "hz": hertz + 3.0 * noise[1],
        "ecu": np.interp(hertz + 3.0 * noise[1], HERTZ, STALE),
        "throttle": _lagged(out["throttle"], 0.05) + 0.05 * noise[2],
        "coolant": warm,
        "iat": 24.0 + 14.0 * _lagged(1.0 / (1.0 + (out["speed"] / 25.0) ** 2), 40.0),
        "purge": np.where((time > 92.0) & (time < 118.0) & (out["cut"] == 0), 18.0, 0.0),
    }


def _loop(road: dict[str, Floats], random: np.random.Generator) -> dict[str, Floats]:
    """Meter the fuel of one bank: a relay loop on a switching sensor, long trims learnt per range of airflow."""
    count = road["time"].size
    mixture, short, long_ = np.ones(count), np.zeros(count), np.zeros(count)
    status, cmd = np.full(count, 2.0), np.ones(count)
    learnt, edges = np.zeros(5), np.array([4.0, 9.0, 18.0, 36.0])
    trim, side, before, idle = 0.0, 1.0, random.uniform(0.99, 1.01), 0.0
    for k in range(count):
        ecu, true = road["ecu"][k], road["air"][k]
        cut, full, cold = road["cut"][k] > 0, road["full"][k] > 0, road["time"][k] < 9.0
        idle = 0.8 if cut or full else idle - STEP_S
        closed = not cold and idle <= 0
        cmd[k] = 0.87 if full else (0.96 + 0.004 * road["time"][k] if cold else 1.0)
        status[k] = 2.0 if closed else (1.0 if cold else 4.0)
        cell = int(np.searchsorted(edges, ecu))
        back = k - int((0.06 + 0.5 / true) / STEP_S)
        before = mixture[max(back, 0)] if back > 0 else before
        if closed:
            lean = before > 1.0
            trim += (1.0 if lean else -1.0) * 0.022 * STEP_S
            if lean != (side > 0):
                side = 1.0 if lean else -1.0
                trim += side * 0.012
            trim = min(0.25, max(-0.25, trim))
            learnt[cell] += 0.035 * trim * STEP_S
        else:
            trim = 0.0
        short[k], long_[k] = 100.0 * trim, 100.0 * learnt[cell]
        g = (1.0 + trim) * (1.0 + learnt[cell])
        mixture[k] = 2.6 if cut else true * cmd[k] / (ecu * g)
    inj = np.where(
        road["cut"] > 0, 0.0, road["ecu"] / cmd * (1 + short / 100) * (1 + long_ / 100) / road["rpm"] * 210.0
    )
    return {"mixture": mixture, "stft": short, "ltft": long_, "status": status, "cmd": cmd, "inj": inj}


def _carried(values: Floats, air: Floats, fixed_s: float, volume_g: float) -> Floats:
    """Carry gas to the wideband in plug flow: it arrives once `volume_g` has followed it, and `fixed_s` later."""
    passed = np.cumsum(air) * STEP_S
    time = np.arange(values.size) * STEP_S
    left = np.interp(passed - volume_g, passed, time) - fixed_s
    return 1.0 / np.interp(left, time, 1.0 / values)


def _lagged(values: Floats, seconds: float) -> Floats:
    share, out, state = STEP_S / (seconds + STEP_S), np.empty_like(values), float(values[0])
    for k, value in enumerate(values):
        state += share * (value - state)
        out[k] = state
    return out
