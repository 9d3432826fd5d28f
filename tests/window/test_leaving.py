"""Nothing is lost in silence: every way out asks where a session is nowhere on the disk, or a draft waits for a yes."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QMessageBox, QPushButton
from screen import Screen

from workbench.cli import main as command_line
from workbench.session import Session

Settle = Callable[[], None]


@pytest.fixture
def opened(screen: Screen, settle: Settle, car_files: Path, path: Path) -> Screen:
    """The window on a session of the curve, one change of its own in it."""
    screen.begin_from(car_files / "curve.csv", path)
    settle()
    screen.run("scale", {"by": 1.1})
    settle()
    return screen


@pytest.fixture
def other(car_files: Path, tmp_path: Path) -> Path:
    """Another session."""
    made = tmp_path / "other" / "other.session"
    made.parent.mkdir()
    assert command_line(["new", str(made), str(car_files / "curve.csv")]) == 0
    return made


def deleted(path: Path) -> None:
    path.unlink()


def overwritten(path: Path) -> None:
    path.write_bytes(b"x" * 500_000)


def replaced(path: Path) -> None:
    other = path.with_name("new.tmp")
    other.write_text("something else")
    other.replace(path)


def altered(path: Path) -> None:
    with closing(sqlite3.connect(path)) as database:
        for name, of in (("change", "trigger"), ("revision", "trigger")):
            for (each,) in database.execute(
                "SELECT name FROM sqlite_master WHERE type = ? AND tbl_name = ?", (of, name)
            ).fetchall():
                database.execute(f"DROP TRIGGER {each}")
        database.execute("UPDATE revision SET cell_values = zeroblob(length(cell_values)) WHERE id = 1")
        database.commit()


WAYS: dict[str, Callable[[Screen, Path, Path], object]] = {
    "Ctrl+Q": lambda screen, *_: screen.choose("Quit"),
    "the window's cross": lambda screen, *_: screen.window.close(),
    "Ctrl+W": lambda screen, *_: screen.choose("Start page"),
    "another session": lambda screen, other, _: screen.open(other),
    "a session dropped on it": lambda screen, other, _: screen.drop(other),
    "from a table": lambda screen, _, table: screen.begin_from(table),
    "a new one by its form": lambda screen, other, table: screen.run(
        "new", {"session": other.with_name(f"{table.stem}.session"), "file": table}
    ),
    "the sample": lambda screen, *_: screen.choose("Try the sample drive"),
}


def box_of(screen: Screen) -> QMessageBox:
    box = screen.question
    assert box is not None
    assert box.isVisible()
    return box


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("harm", [deleted, replaced])
def test_what_is_nowhere_on_the_disk_is_asked_for_whatever_way_it_is_left(
    opened: Screen, path: Path, other: Path, car_files: Path, settle: Settle, way: str, harm: Callable[[Path], None]
) -> None:
    harm(path)
    WAYS[way](opened, other, car_files / "curve.csv")
    settle()
    box = box_of(opened)
    assert "car.session" in box.text()
    assert {each.text() for each in box.buttons()} == {"Save a copy…", "Leave and lose it", "Stay"}
    opened.press("Esc", box)
    settle()
    assert opened.question is None
    assert opened.window.isVisible()
    assert opened.state.path == str(path)
    assert not opened.state.drives, "what was to begin elsewhere has gone into this session"
    WAYS[way](opened, other, car_files / "grid.csv")
    settle()
    opened.answer("Leave and lose it")
    settle()
    assert not opened.window.isVisible() or opened.scene.state is None or opened.state.path != str(path)


@pytest.mark.parametrize("harm", [deleted, overwritten, replaced, altered])
def test_a_copy_is_saved_from_the_question_and_gone_on_with_by_one_button(
    opened: Screen, path: Path, settle: Settle, harm: Callable[[Path], None]
) -> None:
    harm(path)
    opened.window.close()
    settle()
    box = box_of(opened)
    first = QApplication.focusWidget()
    assert isinstance(first, QPushButton)
    assert first.text() == "Save a copy…", "the keyboard begins where nothing is lost"
    opened.press("Space", first)
    settle()
    assert opened.question is None
    assert opened.task is not None
    opened.fill("File", "kept.session")
    opened.press("Return", opened.field("File"))
    settle()
    copy = path.with_name("kept.session")
    assert copy.is_file()
    assert "kept.session" in opened.notice
    opened.reload()  # as the window does every two seconds
    assert "kept.session" in opened.notice, "the note of the lost file has come back"
    opened.click("Go on with the copy")
    settle()
    assert box is not opened.question
    assert opened.question is None
    assert opened.state.path == str(copy)
    assert opened.head.id == 2
    assert not opened.notice
    opened.run("scale", {"by": 1.1})
    settle()
    with Session.open(copy) as session:
        assert session.state.head().id == 3


def test_what_is_in_a_copy_may_be_left_without_a_question(opened: Screen, path: Path, settle: Settle) -> None:
    path.unlink()
    opened.run("save-copy", {"file": path.with_name("kept.session")})
    settle()
    opened.window.close()
    assert opened.question is None
    assert not opened.window.isVisible()


def test_where_all_is_on_the_disk_nothing_is_asked(opened: Screen, path: Path, other: Path, settle: Settle) -> None:
    assert command_line(["scale", str(path), "--by", "0.99", "--cells", "all"]) == 0, (
        "another program's work is no harm"
    )
    opened.open(other)
    settle()
    assert opened.question is None
    assert opened.state.path == str(other)


def typed(screen: Screen, settle: Settle) -> None:
    """Draft a change as a user does: choose the cell, type it."""
    screen.numbers.setFocus()
    screen.type("+", screen.numbers)
    screen.type("2 %")
    settle()
    assert screen.scene.draft is not None


@pytest.mark.parametrize("way", WAYS)
def test_a_draft_is_applied_dropped_or_stayed_with_whatever_way_it_is_left(
    opened: Screen, path: Path, other: Path, car_files: Path, settle: Settle, way: str
) -> None:
    typed(opened, settle)
    WAYS[way](opened, other, car_files / "curve.csv")
    settle()
    box = box_of(opened)
    assert "1 cell, +2.0" in box.text()
    assert {each.text() for each in box.buttons()} == {"Apply it and leave", "Drop it and leave", "Stay"}
    opened.press("Esc", box)
    settle()
    assert opened.scene.draft is not None
    assert opened.state.path == str(path)
    WAYS[way](opened, other, car_files / "grid.csv")
    settle()
    opened.answer("Apply it and leave")
    settle()
    assert not opened.window.isVisible() or opened.scene.state is None or opened.state.path != str(path)
    with Session.open(path) as session:
        assert session.state.head().operation == "scale"
        assert session.state.head().id == 3


def test_a_dropped_draft_is_nowhere(opened: Screen, path: Path, settle: Settle) -> None:
    typed(opened, settle)
    opened.window.close()
    opened.answer("Drop it and leave")
    assert not opened.window.isVisible()
    with Session.open(path) as session:
        assert session.state.head().id == 2


def test_a_draft_that_cannot_be_written_keeps_the_window_open(opened: Screen, path: Path, settle: Settle) -> None:
    typed(opened, settle)
    with closing(sqlite3.connect(path, isolation_level=None)) as writer:
        writer.execute("BEGIN IMMEDIATE")
        opened.window.close()
        opened.answer("Apply it and leave")
        settle()
        assert opened.window.isVisible()
        assert opened.scene.draft is not None
        assert any("another program" in text.lower() for text in opened.texts)


def shown(screen: Screen) -> str:
    """What stands in the first cell."""
    return str(screen.numbers.model().index(0, 0).data(Qt.ItemDataRole.DisplayRole))


def history(screen: Screen) -> bool:
    """Whether the history lists a draft."""
    return any("draft: Enter applies" in text for text in screen.texts) or screen.entry("apply").isEnabled()


def test_a_draft_that_was_refused_is_tried_again_by_enter(opened: Screen, path: Path, settle: Settle) -> None:
    before = shown(opened)
    typed(opened, settle)
    drafted = shown(opened)
    with closing(sqlite3.connect(path, isolation_level=None)) as writer:
        writer.execute("BEGIN IMMEDIATE")
        opened.press("Return")
        settle()
        assert opened.scene.draft is not None
        assert shown(opened) == drafted != before
        assert history(opened)
        opened.press("Return")
        settle()
        assert opened.head.id == 2
        writer.execute("ROLLBACK")
    opened.press("Return")
    settle()
    assert opened.head.id == 3
    assert opened.scene.draft is None
    assert shown(opened) == drafted
    assert not history(opened)


@pytest.mark.parametrize("how", ["typed", "pasted", "by a form"])
def test_a_draft_that_was_refused_is_dropped_by_escape(opened: Screen, path: Path, settle: Settle, how: str) -> None:
    before = shown(opened)
    opened.numbers.setFocus()
    if how == "typed":
        typed(opened, settle)
    elif how == "pasted":
        QApplication.clipboard().setText("1.25")
        opened.choose("Paste values")
    else:
        opened.choose("Scale cells")
        settle()
        opened.fill("By", "1.5")
    settle()
    assert opened.scene.draft is not None, opened.notice
    assert shown(opened) != before
    with closing(sqlite3.connect(path, isolation_level=None)) as writer:
        writer.execute("BEGIN IMMEDIATE")
        opened.press("Return")
        settle()
        assert opened.scene.draft is not None
        opened.press("Esc")
        settle()
    assert opened.scene.draft is None
    assert shown(opened) == before
    assert not history(opened)
    assert opened.head.id == 2
