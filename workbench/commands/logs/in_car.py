"""Which revision a log is taken to be driven with, by what was put into the car and what may have been."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from workbench.errors import InputError
from workbench.files.disk.clock import last_written
from workbench.model.deed import InCar
from workbench.model.log import Drive, Log
from workbench.model.state import State
from workbench.phrases import call, flag, join_phrases, phrase

UNSET_BEFORE = "2005"  # a clock that shows an earlier year was never set: common practice, no source
TOLERANCE = timedelta(days=1)  # by which a logger's clock may be ahead of this computer's before it is taken for wrong


@dataclass(frozen=True)
class Made:
    """When a log was recorded, as far as that can be told.

    Attributes:
        first, last: ISO 8601, UTC; the first is empty where only the end is known, both where nothing is.
        source: what says so, in words.
        other: what the first is where the clock of the logger ran in UTC, which it does not say.
    """

    first: str
    last: str
    source: str
    other: str = ""


def marked_revisions(
    state: State, log: Log, file: Path, stated: Collection[str], moment: str
) -> tuple[dict[str, int], tuple[str, ...]]:
    """Return the revision of each table that was in the car when a log began, and say so and what tells it, or not.

    A log that bears a date is held against the marks by that, any other by when its file was last written.

    Args:
        state: the session.
        log: as it was read.
        file: it was read from.
        stated: tables of which it was said already.
        moment: at which the log is added, ISO 8601, UTC.

    Raises:
        InputError: when it began before a revision was put in, or with either by a clock that does not tell its zone:
            then nobody but the user knows.
    """
    found: dict[str, int] = {}
    lines = []
    made = _made(log, file, moment)
    for table in state.history.table_names:
        mark = state.carried_at(table, made.first or moment)
        if table in stated:
            continue
        if state.carried_at(table, moment) is None:
            continue
        _check_order(state, table, mark, made, log.name)
        if mark is None:
            continue
        found[table] = mark.revision
        words = phrase(
            "Driven with revision {id} of {table!r}: in the car since {since}",
            id=mark.revision,
            table=table,
            since=mark.since,
        )
        source = phrase("; {log} began at {first}, {source}", log=log.name, first=made.first, source=made.source)
        lines.append(f"{words}{source if made.first else ''}.")
    return found, tuple(lines)


def never_handed_over(state: State, drive: Drive, stated: Collection[str]) -> tuple[str, ...]:
    """Warn of each table of which a log is tied to a revision that, as far as is known, was not in the car.

    Args:
        state: the session, before the log is added.
        drive: the log.
        stated: tables of which its revision was said.
    """
    found = []
    for table, head in ((name, state.head(name)) for name in state.history.table_names if name not in stated):
        if state.may_be_in_car(table) or state.history.driven(drive, table) is not head:
            continue
        first = next(each for each in state.history.revisions if each.table.name == table)
        driven = (state.history.driven(each, table) for each in reversed(state.drives))
        before = next((each for each in driven if each is not None), first)
        found.append(
            phrase(
                "Caution: {log} is taken to be driven with revision {id} of {table!r}, the current one, which was "
                "never exported. If revision {before} was in the car, say so with {amend_log_command} {on_flag}: what "
                "was not in the car would be corrected twice.",
                log=drive.log.name,
                id=head.id,
                table=table,
                before=before.id,
                amend_log_command=call("amend-log", "SESSION", str(drive.id)),
                on_flag=flag("on", str(before.id)),
            )
        )
    return tuple(found)


def _made(log: Log, file: Path, moment: str) -> Made:
    """Find out when a log was recorded: from its own date, or else from when its file was last written."""
    written = last_written(file)
    own = log.recorded
    latest = _text(datetime.fromisoformat(moment) + TOLERANCE)
    if own is not None:
        here = [_local(each, zoned=own.zoned) for each in (own.first, own.last)]
        if all(UNSET_BEFORE <= each < latest for each in here):
            source = phrase("by the date in it") if own.zoned else phrase("by the date in it, taken as local time")
            return Made(here[0], here[1], source, "" if own.zoned else _local(own.first, zoned=True))
    return Made("", written, phrase("by when its file was last written"))


def _local(seconds: float, *, zoned: bool) -> str:
    """Write a moment as ISO 8601 in UTC; one without a zone is what a clock in this computer's zone showed."""
    try:
        moment = datetime.fromtimestamp(seconds, UTC)
        return _text(moment if zoned else moment.replace(tzinfo=None).astimezone())
    except (ValueError, OverflowError, OSError):
        return ""


def _text(moment: datetime) -> str:
    return moment.astimezone(UTC).replace(microsecond=0).isoformat().replace("+00:00", "Z")


def _check_order(state: State, table: str, mark: InCar | None, made: Made, name: str) -> None:
    """Refuse a log of which the marks leave open with which revision it was driven.

    Raises:
        InputError: naming the revisions that it may be.
    """
    marks = state.in_car[table]
    if made.first:
        doubted = [each for each in marks if made.first < each.since <= made.last]
        if made.other and (other := state.carried_at(table, made.other)) is not mark:
            doubted += [other] if other is not None else []
        if mark is not None and not doubted:
            return
        later = doubted[0] if doubted else marks[0]
    else:
        if mark is None or not state.history.revisions[0].time <= made.last < mark.since:
            return
        later, mark = mark, state.carried_at(table, made.last)
    began = made.first or made.last
    before = [each.id for each in state.history.revisions if each.table.name == table and each.time <= began]
    earlier = mark.revision if mark is not None else before[-1] if before else later.revision
    either = dict.fromkeys((earlier, later.revision))
    raise InputError(
        phrase(
            "{log} is of {began}, {source}; revision {id} of {table!r} was put in the car at {since}.",
            log=name,
            began=began,
            source=made.source,
            id=later.revision,
            table=table,
            since=later.since,
        ),
        phrase(
            "Say which revision was in the car: {flags}.",
            flags=join_phrases(" or ", (flag("on", str(each)) for each in either)),
        ),
    )
