"""Awkward but clear cells and files: decimal commas among points, wide digits, exponents of Fortran, cut packs."""

import gzip
import io
import math
import zipfile
from pathlib import Path

import numpy as np
import pytest

from workbench.errors import InputError, WorkbenchError
from workbench.files.formats.sheets import choose_sheet
from workbench.files.logs import read_log
from workbench.files.text import columns, delimited
from workbench.files.text.numbers import Style, column_style, to_numbers
from workbench.model.log import Log
from workbench.work import run

HEAD = "Time (s),Engine speed (rpm),Airflow (g/s),Measured lambda,Commanded lambda,Coolant (°C)"
ROWS = 900


def line(row: int) -> list[str]:
    wave = math.sin(row / 23)
    return [f"{row / 10:.1f}", f"{1900 + 700 * wave:.1f}", f"{15 + 6 * wave:.2f}", f"{0.999 + 0.02 * wave:.3f}", "1",
            f"{83 + row / 300:.1f}"]  # fmt: skip


def read(path: Path, lines: list[str]) -> Log:
    path.write_text("\n".join([HEAD, *lines, ""]), encoding="utf-8")
    return run(read_log(path))


@pytest.fixture
def plain(tmp_path: Path) -> Log:
    return read(tmp_path / "plain.csv", [",".join(line(row)) for row in range(ROWS)])


def is_same(log: Log, plain: Log) -> None:
    assert log.roles == plain.roles
    for role in plain.roles:
        found, expected = log.playing(role), plain.playing(role)
        assert found is not None
        assert expected is not None
        np.testing.assert_allclose(found, expected, rtol=1e-9)


def test_a_decimal_comma_from_some_line_on_is_read_and_said(tmp_path: Path, plain: Log) -> None:
    lines = []
    for row in range(ROWS):
        cells = line(row)
        if row >= 500:
            cells[1:] = [f'"{cell.replace(".", ",")}"' if "." in cell else cell for cell in cells[1:]]
        lines.append(",".join(cells))
    log = read(tmp_path / "changed.csv", lines)
    is_same(log, plain)
    assert any("decimal comma and others with a point, first in line 502" in note for note in log.notes)


def test_commas_that_may_part_thousands_are_not_read_as_decimals() -> None:
    found = to_numbers(["1.5", "2.25", "1,250", "3,500"], Style())
    assert np.isnan(found.values[2:]).all()
    assert found.commas == -1
    sure = to_numbers(["1.5", "2.25", "1,250", "0,5"], Style())
    np.testing.assert_array_equal(sure.values, [1.5, 2.25, 1.25, 0.5])
    assert sure.commas == 2


def test_digits_as_wide_as_letters_are_read(tmp_path: Path, plain: Log) -> None:
    wide = str.maketrans("0123456789.-", "０１２３４５６７８９．－")
    is_same(read(tmp_path / "wide.csv", [",".join(line(row)).translate(wide) for row in range(ROWS)]), plain)


@pytest.mark.parametrize(
    ("column", "read"),
    [
        (["780", "920", "998", "1,005", "2,363", "6,013"] * 4, [780, 920, 998, 1005, 2363, 6013]),
        (["100", "101", "102", "99,125", "98,875", "99,500"] * 4, [100, 101, 102, 99.125, 98.875, 99.5]),
    ],
    ids=["thousands", "decimals"],
)
def test_cells_without_a_sign_tell_what_those_with_one_are(column: list[str], read: list[float]) -> None:
    style = column_style(column, Style(","), lambda values: None)
    np.testing.assert_array_equal(to_numbers(column, style).values[:6], read)


def test_a_trim_that_is_a_dash_throughout_is_none(tmp_path: Path, plain: Log) -> None:
    path = tmp_path / "dashes.csv"
    head = f"{HEAD},Short trim bank 2 (%),Long trim bank 2 (%)"
    path.write_text("\n".join([head, *(",".join([*line(row), "-", "-"]) for row in range(ROWS)), ""]), encoding="utf-8")
    log = run(read_log(path))
    is_same(log, plain)
    assert log.questions == plain.questions


