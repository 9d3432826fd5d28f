"""The rows of a session read back and held against their digests: what was recorded, and all that is other now."""

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import msgspec

from workbench.errors import WorkbenchError
from workbench.files.store.decoding import AddedPayload, AppliedPayload, read_as, read_json
from workbench.files.store.rows import (
    Row,
    chain,
    change_of,
    fits_digest,
    read_drive,
    read_revision,
)
from workbench.model.history import Revision
from workbench.model.log import Drive
from workbench.model.packing import is_newer
from workbench.model.state import Change
from workbench.phrases import phrase

# What a row that is not as this program writes it can raise while it is read.
UNREADABLE = (LookupError, TypeError, ValueError, RecursionError, OverflowError, WorkbenchError, msgspec.MsgspecError)


@dataclass(frozen=True)
class ChangeRow:
    """A change as it lies in the file."""

    sequence: int
    kind: str
    payload: str
    digest: str


@dataclass
class Record:
    """What was read from a session or written to it, as it lies there.

    Attributes:
        rows: the changes, in order.
        revisions: id -> sequence of its change, and the revision.
        drives: id -> sequence of its change, and the drive as it was added.
        changes: the same as `rows`, understood.
        problems: what is not as it was recorded, as sentences.
        newer: whether samples are packed in a way that only a newer version knows.
    """

    rows: list[ChangeRow] = field(default_factory=list)
    revisions: dict[int, tuple[int, Revision]] = field(default_factory=dict)
    drives: dict[int, tuple[int, Drive]] = field(default_factory=dict)
    changes: list[Change] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    newer: bool = False

    @property
    def last(self) -> tuple[int, str]:
        """Sequence number and digest of the last change; 0 and empty before the first."""
        return (self.rows[-1].sequence, self.rows[-1].digest) if self.rows else (0, "")

    def add(self, more: "Record") -> None:
        """Take in what was read or written after it."""
        self.rows += more.rows
        self.revisions |= more.revisions
        self.drives |= more.drives

    @property
    def digests(self) -> dict[int, str]:
        """Digests of the changes by their sequence numbers."""
        return {row.sequence: row.digest for row in self.rows}

    def digest_at(self, sequence: int) -> str | None:
        """Return the digest of a change; None where there is none of that number."""
        return self.rows[sequence - 1].digest if 1 <= sequence <= len(self.rows) else None


def read_record(connection: sqlite3.Connection, known: Record) -> Record:
    """Read all that was recorded after what is known.

    Args:
        connection: within one view of the file.
        known: what was read before.

    Raises:
        sqlite3.Error: when the database cannot be read.
    """
    return _Reading(connection, known).read()


