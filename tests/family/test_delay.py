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
from workbench.maths.drives import delay_estimation
from workbench.model.evidence import Delay


# Car of the family, condition, and s by which the way from the trims to the reading comes out too late.
@pytest.mark.parametrize(("seed", "condition", "late"), [(57, "A", 0.15), (12008, "B", 0.3)])
def test_the_delay_is_found_though_trims_answer_what_the_wideband_sees_later(
    seed: int, condition: str, late: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried: list[Delay] = []
    by_prediction = delay_estimation.estimate
    monkeypatch.setattr(delay_estimation, "estimate", lambda *paths: tried.append(by_prediction(*paths)) or tried[-1])
    car = forced(draw(seed, "curve"), condition)
    driven = run(car)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        table, logs = write(folder, driven, "curve", car.meter.unit, "a_")
        desk = Desk(folder)
        desk.ask("new", str(table))
        desk.add(logs)
        if condition != "A":
            desk.ask("settings", "--wideband", "before")
        found = desk.ask("evidence")["delay"]
    assert found["source"] == "estimated"
    turning = driven.inner["rpm"] > 500
    flow, rpm = (float(np.median(driven.inner[name][turning])) for name in ("swallowed", "rpm"))
    band = car.wideband
    true = STROKES / rpm + band.gas / flow + sum(band.lags) + band.latency
    stated = found["fixed_s"] + found["volume_g"] / flow + found["lag_s"]
    assert abs(stated - true) < found["interval_s"]
    before = tried[-1]
    assert before.fixed_s + before.volume_g / flow + before.lag_s - true > late
