"""A wideband delay that is tried by eye: what it is, what it would change, and what it can be used for."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from PySide6.QtCore import QObject

from workbench.commands.declaring.kinds import TableName
from workbench.commands.declaring.registry import Answer
from workbench.model.evidence import Evidence
from workbench.window.kit.message_bar import Notice
from workbench.window.log.delay_handle import LONGEST_S
from workbench.window.log.log_view import LogView
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.command_runner import Runner
from workbench.window.scene.scene import Scene
from workbench.window.words.wording import THIN_SPACE, held, number, tr

LEAST_TRIAL_S = 1e-9  # of a delay, that is another than the one in use


@dataclass(frozen=True)
class DelayTrial:
    """A delay that the shifted wideband was moved to.

    Attributes:
        drive: number of the drive whose log is looked at.
        words: the delay as the commands take it.
        sentence: what it is, in place of what.
        before: what the logs say with the delay that is used.
    """

    drive: int
    words: str
    sentence: str
    before: Evidence


def tried(scene: Scene, change: float) -> DelayTrial | None:
    """Describe the delay that the wideband was moved by so many s to; None where none is in use."""
    evidence, samples = scene.fitting_evidence, scene.samples
    delay = None if evidence is None or samples is None else evidence.delay.get(samples.drive)
    if evidence is None or samples is None or delay is None:
        return None
    fixed = min(max(delay.fixed_s + change, 0.0), LONGEST_S)
    known = tr("{before} s") if math.isnan(delay.interval_s) else tr("{before} ± {interval} s")
    words = tr("Fixed delay {now} s in place of {known}, {change} s: the evidence does not use it yet.")
    sentence = words.format(
        now=number(fixed, 2),
        known=known.format(before=number(delay.fixed_s, 2), interval=number(delay.interval_s, 2)),
        change=number(change, 2, sign=True),
    )
    return DelayTrial(samples.drive, f"{fixed:.3f},{delay.volume_g:g},{delay.lag_s:g}", held(sentence), evidence)


def effect_words(before: Evidence, after: Evidence) -> str:
    """Describe what another delay changes: how far ratios move, and whether they are known better."""
    both = before.driven & after.driven
    if not both.any():
        return tr("With it no cell is driven any more.")
    moved = np.where(both, after.ratio / before.ratio - 1, 0.0)
    cell = tuple(int(i) for i in np.unravel_index(int(np.nanargmax(np.abs(moved))), moved.shape))
    half = [number(float(np.median(each.half_width[both])) * 100, 2) for each in (before, after)]
    words = tr("With it the airflow ratio moves by up to {most} (at {where}); the median interval is ±{now} % instead "
               "of ±{then} %.")  # fmt: skip
    most = number(float(moved[cell]) * 100, 1, sign=True) + THIN_SPACE + "%"
    return words.format(most=most, where=before.table.cell_name(cell), now=half[1], then=half[0])


class DelayTrials(QObject):
    """Says what a delay would change that the wideband was moved to, and asks before it is used.

    What is offered is about the log, the table and the evidence that were there when it was let go; as soon as any of
    them is another, the offer is gone and the wideband lies where the delay in use puts it.
    """

    def __init__(self, bridge: Bridge, runner: Runner, notice: Notice, log: LogView) -> None:
        """Listen to the log's handle, and to what else changes."""
        super().__init__(log)
        self._bridge, self._runner, self._notice, self._log = bridge, runner, notice, log
        self._cancel: Callable[[], None] = lambda: None
        self._trial: DelayTrial | None = None
        self._about: tuple[object, ...] = ()
        log.delay_moving.connect(self._on_moving)
        log.delay_tried.connect(self._try)
        bridge.shown.connect(self._on_scene)

    def _try(self, change: float) -> None:
        """Say what delay the wideband was moved to and what it would change, and ask before it is used."""
        self._cancel()
        scene = self._bridge.scene
        trial = tried(scene, change) if abs(change) >= LEAST_TRIAL_S else None
        if trial is None:  # it was put back
            self._withdraw()
            return
        self._trial, self._about = trial, _about(scene)
        if scene.by_choice:
            self._offer(trial, tr("What it would change is told once the open task is closed."))
            return
        self._offer(trial, tr("Working out what it would change…"))

        def weigh(answer: Answer[Any]) -> None:
            if isinstance(answer.value, Evidence) and self._offered:
                self._offer(trial, effect_words(trial.before, answer.value))

        arguments = {"delay": trial.words, "table": TableName(scene.focus.table)}
        self._cancel = self._runner.ask("evidence", arguments, weigh)

    def _offer(self, trial: DelayTrial, effect: str) -> None:
        state = self._bridge.scene.state
        many = state is not None and len(state.drives) > 1
        self._notice.offer(
            f"{trial.sentence} {effect}",
            tr("Keep it for the car"),
            lambda: self._keep(trial, alone=False),
            more=(tr("For this drive alone"), lambda: self._keep(trial, alone=True)) if many else None,
            left=self._give_up,
        )

    @property
    def _offered(self) -> bool:
        """Whether the message is the offer of what is tried."""
        return self._trial is not None and self._trial.sentence in self._notice.text

    def _keep(self, trial: DelayTrial, *, alone: bool) -> None:
        """Have a delay that was tried recorded; undo takes it back."""
        self._give_up()
        self._runner.run("wideband-delay", {"delay": trial.words, "log": trial.drive if alone else None})

    def _withdraw(self) -> None:
        """Take the offer away, and nothing else that is said there."""
        if self._offered:
            self._notice.hide()
        self._trial = None

    def _give_up(self) -> None:
        """Draw the wideband where the delay puts it."""
        self._cancel()
        self._trial = None
        self._log.put_back()

    def _on_moving(self) -> None:
        """While it is moved on, nothing is offered of where it was."""
        self._cancel()
        self._withdraw()

    def _on_scene(self, scene: Scene) -> None:
        if self._trial is not None and _about(scene) != self._about:
            self._withdraw()
            self._give_up()


def _about(scene: Scene) -> tuple[object, ...]:
    """Return what a trial is about: session as it was recorded, table, log, and what the logs say of it."""
    state, drive = scene.state, scene.drive
    return (
        None if state is None else (state.path, state.sequence),
        scene.focus.table,
        None if drive is None else drive.id,
        None if scene.current is None else id(scene.current),
        scene.by_choice,
    )
