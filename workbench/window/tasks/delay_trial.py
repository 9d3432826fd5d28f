"""A wideband delay that is tried by eye: what it is, what it would change, and what it can be used for."""

import math
from dataclasses import dataclass

import numpy as np

from workbench.model.evidence import Evidence
from workbench.window.log.delay_handle import LONGEST_S
from workbench.window.scene.scene import Scene
from workbench.window.words.wording import THIN_SPACE, held, number, tr


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
