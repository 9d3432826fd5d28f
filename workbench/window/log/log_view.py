"""The card along the bottom: which log, what was kept of it, and its lanes."""

from collections.abc import Callable, Mapping
from weakref import WeakKeyDictionary

import numpy as np
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QResizeEvent
from PySide6.QtWidgets import QWidget

from workbench.commands.report.cards import FIRST_DRIVE
from workbench.model.arrays import BoolArray
from workbench.model.log import Log
from workbench.model.packing import Column
from workbench.window.kit.controls import Card, button, choice, label, rekind
from workbench.window.kit.flow_layout import Flow, row_starts
from workbench.window.kit.spans import NO_SPANS, Spans, spans_of
from workbench.window.kit.theme import LIGHT, Theme
from workbench.window.kit.worker import Jobs
from workbench.window.log.lane_data import Prepared, prepare, usual_lanes
from workbench.window.log.lane_plot import Marks
from workbench.window.log.lane_shapes import LaneShape
from workbench.window.log.lanes import Lanes
from workbench.window.log.legend import cautions_named, make_legend, write_legend
from workbench.window.log.pyramid import Pyramid
from workbench.window.scene.last_drawn import LastDrawn
from workbench.window.scene.scene import Scene, engine_point, row_at
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import count, duration, number, plain, tr

GAP = 12  # px


