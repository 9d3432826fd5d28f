"""Names of branches and what is in the car, in the history's rows."""

from collections.abc import Callable
from pathlib import Path

from screen import Screen

from workbench.commands.record.branches import name_branch, put_in_car
from workbench.commands.record.undoing import undo
from workbench.commands.table.hand import scale
from workbench.session import Session
from workbench.window.panels.next_step import figures
from workbench.window.panels.revision_rows import Branch, Entry, rows_of
from workbench.window.scene.scene import Focus, Scene
from workbench.window.tasks.form import Form


def test_rows_name_branches_and_what_is_in_the_car(session: Session, tmp_path: Path) -> None:
    del tmp_path
    for outcome in (
        lambda s: scale(s, by=1.02),
        undo,
        lambda s: scale(s, by=1.1),
        lambda s: name_branch(s, 2, "safe"),
        lambda s: name_branch(s, 3, "race fuel"),
        lambda s: put_in_car(s, 2),
    ):
        change = outcome(session.state).change
        assert change is not None
        session.record(change)
    rows = rows_of(Scene(state=session.state, focus=Focus(table="airflow")), {2: False})
    folded = rows_of(Scene(state=session.state, focus=Focus(table="airflow")), {2: True})
    (branch,) = (row for row in rows if isinstance(row, Branch))
    assert branch.words == "safe: 1 revision, branch of 1"
    assert [row.words for row in folded if isinstance(row, Branch)] == [branch.words]
    marks = {row.revision.id: row.marks() for row in rows if isinstance(row, Entry)}
    assert marks[3][0] == "branch “race fuel”"
    assert marks[2][0] == "branch “safe”"
    assert marks[2][1].startswith("in the car since 20")
    assert not any("in the car" in mark for mark in (*marks[1], *marks[3]))


def test_the_strip_says_what_was_put_in_the_car(session: Session) -> None:
    def shown() -> str:
        (figure,) = (each for each in figures(Scene(state=session.state)) if each.caption == "In the car")
        return figure.value

    assert shown() == "no drive yet"
    change = put_in_car(session.state, 1, at="2025-01-02T03:04:05Z").change
    assert change is not None
    session.record(change)
    assert shown() == "revision 1 since 03:04"


def test_the_revision_chosen_in_the_history_is_put_in_the_car(
    screen: Screen, settle: Callable[[], None], session: Session
) -> None:
    change = scale(session.state, by=1.02).change
    assert change is not None
    session.record(change)
    path = Path(session.state.path)
    session.close()
    screen.window.open(path)
    settle()
    rail = screen.bench.rail
    rows = [row for row in rail._entries.rows if isinstance(row, Entry)]
    rail.setCurrentIndex(rail._entries.index([row.revision.id for row in rows].index(1)))
    screen.do("put-in-car")
    settle()
    form = screen.task
    assert isinstance(form, Form)
    assert form.arguments()["revision"] == 1
    screen.go()
    settle()
    state = screen.state
    assert state is not None
    assert [mark.revision for mark in state.in_car["airflow"]] == [1]
    screen.do("undo")
    settle()
    assert screen.state.in_car["airflow"] == ()
