"""The task of correcting: source, share, limit, what the gates took, before and after, what stays untouched."""

import itertools
from contextlib import suppress
from typing import Any

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QLineEdit, QVBoxLayout, QWidget

from workbench.commands.declaring.kinds import TableName
from workbench.commands.declaring.registry import Answer
from workbench.commands.evidence.evidence import Corrected
from workbench.errors import InputError
from workbench.model.cells import ALL
from workbench.model.evidence import Evidence
from workbench.model.log import Drive
from workbench.window.kit.controls import Pairs, Slider, button, choice, label, labelled, row, tick
from workbench.window.kit.number_field import Number, number_field
from workbench.window.scene.scene import Scene
from workbench.window.words.phrasing import LEAN_STEP, allow_lean_step, window_text
from workbench.window.words.wording import THIN_SPACE, count, delay_words, percent, plural, tr

SETTLE_MS = 180
SLIDER_STEP = 5  # % of the step
LEAST_LIMIT = 0.1  # %; with none nothing could change
SLIDER_EM = 18  # lines of text that the task is wide, from which on there is room for the slider
BY_NAME = "named"  # the choice of drives that are ticked one by one


class CorrectTask(QWidget):
    """Shows what a correction would do while it is being set up.

    Signals:
        wanted: arguments for the command; the draft is to be worked out anew.
        gates_wanted: the gates are to be set.
        wrong: an InputError: a field holds what cannot be.
        sourced: which source, drives and stated delay the evidence is to come from.
    """

    wanted = Signal(object)
    wrong = Signal(object)
    sourced = Signal(str, str, str)
    gates_wanted = Signal()

    def __init__(self, scene: Scene, parent: QWidget) -> None:
        """Make the fields."""
        super().__init__(parent)
        self._scene = scene
        self._unfit: dict[Drive, list[str]] = {}  # drives that do not count where all are asked for, and why
        self.undrawn = False  # whether the session is another since; the draft of it comes before it is applied
        self.drafted: dict[str, Any] = {}  # what the draft that is shown was asked for with
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(SETTLE_MS)
        self._soon.timeout.connect(self._ask)
        self.first = self._sources()
        self._steps()
        self._choices()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        self._lay_out(column)
        self._outcome = label(tr("Working out the draft…"), self, wrap=True)
        self._untouched = label("", self, "soft", wrap=True)
        self._gates = label(gate_words(scene), self, "soft", wrap=True)
        self._delay = label("", self, "soft", wrap=True)
        self._say_delays(scene.fitting_evidence)
        for part in (
            label(tr("Effect"), self, "title", wrap=True), self._outcome, self._untouched,
            label(tr("Wideband"), self, "title", wrap=True), self._delay, self.stated,
            label(tr("Samples rejected"), self, "title", wrap=True), self._gates,
        ):  # fmt: skip
            column.addWidget(part)
            if part is self.stated:
                column.addWidget(self._delay_fields)
        limits = button(tr("Gates…"), tr("Set the gate limits."), self)
        limits.clicked.connect(self.gates_wanted)
        column.addLayout(row(limits, None))
        self._soon.start(0)

    def _steps(self) -> None:
        """Make the fields for how much of the step is taken."""
        self.share: Number = number_field(tr("Share"), 100.0, 0.0, 100.0, self, decimals=1, step=5.0)
        self.limit: Number = number_field(tr("Limit"), 25.0, LEAST_LIMIT, 100.0, self, decimals=1, step=5.0)
        for field in (self.share, self.limit):
            field.setSuffix(THIN_SPACE + "%")
        self.limit.setPrefix("±")
        self._slider = Slider(tr("Share, as a slider"), 100 // SLIDER_STEP, self)
        self._slider.setValue(100 // SLIDER_STEP)
        self._slider.valueChanged.connect(lambda value: self.share.setValue(value * SLIDER_STEP))
        self.share.setToolTip(tr("The part of the step to apply. With a wideband a full step is right."))
        self.limit.setToolTip(tr("The largest step of a cell; larger steps are cut to it."))
        self.share.valueChanged.connect(self._move_slider)
        for field in (self.share, self.limit):
            field.valueChanged.connect(lambda _: self._soon.start())
            field.editingFinished.connect(self._end)

    def _choices(self) -> None:
        """Make the fields for which cells change, and for the delay."""
        self.cells = choice(tr("Cells"), [(tr("all driven cells"), False), (tr("only the chosen cells"), True)], self)
        ways = [
            (tr("continue the correction"), "carry"),
            (tr("let it fade"), "taper"),
            (tr("keep their values"), "leave"),
        ]
        self.undriven = choice(tr("Undriven cells"), ways, self)
        self.undriven.setToolTip(
            tr("What to do with undriven cells; a continued correction is inferred, not measured.")
        )
        self.lean = tick(
            allow_lean_step(),
            self,
            tr("Continue the correction where it leans undriven cells at high load, without measurement."),
        )
        self.thin = tick(tr("Thin cells too"), self, tr("Thin cells have wide intervals."), on=True)
        names = ((tr("Fixed delay, s"), 5.0), (tr("Gas volume, g"), 50.0), (tr("Lag of the sensor, s"), 2.0))
        self._delays = [number_field(name, 0.0, 0.0, high, self, decimals=2, step=0.01) for name, high in names]
        tip = tr("State it instead of estimating it from the log: fixed s, gas volume g, lag s.")
        self.stated = tick(tr("State the delay"), self, tip)
        self.note = QLineEdit(self)
        self.note.setAccessibleName(tr("Note"))
        self.note.setPlaceholderText(tr("why, in your words"))
        changes = (
            self.cells.currentIndexChanged,
            self.undriven.currentIndexChanged,
            self.thin.toggled,
            self.lean.toggled,
        )
        for signal in changes:
            signal.connect(lambda *_: self._soon.start())
        self.stated.toggled.connect(self._on_stated)
        self._delay_fields = QWidget(self)
        grid = QGridLayout(self._delay_fields)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setColumnStretch(1, 1)
        for i, (field, (name, _)) in enumerate(zip(self._delays, names, strict=True)):
            grid.addWidget(labelled(name, field, self._delay_fields), i, 0)
            grid.addWidget(field, i, 1)
            field.valueChanged.connect(lambda _: self._resource())
        self._delay_fields.hide()

    def arguments(self) -> dict[str, Any]:
        """Return the arguments for the command.

        Raises:
            InputError: when a number is out of the bounds of its field.
        """
        return {
            "share": self.share.checked() / 100,
            "limit": self.limit.checked() / 100,
            "source": self.source.currentData(),
            "from_": self.drive_words,
            "delay": self.delay_words,
            "cells": self._scene.cells if self.cells.currentData() else ALL,
            "without_thin": not self.thin.isChecked(),
            "undriven": self.undriven.currentData(),
            "accept": (LEAN_STEP,) if self.lean.isChecked() else (),
            "note": self.note.text().strip(),
            "table": TableName(self._scene.focus.table),
        }

    def _end(self) -> None:
        """Say at once what is wrong in the fields, once one is left; nothing is drafted from it."""
        try:
            self.arguments()
        except InputError as error:
            self.wrong.emit(error)

    def _ask(self) -> None:
        """Ask for the draft of what the fields say, or say what is wrong in them."""
        try:
            self.wanted.emit(self.arguments())
        except InputError as error:
            self.wrong.emit(error)

    @property
    def delay_words(self) -> str:
        """The stated delay as the command takes it; empty where it is to be estimated."""
        return ",".join(f"{field.checked():g}" for field in self._delays) if self.stated.isChecked() else ""

    def _on_stated(self, on: bool) -> None:
        evidence = self._scene.fitting_evidence
        if on and evidence is not None and evidence.delay:
            found = list(evidence.delay.values())[-1]
            for field, value in zip(self._delays, (found.fixed_s, found.volume_g, found.lag_s), strict=True):
                field.blockSignals(True)
                field.setValue(value)
                field.blockSignals(False)
        self._delay_fields.setVisible(on)
        self._resource()

    def show_scene(self, scene: Scene) -> None:
        """Follow what is chosen, and the evidence."""
        before, self._scene = self._scene, scene
        self._gates.setText(gate_words(scene))
        self._say_delays(scene.fitting_evidence)
        self._say_left_out()
        if scene.state is not before.state:
            self.undrawn = True
            self._soon.start()
        if self.cells.currentData() and scene.cells != before.cells:
            self._soon.start()

    def draft_again(self) -> None:
        """Ask for the draft of what is shown now: another table, or another revision of it."""
        self._soon.start()

    def _say_delays(self, evidence: Evidence | None) -> None:
        self._delay.setText(delays(evidence))
        told_by = (
            {window_text(delay.carried_by) for delay in evidence.delay.values()} if evidence is not None else set()
        )
        self._delay.setToolTip("\n".join(sorted(told_by - {""})))

    def show_none(self) -> None:
        """Report that nothing would be done: it was refused."""
        self.drafted = {}
        self._outcome.setText(tr("None: the command is refused."))
        self._untouched.clear()

    def show_answer(self, answer: Answer[Any], arguments: dict[str, Any]) -> None:
        """Describe what the draft that was asked for does, and what stays untouched and why; not its warnings."""
        self.drafted = arguments
        corrected = answer.value
        if isinstance(corrected, Corrected):
            correction = corrected.correction
            moved = correction.multipliers[correction.changed]
            if not moved.size or answer.change is None:
                self._outcome.setText(tr("No cell would change."))
            else:
                cut = int(correction.limited.sum())
                words = plural(
                    moved.size,
                    "1 cell, {low}; {cut} cut to the limit." if cut else "1 cell, {low}.",
                    "{n} cells, {low} to {high}; {cut} cut to the limit." if cut else "{n} cells, {low} to {high}.",
                )
                self._outcome.setText(
                    words.format(
                        n=count(moved.size), low=percent(float(moved.min())), high=percent(float(moved.max())),
                        cut=count(cut),
                    )
                )  # fmt: skip
            self._untouched.setText(
                "\n".join(window_text(line) for line in corrected.remarks if line not in answer.warnings)
            )

    def _sources(self) -> QWidget:
        sources = [(tr("trims and wideband"), "both"), (tr("trims only"), "trims"), (tr("wideband only"), "wideband")]
        self.source = choice(tr("Source"), sources, self)
        there = () if self._scene.state is None else self._scene.state.drives
        drives = [(tr("all usable drives"), "all"), (tr("the latest drive"), "latest")]
        drives += [(tr("chosen drives"), BY_NAME)] if there else []
        self.drives = choice(tr("Drives"), drives, self)
        for box in (self.source, self.drives):
            box.currentIndexChanged.connect(lambda _: self._resource())
        evidence = self._scene.fitting_evidence
        self.named = {drive.id: tick(drive_words(drive), self) for drive in there}
        for number, named in self.named.items():
            named.setChecked(evidence is None or number in evidence.drives)
            named.toggled.connect(lambda _: self._resource())
            named.hide()
        return self.source

    @property
    def drive_words(self) -> str:
        """The drives that count, as the command takes them."""
        chosen: str = self.drives.currentData()
        return ",".join(str(n) for n, box in self.named.items() if box.isChecked()) if chosen == BY_NAME else chosen

    def _resource(self) -> None:
        for box in self.named.values():
            box.setVisible(self.drives.currentData() == BY_NAME)
        self._say_left_out()
        with suppress(InputError):  # it is told when the draft is asked for
            self.sourced.emit(self.source.currentData(), self.drive_words, self.delay_words)
        self._soon.start()

    def _say_left_out(self) -> None:
        """Name which drives do not count, or would not if all were asked for, and why."""
        state, evidence, chosen = self._scene.state, self._scene.fitting_evidence, self.drives.currentData()
        if state is not None and evidence is not None and not self._scene.by_choice:
            self._unfit = {
                drive: [window_text(note) for note in evidence.notes if note.startswith(drive.log.name)]
                for drive in state.drives
                if drive.id not in evidence.drives
            }
        templates = {
            "all": tr("Left out: {drive}."),
            BY_NAME: tr("It does not fit: {drive}."),
        }
        lines = []
        for drive, why in self._unfit.items() if chosen in templates else ():
            lines += [templates[chosen].format(drive=drive_words(drive)), *why]
        self._left_out.setText("\n".join(lines))
        self._left_out.setVisible(bool(lines))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Have fields under their names, and no slider, where large text leaves little room."""
        super().resizeEvent(event)
        self._pairs.fit(self.width(), self.fontMetrics().height())
        self._slider.setVisible(self.width() >= SLIDER_EM * self.fontMetrics().height())

    def _move_slider(self, value: float) -> None:
        self._slider.blockSignals(True)
        self._slider.setValue(round(value / SLIDER_STEP))
        self._slider.blockSignals(False)

    def _lay_out(self, column: QVBoxLayout) -> None:
        self._pairs = Pairs()
        share = QWidget(self)
        share.setLayout(row(self.share, self._slider))
        fields = (
            (tr("Source"), self.source), (tr("Drives"), self.drives), (tr("Share"), share), (tr("Limit"), self.limit),
            (tr("Cells"), self.cells), (tr("Undriven cells"), self.undriven), (tr("Note"), self.note),
        )  # fmt: skip
        for name, field in fields:
            # Tab would turn back at a widget that hands the keyboard on to another.
            self._pairs.add(labelled(name, self.share if field is share else field, self), field)
        column.addLayout(self._pairs)
        for box in self.named.values():
            column.addWidget(box)
        self._left_out = label("", self, "soft", wrap=True)
        column.addWidget(self._left_out)
        self._say_left_out()
        column.addWidget(self.thin)
        column.addWidget(self.lean)
        order = (
            self.source, self.drives, self.share, self._slider, self.limit, self.cells, self.undriven, self.note,
            *self.named.values(), self.thin, self.lean, self.stated, *self._delays,
        )  # fmt: skip
        for first, other in itertools.pairwise(order):
            QWidget.setTabOrder(first, other)


def drive_words(drive: Drive) -> str:
    """Name a drive by number and file."""
    return tr("drive {id}: {name}").format(id=drive.id, name=drive.log.name)


def gate_words(scene: Scene) -> str:
    """List what each gate took away."""
    evidence = scene.fitting_evidence
    if evidence is None:
        return tr("Evaluating the logs…") if scene.gathers else tr("No evidence yet.")
    taken = [f"{window_text(gate.name)}: {count(gate.rejected)}" for gate in evidence.gates if gate.rejected]
    kept = plural(evidence.samples_used, "1 sample used", "{n} samples used").format(n=count(evidence.samples_used))
    overlap = [tr("A row that several reject counts at each.")] if len(taken) > 1 else []
    return "\n".join([*taken, *overlap, kept])


def delays(evidence: Evidence | None) -> str:
    """List where each drive's wideband sat and how late it was; why, where the log could not tell."""
    if evidence is None or not evidence.delay:
        return tr("No wideband in use.")
    lines = []
    for number, delay in evidence.delay.items():
        where = evidence.wideband.get(number, "")
        if where == "none":
            lines.append(tr("drive {id}: no wideband").format(id=number))
            continue
        words = {
            "before": tr("drive {id}: before the catalyst, delay {delay}"),
            "after": tr("drive {id}: after the catalyst, delay {delay}"),
            "unknown": tr("drive {id}: wideband position not known, delay {delay}"),
        }.get(where, tr("drive {id}: delay {delay}"))
        lines.append(words.format(id=number, delay=delay_words(delay)))
        if delay.carried_by and delay.source != "estimated":
            lines.append(window_text(delay.carried_by))
    return "\n".join(lines)
