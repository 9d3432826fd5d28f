"""Logs that something surrounds, that other headers interrupt, or whose moments stand alone: the same drive in all."""

import base64
import quopri
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from logs_by_hand import check, written

from workbench.errors import FileError
from workbench.files.logs import read_log
from workbench.files.written.one_header import under_one_header
from workbench.model.log import Log
from workbench.work import run

NAMES, *LINES = [line.split(",") for line in written()]
PLAIN = "\n".join(written()) + "\n"
HALF = len(LINES) // 2


def read(path: Path, content: str | bytes) -> Log:
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return run(read_log(path))


def text(rows: list[list[str]]) -> str:
    return "".join(",".join(row) + "\n" for row in rows)


def turned(rows: list[list[str]]) -> list[list[str]]:
    """Write the clock first and the other channels in the opposite order."""
    return [[row[0], *row[:0:-1]] for row in rows]


def in_mail() -> bytes:
    coded = base64.b64encode(PLAIN.encode()).decode()
    lines = [coded[at : at + 76] for at in range(0, len(coded), 76)]
    head = "Content-Type: text/csv\nContent-Transfer-Encoding: base64\n\n"
    return (head + "\n".join(lines) + "\n").encode()


def under_moments(line: str) -> str:
    out = []
    for row in LINES:
        out += [line.format(row[0]), *(f"{name}: {cell}" for name, cell in zip(NAMES[1:], row[1:], strict=True)), ""]
    return "\n".join(out)


def listed(before: str, behind: str = "") -> str:
    return "".join(f"{before.format(at)}{name}{behind}\n" for at, name in enumerate(NAMES, 1)) + text(LINES)


def with_own_clocks() -> str:
    head = ",".join(f"{name.split(' (')[0]} time (s),{name}" for name in NAMES[1:])
    return head + "\n" + "".join(",".join(f"{row[0]},{cell}" for cell in row[1:]) + "\n" for row in LINES)


def drawn(bar: str, rule: str, *, between: bool = False) -> str:
    """Draw a table: rules above and below the names and at the end, or between all rows."""
    rows = [f"{bar} " + f" {bar} ".join(row) + f" {bar}" for row in (NAMES, *LINES)]
    return "\n".join([rule, rows[0], rule, *(f"{row}\n{rule}" if between else row for row in rows[1:]), rule]) + "\n"


FORMS: dict[str, str | bytes] = {
    "drawn with strokes": drawn("\u2502", "\u251c" + "\u2500\u253c" * 30),
    "drawn with rules between rows": drawn("|", "+" + "-----+" * 12, between=True),
    "names between circumflexes": "^ " + " ^ ".join(NAMES) + " ^\n" + "".join(f"| {' | '.join(r)} |\n" for r in LINES),
    "whole lines in quotes": "".join(f'"{line}"\n' for line in written()),
    "an answered mail": "".join(f"> {line}\n" for line in written()),
    "a mail answered twice": "".join(f"> > {line}\n" for line in written()),
    "an attachment": in_mail(),
    "the body of a mail": quopri.encodestring(PLAIN.encode()),
    "time that counts down": text(
        [["Remaining (s)", *NAMES[1:]], *([f"{99 - float(r[0]):.4f}", *r[1:]] for r in LINES)]
    ),
    "rows that changed places in pairs": text(
        [NAMES, *(LINES[at + (at % 20 == 4) - (at % 20 == 5)] for at in range(len(LINES)))]
    ),
    "EBCDIC": PLAIN.replace("\n", "\x85").replace("°", "").encode("cp037"),
    "the header below": text([*LINES, NAMES]),
    "another order half way": text([NAMES, *LINES[:HALF], *turned([NAMES, *LINES[HALF:]])]),
    "names on lines of their own": listed("@ATTRIBUTE '", "' NUMERIC").replace(
        "' NUMERIC\n0", "' NUMERIC\n@DATA\n0", 1
    ),
    "numbered names": listed("# Column {}: "),
    "channels numbered": listed("Channel {} = "),
    "moments in brackets": under_moments("[{} s]"),
    "moments in rules": under_moments("--- {} ---"),
    "moments by name": under_moments("t = {} s"),
    "a clock for each channel": with_own_clocks(),
}


@pytest.mark.parametrize("form", FORMS)
def test_every_form_is_the_same_drive(tmp_path: Path, form: str) -> None:
    check(read(tmp_path / "drive.txt", FORMS[form]))


def test_a_part_of_a_second_behind_a_comma_belongs_to_its_clock(tmp_path: Path) -> None:
    rows = "".join(
        f"13:45:{int(float(row[0])):02d},{round(float(row[0]) % 1 * 10)},{','.join(row[1:])}\n" for row in LINES
    )
    log = read(tmp_path / "drive.csv", ",".join(["Time", *NAMES[1:]]) + "\n" + rows)
    assert log.rows == len(LINES)
    assert log.time.values[-1] - log.time.values[0] == pytest.approx(float(LINES[-1][0]), abs=1e-6)
    assert log.roles["engine_speed"] == "Engine speed"


def test_parts_with_other_channels_are_one_drive(tmp_path: Path) -> None:
    fewer = [row[:-1] for row in [NAMES, *LINES[HALF:]]]
    log = read(tmp_path / "drive.csv", text([NAMES, *LINES[:HALF], *fewer]))
    assert log.rows == len(LINES)
    last = log.channel(NAMES[-1].split(" (")[0])
    assert last is not None
    assert np.isfinite(last.values).sum() == HALF
    assert "Headers stand among the values; each value was put under its own name." in log.notes


def test_parts_that_begin_anew_are_two_logs(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="holds two logs"):
        read(tmp_path / "drives.csv", text([NAMES, *LINES, *turned([NAMES, *LINES])]))


def test_sentences_name_what_they_tell_of_and_when(tmp_path: Path) -> None:
    """Several lines tell of one moment."""
    lines = []
    for row in LINES:
        pairs = [f"{name}={cell}" for name, cell in zip(NAMES[1:], row[1:], strict=True)]
        lines += [f"$ENG,{row[0]},{','.join(pairs[:4])}", f"$FUL,{row[0]},{','.join(pairs[4:])}"]
    check(read(tmp_path / "drive.txt", "\n".join(lines) + "\n"))


@given(cut=st.integers(1, len(LINES) - 1), order=st.permutations(range(1, len(NAMES))))
def test_wherever_another_order_begins_each_value_keeps_its_name(cut: int, order: list[int]) -> None:
    other = [[row[0], *(row[at] for at in order)] for row in [NAMES, *LINES[cut:]]]
    made = under_one_header(text([NAMES, *LINES[:cut], *other]).encode(), "drive.csv")
    assert made is not None
    assert made.decode() == text([NAMES, *LINES])
