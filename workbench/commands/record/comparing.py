"""A table that was read from a file, compared with the revisions of a session."""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from workbench.errors import WorkbenchError
from workbench.files.disk.plain_files import read_bytes
from workbench.files.export.exporting import PAPER, read_paper
from workbench.maths.table.storage import as_stored, parts_of
from workbench.model.counting import counted
from workbench.model.ecu_format import EcuFormat, Storage
from workbench.model.history import Export, History, Revision
from workbench.model.state import State
from workbench.model.table import Table
from workbench.phrases import harmless, phrase

MOST_BESIDE = 200  # papers that are asked
MOST_NAMED = 20  # cells in one sentence; all of them stand in the JSON


def best_of(all_of_it: History, same: list[Revision]) -> Revision:
    """Choose among revisions of the same values: the last approved one, or else the last."""
    approved = [each for each in same if each.id in all_of_it.approvals]
    return (approved or same)[-1]


def holds(table: Table, read: Table) -> bool:
    """Return whether a file that was read holds a table's breakpoints and values."""
    return (
        [len(axis) for axis in table.axes] == [len(axis) for axis in read.axes]
        and all(np.array_equal(a.breakpoints, b.breakpoints) for a, b in zip(table.axes, read.axes, strict=True))
        and np.array_equal(table.values, read.values)
    )


@dataclass(frozen=True)
class Claim:
    """Which revision a file says it is.

    Attributes:
        revision: its number.
        why: what says so, as in "its provenance file names".
    """

    revision: int
    why: str


@dataclass(frozen=True)
class FileChecked:
    """What a file is that was compared with a session.

    Attributes:
        problems: what is wrong with it, as sentences.
        revision: which it is; None where it is none.
        compared: which it was compared with cell by cell; None where its values are those of a revision.
        cells: where it differs from that: index, value in the file, value of the revision.
    """

    problems: tuple[str, ...] = ()
    revision: int | None = None
    compared: int | None = None
    cells: tuple[tuple[tuple[int, ...], float, float], ...] = ()


def claim_of(
    path: Path, revisions: Sequence[Revision], exports: Sequence[Export], paper: Mapping[str, Any]
) -> Claim | None:
    """Find which revision a file says it is: by the provenance file beside it, or by the name it was exported under.

    Args:
        path: of the file; neither its bytes nor the record of its export need be as they were.
        revisions: of the table.
        exports: of the session.
        paper: what the provenance file says.
    """
    known = {each.id for each in revisions}
    if (number := paper.get("revision")) in known:
        return Claim(int(number), "its provenance file names")
    named = [each.revision for each in exports if harmless(path.name) in each.files and each.revision in known]
    return Claim(named[-1], "was exported under that name") if named else None


def forms(table: Table, ecu_format: EcuFormat, paper: Mapping[str, Any]) -> Iterator[Table]:
    """Yield a table as it is, as the ECU stores it, as it stored it when it was exported, and its parts."""
    yield table
    rules = [ecu_format]
    with suppress(LookupError, TypeError, WorkbenchError):
        then = paper["keeping"]["storage"]
        rules += [EcuFormat(Storage(**{key: then[key] for key in Storage.__dataclass_fields__}))] if then else []
    for rule in rules:
        with suppress(WorkbenchError):  # what cannot be stored was not exported either
            whole = as_stored(table, rule)
            yield from (whole, *parts_of(whole, ecu_format))


def differences(
    path: Path, read: Table, candidates: Sequence[tuple[Revision, Table]], claim: Claim | None
) -> FileChecked:
    """List how a file differs from the revision that it says it is, or else from the one nearest to it.

    Args:
        path: of the file.
        read: what it holds.
        candidates: revisions with each form in which a file may hold them.
        claim: which it says it is.
    """
    wanted = [each for each in candidates if claim is None or each[0].id == claim.revision] or list(candidates)
    revision, table = min(wanted, key=lambda each: _distance(each[1], read))
    beside = phrase("the nearest, revision {number}", number=revision.id)
    if claim is not None:
        beside = phrase("revision {number}, which {why}", number=revision.id, why=claim.why)
    text = phrase("{path} is not a revision of this session; compared with {beside}, it", path=path.name, beside=beside)
    if (other := _other_shape(table, read)) is not None:
        return FileChecked((f"{text} {other}",), None, revision.id)
    cells = tuple(
        (at, float(read.values[at]), float(table.values[at]))
        for at in (tuple(int(i) for i in cell) for cell in np.argwhere(read.values != table.values))
    )
    listed = "; ".join(f"{table.cell_name(at)}: {held:.10g} for {mine:.10g}" for at, held, mine in cells[:MOST_NAMED])
    more = phrase("; and {more} more", more=len(cells) - MOST_NAMED) if len(cells) > MOST_NAMED else ""
    many = counted(len(cells), "other value")
    sentence = phrase("{text} has {many}: {listed}{more}.", text=text, many=many, listed=listed, more=more)
    return FileChecked((sentence,), None, revision.id, cells)


