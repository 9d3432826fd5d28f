"""What reading a log left open: asked, left out of the evidence until answered, and answered by one flag."""

from pathlib import Path

import numpy as np
import pytest

from workbench.commands.evidence.evidence import evidence
from workbench.commands.logs.inspection import inspect
from workbench.commands.logs.logs import add_log, amend_log
from workbench.commands.table.tables import new
from workbench.errors import InputError
from workbench.files.store.verifying import stored_problems
from workbench.model.log import Log
from workbench.session import Session
from workbench.work import run


def columns(car: Path, tmp_path: Path, name: str, change: str, factor: float, offset: float = 0.0) -> Path:
    """Write the drive with one column under another header and on another scale."""
    head, *rows = (line.split(",") for line in (car / "part_throttle_drive.csv").read_text().splitlines())
    at = next(number for number, cell in enumerate(head) if cell.startswith(name))
    head[at] = change
    for row in rows:
        row[at] = f"{factor * float(row[at]) + offset:.5f}"
    path = tmp_path / "odd.csv"
    path.write_text("\n".join(",".join(row) for row in (head, *rows)))
    return path


def ratio_of(session: Session) -> np.ndarray:
    found = run(evidence(session.state)).value
    return np.asarray(found.ratio)  # type: ignore[attr-defined] # evidence


def test_a_log_with_a_question_is_no_evidence_until_it_is_answered(car: Path, tmp_path: Path) -> None:
    path = columns(car, tmp_path, "Measured lambda", "AFR measured", 14.1)
    session_file = tmp_path / "car.session"
    new(session_file, car / "airflow_stale.csv", name="airflow")
    with Session.open(session_file) as session:
        answer = run(add_log(session.state, (path,)))
        session.record(answer.change)
        (question,) = answer.data["questions"]
        assert question["channel"] == "AFR measured"
        flags = [each["flag"] for each in question["alternatives"]]
        assert flags == ["--afr-of 'AFR measured=14.1'", "--afr-of 'AFR measured=14.7'"]
        assert all(each["means"] for each in question["alternatives"])
        with pytest.raises(InputError, match=r"AFR measured=14\.1"):
            run(evidence(session.state))
    with Session.open(session_file) as session:  # it is kept, and answered in another sitting
        assert session.state.drives[0].log.questions
        said = amend_log(session.state, 1, afr_of=("AFR measured=14.7",))
        session.record(said.change)
        (raised,) = session.state.drives[0].log.questions
        assert "more than a sensor is off" in raised.question
        assert raised.alternatives[-1].means.endswith("%: the mixture gets leaner.")
        session.record(amend_log(session.state, 1, role=("lambda_measured=AFR measured",)).change)
        wrong = ratio_of(session)
        told = [line for line in run(evidence(session.state)).lines if line.startswith("Caution: ")]
        assert any("the wideband reads 0.9" in line for line in told), "what was taken as it stands is not told again"
    with Session.open(session_file) as session:
        assert not session.state.drives[0].log.questions
        lambdas = session.state.drives[0].log.playing("lambda_measured")
        assert lambdas is not None
        assert float(np.nanmedian(lambdas)) == pytest.approx(1.005 * 14.1 / 14.7, abs=0.002)
        at_once = run(add_log(session.state, (path,), afr_of=("AFR measured=14.7",), again=True))
        assert "more than a sensor is off" in at_once.data["questions"][0]["question"]
        session.record(run(add_log(session.state, (path,), afr_of=("AFR measured=14.1",), again=True)).change)
        assert not session.state.drives[1].log.questions
        right = np.asarray(run(evidence(session.state, from_="2")).value.ratio)
    known = np.isfinite(right) & np.isfinite(wrong)
    assert float(np.median(wrong[known] / right[known])) == pytest.approx(14.1 / 14.7, abs=0.02)
    assert stored_problems(session_file) == ()


