"""What channels mean: mixture scales, trims, units that are not given, codes, dead channels, values that cannot be."""

import re

import numpy as np
import pytest

from workbench.errors import InputError
from workbench.files.channels.ambient import is_of_ambient
from workbench.files.channels.interpret import Choices
from workbench.files.logs import Options, read_log_text
from workbench.model.log import Log
from workbench.work import run

ROWS = 60


def read(columns: dict[str, list[float] | np.ndarray | list[str]], **choices: object) -> Log:
    """Read a log of the given columns, five rows a second."""
    lines = ["Time (s)," + ",".join(columns)]
    lines += [
        f"{row / 5}," + ",".join("" if column[row] != column[row] else str(column[row]) for column in columns.values())
        for row in range(len(next(iter(columns.values()))))
    ]
    return run(read_log_text("\n".join(lines) + "\n", "x.csv", options=Options(Choices(**choices))))  # type: ignore[arg-type]


def ramp(low: float, high: float) -> np.ndarray:
    return np.round(np.linspace(low, high, ROWS), 3)


def said(log: Log, words: str) -> bool:
    return any(words in note for note in log.notes)


@pytest.mark.parametrize(
    ("label", "values", "measured", "words"),
    [
        ("Wideband AFR", ramp(13, 15), [13 / 14.7, 15 / 14.7], "lambda = AFR / 14.7"),
        ("Wideband (AFR)", ramp(13, 15), [13 / 14.7, 15 / 14.7], "lambda = AFR / 14.7"),
        ("Wideband (14.1:1)", ramp(13, 15), [13 / 14.1, 15 / 14.1], "14.1"),
        ("Lambda", ramp(0.8, 1.2), [0.8, 1.2], "read as lambda"),
        ("Lambda (lambda)", ramp(0.8, 1.2), [0.8, 1.2], ""),
        ("Lambda (%)", ramp(80, 120), [0.8, 1.2], "100 % was read as lambda 1"),
        ("Lambda (%)", ramp(0.8, 1.2), [0.8, 1.2], "marked %"),
        ("Lambda equivalence ratio (phi)", ramp(0.8, 1.25), [1.25, 0.8], "its inverse"),
    ],
)
def test_mixtures_become_lambda(label: str, values: np.ndarray, measured: list[float], words: str) -> None:
    afr = 14.1 if "14.1" in label else 14.7
    log = read({label: values}, stoichiometric_afr=afr)
    found = log.playing("lambda_measured")
    assert found is not None
    assert found[[0, -1]] == pytest.approx(measured, rel=1e-9)
    assert said(log, words) or not words


