"""Revisions: everything that was ever done to a table, and nothing changed afterwards."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from workbench.errors import InputError
from workbench.model.arrays import FloatArray
from workbench.model.ecu_format import Storage
from workbench.model.log import Drive
from workbench.model.table import Table
from workbench.phrases import phrase

Origin = Literal["measured", "by hand", "brought in whole"]
Json = None | bool | int | float | str | list["Json"] | dict[str, "Json"]

SET_BY_NAME = ("set", "paste")  # words of the commands that take values as they are given


@dataclass(frozen=True)
class Approval:
    """That someone stands by a revision.

    Attributes:
        by: the approver's name.
        note: in their words.
        time: ISO 8601, UTC.
        accepted: names of the checks that spoke against it and were accepted.
        storage: how the ECU stored the table then: what was approved are the values that it stores.
        acknowledged: cautions that were acknowledged then, each with its reason.
        objections: what each accepted check said then; None where that was not kept.
        rested_on: numbers of the drives that gave its evidence; None where that was not kept.
    """

    by: str
    note: str
    time: str
    accepted: tuple[str, ...] = ()
    storage: Storage | None = None
    acknowledged: Mapping[str, str] | None = None
    objections: Mapping[str, str] | None = None
    rested_on: tuple[int, ...] | None = None


@dataclass(frozen=True)
class Signed:
    """That someone signed an approval with a key (Ed25519, RFC 8032).

    Attributes:
        by: the name they gave.
        time: ISO 8601, UTC.
        approval: sequence number of the approval's change.
        key: the public key, hexadecimal.
        signature: hexadecimal.
    """

    by: str
    time: str
    approval: int
    key: str
    signature: str


@dataclass(frozen=True, eq=False)
class Revision:
    """One state of a table and how it came about.

    Attributes:
        id: 1, 2, … over the whole session.
        parent: id of the revision it was made from; None for a table as it was brought in.
        table: the resulting table, axes and all.
        operation: word of the command that made it.
        arguments: what the command was told, and what a correction expected; plain JSON.
        note: in the user's words.
        author: who made it.
        time: ISO 8601, UTC.
        multipliers: shape of the table, applied to the parent's values; NaN where a cell was set outright.
        digest: SHA-256 over the above and the parent's digest, hexadecimal: a chain.
        origin: whether its values rest on logs, were made by hand, or are knowledge from elsewhere.
    """

    id: int
    parent: int | None
    table: Table
    operation: str
    arguments: Mapping[str, Json]
    note: str
    author: str
    time: str
    multipliers: FloatArray
    digest: str = ""
    origin: Origin = "by hand"

    def chained(self, parent_digest: str) -> str:
        """Compute the digest that this revision must carry after its parent's."""
        head = json.dumps(
            [
                self.id,
                self.parent,
                self.table.name,
                self.table.value_name,
                self.table.unit,
                [[axis.name, axis.unit] for axis in self.table.axes],
                list(self.table.shape),
                self.operation,
                dict(self.arguments),
                self.note,
                self.author,
                self.time,
                parent_digest,
            ],
            sort_keys=True,
            ensure_ascii=True,
        )
        whole = hashlib.sha256(head.encode())
        for array in (*(axis.breakpoints for axis in self.table.axes), self.table.values, self.multipliers):
            # NaN has many bit patterns; one stands for all, so that a copy has the same digest.
            whole.update(np.where(np.isnan(array), np.nan, array).astype("<f8").tobytes())
        return whole.hexdigest()


def brought_in(
    number: int, table: Table, operation: str, arguments: Mapping[str, Json], note: str, author: str, time: str
) -> Revision:
    """Make the first revision of a table: it has no parent, and every cell is set outright."""
    revision = Revision(
        id=number,
        parent=None,
        table=table,
        operation=operation,
        arguments=dict(arguments),
        note=note,
        author=author,
        time=time,
        multipliers=np.full(table.shape, np.nan),
        origin="brought in whole",
    )
    return replace(revision, digest=revision.chained(""))


@dataclass(frozen=True)
class Export:
    """That a revision was handed over as a file.

    Attributes:
        revision: which.
        files: name of each file, without its folder -> SHA-256 of its bytes, hexadecimal; the whole table first.
        approved: whether the revision was approved then; else it was a draft.
        by: who exported it.
        time: ISO 8601, UTC.
    """

    revision: int
    files: Mapping[str, str]
    approved: bool
    by: str
    time: str


@dataclass(frozen=True)
class History:
    """All revisions of all tables of a session, with the head of each table.

    Attributes:
        revisions: in the order of their ids, which run from 1 without a hole.
        heads: table name -> id of the revision that is worked on.
        approvals: revision id -> approval.
        left: revision id -> the child that was last left by an undo, for redo.
        exports: what was handed over, in order.
        approved_at: revision id -> sequence number of the change that approved it.
        signatures: revision id -> who signed that approval.
    """

    revisions: tuple[Revision, ...]
    heads: Mapping[str, int]
    approvals: Mapping[int, Approval]
    left: Mapping[int, int]
    exports: tuple[Export, ...] = ()
    approved_at: Mapping[int, int] = field(default_factory=dict)
    signatures: Mapping[int, tuple[Signed, ...]] = field(default_factory=dict)

    def revision(self, number: int) -> Revision:
        """Find a revision.

        Raises:
            InputError: when there is none of that number.
        """
        if not 1 <= number <= len(self.revisions):
            raise InputError(
                phrase("There is no revision {number}.", number=number),
                phrase("This session has revisions 1 to {revisions}.", revisions=len(self.revisions)),
            )
        return self.revisions[number - 1]

    @property
    def next_id(self) -> int:
        """The number the next revision will have."""
        return len(self.revisions) + 1

    @property
    def table_names(self) -> tuple[str, ...]:
        """Names of the tables, in the order they were brought in."""
        return tuple(r.table.name for r in self.revisions if r.parent is None)

    def line(self, number: int) -> tuple[Revision, ...]:
        """Return the revisions from the first one to `number`, in order."""
        path = [self.revision(number)]
        while path[-1].parent is not None:
            path.append(self.revision(path[-1].parent))
        return tuple(reversed(path))

    def moved(self, revision: Revision) -> FloatArray:
        """Return by what factor a revision moved each cell, shape of its table.

        Where no factor leads to the value bit for bit, its multiplier is NaN like that of a cell that a user set; what
        was not set by name moved by the ratio of its values all the same. NaN is left where a user set the value, from
        zero, and on other breakpoints.
        """
        found = revision.multipliers
        if revision.parent is None or revision.operation in SET_BY_NAME or not np.isnan(found).any():
            return found
        before = self.revision(revision.parent).table
        if not before.same_axes(revision.table):
            return found
        ratio = np.divide(revision.table.values, before.values, out=found.copy(), where=before.values != 0)
        return np.where(np.isnan(found), ratio, found)

    def driven(self, drive: Drive, name: str) -> Revision | None:
        """Give the revision of a table that was in the car on a drive; None where the table was not brought in yet."""
        if self.revision(drive.revision).table.name != name and name in drive.others:
            return self.revision(drive.others[name])
        return next((each for each in reversed(self.revisions[: drive.revision]) if each.table.name == name), None)

    def taken_as_driven(self, drive: Drive, name: str) -> Revision:
        """Give the revision of a table that was in the car on a drive, or else the table's first.

        What the ECU used before a table was brought in is what was brought in.

        Raises:
            StopIteration: there is no table of that name.
        """
        first = next(each for each in self.revisions if each.table.name == name)
        return self.driven(drive, name) or first
