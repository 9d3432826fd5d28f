"""Ways of writing that are readable: pictures behind a colon, ratios to one, channels with moments of their own."""

import json
import sqlite3
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest
from logs_by_hand import AT, COLUMNS, ROLES, ROWS, check, read, written

from workbench.files.logs import read_log
from workbench.files.text.pictures import counted_pictures
from workbench.model.log import Log
from workbench.work import run

LAMBDA = ("Lambda commanded", "Lambda measured")


def of_file(path: Path, content: str) -> Log:
    path.write_text(content, encoding="utf-8")
    return run(read_log(path))


@pytest.mark.parametrize("rate", [24, 25, 30, 50, 60])
def test_pictures_behind_a_last_colon_are_counted(rate: int) -> None:
    """They were read as hundredths: time ran up to a quarter of a second and then leapt to the next one."""
    at = np.arange(2000) / 20.0
    cells = [f"10:{int(t) // 60:02d}:{int(t) % 60:02d}:{int(t % 1 * rate + 1e-6):02d}" for t in at]
    found = counted_pictures(cells)
    assert found is not None
    assert found[1] == rate
    np.testing.assert_allclose(found[0] - 36000, at, atol=1 / rate)


@pytest.mark.parametrize(
    "cells",
    [
        [f"10:00:{at // 100:02d}:{at % 100:02d}" for at in range(0, 5000, 7)],
        [f"10:00:{at % 60:02d}:00" for at in range(50)],
        [f"10:00:{at % 60:02d}" for at in range(50)],
        [],
    ],
    ids=["hundredths", "never any", "none", "empty"],
)
def test_hundredths_are_no_pictures(cells: Sequence[str]) -> None:
    assert counted_pictures(cells) is None


def test_a_log_whose_clock_counts_pictures_runs_evenly(tmp_path: Path) -> None:
    lines = written()
    head, *rows = lines
    told = [f"09:00:{at // 10:02d}:{at % 10 * 30 // 10:02d},{row.split(',', 1)[1]}" for at, row in enumerate(rows)]
    log = read(tmp_path, ["Time," + head.split(",", 1)[1], *told])
    check(log)
    assert any("never reaches 30" in note for note in log.notes)


@pytest.mark.parametrize(
    "way", [lambda x: f"1:{x:.3f}", lambda x: f"{x:.3f} to 1", lambda x: f"{x:.3f}:1", lambda x: f"1 to {x:.3f}"]
)
def test_a_ratio_to_one_is_an_air_fuel_ratio(tmp_path: Path, way: Callable[[float], str]) -> None:
    named = {label: (label.replace("Lambda", "AFR"), COLUMNS[label]) for label in LAMBDA}
    log = read(tmp_path, written(named, cell=lambda label, x: way(14.7 * x) if "AFR" in label else f"{x:.4f}"))
    for role, label in zip(("lambda_commanded", "lambda_measured"), LAMBDA, strict=True):
        np.testing.assert_allclose(log.playing(role), COLUMNS[label], atol=0.0002)  # type: ignore[arg-type]


def points(label: str, every: int = 1) -> list[list[float]]:
    return [[round(0.1 * at, 3), float(COLUMNS[label][at])] for at in range(0, ROWS, every)]


@pytest.mark.parametrize(
    "shape",
    [
        lambda: {"channels": [{"name": x, "time": [p[0] for p in points(x)], "values": [p[1] for p in points(x)]}
                              for x in list(COLUMNS)[1:]]},
        lambda: {x: {"t": [p[0] for p in points(x)], "v": [p[1] for p in points(x)]} for x in list(COLUMNS)[1:]},
        lambda: {x: points(x) for x in list(COLUMNS)[1:]},
        lambda: {"data": {x: [{"t": t, "value": v} for t, v in points(x)] for x in list(COLUMNS)[1:]}},
        lambda: [{"signal": x, "points": points(x)} for x in list(COLUMNS)[1:]],
    ],
    ids=["list of channels", "by name", "pairs", "points", "list of pairs"],
)  # fmt: skip
def test_channels_of_json_have_moments_of_their_own(tmp_path: Path, shape: Callable[[], object]) -> None:
    log = of_file(tmp_path / "x.json", json.dumps(shape()))
    np.testing.assert_allclose(log.time.values, COLUMNS["Time (s)"], atol=0.001)
    for role, name in ROLES.items():
        label = next(each for each in COLUMNS if each.split(" (")[0] == name)
        assert log.roles.get(role) == label  # type: ignore[call-overload]
        np.testing.assert_allclose(log.playing(role), COLUMNS[label], atol=0.06)  # type: ignore[arg-type]


def test_channels_of_json_that_were_read_at_other_rates_keep_their_moments(tmp_path: Path) -> None:
    log = of_file(tmp_path / "x.json", json.dumps({x: points(x, 2 + (x == "Throttle (%)")) for x in list(COLUMNS)[1:]}))
    throttle = log.playing("throttle")
    assert throttle is not None
    known = np.isfinite(throttle)
    np.testing.assert_allclose(log.time.values[known], 0.1 * AT[::3], atol=0.001)


def database(path: Path, view: str) -> Path:
    connection = sqlite3.connect(path)
    connection.execute(f"CREATE TABLE raw ({', '.join(f'c{at}' for at in range(len(COLUMNS)))})")
    connection.executemany(
        f"INSERT INTO raw VALUES ({', '.join('?' * len(COLUMNS))})",
        [tuple(float(values[row]) for values in COLUMNS.values()) for row in range(ROWS)],
    )
    connection.execute(view)
    connection.commit()
    connection.close()
    return path


def test_a_view_that_names_the_columns_is_read(tmp_path: Path) -> None:
    named = ", ".join(f'c{at} AS "{label}"' for at, label in enumerate(COLUMNS))
    check(run(read_log(database(tmp_path / "x.sqlite", f"CREATE VIEW drive AS SELECT {named} FROM raw"))))


@pytest.mark.parametrize(
    "view",
    [
        "CREATE VIEW endless AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i, i * 2 FROM n",
        "CREATE VIEW foreign_ AS SELECT load_extension('x'), c0 FROM raw",
        "CREATE VIEW broken AS SELECT c0, gone FROM raw",
    ],
)
def test_a_view_that_does_not_end_or_may_not_run_is_left_alone(tmp_path: Path, view: str) -> None:
    path = database(tmp_path / "x.sqlite", view)
    log = run(read_log(path, units={"c0": "s"}, roles={"engine_speed": "c1"}))
    assert log.rows == ROWS