def test_the_correction_does_not_depend_on_the_scale() -> None:
    """0.90 / 0.86 in lambda equals 13.23 / 12.642 as air-fuel ratios on the scale of 14.7."""
    measured, commanded = np.full(ROWS, 13.23), np.tile([14.7, 12.642], ROWS // 2)
    log = read({"AFR measured": measured - 0.001 * np.arange(ROWS), "AFR target": commanded})
    one, other = log.playing("lambda_measured"), log.playing("lambda_commanded")
    assert one is not None
    assert other is not None
    assert one[0] == pytest.approx(0.9)
    assert other[1] == pytest.approx(0.86)


@pytest.mark.parametrize(
    ("columns", "words", "asked"),
    [
        ({"AFR target": np.where(np.arange(ROWS) % 10 < 7, 14.1, 12.5)}, r"reads 14\.1 most of the time", True),
        ({"AFR wideband 14.1": ramp(13, 15)}, "", False),
        ({"Lambda": ramp(0.8, 1.2), "AFR": ramp(0.8, 1.2) * 14.1}, "", False),
    ],
)
def test_another_stoichiometric_ratio_is_found_or_asked_for(
    columns: dict[str, np.ndarray], words: str, *, asked: bool
) -> None:
    """14.1 taken for 14.7 is an error of 4.08 % (the other way round 4.26 %)."""
    roles = {"lambda_measured": "AFR"} if "AFR" in columns else {}
    log = read(columns, roles=roles)
    name = next(name for name in columns if "AFR" in name)
    if asked:
        (question,) = log.questions
        assert re.search(words, question.question)
        assert "-4.08 %" in question.question
        assert [each.flag for each in question.alternatives] == [f"--afr-of '{name}={afr}'" for afr in ("14.1", "14.7")]
    else:
        assert not log.questions
        made = log.channel(name)
        assert made is not None
        np.testing.assert_allclose(made.values, columns[name] / 14.1)
    settled = read(columns, roles=roles, stoichiometric_of={name: 14.1})
    channel = settled.channel(name)
    assert channel is not None
    assert channel.unit == "lambda"
    assert read(columns, roles=roles, stoichiometric_afr=14.1).rows == ROWS


def test_a_small_difference_of_scales_is_a_question_too() -> None:
    log = read({"AFR target": np.where(np.arange(ROWS) % 10 < 7, 14.64, 12.5)})
    assert "AFR target reads 14.64" in log.questions[0].question


@pytest.mark.parametrize(
    ("label", "values", "first", "words"),
    [
        ("STFT Bank 1 (%)", ramp(-3, 3), -3, ""),
        ("STFT Bank 1", ramp(0.97, 1.04), -3, "factor around 1"),
        ("STFT Bank 1", ramp(97, 104), -3, "around 100"),
        ("STFT Bank 1 (%)", ramp(97, 104), -3, "around 100"),
        ("STFT Bank 1", np.rint(ramp(123, 150)), -3.90625, "raw bytes around 128"),
        ("STFT Bank 1 (%)", np.rint(ramp(128, 143)), 0, "raw bytes around 128"),
        ("STFT Bank 1 factor", ramp(0.97, 1.04), -3, "factor around 1"),
        ("STFT Bank 1", np.tile([0, 0.78125], ROWS // 2), 0, "STFT Bank 1 in %"),
    ],
)
def test_trims_become_percent(label: str, values: np.ndarray, first: float, words: str) -> None:
    log = read({label: values})
    found = log.playing("stft_1")
    assert found is not None
    assert found[0] == pytest.approx(first)
    assert said(log, words) or not words


@pytest.mark.parametrize(
    ("label", "values", "unit", "first"),
    [
        ("MAP", ramp(30, 95), "kPa", 30),
        ("MAP", ramp(4, 14.5), "kPa", 4 * 6.894757293168),
        ("MAP", ramp(0.3, 1.0), "kPa", 30),
        ("MAP", ramp(300, 1000), "kPa", 30),
        ("MAP", ramp(9, 29.5), "kPa", 9 * 3.38638864),
        ("Coolant temperature", ramp(180, 200), "degC", (180 - 32) / 1.8),
        ("Coolant temperature", ramp(80, 90), "degC", 80),
        ("Engine speed", ramp(800, 900), "rpm", 800),
    ],
)
def test_units_that_are_not_given_are_assumed_from_the_values(
    label: str, values: np.ndarray, unit: str, first: float
) -> None:
    log = read({label: values, "Throttle (%)": ramp(10, 20)})
    channel = log.channel(label)
    assert channel is not None
    assert channel.unit == unit
    assert channel.values[0] == pytest.approx(first, rel=1e-6)
    assert said(log, "No units are given")


def test_gauge_pressure_becomes_absolute() -> None:
    log = read({"MAP (psig)": ramp(-10, 0), "Baro (kPa)": np.full(ROWS, 95.0)})
    found = log.playing("manifold_pressure")
    assert found is not None
    assert found[-1] == pytest.approx(95)
    assert said(log, "counts from the ambient; the barometer was added")
    assert not log.questions
    log = read({"Manifold vacuum (kPa)": ramp(70, 1), "Baro (kPa)": np.full(ROWS, 95.0)})
    found = log.playing("manifold_pressure")
    assert found is not None
    assert found[[0, -1]] == pytest.approx([25, 94])
    log = read({"Boost (kPa)": ramp(-70, 40)})
    found = log.playing("manifold_pressure")
    assert found is not None
    assert found[0] == pytest.approx(31.325)
    (asked,) = log.questions
    assert is_of_ambient(asked)
    log = read({"Boost (kPa)": ramp(-70, 40)}, units={"Boost": "1000 m"})
    found = log.playing("manifold_pressure")
    assert found is not None
    assert found[0] == pytest.approx(89.87 - 70, abs=0.02)  # ISO 2533, table 5: 898.7 hPa at 1000 m, from memory
    assert not log.questions


def test_a_throttle_beyond_percent_is_thousandths_or_counts() -> None:
    opened = np.where(np.arange(ROWS) > ROWS - 9, 800.0, 60.0 + np.arange(ROWS) % 7)
    log = read({"TPS": opened})
    (asked,) = log.questions
    assert [each.flag for each in asked.alternatives] == ["--unit 'TPS=permille'", "--role 'throttle='"]
    found = log.playing("throttle")
    assert found is not None
    assert found[-1] == pytest.approx(80)
    log = read({"TPS": opened}, units={"TPS": "permille"})
    found = log.playing("throttle")
    assert found is not None
    assert found[-1] == pytest.approx(80)
    assert not log.questions
    cleared = read({"TPS": opened, "RPM": ramp(800, 900)}, roles={"throttle": ""})
    assert "throttle" not in cleared.roles
    assert not cleared.questions


def test_a_pressure_whose_middle_would_be_a_charged_engine_in_one_unit_is_not_asked_about() -> None:
    drive = np.concatenate([np.full(ROWS // 2, 35.0), np.linspace(12, 91, ROWS - ROWS // 2)]).round(2)
    log = read({"MAP": drive})
    assert not log.questions
    found = log.playing("manifold_pressure")
    assert found is not None
    assert found[0] == 35


def test_codes_are_no_values() -> None:
    log = read(
        {
            "STFT Bank 1 (%)": np.where(np.arange(ROWS) < 5, 99.21875, 1.5625),
            "MAP (kPa)": np.where(np.arange(ROWS) == 7, 255, ramp(30, 90)),
            "Lambda": np.where(np.arange(ROWS) < 3, 0, 1.0 + 0.01 * (np.arange(ROWS) % 3)),
            "Engine RPM (rpm)": np.where(np.arange(ROWS) == 9, 16383.75, ramp(800, 900)),
        }
    )
    missing = {channel.name: int(np.isnan(channel.values).sum()) for channel in log.channels}
    assert missing == {"STFT Bank 1": 5, "MAP": 1, "Lambda": 3, "Engine RPM": 1}
    assert said(log, "'not used'")
    assert said(log, "255 in 1 row")


def test_a_saturated_lambda_is_counted_and_left_for_its_gate() -> None:
    log = read({"Lambda (lambda)": np.where(np.arange(ROWS) < 4, 1.99997, ramp(0.9, 1.1))})
    found = log.playing("lambda_measured")
    assert found is not None
    assert found[0] == pytest.approx(1.99997)
    assert said(log, "top of its range in 4 rows")


def test_dead_channels_are_named_unless_stated() -> None:
    columns: dict[str, list[float] | np.ndarray | list[str]] = {
        "MAF (g/s)": np.full(ROWS, 4.25),
        "Engine RPM (rpm)": ramp(800, 900),
        "LTFT Bank 1 (%)": np.zeros(ROWS),
    }
    log = read(columns)
    assert set(log.roles) == {"engine_speed", "ltft_1"}
    assert said(log, "MAF reads 4.25 g/s in every row: the channel is dead and is left out")
    assert "airflow" in read(columns, roles={"airflow": "MAF"}).roles


def test_a_single_spike_is_taken_out() -> None:
    speed = ramp(800, 900)
    speed[20] = 12000
    log = read({"Engine RPM (rpm)": speed})
    found = log.playing("engine_speed")
    assert found is not None
    assert np.flatnonzero(np.isnan(found)).tolist() == [20]
    assert said(log, "1 times, as to 12000 at 4 s")


def test_a_log_that_jumps_all_the_time_is_refused() -> None:
    columns: dict[str, list[float] | np.ndarray | list[str]] = {"Engine RPM (rpm)": np.tile([900.0, 9000.0], ROWS // 2)}
    with pytest.raises(InputError, match="jumps from 900 to 9000"):
        read(columns)
    assert said(read(columns, must_be_plausible=False), "impossible in a car")


@pytest.mark.parametrize(
    ("label", "values", "words"),
    [
        ("MAP (kPa)", np.full(ROWS, 282.68) + np.arange(ROWS) % 2, "as if converted from psi twice"),
        ("MAP (kPa)", ramp(4, 14), "stays under 20 kPa"),
        ("Coolant temperature (°C)", ramp(185, 195), "is it in degF?"),
        ("Battery (V)", ramp(1.3, 1.4), "impossible for a battery"),
    ],
)
def test_values_that_contradict_their_unit_are_asked_about_or_cautions(
    label: str, values: np.ndarray, words: str
) -> None:
    """Asked about where a cell rests on them, its place or whether it counts; else told."""
    log = read({label: values, "Engine RPM (rpm)": ramp(750, 800)})
    assert said(log, words) == label.startswith("Battery")
    assert any(words in each.question for each in log.questions) != said(log, words)
    assert said(log, "Caution:") == label.startswith("Battery")


def test_fuel_system_states_are_read_from_words_and_flags() -> None:
    """Codes of SAE J1979, parameter 03: 1 and 4 open loop, 2 closed, 8 and 16 with a fault."""
    words = ["OL", "CL", "OL-Drive", "OL-Fault", "CL-Fault", "closed loop"] * 10
    log = read({"Fuel system status": words, "rpm": ramp(800, 900)})
    found = log.playing("fuel_system")
    assert found is not None
    assert found[:6].tolist() == [1, 2, 4, 8, 16, 2]
    log = read({"Closed loop": np.tile([1.0, 0.0], ROWS // 2), "rpm": ramp(800, 900)})
    found = log.playing("fuel_system")
    assert found is not None
    assert found[:2].tolist() == [2, 1]
    log = read({"Fuel system status": np.full(ROWS, 512.0), "rpm": ramp(800, 900)})
    found = log.playing("fuel_system")
    assert found is not None
    assert found[0] == 2


def test_empty_cells_between_readings_are_bridged_within_the_window() -> None:
    rows = np.arange(ROWS)
    speed = np.where(rows % 3 == 0, 800.0 + rows, np.nan)
    pressure = np.where((rows % 3 == 1) & (rows < 30), 40.0 + rows, np.nan)
    log = read({"Engine RPM (rpm)": speed, "MAP (kPa)": pressure}, window_s=0.5)
    found, other = log.playing("engine_speed"), log.playing("manifold_pressure")
    assert found is not None
    assert other is not None
    assert found[:5].tolist() == [800, 800, 800, 803, 803]
    assert np.isfinite(other[28:31]).all()
    assert np.isnan(other[31:]).all()
    assert said(log, "at most 0.5 s")


def test_text_columns_are_named() -> None:
    log = read({"Gear": ["N", "D"] * (ROWS // 2), "rpm": ramp(800, 900)})
    assert said(log, "Columns of text were left out: Gear")


def test_channels_keep_what_plays_no_role() -> None:
    log = read({"Spark (deg)": ramp(5, 30), "Fuel rate (l/h)": ramp(1, 5), "Engine hours (h)": ramp(100, 101)})
    assert [(channel.unit, channel.values[0]) for channel in log.channels] == [("deg", 5), ("l/h", 1), ("h", 100)]


@pytest.mark.parametrize(
    ("label", "role", "expected"),
    [
        ("Airflow (g/s)", "lambda_measured", "lambda or AFR or phi or %"),
        ("Wideband (V)", "lambda_measured", "lambda or AFR"),
        ("Throttle (V)", "throttle", "%"),
        ("Pressure (psi)", "airflow", "g/s"),
        ("Air mass (mg/stroke)", "airflow", "g/s"),
        ("Airflow (g/s)", "sensor_signal", "Hz or V"),
    ],
)
def test_a_role_that_the_unit_rules_out_is_refused(label: str, role: str, expected: str) -> None:
    name, _, unit = label.partition(" (")
    with pytest.raises(InputError) as told:
        read({label: ramp(1, 4)}, roles={role: name})
    for part in ("x.csv", repr(name), repr(unit.rstrip(")")), role, expected):
        assert part in told.value.message


def test_a_role_that_the_end_of_the_name_rules_out_is_refused() -> None:
    with pytest.raises(InputError, match=r"Hz \(by the end of its name\).*g/s"):
        read({"MAF Hz": ramp(1000, 4000)}, roles={"airflow": "MAF Hz"})


def test_a_role_whose_values_cannot_be_is_doubted() -> None:
    log = read({"rpm": ramp(900, 3000)}, roles={"lambda_measured": "rpm"})
    assert said(log, "Caution: rpm was stated to be lambda_measured, but most of its values, around 1950")
    assert not any(
        "was stated to be" in note for note in read({"x": ramp(900, 3000)}, roles={"engine_speed": "x"}).notes
    )
    assert not any(
        "was stated to be" in note for note in read({"x": ramp(13, 15)}, roles={"lambda_measured": "x"}).notes
    )


def test_what_a_wideband_may_be_off_by_is_no_other_scale() -> None:
    """0.4 % below 14.7 is nearer to 14.64, and nothing but an instrument's error."""
    rows = np.arange(300)
    held = {"STFT Bank 1 (%)": np.round(3 * np.sin(rows), 2), "Fuel system status": np.full(rows.size, 2.0)}
    for level, asked in ((14.64, False), (14.1, True)):
        log = read({**held, "Wideband AFR": level + np.round(0.05 * np.sin(rows), 3)})
        assert any("Wideband AFR reads" in each.question for each in log.questions) is asked


@pytest.mark.parametrize(("values", "asked"), [((0.8, 1.6), 0), ((0.78, 1.56), 0), ((1.0, 1.0), 1), ((0.98, 1.03), 1)])
def test_a_trim_on_the_steps_of_its_byte_is_in_percent_however_it_is_rounded(
    values: tuple[float, float], asked: int
) -> None:
    log = read({"LTFT bank 1 (%)": np.where(np.arange(ROWS) < 30, *values), "RPM": ramp(800, 3000)})
    assert len(log.questions) == asked


def test_a_gauge_is_asked_about_by_every_usual_scale_that_its_reading_may_stand_for() -> None:
    """14.64 where lambda 1 is held may be a petrol gauge of 14.7 within its tolerance as well as one of 14.64."""
    rows = np.arange(1200)
    swing = np.where(rows % 20 < 10, 1.5625, -1.5625)
    columns = {
        "RPM": 1500.0 + rows % 7, "Lambda target": np.ones(1200), "AFR": 14.64 + 0.01 * np.sin(rows),
        "Short trim": swing, "Coolant": np.full(1200, 90.0), "Fuel system": np.full(1200, 2.0),
    }  # fmt: skip
    roles = {
        "lambda_measured": "AFR",
        "lambda_commanded": "Lambda target",
        "engine_speed": "RPM",
        "stft_1": "Short trim",
    }
    log = read(
        columns,
        roles={**roles, "coolant_temperature": "Coolant", "fuel_system": "Fuel system"},
        stoichiometric_afr=9.76,
    )
    (question,) = (each for each in log.questions if each.channel == "AFR")
    offered = [each.flag for each in question.alternatives]
    assert offered[0] == "--afr-of 'AFR=14.7'"
    assert "--afr-of 'AFR=14.64'" in offered
    assert offered[-1] == "--afr-of 'AFR=9.76'"