@pytest.mark.parametrize(("factor", "asked"), [(1000.0, True), (1.0, False)])
def test_a_sensor_that_reads_thousands_of_volts_is_asked_about(tmp_path: Path, factor: float, asked: bool) -> None:
    rows = [[*line(row)[:2], f"{factor * (2 + math.sin(row / 23)):.4f}", *line(row)[3:]] for row in range(ROWS)]
    path = tmp_path / "volts.csv"
    head = HEAD.replace("Airflow (g/s)", "MAF voltage (V)")
    path.write_text("\n".join([head, *map(",".join, rows), ""]), encoding="utf-8")
    about = [each for each in run(read_log(path)).questions if each.channel == "MAF voltage"]
    assert [a.answer for each in about for a in each.alternatives] == ["as-logged", "mV"] * asked
    made = run(read_log(path, units={"MAF voltage": "mV"} if asked else {}))
    assert not any(each.channel == "MAF voltage" for each in made.questions)
    sensor = made.playing("sensor_signal")
    assert sensor is not None
    assert 0.9 < sensor.min() < sensor.max() < 3.1
    stated = run(read_log(path, units={"MAF voltage": "as-logged"}))
    assert not any(each.channel == "MAF voltage" for each in stated.questions)


def test_a_sheet_may_leave_its_first_column_empty(tmp_path: Path, plain: Log) -> None:
    path = tmp_path / "shifted.tsv"
    lines = ["\tSecond car, third run", "", "\t" + HEAD.replace(",", "\t")]
    path.write_text("\n".join([*lines, *("\t" + "\t".join(line(row)) for row in range(ROWS)), ""]), encoding="utf-8")
    is_same(run(read_log(path)), plain)


def test_a_sheet_of_words_is_no_choice() -> None:
    sheets = {"Notes": "Friday\ntyres\twinter 2\n", "Drive": "Time\tRPM\n0.1\t900\n"}
    assert choose_sheet(sheets, list(sheets), "book.xlsx", "")[0] == sheets["Drive"]
    with pytest.raises(InputError, match="2 sheets with cells"):
        choose_sheet({**sheets, "Notes": "1\t2\n"}, list(sheets), "book.xlsx", "")


def test_a_sign_may_stand_apart_from_its_number_and_unit() -> None:
    found = to_numbers(["+ 1,56 %", "- 0,78 %", "", "+ 0,00 %"], Style(","))
    np.testing.assert_array_equal(found.values, [1.56, -0.78, np.nan, 0.0])
    assert (found.unit, found.odd) == ("%", ())


def test_an_average_beside_what_it_is_made_of_is_no_rival(tmp_path: Path, plain: Log) -> None:
    speeds = np.array([float(line(row)[1]) for row in range(ROWS)])
    average = np.cumsum(speeds) / np.arange(1, ROWS + 1)
    path = tmp_path / "average.csv"
    rows = [f"{','.join(line(row))},{average[row]:.0f}" for row in range(ROWS)]
    path.write_text("\n".join([f"{HEAD},Engine speed avg (rpm)", *rows, ""]), encoding="utf-8")
    log = run(read_log(path))
    is_same(log, plain)
    assert not log.questions


@pytest.mark.parametrize(
    ("name", "swing", "asked"), [("AIN1", 2.0, 1), ("Analog in 2", 2.0, 1), ("AIN1", 0.02, 0), ("Pedal", 2.0, 0)]
)
def test_an_input_in_volts_that_says_nothing_is_asked_about_where_no_wideband_is(
    tmp_path: Path, name: str, swing: float, asked: int
) -> None:
    rows = [[*line(row)[:3], f"{2.5 + swing * math.sin(row / 17):.3f}", *line(row)[4:]] for row in range(ROWS)]
    path = tmp_path / "volts.csv"
    head = HEAD.replace("Measured lambda", f"{name} (V)")
    path.write_text("\n".join([head, *map(",".join, rows), ""]), encoding="utf-8")
    about = [each for each in run(read_log(path)).questions if each.channel == name]
    assert len(about) == asked
    assert all("analogue-input" in each.alternatives[0].flag for each in about)
    assert not any(each.channel == name for each in run(read_log(path, units={name: "V"})).questions)


