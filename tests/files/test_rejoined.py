"""Logs whose rows stand on several lines or in elements: the same drive in every form, or refused by what was seen."""

import io
import time
from pathlib import Path

import pytest
from logs_by_hand import check, written
from workbooks import xlsx

from workbench.errors import FileError, InputError
from workbench.files.formats.xml_tables import tables_of_xml
from workbench.files.logs import read_log
from workbench.files.written.labelled import LONGEST_PAIR, labelled
from workbench.model.log import Log
from workbench.work import run

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
NAMES, *LINES = [line.split(",") for line in written()]


def read(path: Path, content: str | bytes) -> Log:
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return run(read_log(path))


def tag(name: str) -> str:
    return name.split(" (")[0].replace(" ", "_")


def unit(name: str) -> str:
    return name.partition("(")[2].rstrip(")")


def on_lines(count: int, width: int, sign: str = ",") -> str:
    """Write each row on so many lines of at most so many cells."""
    rows = [NAMES, *LINES]
    return "\n".join(sign.join(row[width * at : width * (at + 1)]) for row in rows for at in range(count)) + "\n"


def elements() -> str:
    rows = "".join(
        "<s>"
        + "".join(f'<{tag(n)} unit="{unit(n)}">{c}</{tag(n)}>' for n, c in zip(NAMES, line, strict=True))
        + "</s>\n"
        for line in LINES
    )
    return f'{HEAD}<log xmlns="urn:example"><car>blue</car>{rows}</log>'


def attributes() -> str:
    rows = "".join(
        "<row " + " ".join(f'{tag(n)}="{c}"' for n, c in zip(NAMES, line, strict=True)) + "/>\n" for line in LINES
    )
    return f"{HEAD}<log>{rows}</log>"


def named() -> str:
    rows = "".join(
        "<t>" + "".join(f'<v name="{n}" value="{c}"/>' for n, c in zip(NAMES, line, strict=True)) + "</t>"
        for line in LINES
    )
    return f"{HEAD}<log>{rows}</log>"


def book(row: str, cell: str, root: str) -> str:
    rows = "".join(
        f"<{row}>" + "".join(f"<{cell}><d>{c}</d></{cell}>" for c in cells) + f"</{row}>" for cells in (NAMES, *LINES)
    )
    return f"{HEAD}<{root}><t>{rows}</t></{root}>"


def blocks(begin: str, between: str) -> str:
    out = []
    for at, line in enumerate(LINES):
        out += [begin.format(at)] * bool(begin) + [f"{n}{between}{c}" for n, c in zip(NAMES, line, strict=True)]
        out += [""] * (not begin)
    return "\n".join([*([""] * (not begin)), *out]) + "\n"


def records() -> str:
    """Write the rows as a list of YAML mappings."""
    return "".join(
        "".join(f"{'- ' if at == 0 else '  '}{n}: {c}\n" for at, (n, c) in enumerate(zip(NAMES, line, strict=True)))
        for line in LINES
    )


FORMS = {
    "five cells and four": on_lines(2, 5),
    "three lines alike": on_lines(3, 3),
    "two lines by semicolons": on_lines(2, 5, ";"),
    "named elements": named(),
    "cells of a book": book("Row", "Cell", "Workbook"),
    "cells of an open book": book("table-row", "table-cell", "document"),
    "blocks with titles": blocks("[sample {}]", "="),
    "blocks parted by blank lines": blocks("", " = "),
    "records": records(),
    "unit separators": "\n".join(written(delimiter="\x1f")) + "\n",
    "unit and record separators": "\x1e".join(written(delimiter="\x1f")) + "\x1e",
}


@pytest.mark.parametrize("form", FORMS)
def test_every_form_is_the_same_drive(tmp_path: Path, form: str) -> None:
    check(read(tmp_path / "drive.txt", FORMS[form]))


@pytest.mark.parametrize("content", [attributes(), elements()])
def test_elements_and_attributes_are_channels(tmp_path: Path, content: str) -> None:
    log = read(tmp_path / "drive.xml", content)
    assert log.rows == len(LINES)
    assert log.notes[0] == "drive.xml was read as an XML document."
    assert log.roles["stft_1"] == "STFT_bank_1"


def test_lines_of_fields_and_a_moment_behind_them(tmp_path: Path) -> None:
    lines = [
        "engine,car=blue " + ",".join(f"{tag(n)}={c}" for n, c in zip(NAMES[1:], line[1:], strict=True))
        + f" {1_772_546_581_000_000_000 + round(float(line[0]) * 1e9)}"
        for line in LINES
    ]  # fmt: skip
    log = read(tmp_path / "drive.lp", "\n".join(lines) + "\n")
    assert log.rows == len(LINES)
    assert log.roles["lambda_measured"] == "Lambda_measured"
    assert log.time.values[-1] - log.time.values[0] == pytest.approx(11.9, abs=1e-3)