class _Reading:
    """One pass over the rows of a file."""

    def __init__(self, connection: sqlite3.Connection, known: Record) -> None:
        self._connection, self._known = connection, known
        self._after, self._before = known.last
        self._found = Record()
        self._revisions: dict[int, Revision] = {}
        self._drives: dict[int, Drive] = {}
        self._unread: dict[str, str] = {}  # "revision 3" -> why it cannot be read

    def read(self) -> Record:
        """Read revisions and drives, then the changes that name them, then look for what no change names."""
        for row in self._rows("revision"):
            self._take("revision", row, self._revision)
        for row in self._rows("drive"):
            self._take("drive", row, self._drive)
        named: dict[str, set[int]] = {"revision": set(), "drive": set()}
        for row in self._rows("change", "sequence"):
            self._change(row, named)
        for kind, rows in (("revision", self._found.revisions), ("drive", self._found.drives)):
            for number in rows.keys() - named[kind]:
                self._tell(
                    phrase("{capitalize} {number} belongs to no change.", capitalize=kind.capitalize(), number=number)
                )
        for kind, problem_text in self._unread.items():
            if not any(kind in problem.lower() for problem in self._found.problems):
                self._tell(problem_text)
        self._look_for_stray_channels()
        return self._found

    def _rows(self, table: str, order: str = "id") -> Iterator[sqlite3.Row]:
        if not self._after:  # also what has an impossible number
            return iter(self._connection.execute(f"SELECT * FROM {table} ORDER BY {order}"))
        question = f"SELECT * FROM {table} WHERE sequence > ? ORDER BY {order}"
        return iter(self._connection.execute(question, (self._after,)))

    def _take(self, kind: str, row: sqlite3.Row, read: Any) -> None:
        number = row["id"]
        try:
            read(number, {key: row[key] for key in row.keys()})  # noqa: SIM118 - a Row yields its values
        except UNREADABLE as error:
            self._unread[f"{kind} {number}"] = phrase(
                "{capitalize} {number} cannot be read: {short}.",
                capitalize=kind.capitalize(),
                number=number,
                short=_short(error),
            )

    def _revision(self, number: int, row: Row) -> None:
        self._revisions[number] = read_revision(row)
        self._found.revisions[number] = (row["sequence"], self._revisions[number])

    def _drive(self, number: int, row: Row) -> None:
        question = "SELECT * FROM channel WHERE drive = ? ORDER BY position"
        channels = self._connection.execute(question, (number,)).fetchall()
        self._found.newer |= any(map(is_newer, (row["time"], *(channel["samples"] for channel in channels))))
        if [channel["position"] for channel in channels] != list(range(len(channels))):
            raise ValueError("its channels are not numbered one after the other")
        self._drives[number] = read_drive(row, [dict(channel) for channel in channels])
        self._found.drives[number] = (row["sequence"], self._drives[number])

    def _change(self, row: sqlite3.Row, named: dict[str, set[int]]) -> None:
        sequence, kind, payload, digest = (row[key] for key in ("sequence", "kind", "payload", "digest"))
        expected = self._after + len(self._found.rows) + 1
        if sequence != expected:
            self._tell(phrase("Change {expected} is missing.", expected=expected))
        place = f"Change {sequence} ({kind})"
        try:
            if digest != chain(sequence, kind, payload, self._before):
                self._tell(phrase("{place} differs from what was recorded: its digest does not match.", place=place))
            fields = read_json(payload)
            self._hold_against(sequence, kind, fields, named)
            self._found.changes.append(change_of(kind, fields, self._revisions, self._drives))
        except UNREADABLE as error:
            self._tell(phrase("{place} cannot be read: {short}.", place=place, short=_short(error)))
        self._before = digest
        self._found.rows.append(ChangeRow(sequence, kind, payload, digest))

    def _hold_against(self, sequence: int, kind: str, fields: Row, named: dict[str, set[int]]) -> None:
        """Compare the revision or the drives that a change names with what it tells of them."""
        if kind == "applied":
            applied = read_as(AppliedPayload, fields)
            self._hold_revision(sequence, applied.revision, applied.digest, named["revision"])
        elif kind == "drive-added":
            for each in read_as(AddedPayload, fields).drives:
                self._hold_drive(sequence, each.id, each.digest, named["drive"])

    def _hold_revision(self, sequence: int, number: int, digest: str, named: set[int]) -> None:
        if number not in self._found.revisions:
            self._tell(self._unread.get(f"revision {number}", phrase("Revision {number} is missing.", number=number)))
            return
        owner, revision = self._found.revisions[number]
        if number in named or owner != sequence:
            self._tell(
                phrase(
                    "Revision {number} belongs to another change than change {sequence}.",
                    number=number,
                    sequence=sequence,
                )
            )
        named.add(number)
        if revision.digest != digest:
            self._tell(phrase("Revision {number} has a digest other than the recorded one.", number=number))
        parent = "" if revision.parent is None else self._digest_of(revision.parent)
        if revision.chained(parent) != revision.digest:
            self._tell(
                phrase("Revision {number} differs from what was recorded: its digest does not match.", number=number)
            )

    def _digest_of(self, number: int) -> str:
        for record in (self._found, self._known):
            if number in record.revisions:
                return record.revisions[number][1].digest
        return "missing"

    def _hold_drive(self, sequence: int, number: int, digest: str, named: set[int]) -> None:
        if number not in self._found.drives:
            self._tell(self._unread.get(f"drive {number}", phrase("Drive {number} is missing.", number=number)))
            return
        owner, drive = self._found.drives[number]
        if number in named or owner != sequence:
            self._tell(
                phrase(
                    "Drive {number} belongs to another change than change {sequence}.", number=number, sequence=sequence
                )
            )
        named.add(number)
        try:
            same = fits_digest(drive, digest)
        except UNREADABLE as error:
            self._tell(phrase("Drive {number} cannot be read: {short}.", number=number, short=_short(error)))
            return
        if not same:
            self._tell(phrase("Drive {number} differs from what was added: its digest does not match.", number=number))

    def _look_for_stray_channels(self) -> None:
        question = "SELECT DISTINCT drive FROM channel WHERE drive NOT IN (SELECT id FROM drive)"
        for (number,) in self._connection.execute(question):
            self._tell(phrase("There are channels of a drive {number}, which is missing.", number=number))

    def _tell(self, problem: str) -> None:
        if problem not in self._found.problems:
            self._found.problems.append(problem)


def _short(error: BaseException) -> str:
    text = " ".join(str(error).encode("utf-8", "replace").decode().split()) or type(error).__name__
    return text[:200].rstrip(".")
