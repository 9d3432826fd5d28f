"""Was the stated revision in the car? And did the last correction do what it promised?"""

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord, drive
from workbench.demo.engine import stale_table
from workbench.demo.rounds import Round, history_of, next_round
from workbench.demo.scenario import Scenario
from workbench.errors import InputError
from workbench.maths.evidence import gather_evidence
from workbench.maths.verdict.prediction_check import (
    VERDICTS,
    PredictionCheck,
    check_prediction,
    drives_since,
    last_correction,
)
from workbench.maths.verdict.revision_match import fit_of_revisions
from workbench.model.arrays import FloatArray
from workbench.model.evidence import STANDINGS, Evidence
from workbench.model.history import History, Json
from workbench.model.log import Drive
from workbench.model.packing import Column
from workbench.model.state import Settings
from workbench.model.table import Table
from workbench.work import run

SHORT = {"seed": 1, "minutes": 4.0, "pulls": 1, "start_coolant_c": 85.0}
CAR = Scenario(seed=1, minutes=4.0, pulls=1, start_coolant_c=85.0)
MakeRound = Callable[..., Round]
MakeRecord = Callable[..., DriveRecord]
Alter = Callable[..., DriveRecord]


def five_revisions() -> tuple[Table, ...]:
    """Five tables in a row, each with its own bend."""
    stale = stale_table(CAR)
    along = np.linspace(0, 1, len(stale.axes[0]))
    return tuple(stale.with_values(stale.values * (1 + 0.03 * step * (0.5 + along))) for step in range(5))


@pytest.fixture(scope="module")
def mixed_up() -> tuple[History, DriveRecord]:
    """Revision 3 in the car."""
    tables = five_revisions()
    return history_of(tables), drive(CAR, tables[2])


def test_a_log_of_revision_three_said_to_be_five_is_found_out(mixed_up: tuple[History, DriveRecord]) -> None:
    history, record = mixed_up
    told = Drive(4, record.log, 5)
    fit = fit_of_revisions(history, told, "airflow")
    assert fit is not None
    assert (fit.best, fit.stated) == (3, 5)
    assert fit.doubtful
    assert not fit.unexplained
    assert fit.best_error < 0.001
    assert fit.stated_error > 0.04
    assert "fits revision 3, not 5" in fit.sentence(told)
    assert "Was the table flashed?" in fit.sentence(told)
    assert "amend-log SESSION 4 --on 3" in fit.sentence(told)
    right = fit_of_revisions(history, Drive(1, record.log, 3), "airflow")
    assert right is not None
    assert not right.doubtful
    assert not right.unexplained


def test_a_doubtful_drive_is_not_used_until_told(mixed_up: tuple[History, DriveRecord]) -> None:
    history, record = mixed_up
    told, settings = Drive(1, record.log, 5), Settings()
    with pytest.raises(InputError, match="fits revision 3, not 5"):
        run(gather_evidence(history, history.revision(5), (told,), settings))
    trusted = run(gather_evidence(history, history.revision(5), (told,), settings, trusted=frozenset({1})))
    assert any("fits revision 3, not 5" in note for note in trusted.notes)
    right = run(gather_evidence(history, history.revision(5), (Drive(1, record.log, 3),), settings))
    both = right.stands("proven") & trusted.stands("proven")
    # Believing the wrong table shifts every ratio by the difference of the two tables.
    shift = five_revisions()[4].values / five_revisions()[2].values
    np.testing.assert_allclose((trusted.ratio / right.ratio)[both], shift[both], rtol=0.004)


def test_beside_a_believable_drive_it_is_left_out_and_said(mixed_up: tuple[History, DriveRecord]) -> None:
    history, record = mixed_up
    drives = (Drive(1, record.log, 3), Drive(2, record.log, 5))
    evidence = run(gather_evidence(history, history.revision(5), drives, Settings()))
    assert evidence.drives == (1,)
    assert any("fits revision 3, not 5" in note for note in evidence.notes)


