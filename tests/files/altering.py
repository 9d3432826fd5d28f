"""Changing a session behind its back, as someone with a database program could, and leaving its rules as they were."""

import sqlite3
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any


def alter(path: Path, statements: Iterable[str | tuple[str, Sequence[Any]]]) -> None:
    """Run statements with the rules taken out, and put the rules back."""
    connection = sqlite3.connect(path, isolation_level=None)
    try:
        rules = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in rules:
            connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            connection.execute(*((statement,) if isinstance(statement, str) else statement))
        for _, sql in rules:
            connection.execute(sql)
    finally:
        connection.close()
