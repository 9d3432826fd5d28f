"""Sessions altered at random places, in every column and in raw bytes: all that touches content is found on opening."""

import random
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from altering import alter

from workbench.commands.declaring.making import bring_in
from workbench.commands.record.signatures import make_key, sign
from workbench.commands.table.hand import scale
from workbench.errors import FileError
from workbench.files.store.writing import rows_of
from workbench.model.ecu_format import EcuFormat, Storage
from workbench.model.gate import Gates
from workbench.model.history import Approval, Export
from workbench.model.log import Drive
from workbench.model.state import (
    Approved,
    DriveAdded,
    DriveCorrected,
    EcuFormatSet,
    Exported,
    HeadMoved,
    Settings,
    SettingsSet,
)
from workbench.model.table import Table
from workbench.session import Session

TIMES = 500
FLIPS = 400


@pytest.fixture
def recorded(session: Session, grid: Table, make_drive: Callable[..., Drive], tmp_path: Path) -> Path:
    """A session file with every kind of change in it."""
    session.record(bring_in(session.state, grid, "add-table", {}, "the second"))
    session.record(scale(session.state, by=1.02, note="“Ω”").change)
    session.record(HeadMoved("airflow", 1))
    session.record(HeadMoved("airflow", 3))
    session.record(DriveAdded((make_drive(1, 1), make_drive(2, 3))))
    session.record(DriveCorrected(2, 1, "after", {"airflow": 'weird, "name"'}))
    session.record(SettingsSet(Settings(0.04, 0.02, 14.1, Gates(warm_c=80.0))))
    session.record(EcuFormatSet("airflow", EcuFormat(Storage(0.01, bits=16))))
    session.record(Approved(3, Approval("A. Tester", "fine", "2026-01-01T00:00:00Z", ("not-driven-since",))))
    session.record(Exported(Export(3, {"a.csv": "00"}, approved=True, by="A. Tester", time="2026-01-01T00:00:00Z")))
    make_key(tmp_path / "a.key")
    session.record(sign(session.state, key=tmp_path / "a.key", by="A. Tester").change)
    path = Path(session.state.path)
    session.close()
    return path


def content(path: Path) -> list[tuple[str, dict[str, object]]]:
    """All that a session holds, as the rows that it would be written in; NaN has many bit patterns, and one meaning."""
    with Session.open(path) as session:
        rows = list(rows_of(session._store.record))
    for _, row in rows:
        if "multipliers" in row:
            values = np.frombuffer(row["multipliers"], "<f8")
            row["multipliers"] = np.where(np.isnan(values), np.nan, values).tobytes()
    return rows


def refusal_or(path: Path, before: list[tuple[str, dict[str, object]]]) -> str | None:
    """Give what an altered session is refused with; None where it opens, and holds the same as before."""
    try:
        after = content(path)
    except FileError as refusal:
        return refusal.message
    assert after == before  # as where blanks in JSON changed
    return None


def columns(path: Path) -> list[tuple[str, str]]:
    connection = sqlite3.connect(path)
    tables = ("change", "revision", "drive", "channel")
    found = [(table, row[1]) for table in tables for row in connection.execute(f"PRAGMA table_info({table})")]
    connection.close()
    return found


def changed(value: object, chance: random.Random) -> object:
    """Give another value of the same kind."""
    if value is None:
        return 1
    if isinstance(value, int):
        return value + chance.choice((-1, 1, 2, -1000, 1 << 40))
    if isinstance(value, bytes):
        at = chance.randrange(len(value))
        how = chance.randrange(3)
        if how == 0:
            return value[:at] + bytes([value[at] ^ (1 << chance.randrange(8))]) + value[at + 1 :]
        return value[:at] if how == 1 else value + b"\0"
    text = str(value)
    at = chance.randrange(len(text) + 1)
    how = chance.randrange(3)
    if how == 0 or at == len(text):
        return text[:at] + chance.choice('x1 {"\u202e\0é') + text[at:]
    return text[:at] + text[at + 1 :] if how == 1 else text[:at] + chr(ord(text[at]) ^ 1) + text[at + 1 :]


