"""Branches by name, and what is in the car: logs added after that belong to it, and all of it can be undone."""

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from workbench.commands.declaring.registry import Answer
from workbench.commands.logs.logs import add_log
from workbench.commands.record.branches import branches, name_branch, put_in_car
from workbench.commands.record.revisions import history, roll_back
from workbench.commands.record.undoing import redo, undo
from workbench.commands.table.hand import scale
from workbench.errors import InputError
from workbench.files.disk.clock import moment_of, now
from workbench.model.cells import read_cells
from workbench.model.log import Drive
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


def test_logs_belong_to_what_is_in_the_car(forked: Session, tmp_path: Path) -> None:
    assert added(forked, log_at(tmp_path / "a.csv"))[0].revision == 5  # the current one, where nobody said
    told = done(forked, put_in_car(forked.state, 3))
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
    with pytest.raises(InputError, match="before revision 2 of 'airflow' was put in the car") as asked:
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
