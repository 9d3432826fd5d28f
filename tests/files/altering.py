"""Changing a session behind its back, as someone with a database program could, and leaving its rules as they were."""

import json
import sqlite3
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from workbench.files.store import rows


def alter(path: Path, statements: Iterable[str | tuple[str, Sequence[Any]]]) -> None:
    """Run statements with the rules taken out, and put the rules back."""
    connection = sqlite3.connect(path, isolation_level=None)
    try:
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute("BEGIN")
        rules = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in rules:
            connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            connection.execute(*((statement,) if isinstance(statement, str) else statement))
        for _, sql in rules:
            connection.execute(sql)
        connection.execute("COMMIT")
    finally:
        connection.close()


def alter_consistently(path: Path, statements: Iterable[str | tuple[str, Sequence[Any]]]) -> None:
    """Alter a session and work out all its digests anew, as a forger who knows how they are made would."""
    alter(path, [*statements, *_digests_anew(path, statements)])


def _digests_anew(path: Path, statements: Iterable[str | tuple[str, Sequence[Any]]]) -> list[tuple[str, Sequence[Any]]]:
    copy = path.with_name("worked out")
    copy.write_bytes(path.read_bytes())
    alter(copy, statements)
    connection = sqlite3.connect(copy)
    connection.row_factory = sqlite3.Row
    again: list[tuple[str, Sequence[Any]]] = []
    revisions: dict[int, str] = {}
    for row in connection.execute("SELECT * FROM revision ORDER BY id").fetchall():
        revision = rows.read_revision(dict(row))
        revisions[revision.id] = revision.chained("" if revision.parent is None else revisions[revision.parent])
        again.append(("UPDATE revision SET digest = ? WHERE id = ?", (revisions[revision.id], revision.id)))
    before = ""
    for sequence, kind, payload, _ in map(tuple, connection.execute("SELECT * FROM change ORDER BY sequence")):
        told = json.loads(payload)
        if kind == "applied":
            told["digest"] = revisions[told["revision"]]
        elif kind == "drive-added":
            for each in told["drives"]:
                drive = connection.execute("SELECT * FROM drive WHERE id = ?", (each["id"],)).fetchone()
                question = "SELECT * FROM channel WHERE drive = ? ORDER BY position"
                channels = [dict(channel) for channel in connection.execute(question, (each["id"],))]
                each["digest"] = rows.drive_digest(rows.read_drive(dict(drive), channels))
        text = rows.to_json(told)
        before = rows.chain(sequence, kind, text, before)
        again.append(("UPDATE change SET payload = ?, digest = ? WHERE sequence = ?", (text, before, sequence)))
    connection.close()
    copy.unlink()
    return again


def rechained(path: Path, changes: Mapping[int, Callable[[str], str]]) -> bool:
    """Give changes other payloads, as text, and work out the digests of the chain anew; tell whether any differs."""
    connection = sqlite3.connect(path)
    found = connection.execute("SELECT sequence, kind, payload FROM change ORDER BY sequence").fetchall()
    connection.close()
    before, again = "", list[tuple[str, Sequence[Any]]]()
    for sequence, kind, payload in found:
        text = changes[sequence](payload) if sequence in changes else payload
        before = rows.chain(sequence, kind, text, before)
        again.append(("UPDATE change SET payload = ?, digest = ? WHERE sequence = ?", (text, before, sequence)))
    alter(path, again)
    return any(row[2] != each[1][0] for row, each in zip(found, again, strict=True))
