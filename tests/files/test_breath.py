"""Engine speed, pressure and airflow that no engine has as they are named; commands left blank; trims of two names."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from field.car import drive
from field.shape import Col, col, log, std

from workbench.files.logs import read_log
from workbench.model.arrays import FloatArray
from workbench.model.log import Log
from workbench.work import run

Turn = Callable[[FloatArray], FloatArray]


def read(folder: Path, columns: list[Col], **stated: dict[str, str]) -> Log:
    path = folder / "drive.csv"
    path.write_bytes(log(columns).files["drive.csv"])
    return run(read_log(path, **stated))  # type: ignore[arg-type] # roles and units


def asked(made: Log) -> dict[str, str]:
    return {each.channel: each.question for each in made.questions}


@pytest.mark.parametrize(
    ("key", "turn", "channel", "said"),
    [
        ("rpm", lambda v: v / 2, "Engine speed", "a part of the turns"),
        ("rpm", lambda v: v / 3, "Engine speed", "a part of the turns"),
        ("map", lambda v: v + 9 * (v > 90) + 2, "Manifold pressure", "Is the engine charged?"),
        ("map", lambda v: 92 + v / 20, "Manifold pressure", "with the throttle shut"),
        ("rpm", lambda v: v, "", ""),
        ("map", lambda v: v, "", ""),
    ],
)
def test_what_no_engine_does_is_asked_about(tmp_path: Path, key: str, turn: Turn, channel: str, said: str) -> None:
    found = asked(read(tmp_path, [*std(col(key, convert=turn), drop="maf"), col("baro")]))
    assert said in found.get(channel, "")
    assert set(found) <= {channel}


def test_an_engine_speed_that_counts_a_part_is_put_right_by_one_answer(tmp_path: Path) -> None:
    halved = std(col("rpm", convert=lambda v: v / 2))
    made = read(tmp_path, halved, units={"Engine speed": "times-2"})
    assert made.questions == ()
    np.testing.assert_allclose(made.playing("engine_speed"), drive()["rpm"], atol=0.6)  # type: ignore[arg-type]


def test_an_airflow_that_holds_the_trims_is_asked_about(tmp_path: Path) -> None:
    """It moved cells by 7 %, as another table's airflow does not."""
    trims = (1 + drive()["stft"] / 100) * (1 + drive()["ltft"] / 100)
    found = asked(read(tmp_path, std(col("maf", convert=lambda v: v * trims))))
    assert "does it hold the trims already?" in found["Airflow"]


def test_two_long_trims_that_differ_are_both_named(tmp_path: Path) -> None:
    """A dead one was preferred in silence to one that moves: every cell was 9 % off."""
    idle = col("ltft", "LTFT idle", "%", lambda v: np.full(v.size, -3.1))
    made = read(tmp_path, [*std(drop="ltft"), idle, col("ltft", "LTFT cruise", "%")])
    flags = {each.flag for question in made.questions for each in question.alternatives}
    assert flags == {"--role 'ltft_1=LTFT idle'", "--role 'ltft_1=LTFT cruise'"}
    assert read(tmp_path, std()).questions == ()


def test_two_long_trims_that_both_move_are_said_to_be_none_throughout(tmp_path: Path) -> None:
    """One of "idle" and "load" was taken for the load: every cell was up to 7 % off without a word."""
    idle = col("ltft", "LTFT idle", "%", lambda v: v / 2 - 3)
    made = read(tmp_path, [*std(drop="ltft"), idle, col("ltft", "LTFT load", "%")])
    assert "LTFT load" not in {name for role, name in made.roles.items() if role == "load"}
    (question,) = made.questions
    assert "LTFT idle and LTFT load both move" in question.question
    assert "parameters 07 and 09" in question.question
    assert {each.answer for each in question.alternatives} == {"LTFT idle", "LTFT load"}


def test_a_command_that_is_blank_in_closed_loop_is_that_of_a_loop(tmp_path: Path) -> None:
    """Nine tenths of the evidence went without a word."""
    closed = drive()["status"] == 2
    blank = std(col("cmd", convert=lambda v: np.where(closed, np.nan, v)))
    made = read(tmp_path, blank)
    commanded = made.playing("lambda_commanded")
    assert commanded is not None
    np.testing.assert_allclose(commanded[closed], 1.0)
    assert any("empty in closed loop, which is taken to hold lambda 1" in note for note in made.notes)


def test_a_channel_whose_role_was_cleared_feeds_no_axis(tmp_path: Path) -> None:
    from workbench.errors import InputError
    from workbench.maths.signals.axes import axis_signal
    from workbench.model.table import Axis

    axis = Axis("Airflow sensor", "Hz", np.array([2000.0, 9000.0]))
    assert axis_signal(axis, read(tmp_path, std())) is not None
    with pytest.raises(InputError, match="no channel for the axis"):
        axis_signal(axis, read(tmp_path, std(), roles={"sensor_signal": ""}))
