"""What damages a text on its way: a spreadsheet's dates, NUL bytes, broken UTF-8, totals at the end, words for none."""

from pathlib import Path

import numpy as np
import pytest
from files.logs_by_hand import COLUMNS, ROWS, check, read, written

from workbench.files.logs import read_log
from workbench.files.text.oddities import is_date
from workbench.model.log import Log
from workbench.work import run


def said(log: Log, words: str) -> bool:
    return any(words in note for note in log.notes)


@pytest.mark.parametrize(
    "text",
    "01. Mai|5-May|1. März|12 déc|Jan 05|May-95|03. Dez|2026-05-01|2026-05-01 00:00:00|01.05.2026|5/1/2026|7. Juli|"
    "1-ago".split("|"),
)
def test_a_date_is_told(text: str) -> None:
    assert is_date(text)


@pytest.mark.parametrize("text", ["n/a", "--", "1.5", "May", "open", "12 V", "17", "no data", "", "5 rpm", "#REF!"])
def test_other_texts_are_no_dates(text: str) -> None:
    assert not is_date(text)


def as_dates(label: str, value: float) -> str:
    """Write 3.1 as a spreadsheet set to German does, and leave all else."""
    text = f"{value:.1f}"
    whole, _, part = text.lstrip("-").partition(".")
    if label.startswith(("Airflow", "Throttle")) and not text.startswith("-") and 1 <= int(part) <= 5:
        return f"{int(whole):02d}. {['Jan', 'Feb', 'Mrz', 'Apr', 'Mai'][int(part) - 1]}"
    return f"{value:.4f}"


def test_numbers_that_became_dates_are_asked_about_where_cells_rest_on_them(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_text("\n".join(written(cell=as_dates)) + "\n")
    log = run(read_log(path))
    assert log.notes[0].startswith("Caution: a spreadsheet turned numbers into dates, such as '")
    assert "Add the file as the logger wrote it" in log.notes[0]
    (asked,) = log.questions  # not of the throttle
    assert asked.channel == "Airflow"
    assert [each.flag for each in asked.alternatives] == ["--role 'airflow=Airflow'", "--role 'airflow='"]
    assert not run(read_log(path, roles={"airflow": "Airflow"})).questions
    assert "airflow" not in run(read_log(path, roles={"airflow": ""})).roles


def test_words_for_no_value_in_many_columns_are_told_in_one_sentence(tmp_path: Path) -> None:
    lines = written()
    for row in range(5, 100, 5):
        cells = lines[row].split(",")
        cells[1 + row // 5 % (len(cells) - 1)] = "no data"
        lines[row] = ",".join(cells)
    log = read(tmp_path, lines)
    told = [note for note in log.notes if "no data" in note]
    assert len(told) == 1
    assert told[0].startswith("19 cells of ")
    assert "first in line 6" in told[0]


def test_lines_of_totals_at_the_end_are_left_out_and_take_no_part(tmp_path: Path) -> None:
    columns = len(COLUMNS) - 1
    ends = [
        ",".join([word, *[value] * columns]) for word, value in (("Min", "0"), ("Max", "9999"), ("Mittelwert", "17"))
    ]
    log = read(tmp_path, [*written(), *ends])
    check(log)
    assert said(log, f"labelled a mean, maximum or total: line {ROWS + 2}, line {ROWS + 3}, line {ROWS + 4}")
    assert not said(log, "9999")


def test_a_sensor_that_reads_max_loses_that_value_and_no_row(tmp_path: Path) -> None:
    lines = written()
    cells = lines[30].split(",")
    lines[30] = ",".join([*cells[:6], "MAX", *cells[7:]])
    log = read(tmp_path, lines)
    assert log.rows == ROWS
    assert said(log, "Lambda measured") or said(log, "Lambda commanded")


def test_a_code_that_many_channels_read_is_told_in_one_sentence(tmp_path: Path) -> None:
    lines = written()
    for row in (20, 60):
        cells = lines[row].split(",")
        lines[row] = ",".join([cells[0], *["9999"] * (len(cells) - 1)])
    log = read(tmp_path, lines)
    (told,) = [note for note in log.notes if "9999" in note]
    assert "read 9999 in 2 rows each" in told
    speed = log.playing("engine_speed")
    assert speed is not None
    assert np.isnan(speed[[19, 59]]).all()


def test_nul_bytes_in_a_line_are_told(tmp_path: Path) -> None:
    lines = written()
    lines[50] = lines[50][:9] + "\0" * 300 + lines[50][9:]
    log = read(tmp_path, lines)
    assert said(log, "Caution: NUL bytes in line 51")
    assert not said(log, "x00")


def test_few_damaged_bytes_leave_the_other_signs_as_they_are(tmp_path: Path) -> None:
    content = "\n".join(written()).replace("Throttle", "Thröttle").encode() + b"\n"
    log = read(tmp_path, content.replace("ö".encode(), b"\xff\xfe\xc3("))
    assert log.channel("Coolant") is not None
    assert log.roles["coolant_temperature"] == "Coolant"
    log = read(tmp_path, content.replace(b"STFT", b"\xffSTFT"))
    assert said(log, "UTF-8 text, but some of its bytes are damaged")
    assert log.roles["coolant_temperature"] == "Coolant"
    assert log.roles["stft_1"]
