"""Damaged files end in a reading or in a refusal, never in a crash. The long run is `tests/benchmarks/fuzzing.py`."""

import contextlib
import time
from pathlib import Path

import pytest
from mutations import mutate
from victims import small_files

from workbench.errors import WorkbenchError
from workbench.files.logs import read_log
from workbench.files.tables import read_table
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