def test_a_table_that_the_session_never_saw_is_said(mixed_up: tuple[History, DriveRecord]) -> None:
    _, record = mixed_up
    strange = history_of((five_revisions()[4],))
    told = Drive(1, record.log, 1)
    fit = fit_of_revisions(strange, told, "airflow")
    assert fit is not None
    assert fit.unexplained
    assert not fit.doubtful
    assert "another table may have been in the car" in fit.sentence(told)


@pytest.mark.parametrize(
    ("role", "times", "said"),
    [
        ("airflow", 3.6, "state it with amend-log SESSION 1 --unit 'mass airflow=kg/h'"),
        ("airflow", 1 / 3.6, "as g/s and kg/h are apart"),
        ("sensor_signal", 1e-3, "it counts in kHz"),
    ],
)
def test_a_slip_of_a_unit_is_named(mixed_up: tuple[History, DriveRecord], role: str, times: float, said: str) -> None:
    history, record = mixed_up
    log = record.log
    name = log.roles[role]  # type: ignore[index]
    channels = tuple(
        replace(each, column=Column(each.values * times)) if each.name == name else each for each in log.channels
    )
    told = Drive(1, replace(log, channels=channels), 3)
    fit = fit_of_revisions(history, told, "airflow")
    assert fit is not None
    assert said.replace("mass airflow", name) in fit.sentence(told)
    assert "another table" not in fit.sentence(told)


def test_without_a_logged_airflow_or_on_a_grid_nothing_can_be_said(
    mixed_up: tuple[History, DriveRecord], record_of: MakeRecord, altered: Alter
) -> None:
    history, record = mixed_up
    assert fit_of_revisions(history, Drive(1, altered(record, drop=("airflow",)).log, 5), "airflow") is None
    grid = record_of(kind="grid", **SHORT)
    assert fit_of_revisions(history_of((grid.table,)), Drive(1, grid.log, 1), "efficiency") is None


def promised(first: Round) -> Mapping[int, Mapping[str, Json]]:
    """Give what a correction keeps with its revision: what it expects of the next drive."""
    evidence, made = first.evidence, first.correction

    def listed(values: FloatArray) -> Json:
        return [float(value) if np.isfinite(value) else None for value in values]

    return {
        2: {
            "expected": listed(evidence.ratio / made.multipliers),
            "half_width": listed(evidence.half_width),
            "standing": [STANDINGS[code] for code in evidence.standing],
            "drives": [1],
        }
    }


def held_against(first: Round, record: DriveRecord) -> tuple[PredictionCheck, Evidence]:
    """Hold the first correction against a second drive, said to have been made with it."""
    history = history_of(first.tables, promised(first))
    drives = (Drive(1, first.records[0].log, 1), Drive(2, record.log, 2))
    made = last_correction(history, history.revision(2))
    assert made is not None
    since = drives_since(history, drives, made)
    assert [each.id for each in since] == [2]
    seen = run(gather_evidence(history, made, since, Settings(), trusted=frozenset({2})))
    return check_prediction(history, made, seen, drives), seen


def counts(prediction: PredictionCheck) -> dict[str, int]:
    return {name: int(np.sum(prediction.verdict == code)) for code, name in enumerate(VERDICTS)}


@pytest.fixture(scope="module")
def first(round_of: MakeRound) -> Round:
    return round_of(**SHORT)


@pytest.fixture(scope="module")
def again(first: Round) -> DriveRecord:
    return next_round(first).records[1]


@pytest.fixture(scope="module")
def bad(first: Round) -> Round:
    """A correction that came out 4 % too high everywhere."""
    return replace(first, tables=(first.tables[0], first.table.with_values(1.04 * first.table.values)))


@pytest.fixture(scope="module")
def after_bad(bad: Round) -> DriveRecord:
    return drive(CAR, bad.table, number=2)


def test_a_good_correction_keeps_its_word(first: Round, again: DriveRecord) -> None:
    prediction, seen = held_against(first, again)
    told = counts(prediction)
    assert told["kept"] > 25
    assert told["not kept"] <= 2
    assert np.array_equal(prediction.verdict > 0, np.isfinite(seen.ratio) & np.isfinite(prediction.expected))
    known = told["kept"] + told["better"]
    assert f"Correction 2: prediction met in {known} of the {known + told['not kept']} cells" in prediction.sentences[0]
    assert prediction.drives == (2,)


