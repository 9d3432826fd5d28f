"""What is stated as a log is added and what is stated of it afterwards come to the same: questions and evidence."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from field.car import HERTZ, STALE, drive
from field.shape import Col, col, log, std

from workbench.commands.evidence.evidence import evidence
from workbench.commands.logs.answers import answer
from workbench.commands.logs.logs import add_log, amend_log
from workbench.commands.table.tables import new
from workbench.errors import InputError
from workbench.model.log import Alternative, Drive, Question, typed_flag
from workbench.session import Session
from workbench.work import run

SHORT, LONG, FLOW = "Short trim bank 1", "Long trim bank 1", "Airflow sensor"
# The columns; roles and units that are stated.
CASES: dict[str, tuple[list[Col], tuple[str, ...], tuple[str, ...]]] = {
    "short trim alone is named": (std(col("stft", "K1"), col("ltft", "K2")), ("stft_1=K1",), ()),
    "both are named": (std(col("stft", "K1"), col("ltft", "K2")), ("stft_1=K1", "ltft_1=K2"), ()),
    "the wrong one is named": (std(col("stft", "K1"), col("ltft", "K2")), ("stft_1=K2",), ()),
    "exchanged, one is stated": (std(col("stft", LONG), col("ltft", SHORT)), (f"stft_1={LONG}",), ()),
    "exchanged, both are stated": (
        std(col("stft", LONG), col("ltft", SHORT)),
        (f"stft_1={LONG}", f"ltft_1={SHORT}"),
        (),
    ),
    "no trim is at work": (std(drop="stft ltft"), ("stft_1=",), ()),
    "signs are turned": (
        std(col("stft", convert=lambda v: -v), col("ltft", convert=lambda v: -v)),
        (),
        (f"{SHORT}=turned", f"{LONG}=turned"),
    ),
    "one sign is turned": (std(col("stft", convert=lambda v: -v)), (), (f"{SHORT}=turned",)),
    "sensor is named": (std(col("hz", "Kanal 7", "")), ("sensor_signal=Kanal 7",), ()),
    "coolant is in degF": (std(col("coolant", "Coolant", "", lambda v: 1.8 * v + 32)), (), ("Coolant=degF",)),
    "nothing is wrong": (std(), (f"stft_1={SHORT}",), ()),
    "the sensor plays nothing": (std(), ("sensor_signal=",), ()),
    "wideband is left out": (std(), ("lambda_measured=",), ()),
}


def outcome(session: Session) -> tuple[set[str], list[float] | str]:
    log_ = session.state.drives[0].log
    asked = {each.flag for question in log_.questions for each in question.alternatives}
    try:
        found = run(evidence(session.state)).value
    except InputError as refusal:
        return asked, refusal.message
    return asked, np.round(found.ratio, 9).tolist()  # type: ignore[attr-defined,no-any-return] # evidence


@pytest.mark.parametrize("case", CASES)
def test_to_add_with_statements_is_to_add_and_then_to_state(tmp_path: Path, case: str) -> None:
    """Asked when it was added, a long trim that was not named went without a word when that was stated later: -6 %."""
    columns, roles, units = CASES[case]
    path = tmp_path / "drive.csv"
    path.write_bytes(log(columns).files["drive.csv"])
    table = tmp_path / "airflow.csv"
    rows = "\n".join(f"{x:.6g},{y:.6g}" for x, y in zip(HERTZ, STALE, strict=True))
    table.write_text(f"Airflow sensor (Hz),Airflow (g/s)\n{rows}\n")
    found = []
    for at_once in (True, False):
        new(tmp_path / f"{at_once}.session", table, name="airflow")
        with Session.open(tmp_path / f"{at_once}.session") as session:
            stated = (roles, units) if at_once else ((), ())
            session.record(run(add_log(session.state, (path,), role=stated[0], unit=stated[1])).change)
            if not at_once and (said := amend_log(session.state, 1, role=roles, unit=units)).change is not None:
                session.record(said.change)
            found.append(outcome(session))
    (asked, evidence_now), (asked_later, evidence_later) = found
    assert asked_later == asked
    if isinstance(evidence_now, str) or isinstance(evidence_later, str):
        assert evidence_later == evidence_now
    else:  # degF turned into degC twice may fall on the other side of a gate in single rows
        np.testing.assert_allclose(evidence_later, evidence_now, atol=6e-4)  # type: ignore[arg-type]


def test_the_drive_tells_what_it_is_named() -> None:
    """The cases above rest on a drive whose trims move."""
    assert np.ptp(drive()["ltft"]) > 1


def test_one_answer_may_restate_another_channel_than_the_one_asked_about(make_drive: Callable[..., Drive]) -> None:
    """Of two trims one is in another scale: one question, and what it says of the short one counts for that."""
    other = 'weird, "name"'
    ways = (
        Alternative("as-logged", typed_flag("unit", "MAF", "as-logged"), "Both count."),
        Alternative("times-2", typed_flag("unit", other, "times-2"), "That one counts twice.", "%", 2.0),
    )
    drive = make_drive()
    asked = Drive(1, replace(drive.log, questions=(Question("MAF", "Which?", ways),)), 1, "auto", "")
    given = answer(asked, {other: "times-2"}, {}, {}, frozenset({"MAF"}))
    assert given.answered == ("Which?",)
    assert given.reread[other].factor == 2.0
    assert "MAF" not in given.reread
