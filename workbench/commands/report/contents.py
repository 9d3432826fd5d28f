"""All that a report tells of a revision, gathered before anything is written."""

from collections.abc import Generator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from workbench.commands.evidence.gathering import from_drives, from_drives_with
from workbench.commands.record.approving import standing_against
from workbench.maths.drives.drive_fit import driven_table
from workbench.maths.questions import Looked, look_for_cautions
from workbench.maths.signals.ratio import signals
from workbench.maths.verdict.approval_case import Objection
from workbench.maths.verdict.prediction_check import PredictionCheck, check_prediction, drives_since
from workbench.maths.verdict.pulls import Pull, find_pulls
from workbench.model.arrays import FloatArray
from workbench.model.evidence import Evidence
from workbench.model.history import Approval, Revision
from workbench.model.log import Drive
from workbench.model.state import State
from workbench.work import Progress


@dataclass(frozen=True, eq=False)
class Round:
    """One correction, and what the drives made with it showed.

    Attributes:
        correction: the revision it made.
        prediction: what it expected against what came; None where nothing was driven with it.
        seen: the evidence of those drives, against the correction.
    """

    correction: Revision
    prediction: PredictionCheck | None
    seen: Evidence | None


@dataclass(frozen=True, eq=False)
class ReportedPull:
    """One pull, with its samples.

    Attributes:
        drive: the log it is from.
        pull: what there is to say of it.
        along: engine speed of each kept sample, rpm, or where that is not logged the place on the table's first axis.
        ratio: airflow ratio of each of them against the revision.
        by_speed: whether `along` is engine speed.
    """

    drive: Drive
    pull: Pull
    along: FloatArray
    ratio: FloatArray
    by_speed: bool


@dataclass(frozen=True, eq=False)
class Contents:
    """What a report tells.

    Attributes:
        state: the session.
        revision: which the report is about.
        first: the table as it was brought in.
        found: what all logs say of the revision; None where they say nothing.
        refusal: why they say nothing; empty where they do.
        before: what the drives made with the first revision say of it; None where there are none.
        after: what the drives made with this revision say of it; None where there are none.
        rounds: the corrections on the way to it.
        pulls: of the drives used.
        objections: to the revision, as they are now.
        looks: what in the logs calls for caution.
        written: ISO 8601 time, UTC.
    """

    state: State
    revision: Revision
    first: Revision
    found: Evidence | None
    refusal: str
    before: Evidence | None
    after: Evidence | None
    rounds: tuple[Round, ...]
    pulls: tuple[ReportedPull, ...]
    objections: tuple[Objection, ...]
    looks: tuple[Looked, ...]
    written: str

    @property
    def approval(self) -> Approval | None:
        """The approval of the revision; None where it is a draft."""
        return self.state.history.approvals.get(self.revision.id)

    @property
    def name(self) -> str:
        """Of the table."""
        return self.revision.table.name

    @property
    def session(self) -> str:
        """The session's file name."""
        return Path(self.state.path).name


def contents_of(state: State, revision: Revision, written: str) -> Generator[Progress, None, Contents]:
    """Gather all that a report on a revision tells."""
    name, first = revision.table.name, state.history.line(revision.id)[0]
    weighed = yield from standing_against(state, revision)
    found = weighed.found
    before = yield from from_drives_with(state, first)
    usable = None if found is None else found.drives
    after = before if first is revision else (yield from from_drives_with(state, revision, usable))
    rounds = []
    for each in state.history.line(revision.id):
        if each.origin == "measured":
            made = yield from _round(state, each)
            rounds.append(made)
    return Contents(
        state,
        revision,
        first,
        found,
        weighed.refusal,
        before,
        after,
        tuple(rounds),
        () if found is None else tuple(_pulls(state, found)),
        weighed.objections,
        tuple(look_for_cautions(state.history, state.drives, name, state.settings)),
        written,
    )


def _round(state: State, correction: Revision) -> Generator[Progress, None, Round]:
    since = drives_since(state.history, state.drives, correction)
    later = [each for each in state.history.revisions if each.origin == "measured" and each.id > correction.id]
    since = tuple(
        each for each in since if not any(each in drives_since(state.history, state.drives, other) for other in later)
    )
    seen = yield from from_drives(state, correction, since)
    check = None if seen is None else check_prediction(state.history, correction, seen, state.drives)
    return Round(correction, check, seen)


def _pulls(state: State, found: Evidence) -> Generator[ReportedPull, None, None]:
    for samples in found.kept:
        drive = state.drive(samples.drive)
        seen = signals(drive, driven_table(state.history, drive, found.table.name), state.settings.gates)
        for pull in find_pulls(seen, samples, found.delay.get(samples.drive)):
            when = seen.time[samples.rows]
            inside = (when >= pull.start) & (when <= pull.end)
            speed = seen.speed[samples.rows[inside]]
            by_speed = bool(speed.size and np.isfinite(speed).all())
            along = speed if by_speed else samples.position[inside, 0]
            yield ReportedPull(drive, pull, along, samples.ratio[inside], by_speed)
