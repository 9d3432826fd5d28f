"""Trims that a log shows in open loop count as much as readings of both loops, side by side, say that they act."""

from collections.abc import Callable

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord
from workbench.demo.rounds import evidence_of_records
from workbench.maths.pooling import open_trims
from workbench.maths.pooling.open_trims import likelihood
from workbench.model.evidence import Evidence

Alter = Callable[..., DriveRecord]
SHOWN = "does not act there"


def gathered(record: DriveRecord) -> Evidence:
    return evidence_of_records((record.table,), (record,))


@pytest.fixture(scope="module")
def plain(record_of: Callable[..., DriveRecord]) -> DriveRecord:
    return record_of(seed=3, minutes=10, pulls=3, rate_hz=10.0, start_coolant_c=84.0)


def test_a_long_term_trim_that_acts_is_counted(plain: DriveRecord) -> None:
    assert not any(SHOWN in note for note in gathered(plain).notes)


def test_a_long_term_trim_that_is_only_shown_in_open_loop_is_left_out(plain: DriveRecord, altered: Alter) -> None:
    """An ECU that does not use in open loop what it has learnt injects less there by that much."""
    status, learnt = plain.log.playing("fuel_system"), plain.log.playing("ltft_1")
    assert status is not None
    assert learnt is not None
    without = np.where(np.isin(status, (2, 16)), 1.0, 1 + learnt / 100)
    shown = gathered(altered(plain, lambda_measured=lambda measured: measured * without))
    acting = gathered(plain)
    assert any(SHOWN in note for note in shown.notes)
    full = acting.full_throttle & acting.stands("proven")
    assert full.any()
    np.testing.assert_allclose(shown.ratio[full], acting.ratio[full], rtol=0.006)


def test_a_single_stretch_of_closed_loop_does_not_tell_what_acts_in_open_loop(
    plain: DriveRecord, altered: Alter, monkeypatch: pytest.MonkeyPatch
) -> None:
    status, learnt = plain.log.playing("fuel_system"), plain.log.playing("ltft_1")
    assert status is not None
    assert learnt is not None
    without = np.where(np.isin(status, (2, 16)), 1.0, 1 + learnt / 100)
    shown = altered(plain, lambda_measured=lambda measured: measured * without)
    monkeypatch.setattr(open_trims, "_stretches_closed", lambda known: 1)
    notes = gathered(shown).notes
    assert not any(SHOWN in note for note in notes)
    assert any("cannot be told" in note for note in notes)


@pytest.mark.parametrize(
    ("share", "deviation", "most", "least"), [(1.05, 0.1, 1.0, 1.0), (0.0, 0.1, 0.0, 0.0), (0.5, 5.0, 0.11, 0.09)]
)
def test_what_is_found_outweighs_what_is_likely_as_far_as_it_is_known(
    share: float, deviation: float, most: float, least: float
) -> None:
    assert least <= likelihood(share, deviation, 0.1) <= most
