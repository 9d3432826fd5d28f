"""What is left of an error of the estimated delay is set right in the solve."""

from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord, drive
from workbench.demo.engine import true_multipliers
from workbench.demo.rounds import evidence_of_records
from workbench.demo.scenario import Scenario
from workbench.maths.drives import delay_estimation
from workbench.maths.drives import drive_fit as driven
from workbench.model.evidence import Delay, Evidence

CAR = Scenario(kind="grid", seed=11, minutes=6, pulls=2, start_coolant_c=84.0)


@pytest.fixture(scope="module")
def record() -> DriveRecord:
    return drive(CAR)


def miss(evidence: Evidence) -> float:
    """Give the root mean square error of the proven cells."""
    proven = evidence.stands("proven")
    return float(np.sqrt(np.mean((evidence.ratio - true_multipliers(CAR, evidence.table))[proven] ** 2)))


@pytest.mark.parametrize(("part", "by"), [("fixed_s", -0.02), ("volume_g", 0.3)])
def test_what_is_left_of_a_wrong_delay_does_no_harm_and_is_counted(
    part: str, by: float, record: DriveRecord, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Over a grid at low pressure most of what is seen is seen in transients, where the delay matters most."""
    found = delay_estimation.estimate

    def off(*paths: delay_estimation.Course) -> Delay:
        delay = found(*paths)
        return replace(delay, **{part: getattr(delay, part) + by})

    right = miss(evidence_of_records((record.table,), (record,)))
    monkeypatch.setattr(delay_estimation, "estimate", off)
    counted = evidence_of_records((record.table,), (record,))
    assert miss(counted) < 1.6 * right
    size = next(item.size for item in counted.budget if item.name == "delay")
    assert np.median(size[counted.driven]) > 1e-4
    monkeypatch.setattr(driven, "_delay_sensitivity", lambda *_: None)
    monkeypatch.setattr(driven, "_timed", lambda _: 1.0)
    without = evidence_of_records((record.table,), (record,))
    assert not any(item.name == "delay" for item in without.budget)


def test_a_stated_delay_is_taken_as_it_was_stated(record: DriveRecord, monkeypatch: pytest.MonkeyPatch) -> None:
    stated = Delay(0.08, 0.6, 0.08, "stated")
    with_delay_sensitivity = evidence_of_records((record.table,), (record,), stated=stated)
    monkeypatch.setattr(driven, "DELAY_PRIOR_SD", {"fixed_s": 1e-9})
    assert np.array_equal(
        with_delay_sensitivity.ratio,
        evidence_of_records((record.table,), (record,), stated=stated).ratio,
        equal_nan=True,
    )
