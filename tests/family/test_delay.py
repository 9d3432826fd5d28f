"""The stated interval of the wideband's delay holds the way that the gas truly takes, on cars that others made."""

import tempfile
from pathlib import Path

import numpy as np
import pytest

from family.car import run, write
from family.conditions import forced
from family.exhaust import STROKES
from family.judge import Desk
from family.lottery import draw


@pytest.mark.parametrize("seed", [57, 61])
def test_the_interval_of_a_delay_holds_the_true_one(seed: int) -> None:
    """Both loops jump, and their trims answer what the ECU's own sensor saw shortly before."""
    car = forced(draw(seed, "curve"), "A")
    driven = run(car)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        table, logs = write(folder, driven, "curve", car.meter.unit, "a_")
        desk = Desk(folder)
        desk.ask("new", str(table))
        desk.add(logs)
        found = desk.ask("evidence")["delay"]
    assert found["source"] == "estimated"
    turning = driven.inner["rpm"] > 500
    flow, rpm = (float(np.median(driven.inner[name][turning])) for name in ("swallowed", "rpm"))
    band = car.wideband
    true = STROKES / rpm + band.gas / flow + sum(band.lags) + band.latency
    stated = found["fixed_s"] + found["volume_g"] / flow + found["lag_s"]
    assert abs(stated - true) < found["interval_s"]
    assert abs(stated - true) > found["interval_s"] / 5  # what scatter alone would say does not hold it
