"""What parts the cells of a log: any sign, columns of fixed width, and a line for each channel."""

import math
from pathlib import Path

import numpy as np
import pytest

from workbench.errors import FileError, InputError
from workbench.files.logs import read_log
from workbench.model.log import Log
from workbench.work import run

HEAD = ["Time (s)", "Engine speed (rpm)", "Coolant temperature (°C)", "Short trim (%)"]
ROWS = [
    [f"{i / 10:.1f}", f"{2000 + 900 * math.sin(i / 20):.1f}", "80", f"{3 * math.sin(i / 9):.2f}"] for i in range(90)
]


def read(tmp_path: Path, text: str) -> Log:
    path = tmp_path / "drive.txt"
    path.write_text(text, encoding="utf-8")
    return run(read_log(path))


def check(log: Log) -> None:
    assert log.rows == len(ROWS)
    assert log.roles["engine_speed"] == "Engine speed"
    assert log.roles["stft_1"] == "Short trim"
    speed = log.playing("engine_speed")
    assert speed is not None
    assert np.allclose(speed, [float(row[1]) for row in ROWS])


@pytest.mark.parametrize("sign", [",", ";", "\t", "|", "^", "~", "!", "&"])
def test_any_sign_may_part_cells(tmp_path: Path, sign: str) -> None:
    check(read(tmp_path, "\n".join(sign.join(row) for row in [HEAD, *ROWS])))


def test_columns_of_fixed_width(tmp_path: Path) -> None:
    check(read(tmp_path, "\n".join("".join(f"{cell:>28}" for cell in row) for row in [HEAD, *ROWS])))


@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_a_line_for_each_channel(tmp_path: Path, sign: str) -> None:
    log = read(tmp_path, "\n".join(sign.join(row) for row in zip(HEAD, *ROWS, strict=True)))
    check(log)
    assert any("transposed" in note for note in log.notes)


def test_lines_of_channels_that_differ_in_length_are_refused(tmp_path: Path) -> None:
    lines = [",".join(row) for row in zip(HEAD, *ROWS, strict=True)]
    lines[1] = lines[1].rpartition(",")[0]
    with pytest.raises((FileError, InputError)):
        read(tmp_path, "\n".join(lines))
