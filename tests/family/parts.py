"""What a virtual car is made of, as plain values; `lottery` draws them.

Ranges are common practice, no source, where none is given.
"""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["curve", "grid"]
Place = Literal["port", "pipe", "catalyst", "none"]


@dataclass(frozen=True)
class Engine:
    """An engine and the car around it.

    Attributes:
        displacement: l, 1.4 to 6.
        cylinders: 3 to 8, about 0.5 l each.
        manifold: l between throttle and valves, 0.8 to 2.5 times the displacement: fills and empties.
        idle, redline: rpm.
        efficiency: largest volumetric efficiency without residual gas, 0.93 to 1.1 (0.85 to 1.03 with it).
        peak: engine speed of it as a share of the redline.
        fall: how much it falls towards both ends, 0.15 to 0.4.
        residual: kPa of burnt gas that the cylinders keep, 5 to 12.
        friction: kPa of mean effective pressure, pumping included.
        mass: kg.
        gearing: km/h per 1000 rpm in each gear.
        barometer: kPa.
        ambient: °C.
        throttle_top: % that the logged throttle shows when wide open.
    """

    displacement: float
    cylinders: int
    manifold: float
    idle: float
    redline: float
    efficiency: float
    peak: float
    fall: float
    residual: float
    friction: float
    mass: float
    gearing: tuple[float, ...]
    barometer: float
    ambient: float
    throttle_top: float


@dataclass(frozen=True)
class Meter:
    """The airflow sensor, or the manifold pressure sensor of a grid car, and the table that belongs to it.

    Attributes:
        unit: Hz or V.
        breakpoints: 32 to 85.
        king: a, b, n of E² = a + b m^n (King 1914); m in parts of the largest flow.
        lag: s, of a hot film 15 to 35 ms.
        turbulence: share of the flow, white.
        rows, columns: of a grid over engine speed and manifold pressure.
    """

    unit: Literal["Hz", "V"]
    breakpoints: int
    king: tuple[float, float, float]
    lag: float
    turbulence: float
    rows: int
    columns: int


@dataclass(frozen=True)
class Staleness:
    """By how much the table is wrong since the intake was changed.

    Attributes:
        largest: 4 to 15 %, as a ratio less 1.
        tilt, level: of the smooth part.
        bumps: centre (0..1 in the logarithm of flow), width, height of each; in a grid a second centre.
    """

    largest: float
    level: float
    tilt: float
    bumps: tuple[tuple[float, float, float, float], ...]


@dataclass(frozen=True)
class Fuel:
    """What happens to the fuel between injector and cylinder.

    Attributes:
        films: share caught and time constant (s) of a quick and a slow wall film.
        made_up: the part of it that the ECU makes up for.
        filling: share of the manifold's lag that the ECU works into its airflow.
        cold: how much more the walls catch on a cold engine.
        cut_above, resume: rpm of the fuel cut.
        cut_after: s of closed throttle.
    """

    films: tuple[tuple[float, float], tuple[float, float]]
    made_up: float
    filling: float
    cold: float
    cut_above: float
    resume: float
    cut_after: float


@dataclass(frozen=True)
class Loop:
    """The ECU's mixture control.

    Attributes:
        kind: jumping (two-state sensor: ramp and jump), integrating, or proportional with a slow integral.
        centre: lambda that it holds, 1 ± 0.003.
        gain, speed: of the kind's own terms.
        gas: g between port and the ECU's own sensor.
        lag: s of that sensor.
        ready: s after the start until it works.
        full: lambda commanded at full throttle, at low and at high speed.
        step: s that the command takes to arrive there.
        trim_step: % of the trims as logged.
    """

    kind: Literal["jumping", "integrating", "proportional"]
    centre: float
    gain: float
    speed: float
    gas: float
    lag: float
    ready: float
    full: tuple[float, float]
    step: float
    trim_step: float


@dataclass(frozen=True)
class LongTrim:
    """What the ECU learns.

    Attributes:
        kind: one for all, by flow, or by speed and load.
        at_full: what becomes of it at full throttle.
        time: s, slow 120 to 400, fast 15 to 60.
        start: share of what is to be learnt that stands at the start: 0 where it was reset at the flash.
        under_purge: whether it learns while the canister is emptied.
    """

    kind: Literal["single", "flow", "speed and load"]
    at_full: Literal["held", "held if positive", "dropped"]
    time: float
    start: float
    under_purge: bool


@dataclass(frozen=True)
class Purge:
    """Fuel vapour from the canister.

    Attributes:
        kind: steady (strength always the same, hardly a rest), by episode with a strength of its own, or emptying.
        flow: g/s per litre of displacement at full duty and choked flow; some 1 to 4 % of what a cruising engine takes.
        vapour: mass share of fuel in it, at the start or on average.
        on, off: s, typical length of an episode and of the rest.
        capacity: g of purge flow after which an emptying canister is down to 37 %.
        logged: as duty in %, as a flag, or not.
    """

    kind: Literal["none", "steady", "episode", "emptying"]
    flow: float
    vapour: float
    on: float
    off: float
    capacity: float
    logged: Literal["duty", "flag", "no"]


@dataclass(frozen=True)
class Wideband:
    """The instrument in the exhaust.

    Attributes:
        place: where it sits.
        gas: g between port and sensor.
        mixing: share of that gas that mixes rather than moves as a plug.
        oxygen: g that the catalyst before it stores.
        softness: share of the store over which it breaks through.
        lags: s, one or two.
        latency: s until it is in the log.
        noise: standard deviation, lambda, white.
        step: lambda.
        gain: what it reads over what is there.
        highest: lambda it can show.
        afr: whether the log holds an air-fuel ratio (lambda times 14.7).
    """

    place: Place
    gas: float
    mixing: float
    oxygen: float
    softness: float
    lags: tuple[float, ...]
    latency: float
    noise: float
    step: float
    gain: float
    highest: float
    afr: bool


@dataclass(frozen=True)
class Logger:
    """How it is recorded.

    Attributes:
        kind: all channels at once; polled one after the other, the others held or blank; once a second.
        rate: rows per s.
        jitter: share of the interval.
        obd: whether channels come in the steps of SAE J1979.
        commanded: whether commanded lambda is logged (else the fuel system alone says when it is 1).
    """

    kind: Literal["at once", "polled held", "polled blanks", "1 Hz"]
    rate: float
    jitter: float
    obd: bool


@dataclass(frozen=True)
class Route:
    """How it is driven.

    Attributes:
        seconds: 5 to 20 minutes.
        town: share of it in town.
        coolant: °C at the start.
        pulls: 2 to 4, in one gear.
        apart: whether the pulls are recorded in a file of their own.
        briskness: 0 calm to 1.
        gap: five breakpoints that nobody drives.
    """

    seconds: float
    town: float
    coolant: float
    pulls: int
    apart: bool
    briskness: float
    gap: bool = False


@dataclass(frozen=True)
class Car:
    """All that was drawn."""

    seed: int
    kind: Kind
    engine: Engine
    meter: Meter
    stale: Staleness
    fuel: Fuel
    loop: Loop
    long: LongTrim
    purge: Purge
    wideband: Wideband
    logger: Logger
    route: Route
    pressure_logged: bool
