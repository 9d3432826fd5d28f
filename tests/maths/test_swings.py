"""Where trims alone count: the loop swings about its target, whatever a long trim learned at other speeds and loads."""

import numpy as np

from workbench.maths.drives.delay_estimation import DEFAULT
from workbench.maths.signals.disturbances import DRY
from workbench.maths.signals.ratio import signals
from workbench.maths.signals.sampling import _swings_around, read_drive
from workbench.maths.signals.series import turning_points
from workbench.model.arrays import FloatArray
from workbench.model.gate import Gates
from workbench.model.log import Channel, Drive, Log, Role
from workbench.model.packing import Column
from workbench.model.table import Axis, Table

STEP, SWING = 0.05, 1.0
TIME = np.arange(400) * STEP
LOOP = 0.02 * (2 * np.abs((TIME / SWING) % 1 - 0.5) - 0.5)
NOWHERE = np.zeros(TIME.size, dtype=np.bool_)


def test_a_loop_that_swings_holds_its_target() -> None:
    held = _swings_around(turning_points(LOOP), NOWHERE, TIME, SWING)
    assert held[20:-20].all()


def test_a_loop_that_still_climbs_does_not_though_a_long_trim_jumps_up_and_down() -> None:
    climbing = 0.002 * np.arange(TIME.size)
    long_trim = np.where((TIME // 0.4) % 2 > 0, 0.1, 0.0)
    assert _swings_around(turning_points(climbing + long_trim), NOWHERE, TIME, SWING)[20:-20].any()
    assert not _swings_around(turning_points(climbing), NOWHERE, TIME, SWING).any()


def test_after_another_long_trim_began_to_act_the_loop_must_turn_anew() -> None:
    jumps = NOWHERE.copy()
    jumps[200] = True
    held = _swings_around(turning_points(LOOP), jumps, TIME, SWING)
    assert not held[np.abs(TIME - 10.0) < 0.49].any()
    assert held[TIME > 11.1][:-20].all()
    assert held[TIME < 9.4][20:].all()


def stop_and_go() -> tuple[Drive, FloatArray]:
    """Make a drive with a right table whose throttle opens and shuts, walls that wet, and a loop that tells only signs.

    The loop's trim is a jump and a ramp on the sign of the mixture that its sensor saw a quarter of a second before.
    """
    time = np.arange(0.0, 400.0, STEP)
    phase = time % 12
    flow = np.where(time < 150, 4.0, np.interp(phase, (0, 0.3, 3.0, 3.3, 12), (4.0, 16.0, 16.0, 4.0, 4.0)))
    trim, wet, ramp = np.zeros(time.size), 0.06 * 4.0 * 0.6, 0.0
    mixture, seen = np.ones(time.size), np.random.default_rng(5).normal(1.0, 0.004, time.size)
    for row in range(time.size):
        sensor = np.sign(seen[row] - mixture[row - 5]) if row > 5 else 1.0
        ramp -= 0.02 * sensor * STEP
        trim[row] = ramp - 0.01 * sensor
        injected = flow[row] * (1 + trim[row])
        from_walls = wet / 0.6
        wet += STEP * (0.06 * injected - from_walls)
        mixture[row] = flow[row] / (0.94 * injected + from_walls)
    columns: dict[Role, FloatArray] = {
        "sensor_signal": 500 * np.sqrt(flow),
        "airflow": flow,
        "engine_speed": np.full(time.size, 2000.0),
        "coolant_temperature": np.full(time.size, 88.0),
        "throttle": 2 * flow,
        "fuel_system": np.full(time.size, 2.0),
        "lambda_commanded": np.ones(time.size),
        "stft_1": 100 * trim,
        "ltft_1": np.zeros(time.size),
    }
    channels = tuple(Channel(role, "", Column(values)) for role, values in columns.items())
    return Drive(1, Log("made.csv", "", Column(time), channels, {role: role for role in columns}), 1), time


def test_trims_that_still_answer_a_tip_in_count_little_and_what_they_are_off_by_is_known_in_kind() -> None:
    drive, time = stop_and_go()
    nodes = np.linspace(800.0, 2200.0, 15)
    curve = Table("flow", "airflow", "g/s", (Axis("signal", "Hz", nodes),), (nodes / 500) ** 2)
    read = read_drive(signals(drive, curve, Gates()), curve, Gates(), DEFAULT, DRY, "trims", "none")
    off = read.ratio - 1
    calm, upset = (read.kept & rows for rows in ((time > 20) & (time < 150), (time > 160) & (time % 12 < 3)))
    assert upset.sum() > 100
    assert np.sqrt(np.mean(off[upset] ** 2)) > 4 * np.sqrt(np.mean(off[calm] ** 2))
    assert read.weight[upset].mean() < 0.4
    assert read.weight[calm].mean() > 0.95
    after = read.kept & (time > 160)
    assert np.corrcoef(read.answered[after], off[after])[0, 1] > 0.5
    assert np.abs(read.answered[calm]).max() < 0.05
