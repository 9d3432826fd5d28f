"""Pulls as a table, each with its place in the log, and all of them laid over each other over engine speed."""

from typing import Any

import numpy as np
import pyqtgraph
from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from workbench.window.kit.controls import button, label, row, unwheeled
from workbench.window.kit.plots import Plot, pen
from workbench.window.kit.style import theme_named
from workbench.window.kit.theme import Theme
from workbench.window.scene.scene import Scene
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import count, number, percent, tr

STYLES = (Qt.PenStyle.SolidLine, Qt.PenStyle.DashLine, Qt.PenStyle.DotLine, Qt.PenStyle.DashDotLine)
COLOURS = ("accent", "attention", "ink", "soft")
SHOWN_ROWS = 6


def _headings() -> list[tuple[str, str]]:
    """Name the columns, the leanest first among figures: it is what hurts."""
    return [
        (tr("Pull"), tr("Its name: the drive and the number of the pull in it. ∅ is left out, ! stands apart.")),
        (tr("Rev."), tr("The revision that was in the car.")),
        (tr("Leanest"), tr("Leanest reading, as measured over commanded lambda.")),
        (tr("at s"), tr("When that was, in s of the log.")),
        (tr("at rpm"), tr("The engine speed then.")),
        (tr("off now"), tr("Mean airflow of its accepted samples against the current table.")),
        (tr("rpm"), tr("Engine speeds of the whole pull.")),
        (tr("from s"), tr("When it began, in s of the log.")),
    ]


