"""Every shape that logs are met in, with the right reading of a small file of our own (invented data)."""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest

from workbench.errors import FileError
from workbench.files.logs import read_log
from workbench.files.tables.tables import read_table
from workbench.model.log import Log, Role
from workbench.work import run

SHAPES = Path(__file__).parent / "shapes"
PSI = 6.894757293168  # kPa, NIST SP 811
NAN = float("nan")
STATUS = "Fuel system status"


@dataclass(frozen=True)
class Reading:
    """What a file must give.

    Attributes:
        rows: how many.
        rate_hz: median rate.
        units: channel -> (base unit, unit as read).
        roles: role -> channel.
        values: (channel, row) -> value.
        time: row -> s.
        said: words that must occur in the notes.
        afr: stated stoichiometric ratio.
    """

    rows: int
    rate_hz: float
    units: dict[str, tuple[str, str]]
    roles: dict[Role, str]
    values: dict[tuple[str, int], float]
    time: dict[int, float]
    said: list[str] = field(default_factory=list)
    afr: float = 14.7


EXPECTED = {
    "01_units_glued.csv": Reading(
        40,
        2,
        {
            "Intake Pressure": ("kPa", "kPa"),
            "Coolant": ("degC", "C"),
            "RPM": ("rpm", "RPM"),
            "Air Flow": ("g/s", "g/s"),
            "Commanded Equivalence Ratio": ("lambda", "%"),
        },
        {
            "airflow": "Air Flow",
            "engine_speed": "RPM",
            "stft_1": "STFT Bank 1",
            "lambda_commanded": "Commanded Equivalence Ratio",
        },
        {
            ("Air Flow", 0): 4.20,
            ("RPM", 1): 903,
            ("STFT Bank 1", 0): -1.6,
            ("Commanded Equivalence Ratio", 0): 0.92,
            ("Commanded Equivalence Ratio", 1): 1.0,
        },
        {0: 0.0, 39: 19.5},
        ["Units attached to the cells", "decimal comma", "marked %"],
    ),
    "02_raw_bus_text.csv": Reading(
        40,
        2,
        {"RPM": ("rpm", "RPM")},
        {"engine_speed": "RPM", "manifold_pressure": "Intake Pressure"},
        {("Intake Pressure", 7): NAN, ("RPM", 19): NAN, ("RPM", 18): 1597, ("RPM", 20): 1722},
        {7: 3.5},
        ["1:6032000007E804", "line 9", "line 21"],
    ),
    "03_time_destroyed.csv": Reading(
        50,
        1,
        {"MAF": ("g/s", "g/s")},
        {"airflow": "MAF", "engine_speed": "Engine RPM", "ltft_1": "LTFT Bank 1"},
        {("LTFT Bank 1", 0): -1.5625, ("LTFT Bank 1", 49): 0.78125},
        {0: 100.0, 29: 129.0, 30: 189.0, 49: 208.0},
        ["Timestamp cannot be the time", "restarts at row 31: 2 drives"],
    ),
    "04_preamble_double_encoded.csv": Reading(
        29,
        5,
        {"Coolant temperature": ("degC", "°C"), "λ measured": ("lambda", "")},
        {"lambda_measured": "λ measured", "coolant_temperature": "Coolant temperature"},
        {("Coolant temperature", 5): NAN, ("Coolant temperature", 6): 80, ("λ measured", 1): 0.99},
        {10: 2.0, 11: 2.4},
        ["fewer cells than the header: line 15"],
    ),
    "05_long_form_psi.csv": Reading(
        120,
        10,
        {"Intake manifold pressure": ("kPa", "psi"), "Commanded equivalence ratio": ("lambda", "")},
        {"lambda_commanded": "Commanded equivalence ratio", "stft_1": "Fuel trim short bank 1"},
        {
            ("Intake manifold pressure", 0): NAN,
            ("Intake manifold pressure", 1): 5.3053 * PSI,
            ("Commanded equivalence ratio", 3): NAN,
        },
        {0: 86395.0, 119: 86406.9},
        ["Long form: 120 readings", "air-fuel ratio"],
        afr=14.63,
    ),
    "06_sample_and_hold.csv": Reading(
        240,
        1 / 0.3,
        {"rpm": ("rpm", ""), "map": ("kPa", "")},
        {"engine_speed": "rpm", "manifold_pressure": "map", "stft_1": "stft", "ltft_1": "ltft"},
        {},
        {239: 71.7},
        ["No units are given"],
    ),
    "07_clock_midnight.csv": Reading(
        200,
        5,
        {"MAP": ("kPa", "kPa")},
        {"engine_speed": "Engine RPM", "ltft_1": "LTFT B1"},
        {},
        {0: 86370.2, 119: 86393.42, 120: 86455.42, 199: 86471.22},
        ["passes midnight", "steps back once, by up to 0.38 s", "the longest hole is 62 s, after row 120"],
    ),
    "08_epoch_cut.csv": Reading(
        59,
        10,
        {"intake_pressure": ("kPa", "kPa")},
        {"engine_speed": "engine_rpm", "coolant_temperature": "coolant", "manifold_pressure": "intake_pressure"},
        {("maf", 5): 4.25, ("intake_pressure", 0): 282.69},
        {0: 1.7e9, 58: 1.7e9 + 5.8},
        [
            "ends inside its last number",
            "milliseconds since 1970",
            "is dead",
            "282.69 kPa at idle",
            "= 41 kPa",
        ],
    ),
    "09_german_minutes.csv": Reading(
        40,
        10,
        {"Luftmasse": ("g/s", "kg/h"), "Saugrohrdruck": ("kPa", "mbar"), "Driver's RPM": ("rpm", "1/min")},
        {
            "airflow": "Luftmasse",
            "engine_speed": "Driver's RPM",
            "manifold_pressure": "Saugrohrdruck",
            "lambda_measured": "Lambda Ist",
            "lambda_commanded": "Lambda Soll",
            "coolant_temperature": "Kühlmitteltemperatur",
        },
        {("Luftmasse", 0): 15.12 / 3.6, ("Saugrohrdruck", 0): 36.58, ("Lambda Ist", 0): 0.99},
        {0: 0.0, 39: 3.9},
        ["decimal comma", "cp1252"],
    ),
    "09_dates_am_pm.csv": Reading(
        30,
        1,
        {"Speed": ("km/h", "mph"), "Intake Air Temp": ("degC", "°F")},
        {"vehicle_speed": "Speed", "intake_temperature": "Intake Air Temp"},
        {("Speed", 0): 48.28032, ("Intake Air Temp", 0): 20.0},
        {0: 1711367990.0, 10: 1711368000.0, 29: 1711368019.0},
        ["day-month-year", "UTC"],
    ),
    "10_trim_not_used.csv": Reading(
        50,
        5,
        {},
        {"stft_1": "Short Term Fuel Trim Bank 1", "ltft_1": "Long Term Fuel Trim Bank 1"},
        {
            ("Short Term Fuel Trim Bank 1", 0): NAN,
            ("Short Term Fuel Trim Bank 1", 20): 1.6,
            ("Long Term Fuel Trim Bank 1", 0): -3.1,
        },
        {49: 9.8},
        ["47 rows (raw FF, 'not used')"],
    ),
    "11_tabs_units_row_latin1.txt": Reading(
        20,
        10,
        {"Temperatur": ("degC", "°C"), "Temperatur #2": ("degC", "°C"), "Last": ("%", "%")},
        {"engine_speed": "Drehzahl", "load": "Last", "coolant_temperature": "Kühlmittel"},
        {("Temperatur", 0): 20, ("Temperatur #2", 0): 30},
        {19: 1.9},
        ["more than once", "cp1252"],
    ),
    "11_utf16.txt": Reading(
        20,
        10,
        {"Temperatur": ("degC", "°C")},
        {"engine_speed": "Drehzahl", "load": "Last", "coolant_temperature": "Kühlmittel"},
        {("Temperatur #2", 19): 49},
        {19: 1.9},
    ),
    "11_thousands_comments_total.csv": Reading(
        20,
        10,
        {"Odometer": ("km", "km")},
        {"engine_speed": "RPM", "manifold_pressure": "MAP"},
        {("RPM", 1): 1050.5, ("MAP", 0): 30.5, ("Odometer", 0): 12345600},
        {19: 1.9},
        ["total: line 24", "thousands"],
    ),
    "11_wide_400.csv": Reading(
        4,
        2,
        {"ch001": ("", "")},
        {"engine_speed": "engine rpm", "coolant_temperature": "coolant temp"},
        {("ch398", 3): 9},
        {3: 1.5},
    ),
    "12_two_banks_factors_e85.csv": Reading(
        60,
        4,
        {"MAP": ("kPa", "psi"), "Coolant": ("degC", "°F"), "IAT": ("degC", "F"), "STFT Bank 1": ("%", "")},
        {
            "stft_1": "STFT Bank 1",
            "ltft_1": "LTFT Bank 1",
            "stft_2": "STFT Bank 2",
            "ltft_2": "LTFT Bank 2",
            "lambda_measured": "AFR measured",
            "lambda_commanded": "AFR target",
        },
        {
            ("STFT Bank 1", 0): -3.0,
            ("LTFT Bank 2", 0): -1.56,
            ("AFR target", 0): 1.0,
            ("AFR target", 45): 0.85,
            ("AFR measured", 0): 0.99,
            ("IAT", 0): 30.0,
        },
        {59: 14.75},
        ["factor around 1", "lambda = AFR / 9.8"],
        afr=9.8,
    ),
    # The old binary workbook (BIFF8), written with xlwt 1.3.0: days since 1899-12-30 in a date format, numbers, texts.
    "13_old_spreadsheet.xls": Reading(
        30,
        5,
        {"Engine speed": ("rpm", "rpm"), "Airflow": ("g/s", "g/s"), "STFT bank 1": ("%", "%")},
        {"engine_speed": "Engine speed", "airflow": "Airflow", "stft_1": "STFT bank 1", "fuel_system": STATUS},
        {
            ("Engine speed", 29): 1090,
            ("Airflow", 1): 3.375,
            ("STFT bank 1", 6): 3.125,
            ("STFT bank 1", 7): NAN,
            (STATUS, 14): 2,
            (STATUS, 15): 1,
        },
        {0: 1773532798.0, 29: 1773532803.8},  # 2026-03-14 23:59:58 UTC
        ["holds dates (year-month-day)"],
    ),
}
REFUSED = {
    "11_empty.csv": (FileError, "is empty"),
    "11_picture.csv": (FileError, "picture"),
}

