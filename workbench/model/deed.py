"""What was done and can be taken back: every recorded change but approvals and exports, which stand for good."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

DeedKind = Literal["revision", "logs", "log", "settings", "format", "caution", "input", "computed", "branch", "car"]


@dataclass(frozen=True)
class Acknowledgement:
    """That somebody looked into a caution, and why it may stand.

    Attributes:
        caution: number of the drive and name of the caution, as in 2:hot-coolant.
        sentence: what the caution said; where it says something else later, it is open again.
        reason: in their words.
        by: who.
        time: ISO 8601, UTC.
    """

    caution: str
    sentence: str
    reason: str
    by: str
    time: str


@dataclass(frozen=True)
class InCar:
    """That a revision was put into the car.

    Attributes:
        revision: which.
        since: when, ISO 8601, UTC.
        by: who says so.
    """

    revision: int
    since: str
    by: str


@dataclass(frozen=True, eq=False)
class Deed:
    """One thing that was done, with what it was before and after.

    Attributes:
        sequence: of the change that did it.
        kind: what was changed.
        about: numbers of the logs, name of the table, the caution or the channel, number of a branch's first revision;
            empty for settings.
        before: what it was; None where there was nothing.
        after: what it became.
    """

    sequence: int
    kind: DeedKind
    about: tuple[str, ...]
    before: object
    after: object

    def touches(self, other: "Deed") -> bool:
        """Return whether another deed is about the same thing, so that this one cannot be taken back before it."""
        group = {"logs": "log"}
        same = group.get(self.kind, self.kind) == group.get(other.kind, other.kind)
        return same and not set(self.about).isdisjoint(other.about)


def last_of(deeds: Iterable[Deed], kind: DeedKind, about: str) -> Deed | None:
    """Find the latest deed of a kind about something."""
    return next((each for each in reversed(tuple(deeds)) if each.kind == kind and about in each.about), None)
