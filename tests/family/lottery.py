"""What is drawn: a car, its instruments and how it is driven, from a seed alone.

Each group of things has a stream of chance of its own, so a condition that is forced leaves all others as they were.
Ranges are common practice, no source; their reasons stand beside what they are of, in `parts`.
"""

from dataclasses import replace
from typing import Literal, cast

import numpy as np

from family.parts import (
    Car,
    Engine,
    Fuel,
    Kind,
    Logger,
    LongTrim,
    Loop,
    Meter,
    Place,
    Purge,
    Route,
    Staleness,
    Wideband,
)


def draw(seed: int, kind: Kind = "curve") -> Car:
    """Draw a car, its instruments and its drive."""
    streams = [np.random.default_rng([seed, part]) for part in range(12)]
    engine = _engine(streams[0])
    return Car(
        seed,
        kind,
        engine,
        _meter(streams[1]),
        _stale(streams[2]),
        _fuel(streams[3]),
        _loop(streams[4]),
        _long(streams[5]),
        _purge(streams[6]),
        _wideband(streams[7]),
        _logger(streams[8]),
        _route(streams[9]),
        bool(streams[10].random() < 0.5),
    )


def one_of(rng: np.random.Generator, names: str, shares: tuple[float, ...] | None = None) -> str:
    """Draw one of some words parted by |."""
    words = names.split("|")
    return words[int(rng.choice(len(words), p=shares))]


def _engine(rng: np.random.Generator) -> Engine:
    displacement = round(float(np.exp(rng.uniform(np.log(1.4), np.log(6.0)))), 1)
    cylinders = min((3, 4, 5, 6, 8), key=lambda n: abs(displacement / n - rng.uniform(0.42, 0.62)))
    low = rng.uniform(0.9, 1.15)
    return Engine(
        displacement=displacement,
        cylinders=cylinders,
        manifold=displacement * rng.uniform(0.8, 2.5),
        idle=rng.uniform(620, 880),
        redline=rng.uniform(6000, 7300) - 120 * displacement,
        efficiency=rng.uniform(0.93, 1.1),
        peak=rng.uniform(0.55, 0.8),
        fall=rng.uniform(0.15, 0.4),
        residual=rng.uniform(5, 12),
        friction=rng.uniform(130, 190),
        mass=900 + 160 * displacement + rng.uniform(-100, 250),
        gearing=tuple(low * g * (1 + 0.05 * displacement) for g in (7.3, 13.0, 19.5, 27.0, 35.0)),
        barometer=rng.uniform(94, 102.5),
        ambient=rng.uniform(4, 33),
        throttle_top=rng.uniform(84, 100),
    )


def _meter(rng: np.random.Generator) -> Meter:
    return Meter(
        unit=cast(Literal["Hz", "V"], one_of(rng, "Hz|V")),
        breakpoints=int(rng.integers(32, 86)),
        king=(rng.uniform(0.8, 1.6), rng.uniform(18, 23), rng.uniform(0.43, 0.52)),  # 4.4 to 5 V at the largest flow
        lag=rng.uniform(0.015, 0.035),
        turbulence=rng.uniform(0.002, 0.008),
        rows=int(rng.integers(10, 19)),
        columns=int(rng.integers(8, 15)),
    )


def _stale(rng: np.random.Generator) -> Staleness:
    bumps = tuple(
        (rng.uniform(0.1, 0.95), rng.uniform(0.08, 0.25), rng.uniform(-1, 1), rng.uniform(0.1, 0.95))
        for _ in range(int(rng.integers(2, 5)))
    )
    return Staleness(rng.uniform(0.04, 0.15), rng.uniform(-0.5, 1.0), rng.uniform(-1, 1), bumps)


def _fuel(rng: np.random.Generator) -> Fuel:
    quick, slow = (rng.uniform(0.06, 0.25), rng.uniform(0.1, 0.4)), (rng.uniform(0.01, 0.05), rng.uniform(0.8, 3.0))
    cut = rng.uniform(1400, 1900)
    return Fuel(
        films=(quick, slow),
        made_up=rng.uniform(0.4, 0.95),
        filling=rng.uniform(0, 0.9),
        cold=rng.uniform(0.5, 2),
        cut_above=cut,
        resume=cut - rng.uniform(200, 400),
        cut_after=rng.uniform(0.3, 1.0),
    )


