"""Branches by name, and what is in the car: logs added after that belong to it, and all of it can be undone."""

import json
import os
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from workbench.cli import main as command_line
from workbench.commands.declaring.registry import Answer
from workbench.commands.logs.logs import add_log
from workbench.commands.record.branches import branches, name_branch, put_in_car
from workbench.commands.record.history import history
from workbench.commands.record.revisions import roll_back
from workbench.commands.record.undoing import redo, undo
from workbench.commands.table.hand import scale
from workbench.errors import InputError
from workbench.files.disk.clock import moment_of, now
from workbench.model.cells import read_cells
from workbench.model.history import brought_in
from workbench.model.log import Drive
from workbench.model.state import Applied
from workbench.session import Session
from workbench.work import run

LOG = "Time (s),Airflow sensor (Hz),Airflow (g/s)\n" + "".join(f"{i / 10},{1500 + i},3.5\n" for i in range(60))


def done(session: Session, outcome: object) -> Answer[object]:
    answer = outcome if isinstance(outcome, Answer) else run(outcome)  # type: ignore[arg-type]
    if answer.change is not None:
        session.record(answer.change)
    return answer


@pytest.fixture
def forked(session: Session) -> Session:
    """Revisions 2 and 3 from the first one, and 4 and 5 on a branch of their own from it."""
    done(session, scale(session.state, by=1.02))
    done(session, scale(session.state, by=1.01))
    done(session, undo(session.state))
    done(session, undo(session.state))
    done(session, scale(session.state, by=1.1))
    done(session, scale(session.state, by=1.01, cells=read_cells("0")))
    return session


def test_a_branch_is_all_that_is_made_from_its_first_revision(forked: Session) -> None:
    done(forked, name_branch(forked.state, 2, "safe"))
    told = done(forked, name_branch(forked.state, 4, "race fuel"))
    assert told.lines == ("The branch from revision 4 is called 'race fuel': 2 revisions.",)
    done(forked, scale(forked.state, by=1.01, cells=read_cells("1")))
    listed = branches(forked.state).data
    assert listed["branches"] == {"safe": [2, 3], "race fuel": [4, 5, 6]}
    assert listed["on"] == "race fuel"
    assert [forked.state.branch_of(number) for number in range(1, 7)] == ["", "safe", "safe", *["race fuel"] * 3]
    lines = history(forked.state).lines
    assert "begins the branch 'safe'" in lines[1]
    # A branch of a branch takes its revisions out of that.
    done(forked, name_branch(forked.state, 6, "wet"))
    assert branches(forked.state).data["branches"] == {"safe": [2, 3], "race fuel": [4, 5], "wet": [6]}
    # Rolling back to the other branch makes a revision here, with its values.
    done(forked, roll_back(forked.state, 3))
    assert forked.state.branch_of(forked.state.head().id) == "wet"


def test_a_name_is_given_once_and_can_be_taken_away(forked: Session) -> None:
    done(forked, name_branch(forked.state, 2, "safe"))
    with pytest.raises(InputError, match="called 'safe' already"):
        name_branch(forked.state, 2, "safe")
    with pytest.raises(InputError, match="revision 2 is called 'safe' already"):
        name_branch(forked.state, 4, "safe")
    with pytest.raises(InputError, match="No branch with a name begins"):
        name_branch(forked.state, 4)
    done(forked, name_branch(forked.state, 2))
    assert forked.state.branches == {}
    assert "No branch has a name" in branches(forked.state).lines[0]
    done(forked, undo(forked.state))
    assert forked.state.branches == {2: "safe"}
    told = done(forked, undo(forked.state))
    assert told.lines == ("Undone: the branch from revision 2 named 'safe'.",)
    assert forked.state.branches == {}
    done(forked, redo(forked.state))
    with Session.open(Path(forked.state.path)) as again:
        assert again.state.branches == forked.state.branches == {2: "safe"}


def log_at(path: Path, moment: str | None = None) -> Path:
    """Write a log; it was last written at a moment, by default now."""
    path.write_text(LOG)
    if moment is not None:
        seconds = datetime.fromisoformat(moment).timestamp()
        os.utime(path, (seconds, seconds))
    return path


def added(session: Session, path: Path, **how: object) -> tuple[Drive, tuple[str, ...]]:
    answer = done(session, add_log(session.state, (path,), **how))  # type: ignore[arg-type]
    return session.state.drives[-1], answer.lines


