"""The wideband is drawn where the solver takes its gas to have left the engine."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.logs.logs import add_log
from workbench.files.tables.tables import read_table
from workbench.maths.drives.delay_estimation import DEFAULT
from workbench.maths.evidence import gather_evidence
from workbench.maths.signals.disturbances import DRY
from workbench.maths.signals.ratio import signals
from workbench.maths.signals.sampling import read_drive
from workbench.maths.signals.series import filled
from workbench.model.log import Drive
from workbench.session import Session
from workbench.window.log.lane_data import prepare, usual_lanes
from workbench.window.scene.scene import Scene
from workbench.work import run


@pytest.fixture(scope="module")
def scene(car_files: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scene]:
    path = tmp_path_factory.mktemp("shift") / "car.session"
    with Session.create(path, read_table(car_files / "curve.csv")[0]) as session:
        session.record(run(add_log(session.state, (car_files / "curve_drive.csv",))).change)
        state = session.state
        found = run(gather_evidence(state.history, state.head(), state.drives, state.settings))
        yield Scene(state=state, evidence=found)


def without_airflow(drive: Drive) -> Drive:
    roles = {role: name for role, name in drive.log.roles.items() if role != "airflow"}
    return replace(drive, log=replace(drive.log, roles=roles))


@pytest.mark.parametrize("logged", [True, False], ids=["airflow logged", "airflow from the table"])
@pytest.mark.parametrize("source", ["estimated", "default"])
def test_the_wideband_is_drawn_where_the_solver_puts_it(scene: Scene, source: str, logged: bool) -> None:
    drive = scene.state.drives[0] if logged else without_airflow(scene.state.drives[0])
    delay = scene.evidence.delay[1] if source == "estimated" else DEFAULT
    assert delay.source == source
    shown = replace(
        scene,
        state=replace(scene.state, drives=(drive,)),
        evidence=replace(scene.evidence, delay={1: delay}),
    )
    shown = replace(shown, gathered_from=shown.sources)
    lanes = run(prepare(shown, drive.log, {}, usual_lanes(drive.log))).lanes
    (drawn,) = [trace for lane in lanes for trace in lane.traces if trace.delayed]
    table, gates = scene.state.history.revision(1).table, scene.state.settings.gates
    seen = signals(drive, table, gates)
    # Without the sensor's lag what the solver lays beside a reading is what the engine did at that very moment.
    solved = read_drive(seen, table, gates, replace(delay, lag_s=0.0), DRY, "wideband", "before")
    at_that_moment = np.interp(drawn.pyramid.time, seen.time, filled(seen.position[:, 0]))
    np.testing.assert_array_equal(at_that_moment, solved.position[:, 0])
    assert np.abs(drawn.pyramid.time - drive.log.time.values).max() > 0.05