@pytest.mark.parametrize("mark", ["D+00", "d+00", "D0"])
def test_exponents_of_fortran_are_read(tmp_path: Path, plain: Log, mark: str) -> None:
    lines = [",".join([cells[0], *(cell + mark for cell in cells[1:])]) for cells in map(line, range(ROWS))]
    is_same(read(tmp_path / "fortran.csv", lines), plain)


def test_of_a_cut_pack_what_comes_out_is_read_and_said(tmp_path: Path, plain: Log) -> None:
    text = "\n".join([HEAD, *(",".join(line(row)) for row in range(ROWS)), ""])
    path = tmp_path / "drive.csv.gz"
    packed = gzip.compress(text.encode(), mtime=0)
    path.write_bytes(packed[: len(packed) * 3 // 5])
    log = run(read_log(path))
    assert 0.2 * ROWS < log.rows < 0.8 * ROWS
    assert any("cut off" in note for note in log.notes)
    speed, whole = log.playing("engine_speed"), plain.playing("engine_speed")
    assert speed is not None
    assert whole is not None
    np.testing.assert_array_equal(speed, whole[: log.rows])


def test_a_document_of_an_office_program_is_called_so(tmp_path: Path) -> None:
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w") as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("word/document.xml", "<document/>")
    path = tmp_path / "drive.docx"
    path.write_bytes(kept.getvalue())
    with pytest.raises(WorkbenchError, match="document of an office program"):
        run(read_log(path))


@pytest.mark.parametrize(
    ("name", "cell"), [("Tick", "0xA0{row:06X}"), ("Datum", "Tag {row} mittags"), ("Moment", "w{row}")]
)
def test_a_clock_that_cannot_be_read_is_named_with_what_it_holds(tmp_path: Path, name: str, cell: str) -> None:
    lines = [",".join([cell.format(row=row), *line(row)[1:]]) for row in range(ROWS)]
    path = tmp_path / "odd.csv"
    path.write_text("\n".join([HEAD.replace("Time (s)", name), *lines, ""]), encoding="utf-8")
    with pytest.raises(WorkbenchError) as refused:
        run(read_log(path))
    assert f"{name} holds text such as {cell.format(row=0)!r}" in refused.value.message
    assert "--rate" in refused.value.hint


@pytest.mark.parametrize(
    ("name", "role"), [("Throttle (V)", "throttle"), ("Intake manifold pressure (V)", "manifold_pressure")]
)
def test_a_known_name_in_volts_is_said_to_be_left_out(tmp_path: Path, name: str, role: str) -> None:
    lines = [f"{','.join(line(row))},{1 + 0.5 * math.sin(row / 9):.2f}" for row in range(ROWS)]
    path = tmp_path / "volts.csv"
    path.write_text("\n".join([f"{HEAD},{name}", *lines, ""]), encoding="utf-8")
    log = run(read_log(path))
    assert role not in log.roles
    assert any(f"has the name of {role}, but is in a unit" in note for note in log.notes)


def test_lines_without_anything_are_no_rows(plain: Log, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A program that failed wrote millions of line ends into a log of some minutes."""
    monkeypatch.setattr(delimited, "BLOCK", 5_000)
    monkeypatch.setattr(columns, "MOST", 2 * ROWS)
    lines = [",".join(line(row)) for row in range(ROWS)]
    found = read(tmp_path / "plain.csv", [*lines[:400], *[""] * 20_000, *lines[400:]])
    is_same(found, plain)
    assert any("402" in note and "19997 more" in note for note in found.notes), found.notes
