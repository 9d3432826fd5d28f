"""What is left of an error of the estimated delay is set right in the solve."""

from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord, drive
from workbench.demo.engine import true_multipliers
from workbench.demo.rounds import gather_evidence
from workbench.demo.scenario import Scenario
from workbench.maths.drives import delay_estimation as align
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
def test_what_is_left_of_a_wrong_delay_is_set_right(
    part: str, by: float, record: DriveRecord, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Over a grid at low pressure most of what is seen is seen in transients, where the delay matters most."""
    found = align.estimate

    def off(path: align.Course) -> Delay:
        delay = found(path)
        return replace(delay, **{part: getattr(delay, part) + by})

    right = miss(gather_evidence((record.table,), (record,)))
    monkeypatch.setattr(align, "estimate", off)
    with_leeway = miss(gather_evidence((record.table,), (record,)))
    monkeypatch.setattr(driven, "LEEWAY", {"fixed_s": 1e-9})
    without = miss(gather_evidence((record.table,), (record,)))
    assert without > 1.4 * right
    assert with_leeway < 1.2 * right


def test_a_stated_delay_is_taken_as_it_was_stated(record: DriveRecord, monkeypatch: pytest.MonkeyPatch) -> None:
    stated = Delay(0.08, 0.6, 0.08, "stated")
    with_leeway = gather_evidence((record.table,), (record,), stated=stated)
    monkeypatch.setattr(driven, "LEEWAY", {"fixed_s": 1e-9})
    assert np.array_equal(
        with_leeway.ratio, gather_evidence((record.table,), (record,), stated=stated).ratio, equal_nan=True
    )
