"""Faults that are put into a car on purpose; their sizes are drawn from its seed.

A hole between the filter and the sensor lets in air that the sensor still meters: the mixture stays right but for what
the disturbed stream does to the signal. It is kept because people ask for it, and a clean answer there is no miss.
"""

from dataclasses import dataclass, replace

import numpy as np

from family.air import STEP_S, Array
from family.driver import Drive, wander
from family.fuel import FuelFault
from family.parts import Car

FAULTS = {
    "leak before sensor": "a hole before the airflow sensor: the stream is disturbed, the signal unsteady and 3 % low",
    "leak after sensor": "a hole in the manifold: air that no sensor met, most of it at idle",
    "exhaust leak": "air drawn into the exhaust before the wideband, most of it at low flow",
    "weak pump": "fuel pressure falls as fuel flow rises: 8 to 15 % too little at full power",
    "lazy wideband": "a lag of 0.9 to 1.6 s",
    "misread injector": "every pulse is 0.1 to 0.2 ms longer or shorter than the ECU believes",
    "lean spike": "a part of the fuel is missing for half a second in a pull",
    "lifted pull": "the foot comes up for half a second in a pull",
    "free air": "the wideband hangs in free air",
}


@dataclass(frozen=True)
class Fault:
    """What is wrong, as the parts of the model take it.

    Attributes:
        fuel: of its delivery.
        leak: choked flow of a hole in the manifold, g/s.
        noise: share by which a disturbed stream moves the airflow signal, per step.
        exhaust: air drawn into the exhaust, as a share, per step.
        free_air: wideband in free air.
    """

    fuel: FuelFault = FuelFault()  # noqa: RUF009 - frozen
    leak: float = 0.0
    noise: Array | None = None
    exhaust: Array | None = None
    free_air: bool = False


def prepared(car: Car, name: str | None) -> Car:
    """Change what is wrong with the car's parts themselves.

    Raises:
        KeyError: when there is no fault of that name.
    """
    if name is not None and name not in FAULTS:
        raise KeyError(name)
    if name == "lazy wideband":
        rng = np.random.default_rng([car.seed, 200])
        return replace(car, wideband=replace(car.wideband, lags=(rng.uniform(0.9, 1.6),)))
    return car


def fault_of(car: Car, name: str | None, drive: Drive) -> Fault:  # noqa: PLR0911 - one for each
    """Put a fault into a drive."""
    rng = np.random.default_rng([car.seed, 201])
    count = len(drive.time)
    if name == "leak before sensor":
        return Fault(noise=-0.03 + wander(rng, count, 0.03, 1.5))
    if name == "leak after sensor":
        return Fault(leak=rng.uniform(0.2, 0.5) * car.engine.displacement)
    if name == "exhaust leak":
        rough = drive.rpm / car.engine.redline * np.sqrt(drive.opening)
        return Fault(exhaust=rng.uniform(0.05, 0.1) / (1 + (rough / 0.06) ** 2))
    if name == "weak pump":
        return Fault(FuelFault(pump=rng.uniform(0.08, 0.15)))
    if name == "misread injector":
        return Fault(FuelFault(offset=float(rng.choice([-1, 1])) * rng.uniform(0.1, 0.2) * 1e-3))
    if name == "lean spike":
        return Fault(FuelFault(missing=_spike(drive, rng)))
    return Fault(free_air=name == "free air")


def _spike(drive: Drive, rng: np.random.Generator) -> Array:
    missing = np.zeros(len(drive.time))
    for start, end in drive.pulls[:1]:
        at = int(start + rng.uniform(0.55, 0.75) * (end - start))
        missing[at : at + int(rng.uniform(0.4, 0.7) / STEP_S)] = rng.uniform(0.12, 0.25)
    return missing