def _loop(rng: np.random.Generator) -> Loop:
    return Loop(
        kind=cast(Literal["jumping", "integrating", "proportional"], one_of(rng, "jumping|integrating|proportional")),
        centre=1 + rng.uniform(-0.003, 0.003),
        gain=rng.uniform(0.5, 1.5),
        speed=rng.uniform(0.6, 1.4),
        gas=rng.uniform(0.3, 1.2),
        lag=rng.uniform(0.04, 0.12),
        ready=rng.uniform(12, 40),
        full=(rng.uniform(0.85, 0.92), rng.uniform(0.79, 0.86)),
        step=rng.choice([0.05, 0.3, 1.0]),
        trim_step=float(rng.choice([100 / 128, 100 / 128, 0.1])),
    )


def _long(rng: np.random.Generator) -> LongTrim:
    fast = rng.random() < 0.5
    return LongTrim(
        kind=cast(Literal["single", "flow", "speed and load"], one_of(rng, "single|flow|speed and load")),
        at_full=cast(Literal["held", "held if positive", "dropped"], one_of(rng, "held|held if positive|dropped")),
        time=rng.uniform(15, 60) if fast else rng.uniform(120, 400),
        start=float(rng.choice([0.0, rng.uniform(0.3, 0.7), rng.uniform(0.85, 1.0)])),
        under_purge=bool(rng.random() < 0.5),
    )


def _purge(rng: np.random.Generator) -> Purge:
    return Purge(
        kind=cast(Literal["none", "steady", "episode", "emptying"], one_of(rng, "none|steady|episode|emptying")),
        flow=rng.uniform(0.03, 0.1),
        vapour=rng.uniform(0.04, 0.22),
        on=rng.uniform(25, 120),
        off=rng.uniform(15, 60),
        capacity=rng.uniform(20, 120),
        logged=cast(Literal["duty", "flag", "no"], one_of(rng, "duty|flag|no")),
    )


def _wideband(rng: np.random.Generator) -> Wideband:
    place = cast(Place, one_of(rng, "port|pipe|catalyst"))
    near, pipe, oxygen = rng.uniform(0.3, 1.2), rng.uniform(2, 9), rng.uniform(0.4, 1.6)
    lags = tuple(float(lag) for lag in rng.uniform(0.04, 0.2, int(rng.integers(1, 3))))
    return Wideband(
        place=place,
        gas=near if place == "port" else pipe,
        mixing=rng.uniform(0.05, 0.5),
        oxygen=oxygen if place == "catalyst" else 0.0,
        softness=rng.uniform(0.02, 0.3),
        lags=lags,
        latency=rng.uniform(0, 0.08),
        noise=rng.uniform(0.001, 0.006),
        step=float(rng.choice([0.001, 0.002, 0.005, 0.01])),
        gain=1 + 0.003 * rng.standard_normal(),
        highest=float(rng.choice([1.36, 1.5, 1.99])),
        afr=bool(rng.random() < 0.35),
    )


def _logger(rng: np.random.Generator) -> Logger:
    name = one_of(rng, "10|20|25|held|blanks|1", (0.25, 0.25, 0.2, 0.1, 0.1, 0.1))
    jitter = rng.uniform(0.02, 0.15)
    return logger_named(name, jitter, bool(rng.random() < 0.3))


def logger_named(name: str, jitter: float = 0.1, obd: bool = False) -> Logger:
    """Give a logger by its short name: a rate, held, blanks or 1."""
    if name in ("held", "blanks"):
        kind = cast(Literal["polled held", "polled blanks"], f"polled {name}")
        return Logger(kind, 25.0, jitter, obd=True)
    if name == "1":
        return Logger("1 Hz", 1.0, jitter, obd=True)
    return Logger("at once", float(name), jitter, obd)


def _route(rng: np.random.Generator) -> Route:
    cold = rng.random() < 0.35
    return Route(
        seconds=60 * rng.uniform(5, 20),
        town=rng.uniform(0.2, 0.8),
        coolant=rng.uniform(5, 30) if cold else rng.uniform(80, 92),
        pulls=int(rng.integers(2, 5)),
        apart=bool(rng.random() < 0.5),
        briskness=rng.uniform(0, 1),
    )


def table_reset(car: Car) -> Car:
    """Give the car as it drives off after a flash: what it had learnt is gone, and the engine is warm."""
    return replace(car, long=replace(car.long, start=0.0), route=replace(car.route, coolant=85.0))
