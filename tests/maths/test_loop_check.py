"""A wideband must read the same wherever a settled loop holds its mixture; a leak ahead of it reads lean at idle."""

from collections.abc import Callable

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord
from workbench.demo.rounds import evidence_of_records
from workbench.model.evidence import Evidence

Alter = Callable[..., DriveRecord]
SAID = "look for a leak in the exhaust"


def gathered(record: DriveRecord) -> Evidence:
    return evidence_of_records((record.table,), (record,))


@pytest.fixture(scope="module")
def plain(record_of: Callable[..., DriveRecord]) -> DriveRecord:
    return record_of(seed=3, minutes=10, pulls=3, rate_hz=10.0, start_coolant_c=84.0)


def test_a_sound_exhaust_raises_nothing(plain: DriveRecord) -> None:
    assert not any(SAID in note for note in gathered(plain).notes)


def test_a_leak_ahead_of_the_wideband_is_named_and_leaves_idle_unproven(plain: DriveRecord, altered: Alter) -> None:
    flow = plain.log.playing("airflow")
    assert flow is not None
    leak = 1 + 0.25 / np.maximum(flow, 1.0)
    misled = gathered(altered(plain, lambda_measured=lambda measured: measured * leak))
    assert any(SAID in note for note in misled.notes)
    proven = misled.stands("proven")
    right = gathered(plain)
    both = proven & right.stands("proven")
    assert both.any()
    assert np.abs(misled.ratio / right.ratio - 1)[both].max() < 0.03
    assert proven.sum() < right.stands("proven").sum()