def test_lines_of_a_log_in_one_column_of_a_sheet(tmp_path: Path) -> None:
    check(read(tmp_path / "drive.xlsx", xlsx({"Log": [[line] for line in written()]})))


def test_a_sheet_of_notes_beside_a_log_is_passed_over(tmp_path: Path) -> None:
    cells: list[list[object]] = [list(line.split(",")) for line in written()]
    check(read(tmp_path / "drive.xlsx", xlsx({"Notes": [["cold day"], ["two pulls"]], "Log": cells})))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (f"{HEAD}<settings><a>1</a><b>2</b></settings>", "holds no table of samples"),
        (f"{HEAD}<log><row a='1'></log>", "cannot be read as an XML document"),
        ("From: a@example.org\nSubject: log\n\n1,2\n", "it is a mail message"),
        ("{\\rtf1\\ansi 1\\tab 2\\par 3\\tab 4}", "a text of a word processor"),
    ],
)
def test_what_holds_no_log_is_named(tmp_path: Path, content: str, said: str) -> None:
    with pytest.raises(FileError, match=said) as told:
        read(tmp_path / "drive.csv", content)
    assert told.value.hint


def test_a_text_that_is_no_number_is_shown(tmp_path: Path) -> None:
    rows = "".join(f'{at / 10},sample,"{{""rpm"": {800 + at}}}"\n' for at in range(50))
    with pytest.raises(InputError, match="payload holds text such as") as told:
        read(tmp_path / "events.csv", "timestamp,event,payload\n" + rows)
    assert "a column of its own" in told.value.hint


def test_lines_of_another_length_are_not_joined(tmp_path: Path) -> None:
    lines = on_lines(2, 5).splitlines()
    with pytest.raises(FileError, match="line 41: each row stands on 2 lines, and this one has 2 cells where 5 belong"):
        read(tmp_path / "drive.csv", "\n".join([*lines[:40], "1,2", *lines[40:]]) + "\n")


def test_cells_that_are_repeated_or_placed_keep_their_columns() -> None:
    first, second = '<c n="1"><d>1</d></c><c Index="3">2</c>', '<c number-columns-repeated="3">4</c>'
    rows = f"<t><r><c>a</c><c>b</c><c>c</c></r><r>{first}</r><r>{second}<c/></r></t>"
    (table,) = tables_of_xml(f"{HEAD}<workbook>{rows}</workbook>".encode()).values()
    assert [list(column) for column in table.cells] == [["1", "4"], ["", "4"], ["2", "4"]]


def test_two_tables_of_a_book_are_told_apart() -> None:
    table = "<t><r><c>a</c><c>b</c></r><r><c>1</c><c>2</c></r><r><c>3</c><c>4</c></r></t>"
    assert list(tables_of_xml(f"{HEAD}<workbook>{table}{table}</workbook>".encode())) == ["table 1", "table 2"]


@pytest.mark.parametrize(
    "head", ["2026-03-03 14:03:{s},250 INFO  ecu.poll - ", "[14:03:{s}.250] [ecu] > ", "14:03:{s}.25 poll: "]
)
def test_a_program_s_diary_of_named_values_is_read(head: str) -> None:
    lines = "".join(f"{head.format(s=f'{k:02d}')}Engine speed={800 + k}rpm, MAP={30 + k}kPa\n" for k in range(20))
    made = labelled(io.BytesIO(lines.encode()), "poll.log", len(lines))
    assert made is not None
    names, first, *_ = made.decode().splitlines()
    assert names == "Time;Engine speed;MAP"
    assert first.split(";")[1:] == ["800rpm", "30kPa"]
    assert "14:03:00.25" in first


@pytest.mark.parametrize(
    "line", ["log.{n} = [{s}]; % {u}", "{n} = np.array([{c}])  # {u}", "const double {n}[] = {{{c}}}; // {u}"]
)
def test_arrays_of_a_script_are_channels(tmp_path: Path, line: str) -> None:
    columns = {"Time": ("s", range(20)), "Engine_speed": ("rpm", range(800, 820)), "MAP": ("kPa", range(30, 50))}
    lines = [
        line.format(n=name, u=unit, s=" ".join(map(str, values)), c=", ".join(map(str, values)))
        for name, (unit, values) in columns.items()
    ]
    log = read(tmp_path / "drive.m", "\n".join(lines) + "\n")
    assert log.roles["engine_speed"] == "Engine_speed"
    pressure = log.playing("manifold_pressure")
    assert pressure is not None
    assert pressure.tolist() == list(range(30, 50))


def test_a_giant_cell_is_no_pair_and_takes_no_time() -> None:
    lines = ["at=0.1;rpm=812;map=34"] * 6
    lines.insert(2, f"at=0.2;{'a' * 40 * LONGEST_PAIR};map=35")
    content = ("\n".join(lines) + "\n").encode()
    began = time.process_time()
    labelled(io.BytesIO(content), "x.diary", len(content))
    assert time.process_time() - began < 1
