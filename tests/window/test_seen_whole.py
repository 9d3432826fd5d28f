"""What is written is seen whole: no line is cut through, and an old message gives a task its room."""

from pathlib import Path

import pytest
from PySide6.QtGui import QFontMetrics, QPainter, QPixmap
from PySide6.QtWidgets import QPushButton, QStyleOptionViewItem
from screen import Screen


class Written(QPainter):
    """Notes at which heights lines are written."""

    def __init__(self, device: QPixmap) -> None:
        super().__init__(device)
        self.baselines: list[int] = []

    def drawText(self, *where: object) -> None:  # type: ignore[override]  # noqa: N802  # Qt's name
        """Note the baseline of a line of a revision."""
        if isinstance(where[1], int) and isinstance(where[0], int):
            self.baselines.append(where[1])


@pytest.fixture
def scaled(screen: Screen, car_files: Path, tmp_path: Path) -> Screen:
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    for by in (1.01, 1.02, 1.03, 1.04):
        screen.run("scale", {"by": by})
    screen.bench.finish()
    return screen


def test_no_line_of_the_history_is_cut_through(scaled: Screen) -> None:
    rail, counts = scaled.bench.rail, set()
    rail.resize(300, 150)
    metrics, high = QFontMetrics(rail.font()), rail.viewport().height()
    for at in range(60):
        rail.verticalScrollBar().setValue(at)
        pixmap = QPixmap(rail.viewport().size())
        painter = Written(pixmap)
        for row in range(rail.model().rowCount()):
            option, index = QStyleOptionViewItem(), rail.model().index(row, 0)
            rail.initViewItemOption(option)
            option.rect = rail.visualRect(index)
            rail.itemDelegate().paint(painter, option, index)
        painter.end()
        tops = [baseline - metrics.ascent() for baseline in painter.baselines]
        assert tops
        assert all(0 <= top <= high - metrics.height() for top in tops)
        counts.add(len(tops))
    assert len(counts) > 1, "some were left out, since they would have been cut"


def test_an_old_message_gives_a_task_its_room(scaled: Screen) -> None:
    notice = scaled.bench.notice
    first = "Another program changed this session: revision 2 of 'curve' (scale)."
    whole = f"{first} " + "The draft is of what was there before: Esc drops it. " * 4
    notice.warn(whole.strip())
    scaled.settle()
    tall, (more,) = notice.height(), [each for each in notice.findChildren(QPushButton) if each.text() == "Read all"]
    assert more.isHidden()
    scaled.do("scale")
    scaled.settle()
    assert scaled.bench.drawer.task is not None
    assert notice.height() < tall
    assert notice.text == whole.strip(), "nothing of it is lost"
    assert not more.isHidden()
    more.click()
    scaled.settle()
    assert notice.height() >= tall
    assert more.isHidden()
    notice.warn(whole.strip())
    assert more.isHidden(), "what comes while the task is open is shown whole"
