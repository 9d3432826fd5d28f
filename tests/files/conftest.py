"""Logs of cars whose physics, loops and loggers were drawn by lot, driven and read once for all tests of reading."""

from collections.abc import Callable
from functools import cache

import pytest
from family.car import run as driven
from family.car import write
from family.lottery import draw

from workbench.files.logs import read_log
from workbench.model.log import Log
from workbench.work import run


@pytest.fixture(scope="session")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Callable[[int], list[Log]]:
    """Give the logs of a sound car by its seed: every third one has a grid."""

    @cache
    def logs(seed: int) -> list[Log]:
        car = draw(seed, "grid" if seed % 3 == 0 else "curve")
        _, paths = write(tmp_path_factory.mktemp("car"), driven(car), car.kind, car.meter.unit)
        return [run(read_log(path)) for path in paths]

    return logs
