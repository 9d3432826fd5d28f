"""Measures how far cells move where an assumption that is only noted has to stand in for what the log does not say."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from field.car import HERTZ, STALE, drive
from field.judge import base, run
from field.shape import Built, Col, col, log, rows, std

MOST = 0.003
HALF = drive().rows // 2


def times(change: Callable[[int, float], str]) -> Col:
    return replace(col("time"), cells=tuple(change(k, float(s)) for k, s in enumerate(drive()["time"])))


CASES: dict[str, tuple[Callable[[], Built], str]] = {
    "stamps of whole seconds": (lambda: log(std(times(lambda k, s: f"{int(s)}"))), "rows were spread evenly"),
    "a clock that begins anew": (
        lambda: log(std(times(lambda k, s: f"{s - (k >= HALF) * drive()['time'][HALF]:.2f}"))),
        "engine and car go on",
    ),
    "a clock that begins anew behind a gap": (
        lambda: log(
            rows(
                std(times(lambda k, s: f"{s - (k > HALF) * drive()['time'][HALF]:.2f}")),
                [*range(HALF), *range(HALF + 140, drive().rows)],
            )
        ),
        "joined with a pause",
    ),
    "a clock that steps back": (
        lambda: log(std(times(lambda k, s: f"{s - 0.15 * (k >= HALF):.2f}"))),
        "rows keep their order|were sorted",
    ),
    "purge of which nothing says whether it is a fraction": (
        lambda: log(std(col("purge", unit="", convert=lambda v: v / 100, decimals=3))),
        "it was read as a fraction",
    ),
    "purge as a flag": (
        lambda: log(std(col("purge", unit="", convert=np.sign, decimals=0))),
        "read as 0 or 100 %",
    ),
}


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("name", list(CASES))
def test_what_is_only_noted_moves_no_proven_cell(name: str, tmp_path: Path) -> None:
    build, words = CASES[name]
    session, table, path = (str(tmp_path / each) for each in ("car.session", "table.csv", "drive.csv"))
    points = "".join(f"{hertz:g},{flow:.3f}\n" for hertz, flow in zip(HERTZ, STALE, strict=True))
    Path(table).write_text("Airflow sensor (Hz),Airflow (g/s)\n" + points)
    Path(path).write_bytes(build().files["drive.csv"])
    assert run(["new", session, table]).code == 0
    added = run(["add-log", session, path])
    assert re.search(words, str(added.answer)), added.answer
    known, _ = base(1)
    cells = [each for each in run(["evidence", session]).answer["cells"] if each["standing"] == "proven"]
    moved = [abs(each["ratio"] / known[each["index"]][0] - 1) for each in cells]
    assert len(moved) >= 12
    assert max(moved) < MOST
