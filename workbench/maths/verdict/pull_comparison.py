"""Pulls against one another: which stands apart, how well they repeat, whether a round changed more than that."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from workbench.maths.verdict.pulls import Pull
from workbench.phrases import join_phrases, phrase

APART = 3.5  # robust deviations from the median of the others: common practice, no source
SMALLEST_SPREAD = 0.003  # of the airflow ratio; no wideband repeats better: common practice, no source
FEWEST = 3  # pulls of a round, to tell which one stands apart
SURE = 2.0  # deviations of the difference of two rounds


@dataclass(frozen=True)
class NamedPull:
    """A pull, the drive's number and its own number in it, and the revision that was in the car (None: not known)."""

    drive: int
    number: int
    revision: int | None
    pull: Pull

    @property
    def name(self) -> str:
        """By which it is left out, as in 2:1."""
        return f"{self.drive}:{self.number}"


@dataclass(frozen=True)
class PullRound:
    """The pulls that were made with one revision.

    Attributes:
        revision: that was in the car.
        pulls: names of those that count.
        error: mean of their airflow errors against the table as it is now.
        spread: standard deviation from pull to pull; NaN of one.
    """

    revision: int | None
    pulls: tuple[str, ...]
    error: float
    spread: float


def outlying(pulls: Sequence[NamedPull]) -> tuple[str, ...]:
    """Name the pulls that stand apart from the others of their round, or were interrupted."""
    found = [each.name for each in pulls if each.pull.lifted and not each.pull.left_out]
    for group in _by_revision(pulls).values():
        if len(group) < FEWEST:
            continue
        for each in group:
            others = np.array([other.pull.error for other in group if other is not each])
            middle = float(np.median(others))
            spread = max(1.4826 * float(np.median(np.abs(others - middle))), SMALLEST_SPREAD)
            if abs(each.pull.error - middle) > APART * spread:
                found.append(each.name)
    return tuple(dict.fromkeys(found))


def rounds_of(pulls: Sequence[NamedPull]) -> tuple[PullRound, ...]:
    """Put the pulls that count together by the revision that was in the car, in order of the drives."""
    return tuple(
        PullRound(
            revision,
            tuple(each.name for each in group),
            float(np.mean([each.pull.error for each in group])),
            float(np.std([each.pull.error for each in group], ddof=1)) if len(group) > 1 else float("nan"),
        )
        for revision, group in _by_revision(pulls).items()
    )


def _by_revision(pulls: Sequence[NamedPull]) -> dict[int | None, list[NamedPull]]:
    groups: dict[int | None, list[NamedPull]] = {}
    for each in pulls:
        if each.pull.samples and not each.pull.left_out:
            groups.setdefault(each.revision, []).append(each)
    return groups


def sentences(pulls: Sequence[NamedPull]) -> tuple[str, ...]:
    """Tell which pulls stand apart, how well those of each round repeat, and whether rounds differ by more."""
    lines = []
    if apart := outlying(pulls):
        lines.append(
            phrase("{pulls}: stands apart from the others or was interrupted; leave it out, or repeat it.",
                   pulls=", ".join(apart))
        )  # fmt: skip
    rounds = rounds_of(pulls)
    lines += [
        phrase(
            "Pulls {names} with revision {revision} repeat within ±{spread:.2f} % (standard deviation), mean "
            "{error:+.1f} %.",
            names=", ".join(each.pulls),
            revision="?" if each.revision is None else each.revision,
            spread=100 * each.spread,
            error=_tenths(each.error),
        )
        for each in rounds
        if len(each.pulls) > 1
    ]
    for before, after in pairwise(rounds):
        lines.append(_between(before, after))
    return tuple(lines)


def _tenths(ratio: float) -> float:
    """Give a ratio in tenths of a percent; zero bears no sign of less."""
    return round(100 * ratio, 1) + 0.0


def _between(before: PullRound, after: PullRound) -> str:
    """Tell whether two rounds see the same airflow, which they should, since both are held against the same table."""
    spreads = [s for s in (before.spread, after.spread) if np.isfinite(s)]
    spread = max(max(spreads, default=SMALLEST_SPREAD), SMALLEST_SPREAD)
    off = spread * float(np.sqrt(1 / len(before.pulls) + 1 / len(after.pulls)))
    change = after.error - before.error
    start = phrase(
        "From revision {old} to {new} the measured airflow at full throttle moved by {change:+.1f} %",
        old="?" if before.revision is None else before.revision,
        new="?" if after.revision is None else after.revision,
        change=_tenths(change),
    )
    verdict = (
        phrase(": more than pulls scatter (±{off:.1f} %); something else changed between them.", off=100 * SURE * off)
        if abs(change) > SURE * off
        else phrase(": no more than pulls scatter (±{off:.1f} %).", off=100 * SURE * off)
    )
    return join_phrases("", (start, verdict))