def test_a_log_of_a_revision_that_never_left_the_desk_is_warned_of(forked: Session, tmp_path: Path) -> None:
    """A leaning correction that was not in the car went in twice, and nothing was said when the log was added."""

    def warned(name: str, **given: object) -> list[str]:
        told = run(add_log(forked.state, (log_at(tmp_path / name),), again=True, **given))  # type: ignore[arg-type]
        assert isinstance(told.data["warnings"], list)
        found = [str(each) for each in told.data["warnings"] if "never exported" in str(each)]
        assert len(found) == sum("never exported" in line for line in told.lines)
        return found

    (words,) = warned("a.csv")
    assert "driven with revision 5 of 'airflow', the current one" in words
    assert "amend-log SESSION 1 --on 1" in words
    assert warned("a.csv", on=(5,)) == []
    done(forked, put_in_car(forked.state, 5))
    assert warned("b.csv") == []


def test_logs_belong_to_what_is_in_the_car(forked: Session, tmp_path: Path) -> None:
    assert added(forked, log_at(tmp_path / "a.csv"))[0].revision == 5  # the current one, where nobody said
    with pytest.raises(InputError, match="Revision 3 was undone") as refused:
        put_in_car(forked.state, 3)
    assert "name-branch SESSION 3 NAME" in refused.value.hint
    done(forked, name_branch(forked.state, 2, "safe"))
    with pytest.raises(InputError, match="lean the mixture at high load since revision 5"):  # which was driven
        put_in_car(forked.state, 3)
    told = done(forked, put_in_car(forked.state, 3, accept=("lean-step-at-high-load",)))
    assert "Revision 3 of 'airflow' is in the car since" in told.lines[0]
    drive, lines = added(forked, log_at(tmp_path / "b.csv"), again=True)
    assert drive.revision == 3
    assert lines[0].startswith("Driven with revision 3 of 'airflow': in the car since ")
    assert added(forked, log_at(tmp_path / "c.csv"), again=True, on=(2,))[0].revision == 2
    assert history(forked.state).data["revisions"][2]["in_car_since"] == [told.data["since"]]  # type: ignore[index,call-overload]
    assert "in the car since" in history(forked.state).lines[2]
    done(forked, undo(forked.state))
    done(forked, undo(forked.state))
    told = done(forked, undo(forked.state))
    assert told.lines == ("Undone: the mark of what is in the car, of 'airflow'.",)
    assert added(forked, log_at(tmp_path / "d.csv"), again=True)[0].revision == 5


