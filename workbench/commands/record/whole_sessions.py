"""Two whole sessions held against each other: where they part, and how their tables, logs and approvals differ."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from workbench.commands.declaring.kinds import ExistingFile
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import plain
from workbench.commands.table.donors import in_our_units
from workbench.errors import InputError
from workbench.files.store.verifying import chain_digests
from workbench.maths.table.comparing import Comparison, compared
from workbench.model.counting import counted
from workbench.model.history import Json
from workbench.model.state import State
from workbench.phrases import phrase
from workbench.session import Session

HERE, THERE = "here", "there"


@dataclass(frozen=True, eq=False)
class TableCompared:
    """A table that both sessions have.

    Attributes:
        name: of it.
        here, there: its current revision in each.
        cells: how they differ; None where they cannot be compared.
        reason: why not; empty where they can.
    """

    name: str
    here: int
    there: int
    cells: Comparison | None
    reason: str = ""


@dataclass(frozen=True, eq=False)
class SessionsCompared:
    """How two sessions differ.

    Attributes:
        common: number of the last change that both hold in the very same form; 0 where there is none.
        tables: that both have.
        only: kind of thing -> what only the session here has, and what only the other has, in words.
    """

    common: int
    tables: tuple[TableCompared, ...]
    only: dict[str, tuple[tuple[str, ...], tuple[str, ...]]]


@command("Compare with another session", menu="History", word="compare-sessions", icon="difference", opens="form")
def compare_sessions(state: State, other: ExistingFile) -> Answer[SessionsCompared]:
    """Compare this session with another one whole: common history, tables, logs, approvals and settings.

    Args:
        other: the other session file.

    Example:
        compare-sessions car.session car_copy.session
    """
    with Session.open(other) as opened:
        theirs = opened.state
    found = SessionsCompared(_common(state, theirs), tuple(_tables(state, theirs)), _only(state, theirs))
    return Answer(found, lambda: _as_json(found, other), tuple(_lines(state, theirs, found, other)))


def _common(state: State, theirs: State) -> int:
    """Find the last change up to which both are one and the same history, by the chain of digests."""
    mine, others = (chain_digests(Path(each.path), each.sequence) for each in (state, theirs))
    return max((number for number in mine.keys() & others.keys() if mine[number] == others[number]), default=0)


def _tables(state: State, theirs: State) -> Iterator[TableCompared]:
    for name in state.history.table_names:
        if name not in theirs.history.table_names:
            continue
        here, there = state.head(name), theirs.head(name)
        if here.table.kind != there.table.kind:
            reason = phrase("a {kind} here, a {other} there", kind=here.table.kind, other=there.table.kind)
            yield TableCompared(name, here.id, there.id, None, reason)
            continue
        try:
            table, _ = in_our_units(there.table, here.table, phrase("The table {name!r} there", name=name))
        except InputError as refusal:
            yield TableCompared(name, here.id, there.id, None, refusal.message)
            continue
        yield TableCompared(name, here.id, there.id, compared(table, here.table))


def _only(state: State, theirs: State) -> dict[str, tuple[tuple[str, ...], tuple[str, ...]]]:
    mine, others = _things(state), _things(theirs)
    return {
        kind: (
            tuple(words for key, words in mine[kind].items() if key not in others[kind]),
            tuple(words for key, words in others[kind].items() if key not in mine[kind]),
        )
        for kind in mine
    }


def _things(state: State) -> dict[str, dict[object, str]]:
    """Return what a session has, by kind: what it is known by -> words for it."""
    history = state.history
    approvals: dict[object, str] = {
        (history.revision(number).digest, given.by, given.time): phrase(
            "revision {number}, approved by {by} on {time}", number=number, by=given.by, time=given.time
        )
        for number, given in history.approvals.items()
    }
    return {
        "tables": {name: name for name in history.table_names},
        "revisions": {
            each.digest: phrase("{id} ({operation})", id=each.id, operation=each.operation)
            for each in history.revisions
        },
        "logs": {each.log.sha256: each.log.name for each in state.drives},
        "approvals": approvals,
        "settings": {(key, str(value)): f"{key} {value}" for key, value in _flat(asdict(state.settings))},
    }


def _flat(fields: dict[str, object], before: str = "") -> Iterator[tuple[str, object]]:
    for key, value in fields.items():
        name = f"{before}{key}".replace("_", " ")
        if isinstance(value, dict):
            yield from _flat(value, f"{name}: ")
        else:
            yield name, value


def _lines(state: State, theirs: State, found: SessionsCompared, other: Path) -> Iterator[str]:
    if not found.common:
        yield phrase("The two sessions have no history in common.")
    elif found.common == state.sequence == theirs.sequence:
        yield phrase("The two sessions hold the very same {changes}.", changes=counted(found.common, "change"))
    else:
        yield phrase(
            "The first {changes} are the same; since then {here} here, {there} in {other}.",
            changes=counted(found.common, "change"),
            here=counted(state.sequence - found.common, "change"),
            there=counted(theirs.sequence - found.common, "change"),
            other=other.name,
        )
    for each in found.tables:
        yield _table_line(each)
    for kind, (here, there) in found.only.items():
        for where, listed in ((HERE, here), (THERE, there)):
            if listed:
                yield phrase(
                    "{kind} only {where}: {listed}.", kind=kind.capitalize(), where=where, listed="; ".join(listed)
                )


def _table_line(each: TableCompared) -> str:
    if each.cells is None:
        return phrase("{name!r} cannot be compared: {reason}", name=each.name, reason=each.reason)
    moved = each.cells.percent[each.cells.moved]
    known = moved[np.isfinite(moved)]
    by = phrase(", here by {low:+.2f} % to {high:+.2f} %", low=known.min(), high=known.max()) if known.size else ""
    read = phrase(" (read at the breakpoints here)") if each.cells.interpolated else ""
    return phrase(
        "{name!r}, revision {here} here, {there} there{read}: {moved} of {cells} cells differ{by}.",
        name=each.name,
        here=each.here,
        there=each.there,
        read=read,
        moved=moved.size,
        cells=each.cells.moved.size,
        by=by,
    )


def _as_json(found: SessionsCompared, other: Path) -> dict[str, Json]:
    tables: list[Json] = [
        {
            "table": each.name,
            "here": each.here,
            "there": each.there,
            "change_percent": None if each.cells is None else plain(each.cells.percent),
            "changed": None if each.cells is None else int(each.cells.moved.sum()),
            "reason": each.reason,
        }
        for each in found.tables
    ]
    only: dict[str, Json] = {
        kind: {HERE: list[Json](here), THERE: list[Json](there)} for kind, (here, there) in found.only.items()
    }
    return {"other": str(other), "common_changes": found.common, "tables": tables, "only": only}
