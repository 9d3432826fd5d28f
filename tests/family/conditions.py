"""Conditions that are forced on whatever was drawn, by name."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from family.lottery import logger_named
from family.parts import Car

Force = Callable[[Car], Car]


def _wideband(**changes: Any) -> Force:
    return lambda car: replace(car, wideband=replace(car.wideband, **changes))


def _purge(**changes: Any) -> Force:
    return lambda car: replace(car, purge=replace(car.purge, **changes))


def _route(**changes: Any) -> Force:
    return lambda car: replace(car, route=replace(car.route, **changes))


def _logger(name: str) -> Force:
    return lambda car: replace(car, logger=logger_named(name, car.logger.jitter))


def _all(*forces: Force) -> Force:
    def apply(car: Car) -> Car:
        for force in forces:
            car = force(car)
        return car

    return apply


def _exact(car: Car) -> Car:
    """Instruments and loop without an error of their own; the physics stays as drawn."""
    return replace(
        car,
        wideband=replace(
            car.wideband, place="port", gas=0.4, oxygen=0.0, mixing=0.1, lags=(0.04,), latency=0.0, noise=0.0,
            step=1e-4, gain=1.0, afr=False,
        ),
        loop=replace(car.loop, centre=1.0, trim_step=0.01),
        meter=replace(car.meter, turbulence=0.0),
        logger=logger_named("25", 0.0),
    )  # fmt: skip


_NONE = _purge(kind="none")
_B = _all(
    _wideband(place="pipe", gas=9.0, oxygen=0.0),
    _purge(kind="episode", logged="flag"),
    _logger("20"),
    _route(seconds=900.0, coolant=85.0),
)
_BEHIND = _wideband(place="catalyst", gas=9.0, oxygen=1.5)
_WITHOUT = _wideband(place="none")

CONDITIONS: Mapping[str, Force] = {
    "A": lambda car: car,
    "perfect": _exact,
    "perfect no purge": _all(_exact, _NONE),
    "no purge": _NONE,
    "purge steady": _purge(kind="steady"),
    "purge by episode": _purge(kind="episode"),
    "purge emptying": _purge(kind="emptying"),
    "purge hidden": _purge(kind="episode", logged="no"),
    "purge duty": _purge(kind="episode", logged="duty"),
    "purge flag": _purge(kind="episode", logged="flag"),
    "port": lambda car: _wideband(place="port", gas=min(1.2, max(0.3, 0.15 * car.wideband.gas)), oxygen=0.0)(car),
    "pipe": lambda car: _wideband(place="pipe", gas=max(2.0, car.wideband.gas), oxygen=0.0)(car),
    "catalyst": lambda car: _wideband(
        place="catalyst", gas=max(2.0, car.wideband.gas), oxygen=car.wideband.oxygen or 1.0
    )(car),
    "trims only": _WITHOUT,
    "10 Hz": _logger("10"),
    "20 Hz": _logger("20"),
    "25 Hz": _logger("25"),
    "polled held": _logger("held"),
    "polled blanks": _logger("blanks"),
    "1 Hz": _logger("1"),
    "5 min": _route(seconds=300.0),
    "20 min": _route(seconds=1200.0),
    "cold": _route(coolant=10.0),
    "warm": _route(coolant=85.0),
    "B": _B,
    "B no purge": _all(_B, _NONE),
    "B cat": _all(_B, _BEHIND),
    "B cat no purge": _all(_B, _BEHIND, _NONE),
    "B 5 min at 10 Hz": _all(_B, _logger("10"), _route(seconds=300.0)),
    "C": _all(_WITHOUT, _route(gap=True)),
}


def forced(car: Car, name: str) -> Car:
    """Force a condition on a car; several are joined by +.

    Raises:
        KeyError: when there is none of that name.
    """
    return _all(*(CONDITIONS[word.strip()] for word in name.split("+")))(car)