TABLES = ["13_old_table.xls"]  # written with xlwt 1.3.0 as well


def read(name: str, afr: float) -> Log:
    return run(read_log(SHAPES / name, stoichiometric_afr=afr))


def test_every_file_has_its_reading() -> None:
    assert sorted(path.name for path in SHAPES.iterdir()) == sorted([*EXPECTED, *REFUSED, *TABLES])


@pytest.mark.parametrize("name", EXPECTED)
def test_a_shape_is_read_right(name: str) -> None:
    expected = EXPECTED[name]
    log = read(name, expected.afr)
    assert log.rows == expected.rows
    assert log.rate_hz == pytest.approx(expected.rate_hz, rel=0.01)
    found = {channel.name: (channel.unit, channel.unit_read) for channel in log.channels}
    assert {name: found.get(name) for name in expected.units} == expected.units
    assert {role: log.roles.get(role) for role in expected.roles} == expected.roles
    for (channel, row), value in expected.values.items():
        known = log.channel(channel)
        assert known is not None
        assert known.values[row] == pytest.approx(value, rel=1e-4, nan_ok=True), (channel, row)
    for row, seconds in expected.time.items():
        assert log.time.values[row] == pytest.approx(seconds, abs=1e-3)
    assert np.all(np.diff(log.time.values) >= 0)
    said = [*log.notes, *(each.question for each in log.questions)]
    for words in expected.said:
        assert any(words in each for each in said), (words, said)