def test_a_table_that_was_never_flashed_is_the_reason(first: Round) -> None:
    never = drive(CAR, first.tables[0], number=2)
    prediction, _ = held_against(first, never)
    assert counts(prediction)["not kept"] > 25
    assert "largest miss at" in prediction.sentences[0]
    assert "another table was in the car" in prediction.sentences[1]
    assert "fits revision 1, not 2" in prediction.sentences[1]


def test_other_weather_is_the_reason(bad: Round, after_bad: DriveRecord, altered: Alter) -> None:
    warmer = altered(after_bad, intake_temperature=lambda values: values + 25)
    assert "different weather; the intake air was +" in held_against(bad, warmer)[0].sentences[1]
    thinner = altered(after_bad, barometer=lambda values: values - 8)
    assert "different weather; the air pressure was -" in held_against(bad, thinner)[0].sentences[1]


def test_another_channel_is_the_reason(first: Round) -> None:
    sick = drive(replace(CAR, fault="engine_speed", minutes=8.0), first.table, number=1)
    prediction, _ = held_against(first, sick)
    assert "follows another channel" in prediction.sentences[1]
    # At one airflow the manifold's pressure falls as speed rises: either may stand for both.
    assert any(name in prediction.sentences[1] for name in ("follows engine speed", "follows manifold pressure"))


def test_a_thin_drive_is_the_reason(bad: Round) -> None:
    short = drive(replace(CAR, minutes=0.7, pulls=0), bad.table, number=1)
    prediction, seen = held_against(bad, short)
    assert np.mean(seen.standing[prediction.verdict == 3] == STANDINGS.index("proven")) < 0.5
    assert "too few samples" in prediction.sentences[1]


def test_without_a_reason_it_says_so(bad: Round, after_bad: DriveRecord) -> None:
    prediction, _ = held_against(bad, after_bad)
    assert counts(prediction)["not kept"] > 25
    assert "-3.8 % are left" in prediction.sentences[0] or "-4." in prediction.sentences[0]
    assert "No likely reason found" in prediction.sentences[1]


def test_nearer_to_right_than_promised_is_better(first: Round, again: DriveRecord) -> None:
    """Half a step would leave much to be seen; where the next drive shows less than that, it did better."""
    half_step = {2: {**promised(first)[2], "expected": [1.05] * len(first.table.values)}}
    history = history_of(first.tables, half_step)
    drives = (Drive(1, first.records[0].log, 1), Drive(2, again.log, 2))
    seen = run(gather_evidence(history, history.revision(2), drives[1:], Settings()))
    told = counts(check_prediction(history, history.revision(2), seen, drives))
    assert told["better"] > 25
    assert told["not kept"] == 0


def test_a_correction_that_promised_nothing_is_not_judged(first: Round, again: DriveRecord) -> None:
    history = history_of(first.tables)
    drives = (Drive(1, first.records[0].log, 1), Drive(2, again.log, 2))
    seen = run(gather_evidence(history, history.revision(2), drives[1:], Settings()))
    prediction = check_prediction(history, history.revision(2), seen, drives)
    assert not prediction.verdict.any()
    assert "in 0 of the 0 cells" in prediction.sentences[0]


def test_a_head_without_a_correction_has_no_promise(first: Round) -> None:
    history = history_of(first.tables)
    assert last_correction(history, history.revision(1)) is None


def test_what_no_airflow_can_tell_is_said_to_be_taken_as_stated(round_of: MakeRound, altered: Alter) -> None:
    found = round_of(**SHORT)
    record = found.records[0]
    blind = altered(record, drop=("airflow",))
    for tables, driven, said in (
        ((record.table,), blind, False),  # there is but one revision
        (found.tables, record, False),
        (found.tables, blind, True),
    ):
        history = history_of(tables)
        head = history.revision(len(tables))
        evidence = run(gather_evidence(history, head, (Drive(1, driven.log, 1),), Settings()))
        assert any("taken as stated for drive 1" in note for note in evidence.notes) == said
