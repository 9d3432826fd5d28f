"""Which revision a log is taken to be driven with, where somebody said what was put into the car."""

from collections.abc import Collection, Sequence
from pathlib import Path

from workbench.errors import InputError
from workbench.files.disk.clock import last_written
from workbench.model.deed import InCar
from workbench.model.state import State
from workbench.phrases import flag, join_phrases, phrase


def marked_revisions(
    state: State, files: Sequence[Path], stated: Collection[str], moment: str
) -> tuple[dict[str, int], tuple[str, ...]]:
    """Return the revision of each table that was put into the car last, and say so.

    Args:
        state: the session.
        files: the logs.
        stated: tables of which it was said already.
        moment: at which the logs are added, ISO 8601, UTC.

    Raises:
        InputError: when a log was finished before the revision was put in: then nobody but the user knows.
    """
    found: dict[str, int] = {}
    said = []
    for table in state.history.table_names:
        mark = state.carried_at(table, moment)
        if mark is None or table in stated:
            continue
        for file in files:
            _check_order(state, table, mark, file)
        found[table] = mark.revision
        said.append(
            phrase(
                "Driven with revision {id} of {table!r}: in the car since {since}.",
                id=mark.revision,
                table=table,
                since=mark.since,
            )
        )
    return found, tuple(said)


def _check_order(state: State, table: str, mark: InCar, file: Path) -> None:
    """Refuse a log that was written before the mark, by a clock that is not plainly wrong."""
    written = last_written(file)
    if not state.history.revisions[0].time <= written < mark.since:
        return
    before = state.carried_at(table, written)
    made = [each.id for each in state.history.revisions if each.table.name == table and each.time <= written]
    earlier = before.revision if before is not None else made[-1] if made else mark.revision
    either = dict.fromkeys((earlier, mark.revision))
    raise InputError(
        phrase(
            "{file} was last written at {written}, before revision {id} of {table!r} was put in the car at {since}.",
            file=file.name,
            written=written,
            id=mark.revision,
            table=table,
            since=mark.since,
        ),
        phrase(
            "Say which revision was in the car: {flags}.",
            flags=join_phrases(" or ", (flag("on", str(each)) for each in either)),
        ),
    )
