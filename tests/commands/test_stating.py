"""What is said of channels for all logs of a session: inputs that are scaled, and channels computed from others."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.evidence.evidence import evidence
from workbench.commands.logs.inspection import inspect
from workbench.commands.logs.logs import add_log, amend_log
from workbench.commands.logs.stating import analogue_input, compute
from workbench.commands.record.undoing import redo, undo
from workbench.commands.table.tables import new
from workbench.errors import InputError, WorkbenchError
from workbench.model.derived import ComputedChannel, with_computed
from workbench.model.log import Log
from workbench.model.packing import Column
from workbench.session import Session
from workbench.work import run

VOLTS = "Wideband output"


def in_volts(car: Path, path: Path, *, drop: int = 0, unit: str = "V", name: str = VOLTS, by: float = 1.0) -> Path:
    """Write the drive with its lambda as the output of a wideband: 0 V at 0.68, 5 V at 1.36."""
    head, *rows = (line.split(",") for line in (car / "part_throttle_drive.csv").read_text().splitlines())
    at = head.index("Measured lambda (lambda)")
    head[at] = f"{name} ({unit})" if unit else name
    for row in rows:
        row[at] = f"{by * (float(row[at]) - 0.68) / 0.68 * 5:.4f}"
    path.write_text("\n".join(",".join(row) for row in (head, *rows[drop:])))
    return path


@pytest.fixture
def session(car: Path, tmp_path: Path) -> Iterator[Session]:
    new(tmp_path / "car.session", car / "airflow_stale.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as opened:
        opened.record(run(add_log(opened.state, (in_volts(car, tmp_path / "volts.csv"),))).change)
        yield opened


def log_of(session: Session, number: int = 1) -> Log:
    return session.state.drive(number).log


def scale(session: Session, *points: str, **more: str) -> None:
    given = {"unit": "lambda", "plays": "lambda_measured", **more}
    session.record(analogue_input(session.state, VOLTS, point=points or ("0=0.68", "5=1.36"), **given).change)


def test_a_wideband_in_volts_is_asked_about_until_it_is_scaled(car: Path, session: Session) -> None:
    (question,) = log_of(session).questions
    assert VOLTS in question.question
    assert question.is_of_scaling
    session.record(amend_log(session.state, 1, wideband="after").change)  # something else leaves it open
    assert log_of(session).questions
    with pytest.raises(InputError, match="analogue-input"):
        run(evidence(session.state))
    scale(session)
    log = log_of(session)
    assert not log.questions
    assert log.roles["lambda_measured"] == VOLTS
    known = run(inspect(car / "part_throttle_drive.csv")).value
    assert np.allclose(log.playing("lambda_measured"), known.playing("lambda_measured"), atol=1e-4, equal_nan=True)
    assert run(evidence(session.state)).value.samples_used > 1000


def test_it_can_be_left_out_by_one_flag(session: Session) -> None:
    flag = log_of(session).questions[0].alternatives[1].flag
    assert flag == f"--unit '{VOLTS}=V'"
    session.record(amend_log(session.state, 1, unit=(f"{VOLTS}=V",)).change)
    assert not log_of(session).questions
    assert "lambda_measured" not in log_of(session).roles
    assert run(evidence(session.state)).value.samples_used > 1000  # the trims alone


def test_counts_are_asked_about_too_and_a_narrow_band_sensor_is_not(car: Path, tmp_path: Path) -> None:
    counts = run(inspect(in_volts(car, tmp_path / "c.csv", unit="", name="Wideband raw", by=200.0))).value
    assert [each.channel for each in counts.questions] == ["Wideband raw"]
    narrow = run(inspect(in_volts(car, tmp_path / "n.csv", name="Lambda voltage", by=0.1))).value
    assert not narrow.questions
    clear = run(
        inspect(in_volts(car, tmp_path / "r.csv", unit="", name="Wideband raw", by=200.0), role=("lambda_measured=",))
    )
    assert not clear.value.questions


def test_the_scaling_holds_for_later_logs_of_that_name_and_unit(car: Path, session: Session, tmp_path: Path) -> None:
    scale(session)
    answer = run(add_log(session.state, (in_volts(car, tmp_path / "later.csv", drop=50),), again=True))
    assert not answer.data["questions"]
    assert any("0 to 5 V reads 0.68 to 1.36 lambda" in line for line in answer.lines)
    session.record(answer.change)
    assert log_of(session, 2).roles["lambda_measured"] == VOLTS
    assert answer.change.drives[0].log.channel(VOLTS).unit == "V"  # what is kept is what was logged
    other = run(
        add_log(session.state, (in_volts(car, tmp_path / "milli.csv", drop=99, unit="mV", by=1000.0),), again=True)
    )
    session.record(other.change)
    assert float(np.nanmedian(log_of(session, 3).playing("lambda_measured"))) == pytest.approx(1.0, abs=0.05)


def test_it_is_undone_done_again_replaced_cleared_and_kept(session: Session, tmp_path: Path) -> None:
    as_read = session.state.drive(1).log
    scale(session)
    scale(session, "0=0.5", "5=1.5")
    assert log_of(session).channel(VOLTS).instrument.points == ((0.0, 0.5), (5.0, 1.5))  # type: ignore[union-attr]
    session.record(undo(session.state).change)
    assert log_of(session).channel(VOLTS).instrument.points == ((0.0, 0.68), (5.0, 1.36))  # type: ignore[union-attr]
    answer = undo(session.state)
    assert answer.lines == (f"Undone: the scaling of '{VOLTS}'.",)
    session.record(answer.change)
    assert log_of(session).questions == as_read.questions
    assert log_of(session).channels == as_read.channels
    session.record(redo(session.state).change)
    assert log_of(session).channel(VOLTS).unit == "lambda"  # type: ignore[union-attr]
    with Session.open(tmp_path / "car.session") as again:
        assert log_of(again).channel(VOLTS).unit == "lambda"  # type: ignore[union-attr]
        assert again.state.inputs == session.state.inputs
    session.record(analogue_input(session.state, VOLTS, as_logged=True).change)
    assert log_of(session).channel(VOLTS).unit == "V"  # type: ignore[union-attr]
    assert analogue_input(session.state, VOLTS, as_logged=True).change is None


def test_factor_offset_curve_and_other_units_come_to_the_same(car: Path, session: Session, tmp_path: Path) -> None:
    scale(session)
    expected = log_of(session).playing("lambda_measured")
    curve = tmp_path / "curve.csv"
    curve.write_text("Output (mV),Lambda (lambda)\n0,0.68\n2500,1.02\n5000,1.36\n")
    afr = session.state.settings.stoichiometric_afr
    for given in (
        {"factor": 0.136, "offset": 0.68, "unit": "lambda"},
        {"point": ("5000 mV=1,36", "0 V=0,68"), "unit": "lambda"},
        {"point": (f"0={0.68 * afr}", f"5={1.36 * afr}"), "unit": "AFR"},
        {"curve": curve},
    ):
        made = analogue_input(session.state, VOLTS, plays="lambda_measured", **given).value  # type: ignore[arg-type]
        assert made is not None
        found = made.scaled(session.state.drive(1).as_read.channel(VOLTS).values)  # type: ignore[union-attr]
        known = np.isfinite(found)
        assert known.mean() > 0.5  # a curve says nothing of fuel cuts, beyond its ends
        assert expected is not None
        assert np.allclose(found[known], expected[known])


def test_a_curve_says_nothing_beyond_its_ends(session: Session) -> None:
    made = analogue_input(session.state, VOLTS, point=("0=0.68", "2=1", "5=1.36"), unit="lambda").value
    assert made is not None
    assert np.isfinite(made.scaled(np.array([-0.1, 0.0, 5.0, 5.1]))).all()
    assert np.isnan(made.scaled(np.array([-0.2, 5.2, np.nan]))).all()


def test_a_tolerance_is_kept_and_told_at_each_reading(session: Session) -> None:
    assert log_of(session).tolerance("lambda_measured") is None
    scale(session, tolerance="1.5%")
    told, values = log_of(session).tolerance("lambda_measured"), log_of(session).playing("lambda_measured")
    assert told is not None
    assert values is not None
    assert np.allclose(told, 0.015 * values, equal_nan=True)
    scale(session, "0=10", "5=20", tolerance="0.147", unit="AFR")
    told = log_of(session).tolerance("lambda_measured")
    assert told is not None
    assert np.nanmedian(told) == pytest.approx(0.01)
    answer = analogue_input(session.state, "Coolant temperature", tolerance="2")
    assert answer.lines == ("Coolant temperature may be off by 2 degC.",)
    session.record(answer.change)
    told = log_of(session).tolerance("coolant_temperature")
    assert told is not None
    assert float(told[0]) == 2.0


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({"point": ("0=0.68",), "unit": "lambda"}, "One point"),
        ({"point": ("0=0.68", "5=1.36")}, "unit of what"),
        ({"point": ("0=0.68", "0=1.36"), "unit": "lambda"}, "same logged"),
        ({"point": ("0=1", "5=1"), "unit": "lambda"}, "measure the same"),
        ({"point": ("0=0.68", "5000=1.36"), "unit": "lambda"}, "do not fit"),
        ({"point": ("50=0.68", "100=1.36"), "unit": "lambda"}, "do not fit"),
        ({"point": ("0 rpm=0.68", "5=1.36"), "unit": "lambda"}, "no unit in which"),
        ({"point": ("zero=0.68", "5=1.36"), "unit": "lambda"}, "cannot be read"),
        ({"point": ("0=10", "5=20"), "unit": "lambda", "plays": "lambda_measured"}, "which no lambda_measured"),
        ({"point": ("0=10", "5=20"), "unit": "kPa", "plays": "lambda_measured"}, "cannot be lambda_measured"),
        ({"factor": 0.0, "unit": "lambda"}, "factor of 0"),
        ({"factor": 1.0, "point": ("0=1", "5=2")}, "more than one way"),
        ({"point": ("0=0.68", "5=1.36"), "unit": "cubits"}, "not known"),
        ({"tolerance": "a bit"}, "tolerance"),
        ({"tolerance": "0.1", "unit": "lambda"}, "is logged in V"),
        ({}, "Nothing is said"),
    ],
)
def test_what_cannot_be_is_refused(session: Session, given: dict[str, object], why: str) -> None:
    with pytest.raises(WorkbenchError, match=why):
        analogue_input(session.state, VOLTS, **given)  # type: ignore[arg-type]


def test_a_channel_that_is_not_there_is_named(session: Session) -> None:
    with pytest.raises(InputError, match="No log of this session has a channel 'Wide'"):
        analogue_input(session.state, "Wide", tolerance="1")


def test_a_computed_channel_plays_a_role_and_is_undone(session: Session, tmp_path: Path) -> None:
    answer = compute(session.state, "Lambda", f"'{VOLTS}' * 0.136 + 0.68")
    assert answer.value is not None
    assert answer.value.unit == "V"
    answer = compute(session.state, "Plain", "0.136 * 'Throttle' / 'Throttle'")
    assert answer.value is not None
    assert answer.value.unit == ""
    scale(session)
    text = "100 * (lambda_measured / lambda_commanded - 1)"
    session.record(compute(session.state, "Lambda error", text, unit="%").change)
    log = log_of(session)
    channel, measured, commanded = (log.channel(n) for n in ("Lambda error", VOLTS, "Commanded lambda"))
    assert channel is not None
    assert measured is not None
    assert commanded is not None
    assert channel.computed
    assert channel.unit == "%"
    assert np.allclose(channel.values, 100 * (measured.values / commanded.values - 1), equal_nan=True)
    assert channel.values is channel.values  # worked out once
    with Session.open(tmp_path / "car.session") as again:
        assert np.array_equal(log_of(again).channel("Lambda error").values, channel.values, equal_nan=True)  # type: ignore[union-attr]
    undone = undo(session.state)
    assert undone.lines == ("Undone: the computed channel 'Lambda error'.",)
    session.record(undone.change)
    assert log_of(session).channel("Lambda error") is None
    session.record(redo(session.state).change)
    session.record(compute(session.state, "Lambda error", remove=True).change)
    assert log_of(session).channel("Lambda error") is None


def test_a_role_given_to_a_computed_channel_counts_and_falls_with_it(session: Session) -> None:
    session.record(amend_log(session.state, 1, unit=(f"{VOLTS}=V",)).change)
    made = compute(
        session.state, "Lambda", f"'{VOLTS}' / 'Battery voltage' * 0 + 1.02", unit="lambda", plays="lambda_measured"
    )
    session.record(made.change)
    assert log_of(session).roles["lambda_measured"] == "Lambda"
    with pytest.raises(InputError, match="compute"):
        amend_log(session.state, 1, role=("lambda_measured=",))
    with pytest.raises(InputError, match="as stated for this session"):
        amend_log(session.state, 1, unit=("Lambda=AFR",))
    session.record(undo(session.state).change)
    assert "lambda_measured" not in log_of(session).roles


def test_computed_channels_rest_on_one_another_in_any_order_and_never_in_a_circle(session: Session) -> None:
    session.record(compute(session.state, "one", "'Throttle' * 2").change)
    session.record(compute(session.state, "two", "one + 1").change)
    session.record(compute(session.state, "one", "'Throttle' * 3").change)
    two, throttle = log_of(session).channel("two"), log_of(session).channel("Throttle")
    assert two is not None
    assert throttle is not None
    assert np.allclose(two.values, throttle.values * 3 + 1, equal_nan=True)
    with pytest.raises(InputError, match="circle"):
        compute(session.state, "one", "two + 1")
    with pytest.raises(InputError, match="from itself"):
        compute(session.state, "one", "one + 1")


def test_a_computed_channel_has_no_more_readings_than_what_it_rests_on(session: Session) -> None:
    drive = session.state.drive(1)
    rare = drive.log.channel("Coolant temperature")
    assert rare is not None
    log = drive.log
    holes = rare.values.copy()
    holes[np.arange(holes.size) % 7 != 0] = np.nan
    thin = replace(log, channels=tuple(replace(c, column=Column(holes)) if c is rare else c for c in log.channels))
    found = with_computed(thin, {"x": ComputedChannel("x", "'Coolant temperature' + 0 * 'Engine speed'", "degC")})
    channel = found.channel("x")
    assert channel is not None
    assert np.array_equal(np.isfinite(channel.values), np.isfinite(holes))


@pytest.mark.parametrize(
    ("name", "text", "given", "why"),
    [
        ("x", "'Nothing' + 1", {}, "No log has a channel or a role 'Nothing'"),
        ("x", "Throttle + Airflow", {}, "adds % and g/s"),
        ("Throttle", "Airflow * 2", {}, "has a channel 'Throttle' already"),
        ("", "Airflow * 2", {}, "no name for a channel"),
        ("x", "Airflow / Airflow", {"plays": "lambda_measured"}, "has no unit"),
        ("x", "Airflow * 2", {"plays": "lambda_measured"}, "cannot be lambda_measured"),
        ("x", "Airflow * 2", {"plays": "nothing"}, "role"),
        ("x", "", {}, "1 to"),
        ("x", "", {"remove": True}, "No channel 'x' is computed"),
    ],
)
def test_what_cannot_be_computed_is_refused(
    session: Session, name: str, text: str, given: dict[str, object], why: str
) -> None:
    with pytest.raises(InputError, match=why):
        compute(session.state, name, text, **given)  # type: ignore[arg-type]


def test_a_log_without_the_channels_does_without(car: Path, session: Session) -> None:
    session.record(run(add_log(session.state, (car / "pulls_drive.csv",))).change)
    answer = compute(session.state, "x", f"'{VOLTS}' * 2")
    assert answer.lines[-1] == f"Log 2 does not have it: no channel '{VOLTS}'."
    assert answer.data["logs"] == [1]
