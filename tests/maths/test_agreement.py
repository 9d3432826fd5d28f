"""Drives that say different things of the same cells are named; none of them is taken for an outlier in silence."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord, drive
from workbench.demo.rounds import Round, drives_of, evidence_of_records, history_of
from workbench.maths.verdict.prediction_check import VERDICTS, check_prediction
from workbench.model.evidence import Evidence

MakeRound = Callable[..., Round]
Alter = Callable[..., DriveRecord]
WEAK = 1.08  # a fuel pump that gives way at full throttle


def weakened(record: DriveRecord, alter: Alter) -> DriveRecord:
    throttle = record.log.playing("throttle")
    assert throttle is not None
    return alter(record, lambda_measured=lambda values: np.where(throttle > 80, values * WEAK, values))


@pytest.fixture(scope="module")
def pump(round_of: MakeRound, altered: Alter) -> tuple[Round, DriveRecord, DriveRecord]:
    """Two drives on the corrected table, the second of them with a weak pump."""
    found = round_of(seed=1)
    good, bad = (drive(found.scenario, found.table, number=number) for number in (2, 3))
    return found, good, weakened(bad, altered)


def evidence_of(pump: tuple[Round, DriveRecord, DriveRecord]) -> Evidence:
    found, good, bad = pump
    return evidence_of_records((*found.tables, found.table), (*found.records, good, bad))


def test_a_pump_that_gives_way_in_one_of_two_drives_is_no_outlier(
    pump: tuple[Round, DriveRecord, DriveRecord],
) -> None:
    evidence = evidence_of(pump)
    assert evidence.full_target.worst == pytest.approx(WEAK - 1, abs=0.015)
    assert evidence.full_target.inside_cells < 0.5
    assert any("disagree at full throttle" in note for note in evidence.notes)
    rich = evidence.disputed & evidence.full_throttle
    assert evidence.disputed.sum() > 8
    assert rich.sum() > 3
    assert not evidence.stands("proven")[rich].any()
    reaches = evidence.ratio + evidence.half_width >= WEAK - 0.015
    assert reaches[rich].all()


def test_what_drives_disagree_on_is_no_kept_promise(pump: tuple[Round, DriveRecord, DriveRecord]) -> None:
    found, good, bad = pump
    arguments = {
        2: {"expected": np.ones(found.table.shape).tolist(), "half_width": np.full(found.table.shape, 0.01).tolist()}
    }
    history = history_of((*found.tables, found.table), arguments)
    drives = drives_of((*found.records, good, bad))
    seen = replace(evidence_of(pump), table=found.table)
    prediction = check_prediction(history, history.revision(2), seen, drives)
    assert (prediction.verdict[seen.disputed] == VERDICTS.index("not kept")).all()
    assert "disagree" in prediction.sentences[-1]


@pytest.mark.parametrize("kind", ["curve", "grid"])
def test_drives_that_agree_are_not_disturbed(second_of: MakeRound, kind: str) -> None:
    evidence = second_of(seed=1, kind=kind).evidence
    assert not evidence.disputed.any()
    assert not any("disagree" in note or "throttle overall" in note for note in evidence.notes)


def test_drives_that_differ_throughout_are_held_by_every_interval(round_of: MakeRound, altered: Alter) -> None:
    """Cells in which no drive says enough for itself are held too, since the drives as a whole differ."""
    found = round_of(seed=1)
    apart = 1.06
    second = altered(drive(found.scenario, found.table, number=2), lambda_measured=lambda values: values * apart)
    evidence = evidence_of_records(found.tables, (*found.records, second))
    assert any("at part throttle" in note and note.startswith("The drives di") for note in evidence.notes)
    part = evidence.disputed & ~evidence.full_throttle
    assert part.sum() > 20
    assert not evidence.stands("proven")[part].any()
    low, high = evidence.ratio - evidence.half_width, evidence.ratio + evidence.half_width
    assert np.mean(low[part] <= 1.003) > 0.95
    assert np.mean(high[part] >= 1 + 0.7 * (apart - 1)) > 0.95
    assert abs(evidence.part_target.worst) > 0.02
