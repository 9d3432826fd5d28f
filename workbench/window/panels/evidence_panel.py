"""What the logs say about the chosen cells, and what to do about them."""

import numpy as np
from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QVBoxLayout, QWidget

from workbench.maths.questions import ratios_against
from workbench.model.arrays import FloatArray
from workbench.model.evidence import FEWEST_OWN, STANDINGS, Evidence
from workbench.window.kit.controls import Card, button, label, row, spread
from workbench.window.kit.flow_layout import Flow
from workbench.window.kit.theme import Theme
from workbench.window.panels.budget_bar import BudgetBar, parts_of
from workbench.window.panels.distribution import Distribution
from workbench.window.scene.last_drawn import LastDrawn
from workbench.window.scene.scene import Scene
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import STANDING_SIGNS, THIN_SPACE, count, delay_words, number, plural, tr

FAR_INSIDE = 0.1  # of the target: an error below it is not worth a revision; common practice, no source


class EvidencePanel(Card):
    """Sentences and figures about the chosen cells.

    Signals:
        more: all sentences are asked for.
        asked: another height is asked for.
    """

    more, asked = Signal(), Signal()

    def __init__(self, parent: QWidget) -> None:
        """Make it empty."""
        super().__init__(tr("Evidence"), parent)
        self._last = LastDrawn()
        self._tallest = ((0, 0), 0, 0)  # width and line of text, and the heights taken there without and with pictures
        self._asked = 0  # px that it was to be high at last, with its pictures
        self._title = label("", self, "title", wrap=True)
        spread(self._title, QSizePolicy.Policy.Expanding)
        self._more = button("", tr("All notes on the evidence, and what to drive next."), self, "flat")
        self._more.clicked.connect(self.more)
        self._more.hide()
        self.column.addLayout(row(self._title, self._more))
        self._advice = label("", self, wrap=True)
        self._advice.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self.column.addWidget(self._advice)
        flow = Flow(gap=18)
        self._places: list[QWidget] = []
        self._values: list[QLabel] = []
        tips = (
            tr("Measured airflow over the table's; ± is half the 95 % interval."),
            tr("Strength of the evidence: ● proven, ◐ thin, ○ undriven."),
            tr(
                "Accepted samples for these cells, and separate visits. Weighted: one that was logged during purge, or "
                "lies between cells, counts as a part of one."
            ),
            tr("Of the samples nearest to the cell only; easy to check by hand."),
            "",
        )
        names = tr("Airflow ratio"), tr("Standing"), tr("Samples, visits"), tr("Mean, median"), tr("Wideband")
        for name, tip in zip(names, tips, strict=True):
            place = QWidget(self)
            column = QVBoxLayout(place)
            column.setContentsMargins(0, 0, 0, 0)
            column.setSpacing(0)
            column.addWidget(label(name, place, "soft"))
            value = label("", place, "figure")
            value.setAccessibleDescription(f"{name}: {tip}")
            place.setToolTip(tip)
            self._places.append(place)
            self._values.append(value)
            column.addWidget(value)
            flow.addWidget(place)
        self.column.addLayout(flow)
        self._pictures = QWidget(self)  # seen where there is room for them: nothing else gives way to them
        self._beside = Flow(self._pictures, gap=18)
        self._distribution = Distribution(self._pictures)
        self._budget = BudgetBar(self._pictures)
        self._beside.addWidget(self._distribution)
        self._beside.addWidget(self._budget)
        self._pictures.hide()
        self.column.addWidget(self._pictures)
        self.column.addStretch(1)

    def show_scene(self, scene: Scene, theme: Theme) -> None:
        """Describe what is known about the chosen cells."""
        table, evidence, cell = scene.table, scene.fitting_evidence, scene.focus.cell
        storage = None if scene.state is None else scene.state.ecu_format(scene.focus.table).storage
        drives = scene.state and scene.state.drives
        drafted = scene.draft is not None
        seen = scene.silent, scene.looks_back, scene.head, scene.reference, bool(scene.beside), drafted
        parts = (table, evidence, cell, scene.focus.blocks, scene.riddle, drives, storage, theme, *seen)
        if table is None or not cell or not self._last.is_other(*parts):
            return
        chosen = scene.chosen()
        many = int(chosen.sum())
        where = table.cell_name(cell) if many <= 1 else tr("{n} cells from {first} to {last}").format(
            n=many, first=table.cell_name(_first(chosen)), last=table.cell_name(_last(chosen))
        )  # fmt: skip
        self._title.setText(_heading(scene).format(where=where, revision="" if scene.head is None else scene.head.id))
        if evidence is None or scene.silent:
            for part in (*self._places, self._distribution, self._budget):
                part.hide()
            self._more.hide()
            told = "" if scene.looks_back else _riddle(scene)
            self._advice.setText(told or self._silence(scene))
            self._advice.setToolTip("")
            self._tallest = ((0, 0), 0, 0)
            self.fit()
            return
        index = cell if many <= 1 else None
        self._write(evidence, chosen, index)
        ratios = ratios_of(scene, evidence, chosen)
        self._distribution.setVisible(ratios.size > 0)
        self._distribution.show_ratios(ratios, _mean_ratio(evidence, chosen), theme)
        self._budget.show_parts(parts_of(evidence, chosen), theme)
        step = 0.0 if storage is None else storage.step
        sentences = advice(evidence, chosen, step)
        told = " ".join(told_first(sentences, evidence, chosen))
        self._advice.setText(tr("Before the draft: {sentence}").format(sentence=told) if drafted and told else told)
        self._advice.setToolTip("\n".join(sentences))
        many = len(evidence.notes) + len(evidence.plan)
        self._more.setText(plural(many, "1 note", "{n} notes").format(n=many))
        self._more.setAccessibleName(self._more.text())
        self._more.setVisible(bool(evidence.notes or evidence.plan))
        self.fit()

    @staticmethod
    def _silence(scene: Scene) -> str:
        """Explain why no advice is shown."""
        if scene.looks_back and scene.head is not None and scene.reference is not None:
            words = tr(
                "Revision {shown} is shown. What the logs say is about revision {head}: go back to it to see that."
            )
            return words.format(shown=scene.reference.id, head=scene.head.id)
        if scene.state is not None and scene.state.drives:
            return tr("Evaluating the logs…")
        return tr("No evidence yet: add the log of a drive.")

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Require as much height as the texts take at this width."""
        super().resizeEvent(event)
        self.fit()

    def event(self, event: QEvent) -> bool:
        """Require as much once the figures have taken in their new texts."""
        if event.type() == QEvent.Type.LayoutRequest:
            self.fit()
        return super().event(event)

    def fit(self) -> None:
        """Ask for the height that texts and figures take, or took at this width: nothing jumps from cell to cell.

        The pictures are seen where the panel is higher than that anyway: what it asks for does not depend on what it
        got, so that there is one way to share the room out, whatever was seen before.
        """
        for place in self._places:  # until then each asks for the width of what it said before
            layout = place.layout()
            if layout is not None:
                layout.activate()
        self.column.activate()  # until then a row may count a button that was just hidden
        margins = self.column.contentsMargins()
        room = self.contentsRect().width() - margins.left() - margins.right()
        pictured = not (self._distribution.isHidden() and self._budget.isHidden())
        if not pictured:
            self._pictures.hide()  # before it is measured: a place without anything in it takes room
        pictures = self.column.spacing() + self._beside.heightForWidth(max(room, 1)) if pictured else 0
        high, at = self.height_for(self.width()), (self.width(), self._more.sizeHint().height())
        if not self._pictures.isHidden():
            high -= self.column.spacing() + self._pictures.heightForWidth(max(room, 1))
        before = self._tallest if self._tallest[0] == at else (at, 0, 0)
        self._tallest = (at, max(high, before[1]), max(high + pictures, before[2]))
        self._pictures.setVisible(pictured and self.height() >= high + pictures)
        if self._tallest[1:] != (self.minimumHeight(), self._asked):
            self._asked = self._tallest[2]
            self.setMinimumHeight(self._tallest[1])
            self.asked.emit()

    @property
    def liked_height(self) -> int:
        """How high it is with its pictures, px."""
        return max(self._asked, self.minimumHeight())

    def _write(self, evidence: Evidence, chosen: np.ndarray, cell: tuple[int, ...] | None) -> None:
        """Show the figures; one that says nothing of these cells is left out."""
        if cell is not None and not evidence.driven[cell]:
            texts = [_inferred(evidence, cell), f"{STANDING_SIGNS['undriven']} {tr('undriven')}", "", ""]
        elif cell is not None:
            ratio = number(float(evidence.ratio[cell]), 3)
            half = number(float(evidence.half_width[cell]), 3)
            standing = evidence.standing_of(cell)
            texts = [
                f"{ratio} ± {half}",
                f"{STANDING_SIGNS[standing]} {tr(standing)}",
                plural(float(evidence.visits[cell]), "{n} in 1 visit", "{n} in {visits} visits").format(
                    n=count(float(evidence.samples[cell])), visits=count(float(evidence.visits[cell]))
                ),
                f"{number(float(evidence.mean[cell]), 3)}, {number(float(evidence.median[cell]), 3)}",
            ]
        else:
            standings = [(name, int((chosen & evidence.stands(name)).sum())) for name in reversed(STANDINGS)]
            texts = [
                number(_mean_ratio(evidence, chosen), 3),
                ", ".join(f"{STANDING_SIGNS[name]} {n}" for name, n in standings if n),
                tr("{n}, weighted").format(n=count(float(evidence.samples[chosen].sum()))),
                "",
            ]
        where, how = wideband_words(evidence)
        self._places[-1].setToolTip(how)
        self._values[-1].setAccessibleDescription(how)
        for place, value, text in zip(self._places, self._values, (*texts, where), strict=True):
            value.setText(text)
            place.setVisible(bool(text))


def _riddle(scene: Scene) -> str:
    """Say why there is no evidence; what a log asks is asked with its answers, where the next step leads."""
    asking = [] if scene.state is None else [each.log.name for each in scene.state.drives if each.log.questions]
    if not scene.riddle or not asking:
        return scene.riddle
    words = plural(len(asking), "{logs} gives no evidence until its questions are answered: the next step opens them.",
                   "{logs} give no evidence until their questions are answered: the next step opens them.")  # fmt: skip
    return words.format(logs=", ".join(asking))


def _heading(scene: Scene) -> str:
    """Say what the figures are about: which revision too, where others are seen beside it, and no draft."""
    if scene.draft is not None:
        return tr("Evidence for {where}, before the draft")
    return tr("Evidence for {where}, revision {revision}") if scene.beside else tr("Evidence for {where}")


def _inferred(evidence: Evidence, cell: tuple[int, ...]) -> str:
    """Say what the neighbours of an undriven cell let expect, with its wide interval; nothing where they do not."""
    if not evidence.inferred.size or not np.isfinite(evidence.inferred[cell]):
        return ""
    ratio, half = (float(each[cell]) for each in (evidence.inferred, evidence.inferred_half_width))
    return tr("≈ {ratio} ± {half}, inferred").format(ratio=number(ratio, 3), half=number(half, 3))


def wideband_words(evidence: Evidence) -> tuple[str, str]:
    """Describe where the wideband of the latest drive sat, and how late it saw the mixture."""
    words = {
        "before": tr("before the catalyst"),
        "after": tr("after the catalyst"),
        "unknown": tr("position not known"),
    }
    number = max(evidence.wideband, default=0)
    where, delay = words.get(evidence.wideband.get(number, "none"), ""), evidence.delay.get(number)
    if not where or delay is None:
        return tr("none"), tr("The evidence comes from the trims.")
    # What was estimated is the rule; what a person stated is told.
    if delay.source == "stated":
        where = tr("{where}, delay stated").format(where=where)
    how = tr("Its reading is delayed by {delay}: a fixed part plus gas volume over airflow.")
    return where, how.format(delay=delay_words(delay))


def told_first(sentences: list[str], evidence: Evidence, chosen: np.ndarray) -> list[str]:
    """Choose the sentences that are always seen: those about these cells, or where to read what to drive.

    The rest stands in the notes, and is told on pointing.
    """
    plan = [window_text(line) for line in evidence.plan]
    own = [sentence for sentence in sentences if sentence not in plan]
    if (chosen & evidence.driven).any():
        return own[:2]
    # The plan is about the whole table, mostly about other cells than these: it has no place under their name.
    return [*own, *([tr("What to drive next stands first in the notes.")] if plan else [])][:2]


def advice(evidence: Evidence, chosen: np.ndarray, storage_step: float = 0.0) -> list[str]:
    """Return the sentences worth reading for these cells: what is thin, what the error follows, what to drive.

    Args:
        evidence: against the table.
        chosen: cells, shape of the table.
        storage_step: what one count of the ECU is worth, in the table's unit; 0 where that was not stated.
    """
    found = _undriven(evidence, chosen)
    if (chosen & evidence.driven).any():
        step = _step(evidence, chosen, storage_step)
        measured = evidence.full_target.measured or evidence.part_target.measured
        found.append(step if measured else tr("Expected, not driven yet: {sentence}").format(sentence=step))
    if evidence.disputed.size and (chosen & evidence.disputed).any():
        found.append(tr("The drives disagree here; the notes say which and by how much."))
    followed = [effect.sentence for effect in evidence.effects if effect.stands_out]
    return [*found, *(window_text(line) for line in (*followed, *evidence.plan))]


def _undriven(evidence: Evidence, chosen: np.ndarray) -> list[str]:
    """Say of undriven cells that nothing was measured there, or that what was is too uncertain to count."""
    read = evidence.samples >= FEWEST_OWN
    undriven, loose = (int((chosen & ~evidence.driven & kind).sum()) for kind in (~read, read))
    found = []
    if undriven:
        found.append(
            tr("Undriven: nothing was measured here.")
            if undriven == int(chosen.sum())
            else plural(
                undriven,
                "1 cell is undriven: nothing was measured there.",
                "{n} cells are undriven: nothing was measured there.",
            ).format(n=undriven)
        )
    if loose:
        found.append(
            tr("Read here, but too uncertain to count as driven: the notes say why.")
            if loose == int(chosen.sum())
            else plural(
                loose,
                "1 cell was read, but is too uncertain to count as driven: the notes say why.",
                "{n} cells were read, but are too uncertain to count as driven: the notes say why.",
            ).format(n=loose)
        )
    return found


def _step(evidence: Evidence, chosen: np.ndarray, storage_step: float) -> str:
    """Say how far the table is off in these cells and what to do; no step that would be lost, or changes nothing."""
    driven = chosen & evidence.driven
    if evidence.samples[driven].sum() < FEWEST_OWN:
        return tr("Hardly a reading of its own here: what is said of it follows from its neighbours. Drive here.")
    ratio, half = evidence.ratio[driven], evidence.half_width[driven]
    limits = np.where(evidence.full_throttle[driven], evidence.full_target.limit, evidence.part_target.limit)
    off = _mean_ratio(evidence, chosen) - 1
    size = number(abs(off) * 100, 1) + THIN_SPACE + "%"
    if not (np.abs(ratio - 1) > half).any():
        known = "±" + number(float(np.median(half)) * 100, 1) + THIN_SPACE + "%"
        if (half > limits).any():
            return tr("Too uncertain to tell whether the table is off here ({known}): drive here again.").format(
                known=known
            )
        return tr("The table is right here within the uncertainty ({known}): leave it.").format(known=known)
    if (np.abs(off * evidence.table.values[driven]) < storage_step / 2).all():
        words = (
            tr("The table reads {size} low here, less than one storage step: leave it.")
            if off > 0
            else tr("The table reads {size} high here, less than one storage step: leave it.")
        )
    elif (np.abs(ratio - 1) < FAR_INSIDE * limits).all():
        words = (
            tr("The table reads {size} low here, far inside its target: leave it.")
            if off > 0
            else tr("The table reads {size} high here, far inside its target: leave it.")
        )
    else:
        words = (
            tr("The table reads low here: raise it by {size}.")
            if off > 0
            else tr("The table reads high here: lower it by {size}.")
        )
    return words.format(size=size)


def ratios_of(scene: Scene, evidence: Evidence, chosen: np.ndarray) -> FloatArray:
    """Collect the ratios of the samples nearest to the chosen cells, shape (n,)."""
    parts = []
    for kept in (each for each in evidence.kept if len(each.position)):
        nearest = scene.nearest_of(kept)
        flat = np.ravel_multi_index(nearest, evidence.table.shape)
        parts.append(ratios_against(evidence, kept, flat)[chosen[nearest]])
    ratios: FloatArray = np.concatenate(parts or [np.zeros(0)])
    return np.asarray(ratios[np.isfinite(ratios)])


def _mean_ratio(evidence: Evidence, chosen: np.ndarray) -> float:
    driven = chosen & evidence.driven
    weight = evidence.samples[driven]
    return float(np.average(evidence.ratio[driven], weights=weight)) if weight.sum() > 0 else float("nan")


def _first(chosen: np.ndarray) -> tuple[int, ...]:
    return tuple(int(i) for i in np.argwhere(chosen)[0])


def _last(chosen: np.ndarray) -> tuple[int, ...]:
    return tuple(int(i) for i in np.argwhere(chosen)[-1])
