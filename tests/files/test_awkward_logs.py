"""Logs as awkward hands and programs write them (invented data): read right, or told, or refused; never misread."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from logs_by_hand import AT, COLUMNS, PLAIN, ROWS, SWING, check, read, written

from workbench.errors import FileError, WorkbenchError
from workbench.files.text.numbers import Style, to_numbers


def grouped(sign: str, decimal: str) -> Callable[[str, float], str]:
    """Write engine speeds with a sign between thousands."""

    def cell(label: str, value: float) -> str:
        text = f"{value:,.1f}" if "speed" in label else f"{value:.4f}".replace(",", "")
        return text.replace(",", "#").replace(".", decimal).replace("#", sign)

    return cell


def clock(sign: str) -> Callable[[str, float], str]:
    """Write the time as a time of day over midnight."""

    def cell(label: str, value: float) -> str:
        if label != "Time (s)":
            return f"{value:.4f}"
        told = round(value * 1000) + (23 * 3600 + 59 * 60 + 55) * 1000
        return f"{told // 3600_000 % 24:02d}:{told // 60_000 % 60:02d}:{told // 1000 % 60:02d}{sign}{told % 1000:03d}"

    return cell


READ_RIGHT: dict[str, list[str] | bytes] = {
    "a decimal comma in most columns, a point in some": written(
        delimiter=";", cell=lambda label, value: f"{value:.3f}".replace(".", "." if "Time" in label else ",")
    ),
    "the header behind 39 lines of settings": [f"Setting {i},{3 * i},{i / 7:.2f}" for i in range(39)] + PLAIN,
    "a comma behind every line of values": [PLAIN[0], *(f"{line}," for line in PLAIN[1:])],
    "marks among the values": [*PLAIN[:40], "// marker 1", "; lap 2, sector 3", "--- new pull ---", *PLAIN[40:]],
    "the header once more": [*PLAIN[:40], "", PLAIN[0], *PLAIN[40:]],
    "UTF-16 without a mark, low byte first": "\n".join(PLAIN).encode("utf-16-le"),
    "UTF-16 without a mark, high byte first": "\r\n".join(PLAIN).encode("utf-16-be"),
    "carriage returns alone": "\r".join(PLAIN).encode(),
    "a blank between thousands, decimal comma": written(delimiter=";", cell=grouped(" ", ",")),
    "a blank between thousands, decimal point": written(delimiter=";", cell=grouped(" ", ".")),
    "an apostrophe between thousands": written(delimiter=";", cell=grouped("'", ".")),
    "a point between thousands": written(delimiter=";", cell=grouped(".", ",")),
    "exponents": written(cell=lambda _, value: f"{value:.6E}"),
    "a minus sign that is none on a keyboard": [line.replace("-", "\u2212") for line in PLAIN],
    "hours, minutes, seconds, a comma": [line.replace(",", ";") for line in written(cell=clock("."))],
    "hours, minutes, seconds, a colon": written(cell=clock(":")),
    "microseconds without a unit": written(
        {"Time (s)": ("Timestamp", COLUMNS["Time (s)"] * 1e6)},
        cell=lambda label, value: f"{value:.0f}" if label == "Timestamp" else f"{value:.4f}",
    ),
    "lambda in percent": written(
        {
            "Lambda commanded": ("Lambda commanded (%)", 100 * COLUMNS["Lambda commanded"]),
            "Lambda measured": ("Lambda measured (%)", 100 * COLUMNS["Lambda measured"]),
        }
    ),
    "lambda marked as an air-fuel ratio": written(
        {"Lambda measured": ("Lambda measured (AFR)", COLUMNS["Lambda measured"])}
    ),
    "one trim a factor, the other in percent": written(
        {"STFT bank 1 (%)": ("STFT bank 1", 1 + COLUMNS["STFT bank 1 (%)"] / 100)}
    ),
    "other units": written(
        {
            "Airflow (g/s)": ("Airflow [kg/h]", 3.6 * COLUMNS["Airflow (g/s)"]),
            "Coolant (°C)": ("Coolant (degF)", 1.8 * COLUMNS["Coolant (°C)"] + 32),
        }
    ),
    "names in two lines and units in a third": [
        "Time,Engine,,STFT,LTFT,Lambda,Lambda,,",
        ",speed,Airflow,bank 1,bank 1,commanded,measured,Coolant,Throttle",
        "(s),(rpm),(g/s),(%),(%),(-),(-),(°C),(%)",
        *PLAIN[1:],
    ],
}


@pytest.mark.parametrize("shape", READ_RIGHT)
def test_an_awkward_log_is_read_right(shape: str, tmp_path: Path) -> None:
    check(read(tmp_path, READ_RIGHT[shape]))


def test_words_for_nothing_are_missing_and_told(tmp_path: Path) -> None:
    words = ["N/A", "---", "#N/A", "NaN", "1.#QNAN", "-1.#IND", "#DIV/0!", "NULL", "**", "OFF", "Inf", "1.#INF"]
    lines = [line.split(",") for line in PLAIN]
    for at, word in enumerate(words):
        lines[10 + 5 * at][2] = word
    log = read(tmp_path, [",".join(cells) for cells in lines])
    airflow = log.playing("airflow")
    assert airflow is not None
    assert np.flatnonzero(np.isnan(airflow)).tolist() == [9 + 5 * at for at in range(len(words))]
    assert any(note.startswith("Airflow: no number in line") for note in log.notes)
    check(log, but=("airflow",))


def test_a_point_among_decimal_commas_is_no_thousand() -> None:
    """`12.5` once read as 125, and `1,000` as 1000, where another column of the file parts its thousands."""
    for style in (Style(",", "."), Style(",", ""), Style(",", " ")):
        found = to_numbers(["13,5", "12.5", "1,000", "0.88"], style)
        np.testing.assert_array_equal(found.values, [13.5, np.nan, 1.0, np.nan])
        assert [row for row, _ in found.odd] == [1, 3]


@dataclass(frozen=True)
class Doubt:
    """What is told of a log that is read with a doubt, and the role that is then not played."""

    lines: list[str]
    words: str
    gone: str = ""


BOOST = np.maximum(0, 60 * SWING)
DOUBTS = {
    "air-fuel ratio of another fuel": Doubt(
        written(
            {
                "Lambda measured": ("AFR measured", 9.8 * (1 + 0.02 * np.sin(AT))),
                "Lambda commanded": ("Lambda commanded", np.ones(ROWS)),
                "Coolant (°C)": ("Fuel system status", np.full(ROWS, 2.0)),
            }
        ),
        "where the ECU holds lambda 1, but the stated fuel has 14.7",
    ),
    "an empty column": Doubt(
        [f"{'' if at else 'Purge (%)'},{line}" for at, line in enumerate(written())],
        "Empty columns were left out: Purge",
    ),
    "a throttle in volts": Doubt(
        written({"Throttle (%)": ("TPS", 0.5 + COLUMNS["Throttle (%)"] / 25)}), "is it a voltage or a fraction"
    ),
    "boost without its vacuum": Doubt(
        written({"Coolant (°C)": ("Boost pressure (kPa)", BOOST)}), "gauge pressure without the vacuum part"
    ),
    "a voltage called lambda": Doubt(
        written({"Lambda measured": ("Lambda sensor 1", 0.45 + 0.4 * np.sin(AT))}),
        "is it a voltage? It is left out",
        "lambda_measured",
    ),
}


@pytest.mark.parametrize("shape", DOUBTS)
def test_what_may_be_meant_otherwise_is_told(shape: str, tmp_path: Path) -> None:
    doubt = DOUBTS[shape]
    log = read(tmp_path, doubt.lines)
    said = [*log.notes, *(each.question for each in log.questions)]
    assert any(doubt.words in each for each in said), said
    assert doubt.gone not in log.roles
    sound = read(tmp_path, PLAIN)
    assert not any(doubt.words in note for note in sound.notes)


INVERSE = {
    "Lambda commanded": ("Equivalence ratio commanded", np.where(COLUMNS["Throttle (%)"] > 30, 1.15, 1.0)),
    "Lambda measured": ("Equivalence ratio measured", np.where(COLUMNS["Throttle (%)"] > 30, 1.1, 1.0)),
}
REFUSED: dict[str, tuple[list[str], type[WorkbenchError], str]] = {
    "a second header in another unit": (
        [*PLAIN[:40], PLAIN[0].replace("g/s", "kg/h"), *PLAIN[40:]],
        FileError,
        "Line 41 of x.csv names other channels",
    ),
    "a header that lacks a name": (
        [PLAIN[0].replace("Airflow (g/s),", ""), *PLAIN[1:]],
        FileError,
        "has 8 cells and the lines of values have 9",
    ),
}


@pytest.mark.parametrize("shape", REFUSED)
def test_what_cannot_be_known_is_refused_with_what_to_do(shape: str, tmp_path: Path) -> None:
    lines, kind, words = REFUSED[shape]
    with pytest.raises(kind, match=words) as refused:
        read(tmp_path, lines)
    assert refused.value.hint


ASKED = {
    "two channels of one name": (
        written({"Lambda commanded": ("Lambda measured", COLUMNS["Lambda commanded"])}),
        ["--role 'lambda_measured=Lambda measured'", "--role 'lambda_measured=Lambda measured #2'"],
    ),
    "trims as fractions under a % sign": (
        written({"STFT bank 1 (%)": ("STFT bank 1 (%)", COLUMNS["STFT bank 1 (%)"] / 100)}),
        ["--unit 'STFT bank 1=fraction'", "--unit 'STFT bank 1=%'"],
    ),
    "a trim as a factor under a % sign": (
        written({"STFT bank 1 (%)": ("STFT bank 1 (%)", 1 + COLUMNS["STFT bank 1 (%)"] / 100)}),
        ["--unit 'STFT bank 1=factor'", "--unit 'STFT bank 1=%'"],
    ),
}


@pytest.mark.parametrize("shape", ASKED)
def test_what_may_be_meant_in_two_ways_is_asked(shape: str, tmp_path: Path) -> None:
    lines, flags = ASKED[shape]
    (question,) = read(tmp_path, lines).questions
    assert [each.flag for each in question.alternatives] == flags
    assert all(each.means for each in question.alternatives)
    assert not read(tmp_path, PLAIN).questions


def test_thousands_of_turns_and_a_ratio_that_is_lambda_are_understood(tmp_path: Path) -> None:
    turns = {"Engine speed (rpm)": ("RPM x1000", COLUMNS["Engine speed (rpm)"] / 1000)}
    ratio = {"Lambda measured": ("Equivalence ratio measured", COLUMNS["Lambda measured"])}
    log = read(tmp_path, written(turns | ratio, cell=lambda _, value: f"{value:.7f}"))
    np.testing.assert_allclose(log.playing("engine_speed"), COLUMNS["Engine speed (rpm)"])
    np.testing.assert_allclose(log.playing("lambda_measured"), COLUMNS["Lambda measured"], rtol=1e-6)
    assert not log.questions


def test_fuel_over_air_is_known_by_where_it_rises(tmp_path: Path) -> None:
    log = read(tmp_path, written(INVERSE))
    np.testing.assert_allclose(log.playing("lambda_commanded"), 1 / INVERSE["Lambda commanded"][1], rtol=1e-3)
    assert not log.questions


def test_fuel_over_air_is_turned_once_its_header_says_so(tmp_path: Path) -> None:
    said = {old: (f"{name} (phi)", values) for old, (name, values) in INVERSE.items()}
    log = read(tmp_path, written(said))
    np.testing.assert_allclose(log.playing("lambda_commanded"), 1 / INVERSE["Lambda commanded"][1], rtol=1e-3)


def test_a_commanded_fuel_cut_is_not_taken_for_fuel_over_air(tmp_path: Path) -> None:
    """Lambda rises in a fuel cut too, where the engine does not work."""
    cut = np.where(COLUMNS["Throttle (%)"] < 10, 1.99, 1.0)
    log = read(tmp_path, written({"Lambda commanded": ("Commanded equivalence ratio", cut)}))
    np.testing.assert_allclose(log.playing("lambda_commanded"), cut)


def test_a_cell_of_nothing_but_blanks_does_not_take_for_ever(tmp_path: Path) -> None:
    """The blanks stand inside a cell, so that no one strips them; once they took the square of their number."""
    far = f"a{' ' * 25_000}b"
    log = read(tmp_path, [",".join([far] * len(COLUMNS)), *PLAIN[:40], f"3.9,{far}" + "," * 7, *PLAIN[41:]])
    assert log.rows == ROWS