class PullsTask(QWidget):
    """Lists the pulls.

    Signals:
        looked: drive, moment of the leanest, first and last moment, s.
        leaving: name of the pull that is to be left out of the evidence.
    """

    looked = Signal(int, float, float, float)
    leaving = Signal(str)

    def __init__(self, scene: Scene, parent: QWidget) -> None:
        """Make it empty; the pulls are looked for."""
        super().__init__(parent)
        self._scene = scene
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self._hint = label(tr("Looking for pulls…"), self, "soft", wrap=True)
        column.addWidget(self._hint)
        heads = _headings()
        self._table = QTableWidget(0, len(heads), self)
        unwheeled(self._table)
        self._table.setAccessibleName(tr("Pulls"))
        for place, (name, tip) in enumerate(heads):
            head = QTableWidgetItem(name)
            head.setToolTip(tip)
            self._table.setHorizontalHeaderItem(place, head)
        self._table.setShowGrid(False)
        self._table.verticalHeader().hide()
        self._table.horizontalHeader().setHighlightSections(False)
        self._table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self._table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self._table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self._table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self._table.currentCellChanged.connect(lambda at, *_: self._look(at))
        self._table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        column.addWidget(self._table)
        self._more = label("", self, wrap=True)
        column.addWidget(self._more)
        self._leave = button(tr("Leave this pull out…"), tr("Leave the chosen pull out of the evidence."), self)
        self._leave.clicked.connect(self._leave_out)
        self._leave.setEnabled(False)
        column.addLayout(row(self._leave))
        self._said = label("", self, wrap=True)
        column.addWidget(self._said)
        self._over = label(tr("Measured over commanded lambda, one line per pull"), self, "title", wrap=True)
        column.addWidget(self._over)
        self._plot = Plot(tr("Pulls over engine speed"), self)
        self._plot.setMinimumHeight(self.fontMetrics().height() * 12)
        column.addWidget(self._plot)
        self._key = label("", self, "soft", wrap=True)
        self._key.setTextFormat(Qt.TextFormat.RichText)
        column.addWidget(self._key)
        self._list = (self._leave, self._over, self._plot, self._key)
        for each in self._list:  # axes and headings of nothing say nothing
            each.hide()
        self._pulls: list[dict[str, Any]] = []
        self.first: QWidget = self._table

    def begin(self, scene: Scene) -> None:
        """Show none until those of this scene are found."""
        self._scene = scene
        self.show_pulls([], ())
        self._hint.setText(tr("Looking for pulls…"))
        self._hint.show()

    def show_pulls(self, pulls: object, lines: tuple[str, ...]) -> None:
        """List the pulls as the command gave them, and what it said besides."""
        self._pulls = [each for each in pulls if isinstance(each, dict)] if isinstance(pulls, list) else []
        besides = [window_text(line) for line in lines[len(self._pulls) :]]
        hint = tr("Choose a pull to see it in the log. The wideband is drawn as it was logged, later than the engine.")
        self._hint.setText(hint)
        self._hint.setVisible(bool(self._pulls))
        for each in self._list:
            each.setVisible(bool(self._pulls))
        self._said.setText("\n".join(besides))
        self._table.blockSignals(True)
        self._table.setRowCount(len(self._pulls))
        for line, pull in enumerate(self._pulls):
            for place, text in enumerate(self._texts(pull)):
                item = QTableWidgetItem(text)
                item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                self._table.setItem(line, place, item)
        self._table.blockSignals(False)
        self._fit()
        self._draw()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show the columns that have room, and the table in whole rows."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        table, head = self._table, self._table.horizontalHeader()
        rows = min(max(len(self._pulls), 1), SHOWN_ROWS)
        high = head.sizeHint().height() + rows * table.verticalHeader().defaultSectionSize()
        table.setFixedHeight(high + 2 * table.frameWidth())
        taken, room = 0, table.width() - 2 * table.frameWidth()
        if len(self._pulls) > SHOWN_ROWS:
            room -= table.verticalScrollBar().sizeHint().width()
        for place in range(table.columnCount()):
            taken += max(table.sizeHintForColumn(place), head.sectionSizeFromContents(place).width())
            table.setColumnHidden(place, place > 0 and taken > room)
        self._say_more()

    def _say_more(self) -> None:
        """Say of the chosen pull what the columns that have no room would say of it."""
        at, table = self._table.currentRow(), self._table
        hidden = [place for place in range(table.columnCount()) if table.isColumnHidden(place)]
        parts = []
        if 0 <= at < len(self._pulls):
            texts, heads = self._texts(self._pulls[at]), _headings()
            parts = [f"{heads[place][0]}\N{NO-BREAK SPACE}{texts[place]}" for place in hidden]
        elif hidden and self._pulls:
            names = " · ".join(_headings()[place][0] for place in hidden)
            parts = [tr("Choose a pull to read here: {names}.").format(names=names)]
        self._more.setText(" · ".join(parts))
        self._more.setVisible(bool(parts))

    def changeEvent(self, event: QEvent) -> None:
        """Draw in the colours of another theme."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and self._pulls:
            self._draw()

    def _texts(self, pull: dict[str, Any]) -> list[str]:
        revision, at, rpm = self._revision(int(pull["drive"])), pull.get("leanest_at"), pull.get("leanest_rpm")
        leanest = "–" if pull["leanest"] is None else percent(float(pull["leanest"]))
        span = "–" if pull["low_rpm"] is None else f"{count(float(pull['low_rpm']))}–{count(float(pull['high_rpm']))}"
        mean = "–" if pull["error"] is None else percent(1 + float(pull["error"]))
        moment = "–" if at is None else number(float(at), 1)
        speed = "–" if rpm is None else count(float(rpm))
        began = number(float(pull["start"]), 1)
        sign = " ∅" if pull.get("left_out") else " !" if pull.get("apart") or pull.get("lifted") else ""
        return [f"{pull['name']}{sign}", str(revision or "–"), leanest, moment, speed, mean, span, began]

    def _revision(self, drive: int) -> int:
        state = self._scene.state
        if state is None:
            return 0
        driven = state.history.driven(state.drive(drive), state.table_name(self._scene.focus.table))
        return 0 if driven is None else driven.id

    def _leave_out(self) -> None:
        at = self._table.currentRow()
        if 0 <= at < len(self._pulls):
            self.leaving.emit(str(self._pulls[at]["name"]))

    def _look(self, at_row: int) -> None:
        self._leave.setEnabled(0 <= at_row < len(self._pulls))
        if 0 <= at_row < len(self._pulls):
            pull = self._pulls[at_row]
            at = pull.get("leanest_at")
            place = float(pull["start"] if at is None else at)
            self.looked.emit(int(pull["drive"]), place, float(pull["start"]), float(pull["end"]))
            self._say_more()
            self._draw()

    def _draw(self) -> None:
        """Lay the pulls over each other: a revision's in one colour and dash."""
        application = QApplication.instance()
        theme: Theme = theme_named("" if application is None else str(application.property("theme")))
        self._plot.dress(theme, self.font())
        self._plot.box.clear()
        state, seen = self._scene.state, list[int]()
        self._plot.box.addItem(pyqtgraph.InfiniteLine(1.0, angle=0, movable=False, pen=pen(theme.line, 1)))
        chosen = self._table.currentRow()
        for number_of, pull in enumerate(self._pulls if state is not None else ()):
            log = None if state is None else state.drive(int(pull["drive"])).log
            parts = (
                [] if log is None else [log.playing(r) for r in ("engine_speed", "lambda_measured", "lambda_commanded")]
            )
            if log is None or any(part is None for part in parts):
                continue
            inside = (log.time.values >= float(pull["start"])) & (log.time.values <= float(pull["end"]))
            speed, measured, commanded = (np.asarray(part)[inside] for part in parts)
            revision = self._revision(int(pull["drive"]))
            seen += [revision] if revision not in seen else []
            place = seen.index(revision)
            with np.errstate(divide="ignore", invalid="ignore"):
                ratio = measured / commanded
            width = theme.stroke * (2 if number_of == chosen else 1)
            line = pen(getattr(theme, COLOURS[place % len(COLOURS)]), width, STYLES[place % len(STYLES)])
            self._plot.box.addItem(pyqtgraph.PlotCurveItem(speed, ratio, connect="finite", pen=line))
        self._plot.name_axis(tr("Engine speed (rpm)"))
        self._plot.whole()
        named = [
            f'<span style="color:{getattr(theme, COLOURS[i % len(COLOURS)])}">{"━╍┅┉"[i % 4]} '
            + tr("revision {id}").format(id=revision)
            + "</span>"
            for i, revision in enumerate(seen)
        ]
        self._key.setText("&nbsp; ".join(named))
