"""Where a statement cannot do what was meant, the sentence says what does: roles, gates, computed channels, axes."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from workbench.commands.evidence.evidence import evidence
from workbench.commands.logs.logs import add_log, amend_log
from workbench.commands.logs.stating import analogue_input, compute
from workbench.commands.record.settings import settings
from workbench.commands.table.axis_names import rename_axis
from workbench.errors import InputError
from workbench.files.tables.tables import read_table
from workbench.session import Session
from workbench.work import run

Make = Callable[..., Session]

T = np.arange(0, 120, 0.1)
EFFORT = 50 + 40 * np.sin(T / 5)
LAMBDA = np.where(EFFORT > 70, 0.9, np.where(EFFORT < 20, 1.2, 1.0)) + 0.01 * np.sin(3 * T)
COLUMNS = {
    "Time (s)": T,
    "Engine speed (rpm)": 1500 + 20 * EFFORT,
    "Hot wire (Hz)": 2000 + 60 * EFFORT,
    "Throttle (%)": EFFORT,
    "Wideband (V)": (LAMBDA - 0.68) / 0.136,
    "Lambda target (lambda)": np.ones_like(T),
    "Short trim (%)": 3 * np.sin(T),
    "Zero": np.where(T > 60, 1.0, 0.0),
}


@pytest.fixture
def make() -> Iterator[Make]:
    """Makes a session of a curve, under stated names; it is closed in the end."""
    with ExitStack() as opened:

        def made(place: Path, table: str = "Airflow sensor (Hz),Airflow (g/s)") -> Session:
            curve = place / "curve.csv"
            curve.write_text(f"{table}\n2000,5\n4000,20\n6000,60\n8000,150\n")
            return opened.enter_context(Session.create(place / "car.session", read_table(curve)[0]))

        yield made


def drive(place: Path, session: Session) -> Path:
    path = place / "drive.csv"
    rows = zip(*COLUMNS.values(), strict=True)
    path.write_text("\n".join([",".join(COLUMNS), *(",".join(f"{v:.4f}" for v in row) for row in rows)]) + "\n")
    session.record(run(add_log(session.state, (path,))).change)
    return path


def test_the_same_log_again_points_to_amending(make: Make, tmp_path: Path) -> None:
    session = make(tmp_path)
    path = drive(tmp_path, session)
    with pytest.raises(InputError, match="same content") as refused:
        run(add_log(session.state, (path,), role=("sensor_signal=Hot wire", "ltft_1=")))
    assert "amend-log" in (refused.value.hint or "")
    answer = amend_log(session.state, 1, role=("sensor_signal=Hot wire",))
    assert answer.value.log.roles["sensor_signal"] == "Hot wire"


@pytest.mark.parametrize("stated", [{"rate": 10.0}, {"window": 1.0}])
def test_files_of_one_drive_take_no_clock_that_is_stated(make: Make, tmp_path: Path, stated: dict[str, Any]) -> None:
    session = make(tmp_path)
    with pytest.raises(InputError, match="put together by their clocks"):
        run(add_log(session.state, (drive(tmp_path, session),) * 2, together=True, **stated))


def test_points_that_are_swapped_are_refused(make: Make, tmp_path: Path) -> None:
    session = make(tmp_path)
    drive(tmp_path, session)
    right = ("0=0.68", "5=1.36")
    told = analogue_input(session.state, "Wideband", point=right, unit="lambda", plays="lambda_measured")
    assert told.value is not None
    with pytest.raises(InputError, match="reads lean where the engine works hard"):
        analogue_input(session.state, "Wideband", point=("0=1.36", "5=0.68"), unit="lambda", plays="lambda_measured")


def test_a_division_by_0_is_told(make: Make, tmp_path: Path) -> None:
    session = make(tmp_path)
    drive(tmp_path, session)
    answer = compute(session.state, "Odd", '"Throttle" / "Zero"', unit="%")
    assert any("divides by 0" in line for line in answer.lines)
    assert not any("divides by 0" in line for line in compute(session.state, "Even", '2 * "Throttle"').lines)


def test_a_gate_on_the_error_itself_is_cautioned_against(make: Make, tmp_path: Path) -> None:
    session = make(tmp_path)
    drive(tmp_path, session)
    session.record(compute(session.state, "Off", '"Short trim" - 1', unit="%").change)
    assert any(
        "chooses samples by the mixture" in line for line in settings(session.state, gate_channel=("Off=-2:2",)).lines
    )
    assert not any("chooses samples" in line for line in settings(session.state, gate_channel=("Throttle=5:80",)).lines)


def test_an_axis_gets_another_name_and_unit(make: Make, tmp_path: Path) -> None:
    session = make(tmp_path, "Foo,Bar")
    table = session.state.table("")
    assert (table.axes[0].name, table.value_name, table.unit) == ("Foo", "Bar", "")
    session.record(rename_axis(session.state, "Airflow sensor", unit="Hz").change)
    assert session.state.table("").axes[0].label == "Airflow sensor (Hz)"
    np.testing.assert_array_equal(session.state.table("").values, table.values)
    with pytest.raises(InputError, match="already"):
        rename_axis(session.state, "Airflow sensor", unit="Hz")
    with pytest.raises(InputError, match="not known"):
        rename_axis(session.state, unit="furlongs")


def test_bare_units_are_still_a_header(tmp_path: Path) -> None:
    path = tmp_path / "curve.csv"
    path.write_text("Hz,g/s\n2000,5\n4000,20\n6000,60\n")
    assert read_table(path)[0].axes[0].unit == "Hz"


def test_channels_read_in_turn_are_told_to_be_logged_more_often_not_to_be_driven_otherwise(
    make: Make, tmp_path: Path
) -> None:
    session = make(tmp_path)
    names = ("Engine speed (rpm)", "Hot wire (Hz)", "Throttle (%)", "Short trim (%)")
    lines = []
    for at, moment in enumerate(np.arange(0, 600, 2.0)):
        cells = [""] * len(names)
        cells[at % len(names)] = f"{COLUMNS[names[at % len(names)]][at]:.4f}"
        lines.append(",".join([f"{moment:.1f}", *cells]))
    path = tmp_path / "turns.csv"
    path.write_text("\n".join([",".join(["Time (s)", *names]), *lines]) + "\n")
    session.record(run(add_log(session.state, (path,), role=("sensor_signal=Hot wire", "ltft_1="))).change)
    with pytest.raises(InputError, match="No sample of") as refused:
        run(evidence(session.state))
    assert "read several times a second" in (refused.value.hint or "")
    assert "Drive warm" not in (refused.value.hint or "")


OUT_OF_PLACE = [("Coolant (°C)", 0.4, "If the engine was warm"), ("Hot wire (Hz)", 0.01, "and the table goes from")]


@pytest.mark.parametrize(("name", "factor", "said"), OUT_OF_PLACE)
def test_a_channel_that_is_out_of_place_throughout_is_named_with_what_it_reads(
    make: Make, tmp_path: Path, name: str, factor: float, said: str
) -> None:
    session = make(tmp_path)
    kept = ("Time (s)", "Engine speed (rpm)", "Hot wire (Hz)", "Throttle (%)", "Short trim (%)")
    columns = {each: COLUMNS[each] for each in kept} | {"Coolant (°C)": 88 + np.sin(T)}
    columns[name] = columns[name] * factor
    rows = zip(*columns.values(), strict=True)
    path = tmp_path / "odd.csv"
    path.write_text("\n".join([",".join(columns), *(",".join(f"{v:.4f}" for v in row) for row in rows)]) + "\n")
    session.record(run(add_log(session.state, (path,), role=("sensor_signal=Hot wire", "ltft_1="))).change)
    with pytest.raises(InputError) as refused:
        run(evidence(session.state))
    assert said in (refused.value.hint or "")
    assert "amend-log SESSION 1 --unit" in (refused.value.hint or "")