def test_random_alterations_of_every_column_are_found_on_opening(recorded: Path, tmp_path: Path) -> None:
    before, places = content(recorded), columns(recorded)
    chance = random.Random(20)
    copy = tmp_path / "copy"
    found = 0
    for number in range(TIMES):
        table, column = places[number % len(places)]
        shutil.copy(recorded, copy)
        connection = sqlite3.connect(copy)
        keys = ("drive", "position") if table == "channel" else ("rowid",)
        rows = connection.execute(f"SELECT {', '.join(keys)}, {column} FROM {table}").fetchall()
        *key, value = chance.choice(rows)
        connection.close()
        where = " AND ".join(f"{name} = ?" for name in keys)
        statement = f"UPDATE {table} SET {column} = ? WHERE {where}"
        try:
            alter(copy, [(statement, (changed(value, chance), *key))])
        except sqlite3.IntegrityError:
            continue  # SQLite itself holds against it
        place = (number, table, column, key)
        refused = refusal_or(copy, before)
        assert refused is None or "copy" in refused, place
        found += refused is not None
    assert found >= 0.85 * TIMES


OTHERS = "parent, table_name, value_name, unit, axes, breakpoints, cell_values, multipliers, operation, arguments, note"
OTHERS += ", author, time, digest"
REST_OF_DRIVE = "revision, wideband, added, file, sha256, row_count, time, roles, guesses, notes"
STRAY = {
    f"INSERT INTO revision SELECT id + 3, sequence + 4, {OTHERS} FROM revision WHERE id = 1": "Revision 4 belongs",
    f"INSERT INTO revision SELECT id + 8, sequence + 90, {OTHERS} FROM revision WHERE id = 1": "Revision 9 belongs",
    f"INSERT INTO drive SELECT 3, sequence, {REST_OF_DRIVE} FROM drive WHERE id = 2": "Drive 3 belongs",
    "INSERT INTO channel SELECT 9, position, name, unit, unit_read, samples FROM channel WHERE drive = 1": "a drive 9",
    "UPDATE channel SET position = position + 1 WHERE drive = 1 AND position = 1": "Drive 1 cannot be read",
    "UPDATE revision SET sequence = 77 WHERE id = 2": "Revision 2 belongs to another change",
    "UPDATE drive SET sequence = 3 WHERE id = 2": "Drive 2 belongs to another change",
    "DELETE FROM change WHERE sequence = 5": "Change 5 is missing",
    "DELETE FROM channel WHERE drive = 2 AND position = 0": "Drive 2 cannot be read",
    "DELETE FROM drive WHERE id = 1": "Drive 1 is missing",
    "UPDATE change SET sequence = sequence + 1 WHERE sequence = 12": "Change 12 is missing",
}


@pytest.mark.parametrize("statement", STRAY)
def test_rows_that_nothing_names_and_gaps_are_found_on_opening(recorded: Path, statement: str) -> None:
    alter(recorded, [statement])
    with pytest.raises(FileError) as caught:
        Session.open(recorded)
    assert STRAY[statement] in caught.value.message


def test_raw_flips_are_found_or_touch_nothing(recorded: Path, tmp_path: Path) -> None:
    before, raw = content(recorded), recorded.read_bytes()
    chance = random.Random(21)
    used = [at for at in range(100, len(raw)) if raw[at]]
    copy = tmp_path / "copy"
    found = 0
    for at in chance.sample(used, FLIPS):
        copy.write_bytes(raw[:at] + bytes([raw[at] ^ (1 << chance.randrange(8))]) + raw[at + 1 :])
        refused = refusal_or(copy, before)
        assert refused is None or "copy" in refused, at
        found += refused is not None
    assert found >= 0.5 * FLIPS
