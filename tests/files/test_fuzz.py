"""Damaged files end in a reading or in a refusal, never in a crash. The long run is `tests/benchmarks/fuzzing.py`."""

import contextlib
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mutations import mutate
from victims import small_files

from workbench.errors import WorkbenchError
from workbench.files.logs import read_log, read_log_text
from workbench.files.tables.tables import read_table
from workbench.work import run

CASES_EACH = 12
SLOW = (".mdf", ".mf4")  # each in a process of its own
FILES = small_files()


@pytest.mark.parametrize("name", FILES)
def test_a_damaged_file_is_read_or_refused(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    for case in range(CASES_EACH if not name.endswith(SLOW) else 2):
        content, done = mutate(FILES[name], case)
        path.write_bytes(content)
        began = time.perf_counter()
        for reader in (lambda: run(read_log(path)), lambda: read_table(path)):
            with contextlib.suppress(WorkbenchError):
                reader()
        assert time.perf_counter() - began < 60, done  # not a measurement: only that it ends


CELLS = st.sampled_from(
    "1.000|12.345|0,98|1,000|950|1.234,5|1,234.5|12.5|1.000.000|1 000||-|+1.000|x|1.000 kPa|1e3|7,25|0|2|1e308|-1e308|"
    "12.345 %|ON|OFF|CL|OL|inf|\u22121,000|1\u2009000,5".split("|")
)
ROWS = st.lists(st.lists(CELLS, min_size=4, max_size=4), min_size=1, max_size=6)
NAMES = st.sampled_from("Lambda|RPM|MAF (g/s)|Counts|Purge|Closed loop|MAP|Fuel system status|AFR".split("|"))
TIMES: dict[str, Callable[[int], str]] = {
    "count": lambda at: f"{at / 10:.1f}",
    "clock": lambda at: f"14:05:{at % 60:02d}",
    "back": lambda at: f"{at if at < 40 else 80 - 1.5 * at:.1f}",
    "missing": lambda at: str(at) if at < 40 else "",
    "milliseconds": lambda at: str(123_456_789 + 100 * at),
}


@given(st.lists(NAMES, min_size=4, max_size=4), ROWS, ROWS, st.sampled_from(list(TIMES)), st.sampled_from(";\t"))
@settings(max_examples=100)
def test_no_mixture_of_cells_ends_but_in_a_log_or_a_refusal(
    names: list[str], rows: list[list[str]], tail: list[list[str]], kind: str, delimiter: str
) -> None:
    body = [rows[at % len(rows)] for at in range(40)] + tail
    lines = [delimiter.join(["Time", *names])]
    lines += [delimiter.join([TIMES[kind](at), *cells]) for at, cells in enumerate(body)]
    try:
        log = run(read_log_text("\n".join(lines) + "\n", "x.csv"))
    except WorkbenchError:
        return
    assert 1 <= log.rows <= len(body)
    assert np.all(np.diff(log.time.values) >= 0)
