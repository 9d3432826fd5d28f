"""A wrong answer is not taken in silence: what speaks against it is asked once more, and a person may insist."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from field.car import HERTZ, STALE
from field.shape import Col, col, edit, log, rows, std

from workbench.commands.evidence.evidence import evidence
from workbench.commands.logs.logs import add_log, amend_log
from workbench.commands.record.undoing import undo
from workbench.commands.table.tables import new
from workbench.errors import InputError
from workbench.model.log import Log, Question
from workbench.model.state import DriveCorrected
from workbench.session import Session
from workbench.work import run

SHORT, LONG, LAMBDA = "Short trim bank 1", "Long trim bank 1", "Measured lambda"
Flags = tuple[str, ...]


def sided(c: Col) -> Col:
    """Write a size and a word in the place of a sign."""
    return replace(c, cells=tuple(f"{text[1:]} R" if text.startswith("-") else f"{text} L" for text in c.cells))


def by(factor: float, offset: float = 0.0) -> Callable[[np.ndarray], np.ndarray]:
    return lambda values: factor * values + offset


def both(first: str, second: str) -> Flags:
    return f"--unit '{SHORT}={first}'", f"--unit '{LONG}={second}'"


def mixtures(measured: str, commanded: str) -> Flags:
    return f"--role 'lambda_measured={measured}'", f"--role 'lambda_commanded={commanded}'"


# The columns; the right answer; wrong ones; a figure or a word that the second question says.
CASES: dict[str, tuple[list[Col], Flags, tuple[Flags, ...], str]] = {
    "sides": (edit(std(), "stft ltft", sided), both("as-logged", "as-logged")[:1],
              (both("turned", "as-logged")[:1],), "correlation -0."),
    "signs": (std(col("stft", convert=by(-1)), col("ltft", convert=by(-1))), both("turned", "turned"),
              (both("as-logged", "as-logged"), both("turned", "as-logged")), "0."),
    "one sign": (std(col("ltft", convert=by(-1))), both("", "turned")[1:], (both("", "as-logged")[1:],), "0.93 %"),
    "one scale": (std(col("ltft", convert=by(0.5))), both("", "times-2")[1:], (both("", "as-logged")[1:],),
                  "2 % of each %"),
    "one in parts of 1": (std(col("ltft", convert=by(0.01), decimals=5)), both("", "times-100")[1:],
                          (both("", "as-logged")[1:],), "98 % of each %"),
    "fractions": (std(col("stft", convert=by(0.01), decimals=5), col("ltft", convert=by(0.01), decimals=5)),
                  both("fraction", "fraction"), (both("%", "%"),), "59 %"),
    "fuel over air": (std(col("lam", convert=lambda v: 1 / v)), (f"--unit '{LAMBDA}=fuel-over-air'",),
                      ((f"--unit '{LAMBDA}=as-logged'",),), "where the engine works hardest"),
    "error": (std(col("lam", "Lambda error", "%", lambda v: np.minimum(100 * (v - 1), 30)), drop="cmd"),
              ("--unit 'Lambda error=measured/commanded'",), (("--unit 'Lambda error=commanded/measured'",),),
              "correlation -0."),
    "exchanged trims": (std(col("stft", LONG), col("ltft", SHORT)),
                        (f"--role 'stft_1={LONG}'", f"--role 'ltft_1={SHORT}'"),
                        ((f"--role 'stft_1={SHORT}'",),), "wherever the loop is open"),
    "exchanged mixtures": (std(col("lam", "Commanded lambda"), col("cmd", LAMBDA)),
                           mixtures("Commanded lambda", LAMBDA), (mixtures(LAMBDA, "Commanded lambda"),),
                           "as no sensor does"),
}  # fmt: skip


def told(session: Session, flags: Flags) -> Log:
    """Answer by flags, and give the log as it is then."""
    words = [each.split(" ", 1) for each in flags]
    roles, units = (tuple(w.strip("'") for option, w in words if option == f"--{name}") for name in ("role", "unit"))
    session.record(amend_log(session.state, 1, role=roles, unit=units).change)
    return session.state.drives[0].log


def second(log_: Log) -> tuple[Question, ...]:
    return tuple(each for each in log_.questions if each.question.startswith("Stated was"))


def ratio_of(session: Session) -> np.ndarray:
    return np.asarray(run(evidence(session.state)).value.ratio)  # type: ignore[attr-defined] # evidence


@pytest.fixture
def added(tmp_path: Path) -> Callable[..., Path]:
    """Make a session with the log of a case in it."""

    def make(case: str, *units: str) -> Path:
        path = tmp_path / "drive.csv"
        path.write_bytes(log(CASES[case][0]).files["drive.csv"])
        rows = "\n".join(f"{x:.6g},{y:.6g}" for x, y in zip(HERTZ, STALE, strict=True))
        (tmp_path / "airflow.csv").write_text(f"Airflow sensor (Hz),Airflow (g/s)\n{rows}\n")
        new(tmp_path / "car.session", tmp_path / "airflow.csv", name="airflow")
        with Session.open(tmp_path / "car.session") as session:
            session.record(run(add_log(session.state, (path,), unit=units)).change)
            assert session.state.drives[0].log.questions
        return tmp_path / "car.session"

    return make


@pytest.mark.parametrize("case", CASES)
def test_what_speaks_against_an_answer_is_asked_once_more(added: Callable[..., Path], case: str) -> None:
    _, right, wrong, figure = CASES[case]
    path = added(case)
    with Session.open(path) as session:
        start = session.state
        assert not told(session, right).questions
        assert session.state.drives[0].log.roles.keys() >= {"stft_1", "ltft_1"}
        for answer in wrong:
            units = tuple(each.split(" ", 1)[1].strip("'") for each in answer if each.startswith("--unit"))
            roles = tuple(each.split(" ", 1)[1].strip("'") for each in answer if each.startswith("--role"))
            asked = second(amend_log(start, 1, unit=units, role=roles).value.log)
            assert asked
            assert any(figure in each.question for each in asked)
            assert {word for each in asked for word in each.alternatives[0].flags} <= set(answer)
            assert all(len(each.alternatives) > 1 for each in asked)


def test_the_log_is_out_until_a_person_insists_or_answers_otherwise(added: Callable[..., Path]) -> None:
    path = added("sides")
    with Session.open(path) as session:
        (asked,) = second(told(session, both("turned", "")[:1]))
        with pytest.raises(InputError, match="question"):
            ratio_of(session)
    with Session.open(path) as session:  # kept, and answered in another sitting
        assert second(session.state.drives[0].log) == (asked,)
        confirming = amend_log(session.state, 1, unit=(f"{SHORT}=turned",)).change
        assert isinstance(confirming, DriveCorrected)
        assert confirming.answered == (asked.question,)  # so it is recorded
        assert not told(session, asked.alternatives[1].flags).questions
        right = session.state.drives[0].log.playing("stft_1")
        session.record(undo(session.state).change)
        assert not told(session, asked.alternatives[0].flags).questions
        insisted = session.state.drives[0].log.playing("stft_1")
        assert insisted is not None
        assert right is not None
        np.testing.assert_allclose(insisted, -right)
        assert np.isfinite(ratio_of(session)).any()


def test_what_is_stated_as_a_log_is_added_is_held_against_it_too(added: Callable[..., Path]) -> None:
    path = added("sides", f"{SHORT}=turned")
    with Session.open(path) as session:
        files = (path.parent / "drive.csv",)
        (asked,) = second(session.state.drives[0].log)
        # The next log of that shape is read so, and asked about likewise while it is open, not once it is confirmed.
        assert second(run(add_log(session.state, files, again=True)).value[0].log) == (asked,)
        told(session, asked.alternatives[0].flags)
        assert not run(add_log(session.state, files, again=True)).value[0].log.questions


def test_an_answer_holds_for_the_next_log_of_the_same_shape_that_does_not_ask(
    added: Callable[..., Path], tmp_path: Path
) -> None:
    path = added("one sign")
    short = tmp_path / "short.csv"
    short.write_bytes(log(rows(CASES["one sign"][0], slice(3000, 3900))).files["drive.csv"])
    with Session.open(path) as session:
        told(session, CASES["one sign"][1])
        answer = run(add_log(session.state, (short,), again=True))
        session.record(answer.change)
        first, second_log = (each.log.playing("ltft_1") for each in session.state.drives)
        assert first is not None
        assert second_log is not None
        np.testing.assert_allclose(second_log, first[3000:3900])