def test_a_gauge_that_is_scaled_for_another_fuel_is_answered_by_its_own_number(car: Path, tmp_path: Path) -> None:
    """Left out or used as it stands were the only answers, and used it leaned every cell by a tenth."""
    path = columns(car, tmp_path, "Measured lambda", "AFR measured", 13.2)
    new(tmp_path / "car.session", car / "airflow_stale.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        session.record(run(add_log(session.state, (path,))).change)
        (question,) = session.state.drives[0].log.questions
        assert "state its air-fuel ratio at lambda 1" in question.question
        offered = [each.flag for each in question.alternatives]
        assert offered[1] == "--afr-of 'AFR measured=13.2'"
        for ratio in (13.2, 13.3):
            log = session.state.derived(amend_log(session.state, 1, afr_of=(f"AFR measured={ratio}",)).value).log
            assert not log.questions
            lambdas = log.playing("lambda_measured")
            assert lambdas is not None
            assert float(np.nanmedian(lambdas)) == pytest.approx(1.005 * 13.2 / ratio, abs=0.002)
        # A wrong number first: what is asked then still takes the right one.
        session.record(amend_log(session.state, 1, afr_of=("AFR measured=13.9",)).change)
        (question,) = session.state.drives[0].log.questions
        assert "--afr-of 'AFR measured=13.2'" in [each.flag for each in question.alternatives]
        session.record(amend_log(session.state, 1, afr_of=("AFR measured=13.2",)).change)
        log = session.state.drives[0].log
        assert not log.questions
        lambdas = log.playing("lambda_measured")
        assert lambdas is not None
        assert float(np.nanmedian(lambdas)) == pytest.approx(1.005, abs=0.002)


def test_a_unit_that_was_stated_is_known_for_the_next_log_of_that_shape(car: Path, tmp_path: Path) -> None:
    path = columns(car, tmp_path, "Short trim bank 1", "Short trim bank 1 (%)", 0.01, 0.0002)
    session_file = tmp_path / "car.session"
    new(session_file, car / "airflow_stale.csv", name="airflow")
    with Session.open(session_file) as session:
        answer = run(add_log(session.state, (path,)))
        session.record(answer.change)
        assert answer.data["questions"]
        session.record(amend_log(session.state, 1, unit=("Short trim bank 1=fraction",)).change)
        again = run(add_log(session.state, (path,), again=True))
        assert again.data["questions"] == []
        first, second = session.state.drives[0].log, again.value[0].log  # type: ignore[index] # drives
        np.testing.assert_allclose(first.playing("stft_1"), second.playing("stft_1"))


def test_inspect_shows_what_is_asked(car: Path, tmp_path: Path) -> None:
    path = columns(car, tmp_path, "Fuel system status", "Loop status", 0.0, 1.0)
    text = path.read_text().splitlines()
    rows = [line.split(",") for line in text]
    at = rows[0].index("Loop status")
    short = next(number for number, cell in enumerate(rows[0]) if cell.startswith("Short trim"))
    for number, row in enumerate(rows[1:]):
        row[at], row[short] = str(number // 1000 % 2), "0"
    path.write_text("\n".join(",".join(row) for row in rows))
    answer = run(inspect(path))
    assert [each["channel"] for each in answer.data["questions"]] == ["Loop status"]
    assert any("Question: Loop status" in line for line in answer.lines)
    stated = run(inspect(path, role=("fuel_system=",)))
    assert isinstance(stated.value, Log)
    assert "fuel_system" not in stated.value.roles


def test_a_role_that_leaves_the_long_trim_out_raises_what_add_log_asks(car: Path, tmp_path: Path) -> None:
    """What add-log asks, amend-log let pass: the evidence ran without the long trim."""
    path = columns(car, tmp_path, "Short trim", "ST1 (%)", 1.0)
    new(tmp_path / "car.session", car / "airflow_stale.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        session.record(run(add_log(session.state, (path,))).change)
        session.record(amend_log(session.state, 1, role=("stft_1=", "ltft_1=")).change)
        name = next(each.name for each in session.state.drives[0].log.channels if each.name.startswith("ST1"))
        long = next(each.name for each in session.state.drives[0].log.channels if each.name.startswith("Long"))
        for stated in (f"ltft_1={long}", "ltft_1="):
            assert amend_log(session.state, 1, role=(f"stft_1={name}", stated)).value.log.questions == ()
        session.record(amend_log(session.state, 1, role=(f"stft_1={name}",)).change)
        (asked,) = session.state.drives[0].log.questions
        assert "without the long trim beside it" in asked.question
    with Session.open(tmp_path / "car.session") as session:
        assert session.state.drives[0].log.questions == (asked,)
        session.record(amend_log(session.state, 1, role=("ltft_1=",)).change)
        assert session.state.drives[0].log.questions == ()


def test_a_long_trim_that_moved_in_an_earlier_log_may_stand(car: Path, tmp_path: Path) -> None:
    """The channel lives: that it stands now is what a car reads whose table is right. Alone, it is asked about."""
    still = columns(car, tmp_path, "Long trim", "Long trim bank 1 (%)", 0.0)
    for earlier, asked in ((False, True), (True, False)):
        path = tmp_path / f"{earlier}.session"
        new(path, car / "airflow_stale.csv", name="airflow")
        with Session.open(path) as session:
            if earlier:
                session.record(run(add_log(session.state, (car / "part_throttle_drive.csv",))).change)
            session.record(run(add_log(session.state, (still,), again=True)).change)
            questions = session.state.drives[-1].log.questions
        assert any("stands at 0 % in every row" in each.question for each in questions) is asked