class LogView(Card):
    """Shows the log of one drive.

    Signals:
        drive_chosen: number of a drive.
        pointed: the time under the cursor, s.
        span: a chosen stretch, s; two NaN to drop it.
        delay_moving: the shifted wideband is being dragged.
        delay_tried: by how much it was, s.
        looked: other lanes, or another stretch of time, are seen.
        asked: a panel that was asked for: "lanes", "drive" or "cautions".
        refitted: its lanes need another height than before.
    """

    drive_chosen = Signal(int)
    pointed = Signal(float)
    span = Signal(float, float)
    asked = Signal(str)
    refitted = Signal()
    delay_moving = Signal()
    delay_tried = Signal(float)
    looked = Signal()

    def __init__(self, jobs: Jobs, parent: QWidget) -> None:
        """Make an empty card."""
        super().__init__(tr("Log"), parent)
        self._jobs, self._scene, self._theme = jobs, Scene(), LIGHT
        self._cancel: Callable[[], None] = lambda: None
        self._known: WeakKeyDictionary[Column, Pyramid] = WeakKeyDictionary()
        self._prepared: Prepared | None = None
        self._tried_on: tuple[str, float | None] = ("", None)  # log and delay that a trial of another starts from
        self._last, self._last_lit = LastDrawn(), LastDrawn()
        self.wanted: dict[str, tuple[tuple[str, ...], ...]] = {}  # by SHA-256 of the log, as is what follows
        self.seen: dict[str, tuple[float, float]] = {}
        self.shapes: dict[str, dict[str, LaneShape]] = {}
        self._listing: object = None
        self._least = 0  # px that it was to be high at least, at last
        self._drives = choice(tr("Drive"), [], self, tr("The drive whose log is shown."), whole=True)
        self._drives.activated.connect(lambda i: self.drive_chosen.emit(int(self._drives.itemData(i))))
        self._facts = label("", self, "soft")
        self._reading = label("", self)
        self._reading.setAccessibleName(tr("At the cursor"))
        self._legend = make_legend(self)
        self._legend[-1].asked.connect(lambda: self.asked.emit("cautions"))
        facts = button(
            tr("Channels"),
            tr("Show the channels, roles and assumptions of this log, and change roles."),
            self,
            "flat",
        )
        facts.clicked.connect(lambda: self.asked.emit("drive"))
        lanes = button(tr("Lanes"), tr("Choose which channels are drawn."), self, "flat")
        lanes.clicked.connect(lambda: self.asked.emit("lanes"))
        self.column.setSpacing(2)
        head = Flow(gap=GAP)
        head.addWidget(self._drives)
        head.addWidget(self._facts)
        head.addWidget(self._reading)
        head.push()
        self._askers = (lanes, facts)
        QWidget.setTabOrder(lanes, facts)
        for part in (*self._legend, *self._askers):
            head.addWidget(part)
        self.column.addLayout(head)
        self.lanes = Lanes(self)
        self.lanes.pointed.connect(self.pointed)
        self.lanes.span.connect(self.span)
        self.lanes.shifted.connect(self._on_shift)
        self.lanes.stack.ranged.connect(self._on_range)
        self.lanes.stack.shaped.connect(self._on_shaped)
        self.lanes.walked.connect(self._on_walk)
        self.column.addWidget(self.lanes, 1)
        self._empty = label("", self, "soft", wrap=True)
        self._empty.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self._empty.setText("\n".join(f"· {window_text(text)}" for text in FIRST_DRIVE))
        self._empty.setContentsMargins(0, 6, 0, 0)
        self.column.addWidget(self._empty, 1)
        for part in (self._drives, *self._askers, self.lanes, self._empty):
            part.hide()  # until it is known whether there is a log

    def _on_shift(self, by: float, done: bool) -> None:
        self._show_focus()
        if done:
            self.delay_tried.emit(-by)
        else:
            self.delay_moving.emit()

    def _trial_words(self) -> str:
        """Name the change of the delay that is being tried; empty where none is."""
        by = self.lanes.handle.by
        return tr("delay tried: {change} s").format(change=number(-by, 2, sign=True)) if by else ""

    def put_back(self) -> None:
        """Give up the delay that is being tried."""
        self.lanes.put_back()
        self._show_focus()

    @property
    def prepared(self) -> Prepared | None:
        """What is drawn."""
        return self._prepared

    def choose_lanes(self, log: Log, wanted: tuple[tuple[str, ...], ...]) -> None:
        """Draw other channels of a log from now on."""
        self.wanted[log.sha256] = wanted
        self.show_scene(self._scene, self._theme)
        self.looked.emit()

    def recall(
        self,
        wanted: Mapping[str, tuple[tuple[str, ...], ...]],
        seen: Mapping[str, tuple[float, float]],
        shapes: Mapping[str, dict[str, LaneShape]],
    ) -> None:
        """Draw logs, when they are shown next, with these lanes, stretches, heights and scales; by SHA-256."""
        self.wanted |= wanted
        self.seen |= seen
        self.shapes |= shapes

    def _on_range(self, low: float, high: float) -> None:
        if self._prepared is not None:
            self.seen[self._prepared.log.sha256] = (low, high)
            self.looked.emit()

    def _on_shaped(self, shapes: dict[str, LaneShape]) -> None:
        if self._prepared is not None:
            self.shapes[self._prepared.log.sha256] = shapes
            self.looked.emit()

    def lanes_of(self, log: Log) -> tuple[tuple[str, ...], ...]:
        """Return which channels are drawn."""
        return self.wanted.get(log.sha256) or usual_lanes(log)

    def show_scene(self, scene: Scene, theme: Theme) -> None:
        """Show the drive that is looked at; what has to be worked out is worked out elsewhere."""
        redressed = theme is not self._theme
        before, self._scene, self._theme = self._scene, scene, theme
        self._list_drives(scene)
        drive = scene.drive
        shown: tuple[QWidget, ...] = (self.lanes, *self._askers)
        for widget in shown:
            widget.setVisible(drive is not None)
        self._empty.setVisible(drive is None)
        rekind(self._facts, "title" if drive is None else "soft")
        if drive is None:
            self._prepared = None
            self._last.forget()
            self.lanes.show_lanes((), theme, (0.0, 1.0), Marks())
            self._facts.setText(tr("No log yet. Drop a drive's log here, or press Ctrl+L."))
            self._facts.setToolTip("")
            self._reading.setText("")
            self._facts.show()
            for part in self._legend:
                part.hide()
            return
        if self._last.is_other(drive.log, scene.samples, self.wanted.get(drive.log.sha256)):
            self._cancel()
            job = prepare(scene, drive.log, self._known, self.lanes_of(drive.log))
            self._cancel = self._jobs.start(tr("Drawing the log"), job, self._on_prepared, lambda _: None)
        elif (redressed or _told(scene) != _told(before)) and self._prepared is not None:
            self._on_prepared(self._prepared)
        elif scene.focus != before.focus:
            self._show_focus()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the legend step back, or come again, as the room asks."""
        super().resizeEvent(event)
        if self._prepared is not None:
            self._show_words(self._reading.accessibleDescription())

    def redress(self) -> None:
        """Take over a new text size."""
        if self._prepared is not None:
            self._on_prepared(self._prepared)

    def _list_drives(self, scene: Scene) -> None:
        drives, table = () if scene.state is None else scene.state.drives, scene.focus.table
        if scene.state is not None and (drives, table) != self._listing:
            self._listing = (drives, table)
            self._drives.clear()
            for drive in drives:
                driven = scene.state.history.driven(drive, table)
                revision = drive.revision if driven is None else driven.id
                text = tr("{id}  {name}, on revision {revision}")
                self._drives.addItem(text.format(id=drive.id, name=drive.log.name, revision=revision), drive.id)
        self._drives.setVisible(bool(drives))
        if scene.drive is not None:
            self._drives.setCurrentIndex(self._drives.findData(scene.drive.id))

    def _on_prepared(self, prepared: Prepared) -> None:
        self._prepared = prepared
        for lane, names in zip(prepared.lanes, self.lanes_of(prepared.log), strict=False):
            drawn = [channel for name in names if (channel := prepared.log.channel(name)) is not None]
            for trace, channel in zip(lane.traces, drawn, strict=False):
                self._known[channel.column] = trace.pyramid
        name = prepared.log.sha256
        seen, shapes = self.seen.get(name), self.shapes.get(name)
        evidence, drive = self._scene.current, self._scene.drive
        delay = None if evidence is None or drive is None else evidence.delay.get(drive.id)
        fixed = None if delay is None else delay.fixed_s
        tried_on, self._tried_on = self._tried_on, (name, fixed)
        marks, trial = self._marks(prepared), tried_on == self._tried_on
        self.lanes.show_lanes(prepared.lanes, self._theme, prepared.whole, marks, seen, shapes, trial=trial)
        self.lanes.handle.dress(self._theme, fixed)
        self._facts.setText(self._sentence(prepared))
        self._show_legend(prepared)
        self._last_lit.forget()
        self._show_focus()

    def _on_walk(self) -> None:
        """Say to those who listen where the cursor is now, and whether the sample there counts."""
        point, table, words = engine_point(self._scene), self._scene.table, self._reading.accessibleDescription()
        if point is not None and table is not None:
            places = zip(point.position, table.axes, strict=True)
            words += ", " + ", ".join(f"{plain(float(f'{at:.4g}'))} {axis.unit}".strip() for at, axis in places)
        speak(self.lanes.view, words)

    def _sentence(self, prepared: Prepared) -> str:
        log, samples = prepared.log, prepared.samples
        words = tr("{rows} rows, {length}").format(
            rows=count(log.rows),
            length=duration(prepared.whole[1] - prepared.whole[0]),
        )
        if samples is None:
            return words + (tr(" · not used") if self._scene.shows_unused else "")
        taken = [(name, int(np.sum(samples.rejected_by == i))) for i, name in enumerate(samples.gates)]
        worst = ", ".join(f"{name} {count(n)}" for name, n in sorted(taken, key=lambda t: -t[1]) if n)
        self._facts.setToolTip(tr("Rejected: {worst}").format(worst=worst))
        return words + tr(" · {kept} accepted").format(kept=count(len(samples.rows)))

    def _marks(self, prepared: Prepared) -> Marks:
        drive = self._scene.drive
        here = tuple((c.at, c.sentence) for c in self._scene.cautions if drive is not None and c.drive == drive.id)
        return Marks(prepared.closed, prepared.full, here)

    def _show_legend(self, prepared: Prepared) -> None:
        cautions = cautions_named(self._scene, len(self._marks(prepared).cautions))
        write_legend(self._legend, prepared, cautions, self._theme)
        self._show_words(self._reading.accessibleDescription())

    def _show_focus(self) -> None:
        prepared = self._prepared
        if prepared is None:
            return
        focus = self._scene.focus
        parts = (prepared, self._scene.table, self._scene.current, focus.cell, focus.blocks, self._theme)
        if self._last_lit.is_other(*parts):
            self.lanes.stack.show_spans(prepared.rejected, lit_spans(self._scene, prepared))
        self.lanes.show_chosen(self._scene.focus.span)
        self.lanes.show_cursor(self._scene.focus.cursor_s)
        time = self._scene.focus.cursor_s
        at = None if time is None or not prepared.log.rows else row_at(prepared.log, time)
        self.lanes.stack.show_values(at)
        words = self._words_at(prepared, time, at)
        self.lanes.view.viewport().setToolTip(words)
        self._show_words(words)

    @property
    def least_height(self) -> int:
        """How high it is at least, so that each lane shows two figures of its scale, px."""
        margins, head = self.column.contentsMargins(), self.column.itemAt(0)
        frame = self.height() - self.contentsRect().height() + margins.top() + margins.bottom()
        room = self.contentsRect().width() - margins.left() - margins.right()
        high = 0 if head is None else head.heightForWidth(room)
        return frame + high + self.column.spacing() + self.lanes.stack.least_height

    def _show_words(self, words: str) -> None:
        """Describe what the log is or, if there are words, what is under the cursor.

        Where those need the room of the legend it steps back: pointing at the lanes must not make them lower.
        """
        words = self._trial_words() or words
        legend = [part for part in self._legend if part.property("shown")]
        margins = self.column.contentsMargins()
        room = self.contentsRect().width() - margins.left() - margins.right()
        beside = sum(part.sizeHint().width() + GAP for part in (self._drives, *self._askers))
        most = room - beside if room - beside > room // 3 else room
        self._reading.setText(self.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, most))
        self._reading.setAccessibleDescription(words)
        self._reading.setToolTip(words)
        rows = [
            len(
                row_starts(
                    [part.sizeHint().width() for part in (self._drives, what, *legend, *self._askers)], room, GAP
                )
            )
            for what in (self._facts, self._reading)
        ]
        for part in self._legend:
            part.setVisible(part in legend and not (words and rows[1] > rows[0]))
        self._facts.setVisible(not words)
        self._reading.setVisible(bool(words))
        least, self._least = self._least, self.least_height
        if least != self._least:
            self.refitted.emit()

    def _words_at(self, prepared: Prepared, time: float | None, at: int | None) -> str:
        """Describe where the cursor is, and whether the sample there was kept."""
        if time is None or at is None:
            return ""
        words, samples = tr("at {time} s").format(time=number(time, 2)), prepared.samples
        if near := [text for when, text in self._marks(prepared).cautions if abs(when - time) < 1.0]:
            return f"▲ {words}: {window_text(near[0])}"
        if samples is None or at >= len(samples.rejected_by):
            return words
        gate = int(samples.rejected_by[at])
        kept = tr("kept") if gate < 0 else tr("gated: {gate}").format(gate=window_text(samples.gates[gate]))
        return f"{words}: {kept}"


def speak(widget: QWidget, words: str) -> None:
    """Announce something through a screen reader."""
    if words:
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(widget, words))


def lit_spans(scene: Scene, prepared: Prepared) -> Spans:
    """Find the stretches whose kept samples lie nearest to the chosen cells."""
    samples, table = prepared.samples, scene.table
    if samples is None or table is None or samples is not scene.samples or scene.fitting_evidence is None:
        return NO_SPANS
    near = scene.chosen()[scene.nearest_of(samples)]
    marked: BoolArray = np.zeros(prepared.log.rows, dtype=np.bool_)
    marked[samples.rows[near]] = True
    return spans_of(marked, prepared.log.time.values)


def _told(scene: Scene) -> tuple[object, ...]:
    """Give what is said of the log beside what it holds."""
    state = scene.state
    return scene.cautions, scene.shows_unused, None if state is None else state.acknowledged
