"""Roles that other channels tell: total trim, error of lambda, air for each stroke; and fuel ratios by their names."""

from pathlib import Path

import numpy as np
import pytest

from workbench.errors import InputError
from workbench.files.logs import read_log
from workbench.files.vocabulary.roles import read_role
from workbench.maths.signals.trims import fuel_factor
from workbench.model.log import Log, Role
from workbench.work import run

T = np.arange(0, 60, 0.1)
RPM = 1500 + 400 * np.sin(T)
COMMANDED = np.where((T > 30) & (T < 35), 0.9, 1.0)
ERROR = np.where((T > 40) & (T < 43), 30 + 20 * (T - 40), 3 * np.sin(T))  # a fuel cut, as it comes on
TOTAL = 5 + 3 * np.sin(2 * T)


def read(place: Path, head: str, *columns: np.ndarray, units: dict[str, str] | None = None) -> Log:  # type: ignore[type-arg]
    path = place / "drive.csv"
    rows = [",".join(f"{value:.5f}" for value in row) for row in zip(T, *columns, strict=True)]
    path.write_text("\n".join([f"Time (s),{head}", *rows]) + "\n")
    return run(read_log(path, units=units or {}))


def test_a_total_trim_stands_for_both(tmp_path: Path) -> None:
    log = read(tmp_path, "RPM (rpm),Total fuel trim (%)", RPM, TOTAL)
    assert log.roles["total_trim_1"] == "Total fuel trim"
    short, long = log.playing("stft_1"), log.playing("ltft_1")
    assert short is not None
    assert long is not None
    np.testing.assert_allclose(fuel_factor(short, long), 1 + TOTAL / 100, atol=1e-6)
    assert log.playing("stft_2") is None


def test_beside_both_trims_it_is_not_used(tmp_path: Path) -> None:
    log = read(tmp_path, "RPM (rpm),STFT (%),LTFT (%),Total fuel trim (%)", RPM, TOTAL - 5, 0 * T + 5, TOTAL)
    np.testing.assert_allclose(log.playing("stft_1"), TOTAL - 5, atol=1e-4)
    np.testing.assert_allclose(log.playing("ltft_1"), 5.0)


@pytest.mark.parametrize(("name", "told"), [("STFT", "ltft_1"), ("LTFT", "stft_1")])
def test_beside_one_trim_it_tells_the_other(tmp_path: Path, name: str, told: Role) -> None:
    one = np.where(np.arange(T.size) % 3, np.nan, np.round(TOTAL - 4, 4))  # not in every row
    log = read(tmp_path, f"RPM (rpm),{name} (%),Total fuel trim (%)", RPM, one, TOTAL)
    rest = log.playing(told)
    assert rest is not None
    held = one[3 * (np.arange(T.size) // 3)]
    np.testing.assert_allclose(fuel_factor(held, rest), 1 + TOTAL / 100, atol=1e-6)


def test_an_error_of_lambda_tells_the_measured_one(tmp_path: Path) -> None:
    log = read(tmp_path, "RPM (rpm),Lambda target (lambda),Lambda error (%)", RPM, COMMANDED, ERROR)
    np.testing.assert_allclose(log.playing("lambda_measured"), COMMANDED * (1 + ERROR / 100), atol=1e-4)
    assert log.questions == ()


@pytest.mark.parametrize(("sign", "first"), [(0.1, "measured/commanded"), (-0.6, "commanded/measured")])
def test_which_way_an_error_counts_is_asked_where_its_values_do_not_tell(
    tmp_path: Path, sign: float, first: str
) -> None:
    log = read(tmp_path, "RPM (rpm),Lambda target (lambda),Lambda error (%)", RPM, COMMANDED, sign * ERROR)
    (question,) = log.questions
    assert question.alternatives[0].answer == first
    assert {each.answer for each in question.alternatives} == {"measured/commanded", "commanded/measured"}


@pytest.mark.parametrize(("answer", "sign"), [("measured/commanded", 1), ("commanded/measured", -1)])
def test_the_question_is_answered_as_the_log_is_read(tmp_path: Path, answer: str, sign: float) -> None:
    head = "RPM (rpm),Lambda target (lambda),Lambda error (%)"
    log = read(tmp_path, head, RPM, COMMANDED, 0.1 * ERROR, units={"Lambda error": answer})
    assert log.questions == ()
    np.testing.assert_allclose(log.playing("lambda_measured"), COMMANDED * (1 + sign * ERROR / 1000), atol=1e-4)
    with pytest.raises(InputError, match="unit 'sideways' of Lambda error is not known"):
        read(tmp_path, head, RPM, COMMANDED, 0.1 * ERROR, units={"Lambda error": "sideways"})


def test_an_error_without_a_unit_may_be_a_part(tmp_path: Path) -> None:
    log = read(tmp_path, "RPM (rpm),Lambda target (lambda),Lambda error", RPM, COMMANDED, ERROR / 100)
    np.testing.assert_allclose(log.playing("lambda_measured"), COMMANDED * (1 + ERROR / 100), atol=2e-4)


def test_air_for_a_stroke_asks_for_the_cylinders(tmp_path: Path) -> None:
    flow = RPM / 100
    stroke = flow / RPM * 120 / 4 * 1000
    log = read(tmp_path, "RPM (rpm),Air mass (mg/stroke)", RPM, stroke)
    (question,) = log.questions
    assert "How many cylinders" in question.question
    six = question.answered_by("--unit 'Air mass=6 cylinders'")
    assert six is not None
    assert six.factor == 1.5
    np.testing.assert_allclose(log.playing("airflow"), flow, rtol=1e-4)
    stated = read(tmp_path, "RPM (rpm),Air mass (mg/stroke)", RPM, stroke, units={"Air mass": "8 cylinders"})
    assert stated.questions == ()
    np.testing.assert_allclose(stated.playing("airflow"), 2 * flow, rtol=1e-4)
    turn = read(tmp_path, "RPM (rpm),Air mass (g/rev)", RPM, 60 * flow / RPM)
    assert turn.questions == ()
    np.testing.assert_allclose(turn.playing("airflow"), flow, rtol=1e-3)


def test_fuel_ratios_are_known_by_name(tmp_path: Path) -> None:
    log = read(
        tmp_path, "RPM (rpm),Measured fuel ratio,Commanded fuel ratio", RPM, 14.7 * COMMANDED * 1.02, 14.7 * COMMANDED
    )
    np.testing.assert_allclose(log.playing("lambda_measured"), COMMANDED * 1.02, atol=1e-4)
    np.testing.assert_allclose(log.playing("lambda_commanded"), COMMANDED, atol=1e-4)
    assert read_role("measured fuel ratio") == "lambda_measured"
    assert read_role("commanded fuel ratio") == "lambda_commanded"


def test_fuel_over_air_by_mass_is_turned_round(tmp_path: Path) -> None:
    log = read(
        tmp_path, "RPM (rpm),FAR measured,FAR target", RPM, 1 / (14.7 * COMMANDED * 1.02), 1 / (14.7 * COMMANDED)
    )
    np.testing.assert_allclose(log.playing("lambda_measured"), COMMANDED * 1.02, rtol=1e-3)