def _distance(table: Table, read: Table) -> tuple[bool, int, float]:
    """Order by how near a table is: breakpoints first, then the number of other values, then how far those are off."""
    if _other_shape(table, read) is not None:
        return True, 0, 0.0
    apart = np.abs(read.values - table.values)
    return False, int(np.count_nonzero(apart)), float(apart.max())


def _other_shape(table: Table, read: Table) -> str | None:
    """Say how size or breakpoints differ; None where they do not."""
    if read.shape != table.shape:
        return phrase("has {theirs} cells instead of {ours}.", theirs=_size(read), ours=_size(table))
    for mine, theirs in zip(table.axes, read.axes, strict=True):
        moved = np.flatnonzero(mine.breakpoints != theirs.breakpoints)
        if moved.size:
            i = int(moved[0])
            points = phrase(
                "{theirs:.10g} instead of {ours:.10g}", theirs=theirs.breakpoints[i], ours=mine.breakpoints[i]
            )
            return phrase(
                "has other breakpoints: number {i} of {mine!r} is {points}.", i=i, mine=mine.name, points=points
            )
    return None


def _size(table: Table) -> str:
    return " x ".join(str(size) for size in table.shape)


def export_of(state: State, path: Path) -> Export | None:
    """Find the latest export that wrote the very bytes of a file; None where none is known of."""
    digest = hashlib.sha256(read_bytes(path)).hexdigest() if path.is_file() else ""
    return next((each for each in reversed(state.history.exports) if digest in each.files.values()), None)


def missing_since(state: State, path: Path, digests: Mapping[int, str]) -> Iterator[str]:
    """Say whether the session lacks what it held when a file was exported, as the paper beside the file says."""
    paper = read_paper(path) or {}
    changes, number, digest = (paper.get(key) for key in ("changes", "revision", "digest"))
    if paper.get("session") != harmless(Path(state.path).name) and digest not in {
        r.digest for r in state.history.revisions
    }:
        return  # of another session; what the file holds tells
    if isinstance(changes, int) and changes > state.sequence:
        yield (
            phrase(
                "The session holds {changes}; when {path} was exported it held {changes_2}: the "
                "latest changes are missing.",
                changes=counted(state.sequence, "change"),
                path=path.name,
                changes_2=changes,
            )
        )
    chain = paper.get("chain")
    if digests and isinstance(changes, int) and isinstance(chain, str) and digests.get(changes, chain) != chain:
        yield (
            phrase(
                "The first {changes} of the session differ from those it held when {path} was exported: revisions, "
                "logs, settings, approvals or exports were altered since.",
                changes=counted(changes, "change"),
                path=path.name,
            )
        )
    held = {revision.id: revision.digest for revision in state.history.revisions}
    if isinstance(number, int) and isinstance(digest, str) and held.get(number) != digest:
        yield phrase(
            "{path} was exported from a revision {number} that this session does not hold in that form.",
            path=path.name,
            number=number,
        )


def exports_beside(state: State, digests: Mapping[int, str]) -> tuple[Path, ...]:
    """Find the exported files in the session's folder that were made of this very session under this name.

    A copy that went its own way under another name lacks nothing, and a session made anew under an old name is another.

    Args:
        state: the session.
        digests: of its changes; that of the first one stands in every paper, and is no other session's.
    """
    place, found = Path(state.path).absolute(), list[Path]()
    own = {revision.digest for revision in state.history.revisions}
    for paper in sorted(place.parent.glob(f"*{PAPER}"))[:MOST_BESIDE]:
        told = read_paper(path := paper.with_name(paper.name.removesuffix(PAPER))) or {}
        same = told.get("begins") == digests.get(1) if "begins" in told else told.get("digest") in own
        if digests and same and told.get("session") == harmless(place.name):
            found.append(path)
    return tuple(found)
