"""What is on the screen is told anew, or gone, as soon as the session is another."""

from pathlib import Path

import pytest
from PySide6.QtWidgets import QComboBox, QTableWidget
from pytestqt.qtbot import QtBot
from screen import Screen
from showing import texts_of

from workbench.window.panels.next_step import figures, next_step
from workbench.window.scene.last_drawn import LastDrawn
from workbench.window.scene.scene import LAYERS
from workbench.window.table.picture_card import legend_text
from workbench.window.tasks.approve_task import ApproveTask
from workbench.window.tasks.log_tasks import DriveTask, LanesTask
from workbench.window.tasks.pulls_task import PullsTask


@pytest.fixture
def driven(screen: Screen, car_files: Path, tmp_path: Path) -> Screen:
    """A session with a curve, its drive, and a drive of other length."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.take([car_files / "curve_drive.csv"])
    rows = (car_files / "curve_drive.csv").read_text("utf-8").splitlines(keepends=True)
    (tmp_path / "shorter.csv").write_text("".join(rows[:-400]), encoding="utf-8", newline="")
    screen.settle()
    return screen


def told(screen: Screen) -> list[str]:
    """What the strip says of the targets."""
    return [each.value for each in figures(screen.scene) if "within" in each.caption]


def test_nothing_is_said_of_logs_that_were_another(driven: Screen, qtbot: QtBot, tmp_path: Path) -> None:
    """A drive is added, its adding taken back, a gate moved: until all is worked out anew no figure stands."""
    assert told(driven)
    for act in (
        lambda: driven.run("add-log", {"files": (tmp_path / "shorter.csv",), "again": True}),
        lambda: driven.run("undo", {}),
        lambda: driven.run("settings", {"gate": ("warm_c=60",)}),
    ):
        before = driven.state.sequence
        act()
        qtbot.waitUntil(lambda before=before: driven.state.sequence > before, timeout=60_000)
        assert driven.scene.overtaken
        assert driven.scene.fitting_evidence is None
        assert driven.scene.samples is None
        assert not told(driven)
        assert driven.scene.gathers
        words = "evaluating the logs"
        driven.focus(layer="ratio")
        assert words in legend_text(driven.scene, driven.bench.theme), "it says that there is no evidence yet"
        assert next_step(driven.scene).word == ""
        qtbot.waitUntil(lambda: "Evaluating the logs…" in driven.texts)  # one panel per turn
        driven.settle()
        assert told(driven)
        assert not driven.scene.overtaken


def test_cautions_of_a_log_that_was_taken_back_are_gone_at_once(driven: Screen) -> None:
    driven.run("undo", {})
    assert not driven.state.drives
    assert not driven.scene.cautions


def test_gathering_that_was_stopped_is_told_and_begun_again(driven: Screen, qtbot: QtBot) -> None:
    driven.run("settings", {"gate": ("warm_c=61",)})
    titles = list[str]()
    driven.jobs.working.connect(lambda title, _: titles.append(title))
    qtbot.waitUntil(lambda: bool(titles) and titles[-1] == "Gathering the evidence", timeout=60_000)
    driven.jobs.cancel()
    driven.settle()
    assert driven.scene.halted
    step = next_step(driven.scene)
    assert step.word == "gather"
    assert "stopped" in step.reason
    driven.do("gather")
    assert next_step(driven.scene).word == ""
    driven.settle()
    assert not driven.scene.halted
    assert told(driven)


def test_pulls_are_looked_for_again_when_a_log_goes(driven: Screen) -> None:
    driven.do("pulls")
    driven.settle()
    task = driven.task
    assert isinstance(task, PullsTask)
    table = task.findChild(QTableWidget)
    assert table is not None
    assert table.rowCount() > 0
    driven.run("undo", {})
    assert table.rowCount() == 0
    driven.settle()
    assert driven.task is task
    driven.run("redo", {})
    driven.settle()
    assert table.rowCount() > 0


@pytest.mark.parametrize(("name", "kind"), [("drive", DriveTask), ("lanes", LanesTask)])
def test_the_page_of_a_log_goes_with_its_log(driven: Screen, name: str, kind: type) -> None:
    driven.do(name)
    assert isinstance(driven.task, kind)
    driven.run("undo", {})
    assert driven.task is None


def test_the_history_of_a_cell_goes_on(driven: Screen) -> None:
    driven.do("story")
    driven.settle()
    assert not any("Scaled" in text for text in driven.texts)
    driven.run("scale", {"by": 0.97})
    driven.settle()
    assert any("Scaled" in text for text in driven.texts)
    driven.run("undo", {})
    driven.settle()
    assert not any("<b>2</b>" in text and "Scaled" in text for text in driven.texts)


def test_notes_are_those_of_the_logs_as_they_are(driven: Screen) -> None:
    driven.bench.evidence.more.emit()
    driven.settle()
    shown = driven.task
    assert shown is not None
    driven.run("undo", {})
    assert "Evaluating the logs…" in driven.texts


def test_an_answer_is_asked_for_again(driven: Screen) -> None:
    driven.do("history")
    driven.settle()
    before = driven.texts
    driven.run("scale", {"by": 0.97})
    driven.settle()
    new = [text for text in driven.texts if text not in before]
    assert any("scale, " in text and "2 from 1" in text for text in new)


def test_an_earlier_table_is_told_from_the_one_that_is_worked_on(driven: Screen) -> None:
    driven.run("scale", {"by": 1.01})
    driven.settle()
    driven.focus(against=1, before=True)
    driven.settle()
    assert any(text.startswith("Revision 1 is shown") for text in driven.texts)
    assert not any("leave it" in text or "raise it" in text for text in driven.texts)
    driven.focus(before=False, beside=(1,))
    driven.settle()
    assert any(text.startswith("Evidence for") and text.endswith("revision 2") for text in driven.texts)


def test_choices_read_as_people_write_them(driven: Screen) -> None:
    driven.do("report")
    assert driven.task is not None
    boxes = driven.task.findChildren(QComboBox)
    assert {"A4", "Letter", "black and white"} <= {box.itemText(i) for box in boxes for i in range(box.count())}


def test_what_was_typed_into_an_approval_stays_when_it_is_asked_for_again(driven: Screen) -> None:
    """Begun on the box and ended by Enter, a reason ticks it; asking for the approval once more takes nothing away."""
    driven.run("scale", {"by": 1.01})
    driven.settle()
    driven.do("approve")
    task = driven.task
    assert isinstance(task, ApproveTask)
    driven.type("w")
    driven.type("ell known")
    driven.press("Return")
    assert list(task.reasons.values()) == ["well known"]
    driven.do("approve")
    again = driven.task
    assert isinstance(again, ApproveTask)
    assert again is not task
    assert list(again.reasons.values()) == ["well known"]


@pytest.mark.parametrize("kind", ["curve", "grid"])
def test_nothing_stays_as_it_was_while_the_evidence_is_on_its_way(
    screen: Screen, car_files: Path, tmp_path: Path, kind: str
) -> None:
    """After each act, before anything is worked out: what is shown equals what is shown once all is drawn anew."""
    screen.begin_from(car_files / f"{kind}.csv", tmp_path / "car.session")
    screen.take([car_files / f"{kind}_drive.csv"])
    screen.settle()
    for layer in LAYERS[:-1]:
        for act in ("draft", "apply", "undo", "redo", "flick", "flick", "gate", "undo"):
            screen.focus(layer=layer)
            if act == "draft":
                screen.draft("scale", {"by": 0.97})
            elif act == "gate":
                screen.run("settings", {"gate": ("warm_c=62",)})
            else:
                screen.do(act)
            screen.bench.finish()
            shown = seen_of(screen)
            LastDrawn.forget_all()
            screen.bench.show_scene(screen.scene)
            screen.bench.finish()
            now = seen_of(screen)
            assert shown == now, (layer, act)
        screen.do("undo")


def seen_of(screen: Screen) -> list[object]:
    """What the numbers, and all that can be read, show."""
    pictures = screen.numbers.cells.pictures
    return [
        *((str(column), each.texts.tolist(), each.colours.tolist()) for column, each in pictures.items()),
        sorted(text for _, text in texts_of(screen.bench) if text),
    ]