def test_the_question_names_both_answers(session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Morning: revision 1 in the car; a log at ten; at two, revision 2 is put in; the log is added after that."""
    start = datetime.fromisoformat(session.state.history.revisions[0].time)

    def at(hours: float) -> str:
        return (start + timedelta(hours=hours)).astimezone(UTC).isoformat().replace("+00:00", "Z")

    done(session, scale(session.state, by=1.02))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", str(int((start + timedelta(hours=9)).timestamp())))
    done(session, put_in_car(session.state, 1, at=at(1)))
    done(session, put_in_car(session.state, 2, at=at(6)))
    with pytest.raises(InputError, match="revision 2 of 'airflow' was put in the car at") as asked:
        added(session, log_at(tmp_path / "ten.csv", at(2)))
    assert "--on 1 or --on 2" in asked.value.hint
    assert added(session, log_at(tmp_path / "ten.csv", at(2)), on=(1,))[0].revision == 1
    assert added(session, log_at(tmp_path / "three.csv", at(7)), again=True)[0].revision == 2
    assert added(session, log_at(tmp_path / "old_clock.csv", "1980-01-01T00:00:00Z"), again=True)[0].revision == 2


def test_times_are_understood_and_the_future_is_refused(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert now() == "2023-11-14T22:13:20Z"
    assert moment_of("2023-11-14T20:00:00+01:00") == "2023-11-14T19:00:00Z"
    here = moment_of("0:05")
    assert here.endswith(":05:00Z") or here[14:16] in ("05", "20", "35", "50")  # zones of half and quarter hours
    for wrong in ("noon", "25:00", "14.10", "2023-13-01"):
        with pytest.raises(InputError, match="cannot be read"):
            moment_of(wrong)
    with pytest.raises(InputError, match="still to come"):
        put_in_car(session.state, 1, at="2023-11-15T22:13:20Z")
    done(session, put_in_car(session.state, 1, at="2023-11-14T20:00:00Z"))
    earlier = done(session, put_in_car(session.state, 1, at="2023-11-14T18:00:00Z"))
    assert "was in the car from 2023-11-14T18:00:00Z to 2023-11-14T20:00:00Z" in earlier.lines[0]
    told = branches(session.state)
    assert told.lines[-1] == "In the car since 2023-11-14T20:00:00Z: revision 1."


def told(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, object]:
    """Run a command line; what it answers as JSON."""
    capsys.readouterr()
    assert command_line([*map(str, words), "--json"]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def test_a_branch_stands_for_its_revision_wherever_one_is_asked_for(
    forked: Session, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By the same figures as its number: compared, rolled back to, blended, reported, approved, signed, logged on."""
    path = forked.state.path
    done(forked, name_branch(forked.state, 2, "safe"))
    done(forked, name_branch(forked.state, 4, "race fuel"))
    assert branches(forked.state).data["stands_at"] == {"safe": 3, "race fuel": 5}
    forked.close()
    named, numbered = told(capsys, "difference", path, "safe", "race fuel"), told(capsys, "difference", path, 3, 5)
    assert named == numbered
    assert (named["a"], named["b"]) == (3, 5)
    elsewhere = told(capsys, "difference", path, f"{path}:race fuel", "safe")
    assert elsewhere["a"] == f"{path}:race fuel"
    assert elsewhere["change"] == told(capsys, "difference", path, 5, 3)["change"]
    assert told(capsys, "put-in-car", path, "race fuel")["revision"] == 5
    assert told(capsys, "name-branch", path, "safe", "safe again")["revision"] == 2
    told(capsys, "undo", path)
    assert told(capsys, "roll-back", path, "safe")["values"] == told(capsys, "roll-back", path, "3")["values"]
    log = log_at(tmp_path / "drive.csv")
    assert told(capsys, "add-log", path, log, "--on", "safe")["revision"] == 3
    out = tmp_path / "report.html"
    assert told(capsys, "report", path, out, "--revision", "safe")["revision"] == 3
    # It stands at the current revision where that is on it.
    for _ in range(2):
        told(capsys, "undo", path, "--table", "airflow")
    assert told(capsys, "difference", path, "race fuel", "1")["a"] == 4


def test_what_is_no_name_is_refused_with_those_that_are(
    forked: Session, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = forked.state.path
    done(forked, name_branch(forked.state, 2, "safe"))
    with pytest.raises(InputError, match="is a number, which stands for a revision"):
        name_branch(forked.state, 4, "3")
    forked.close()
    assert command_line(["roll-back", path, "sfae"]) == 1
    assert capsys.readouterr().err == (
        "There is no revision and no branch 'sfae'.\nThis session has revisions 1 to 5. Its branches: safe.\n"
    )
    assert command_line(["difference", path, "1", f"{path}:wild"]) == 1
    assert "has no revision and no branch 'wild'" in capsys.readouterr().err
    # A file of the same name is not taken for the branch, nor the branch for the file.
    monkeypatch.chdir(tmp_path)
    Path("safe").write_text("Sensor (Hz),Airflow (g/s)\n1000,7.2\n2000,14.4\n")
    assert command_line(["difference", path, "safe", "1"]) == 1
    assert capsys.readouterr().err == (
        "'safe' is a branch of this session and a file.\nGive 3 for the branch, or ./safe for the file.\n"
    )
    assert command_line(["difference", path, "./safe", "1"]) == 0


def test_a_name_that_several_tables_have_is_asked_about(forked: Session, capsys: pytest.CaptureFixture[str]) -> None:
    done(forked, name_branch(forked.state, 2, "safe"))
    first = forked.state.history.revision(1)
    second = brought_in(6, replace(first.table, name="second"), "new", {}, "", "", first.time)
    forked.record(Applied(second))
    done(forked, name_branch(forked.state, 6, "safe"))
    path = forked.state.path
    forked.close()
    assert command_line(["roll-back", path, "safe"]) == 1
    assert capsys.readouterr().err == (
        "Branches of several tables are called 'safe'.\nGive the revision by its number: 3 (airflow), 6 (second).\n"
    )
