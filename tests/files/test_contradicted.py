"""Values that other channels say cannot be count as missing; a command that never moves is asked about."""

import math
from pathlib import Path

import numpy as np
import pytest

from workbench.files.course.unwritten_command import unwritten_in_closed_loop
from workbench.files.gaps.codes import blank_codes_of
from workbench.files.logs import read_log
from workbench.files.vocabulary.recording import Field
from workbench.model.log import Log
from workbench.work import run

HEAD = ("Time (s)", "Engine speed (rpm)", "Airflow (g/s)", "Throttle (%)", "Coolant temperature (°C)",
        "Fuel system status", "Commanded lambda (lambda)", "Measured lambda (lambda)", "Short trim (%)")  # fmt: skip


def log(tmp_path: Path, change: dict[str, tuple[range, str]], *, rich: float = 0.0) -> Log:
    """Write and read a drive, made up for this test, with some cells of some columns written otherwise."""
    rows = []
    for i in range(1200):
        pull = 500 <= i < 560
        cells = [f"{i / 10}", f"{2000 + 900 * math.sin(i / 40):.1f}",
                 f"{14 + 7 * math.sin(i / 40) + 5 * math.sin(i * 1.7):.2f}",
                 f"{17 + 9.3 * math.sin(i / 33) + 6 * math.sin(i * 1.9):.2f}", f"{80 + i // 120}", "4" if pull else "2",
                 f"{1 - rich * pull:.3f}", f"{(0.87 if pull else 1) + 0.02 * math.sin(i / 7):.3f}",
                 f"{3 * math.sin(i / 9):.2f}"]  # fmt: skip
        for name, (where, text) in change.items():
            if i in where:
                cells[HEAD.index(name)] = text
        rows.append(",".join(cells))
    path = tmp_path / "drive.csv"
    path.write_text("\n".join([",".join(HEAD), *rows]), encoding="utf-8")
    return run(read_log(path))


EVERY = range(7, 1190, 40)


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("Airflow (g/s)", "0", "with the engine running"),
        ("Throttle (%)", "-1", "nothing else below 0"),
        ("Commanded lambda (lambda)", "1.999", "in closed loop"),
        ("Coolant temperature (°C)", "0", "counts as missing"),
    ],
)
def test_what_cannot_be_counts_as_missing(tmp_path: Path, name: str, text: str, said: str) -> None:
    found = log(tmp_path, {name: (EVERY, text)}, rich=0.13)
    channel = found.channel(name.partition(" (")[0])
    assert channel is not None
    closed = [i for i in EVERY if not 500 <= i < 560]
    assert np.isnan(channel.values[closed]).all()
    assert np.isfinite(np.delete(channel.values, list(EVERY))).all()
    assert any(said in note for note in found.notes)


def test_a_command_that_never_moves_is_asked_about_where_the_engine_ran_rich(tmp_path: Path) -> None:
    (question,) = log(tmp_path, {}).questions
    assert "stands at 1 throughout" in question.question
    assert [each.flag for each in question.alternatives] == [
        "--role 'lambda_commanded=Commanded lambda'",
        "--role 'lambda_commanded='",
    ]
    assert not log(tmp_path, {}, rich=0.13).questions
    # On overrun the loop is open too, and what runs off the walls is rich for a moment.
    assert not log(tmp_path, {"Airflow (g/s)": (range(500, 560), "3.1")}).questions


@pytest.mark.parametrize(("name", "stays"), [("Throttle", True), ("Fahrpedal", True), ("Coolant temperature", False)])
def test_a_foot_on_the_floor_is_no_code_in_a_log_of_one_pull(name: str, *, stays: bool) -> None:
    """A polled throttle jumps from 12 % to the floor between two readings, and stands there to the last digit."""
    values = np.concatenate([np.linspace(5, 12, 300), np.full(150, 98.04), np.linspace(12, 5, 50)])
    found, notes = blank_codes_of(Field(name, "", values))
    assert np.isfinite(found.values).all() == stays
    assert (not notes) == stays


def test_a_command_that_is_not_written_in_closed_loop_is_1_there(tmp_path: Path) -> None:
    """The evidence of closed loop was lost."""
    closed = {"Commanded lambda (lambda)": (range(500), "0")}
    found = log(tmp_path, closed, rich=0.13)
    commanded = found.playing("lambda_commanded")
    assert commanded is not None
    np.testing.assert_array_equal(commanded[:500], 1.0)
    assert any("written in open loop only" in note for note in found.notes)


def test_a_command_that_is_empty_in_closed_loop_is_1_there() -> None:
    rows = np.arange(600)
    enriched = rows % 100 > 80
    status = np.where(enriched, 4.0, 2.0)
    told = unwritten_in_closed_loop(np.where(enriched, 0.88, np.nan), status)
    assert told is not None
    np.testing.assert_array_equal(told, ~enriched)
    polled = np.where(rows % 2 == 0, np.where(enriched, 0.88, 1.0), np.nan)
    for commanded, state in (
        (polled, status),
        (np.where(enriched, 0.88, np.nan), None),
        (np.where(enriched, np.nan, 1.0), status),
    ):
        assert unwritten_in_closed_loop(commanded, state) is None


def test_a_command_of_0_elsewhere_is_none() -> None:
    rows = np.arange(600)
    enriched, cut = rows % 100 > 80, rows % 100 < 20
    closed = np.where(enriched, 0.88, 0.0)
    status = np.where(enriched, 4.0, 2.0)
    for state in (status, None):
        told = unwritten_in_closed_loop(closed, state)
        assert told is not None
        np.testing.assert_array_equal(told, ~enriched)
    in_cut = np.where(cut, 0.0, np.where(enriched, 0.88, 1.0))
    for state in (np.where(cut | enriched, 4.0, 2.0), None):
        assert unwritten_in_closed_loop(in_cut, state) is None