@pytest.mark.parametrize("name", REFUSED)
def test_a_shape_that_is_no_log_is_refused(name: str) -> None:
    error, words = REFUSED[name]
    with pytest.raises(error, match=words):
        read(name, 14.7)


@pytest.mark.parametrize("name", TABLES)
def test_a_table_in_an_old_spreadsheet_is_read_right(name: str) -> None:
    table, _ = read_table(SHAPES / name)
    assert (table.axes[0].label, table.value_label) == ("Airflow sensor (Hz)", "Airflow (g/s)")
    np.testing.assert_array_equal(table.axes[0].breakpoints, 1000 + 500 * np.arange(12))
    np.testing.assert_array_equal(table.values, [1.5, 2.75, 4.5, 7, 10.25, 14.5, 20, 27.5, 37, 50.125, 70, 97.25])


def test_two_stoichiometric_ratios_are_not_mixed() -> None:
    """The plateau of the commanded ratio shows another fuel than the stated one."""
    question = read("12_two_banks_factors_e85.csv", 14.7).questions[0]
    assert "reads 9.8" in question.question
    assert "-33.33 %" in question.question
    assert question.alternatives[0].flag == "--afr-of 'AFR target=9.8'"


def test_the_dead_channel_plays_no_role_but_keeps_its_values() -> None:
    log = read("08_epoch_cut.csv", 14.7)
    assert "airflow" not in log.roles
    assert log.channel("maf") is not None
