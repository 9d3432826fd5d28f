"""A zoo of sessions made to bite: rules of their own, values of the wrong kind, bombs; each ends in a sentence."""

import contextlib
import json
import shutil
import sqlite3
import sys
import time
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from altering import alter, alter_consistently, rechained
from test_alterations import recorded  # noqa: F401 - a fixture
from weighing import weighed

from workbench.commands import handbook
from workbench.commands.declaring.registry import COMMANDS
from workbench.errors import FileError, WorkbenchError
from workbench.model.packing import MOST, pack
from workbench.session import Session
from workbench.work import run

SECONDS, MEGABYTES = 2.0, 300

ENDLESS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i FROM n"
RULES: dict[str, list[str]] = {
    "a trigger that deletes": ["CREATE TRIGGER x AFTER INSERT ON change BEGIN DELETE FROM channel; END"],
    "a trigger of our name that does something else": [
        "DROP TRIGGER channel_stays",
        "CREATE TRIGGER channel_stays BEFORE UPDATE ON channel BEGIN SELECT 1; END",
    ],
    "a trigger less": ["DROP TRIGGER revision_is_kept"],
    "a view in place of a table": ["DROP TABLE channel", f"CREATE VIEW channel AS {ENDLESS}"],
    "a view besides": [f"CREATE VIEW more AS {ENDLESS}"],
    "a table besides": ["CREATE TABLE more (x)"],
    "an index besides": ["CREATE INDEX more ON change (kind)"],
    "statistics": ["ANALYZE"],
    "a table of another shape": ["ALTER TABLE drive ADD COLUMN more TEXT DEFAULT 'x'"],
    "a table renamed": ["ALTER TABLE drive RENAME TO drives"],
    "a column that works itself out": ["ALTER TABLE change ADD COLUMN more TEXT AS (hex(kind))"],
    "a table that is virtual": ["CREATE VIRTUAL TABLE more USING fts5(x)"],
    "a statement that is none": [
        "PRAGMA writable_schema = ON",
        "UPDATE sqlite_master SET sql = 'CREATE TABLE drive (' WHERE name = 'drive'",
    ],
    "a name that is no text": [
        "PRAGMA writable_schema = ON",
        "UPDATE sqlite_master SET name = CAST(x'ff' AS TEXT) WHERE name = 'channel_stays'",
    ],
    "a table that begins where another does": [
        "PRAGMA writable_schema = ON",
        "UPDATE sqlite_master SET rootpage = 2 WHERE name = 'drive'",
    ],
    "a trigger as long as a book": [
        f"CREATE TRIGGER x AFTER INSERT ON change BEGIN SELECT '{'x' * 900_000}'; END",
    ],
}


@contextlib.contextmanager
def soon() -> Iterator[None]:
    """Whatever it is, it ends in time; the slowest of the two shared cores is allowed for."""
    begin = time.process_time()
    yield
    assert time.process_time() - begin < SECONDS


@pytest.mark.parametrize("name", RULES)
def test_rules_that_are_not_ours_are_refused_before_they_act(recorded: Path, name: str) -> None:  # noqa: F811
    connection = sqlite3.connect(recorded, isolation_level=None)
    for statement in RULES[name]:
        connection.execute(statement)
    connection.close()
    before = recorded.read_bytes()
    with soon(), pytest.raises(FileError) as caught:
        Session.open(recorded)
    assert str(recorded) in caught.value.message
    assert len(caught.value.message) < 3000
    assert recorded.read_bytes() == before


WRONG_PAYLOADS = (
    "",
    "[]",
    "null",
    "7",
    '"text"',
    "{}",
    "{",
    "NaN",
    '{"revision": NaN}',
    '{"revision": 1e999}',
    '{"revision": [1], "drive": {}, "table": 7, "drives": 8, "gates": []}',
    '{"revision": "1", "drive": "1", "table": "airflow", "drives": {"id": 1}, "gates": {"warm_c": "80"}, "to": true}',
    '{"revision": true, "digest": [], "drives": [7], "gates": null, "by": 1, "keeping": []}',
    '{"revision": -1, "digest": "", "drives": [{"id": 99, "digest": ""}], "drive": 99, "table": "none", "to": 99}',
    '{"revision": 100000000000000000000000000000000, "drives": [{"id": "x"}]}',
    "[" * 100_000,
    '{"a":' * 50_000 + "1" + "}" * 50_000,
    '{"revision": ' + "[" * 500 + "]" * 500 + "}",
)
WRONG_SETTINGS = (
    ('"part_throttle_target":0.04', '"part_throttle_target":1e308'),
    ('"part_throttle_target":0.04', '"part_throttle_target":0'),
    ('"full_throttle_target":0.02', '"full_throttle_target":"0.02"'),
    ('"stoichiometric_afr":14.1', '"stoichiometric_afr":-14.1'),
    ('"warm_c":80.0', '"warm_c":1e308'),
    ('"warm_c":80.0', '"warm_c":[80]'),
    ('"bits":16', '"bits":0'),
    ('"bits":16', '"bits":16.5'),
    ('"step":0.01', '"step":0'),
    ('"rounding":"half-even"', '"rounding":"as you like"'),
    ('"parts":[]', '"parts":[{"name":"a","low":1,"high":2}]'),
    ('"parts":[]', '"parts":{}'),
    ('"accepted":["not-driven-since"]', '"accepted":"not-driven-since"'),
    ('"files":{"a.csv":"00"}', '"files":["a.csv"]'),
    ('"approved":true', '"approved":"true"'),
    ('"wideband":"after"', '"wideband":"sideways"'),
    ('"roles":{"airflow"', '"roles":{"nothing"'),
)


def refused_on_opening(path: Path) -> str:
    with soon(), pytest.raises(FileError) as caught:
        Session.open(path)
    assert str(path) in caught.value.message
    assert caught.value.hint
    return caught.value.message


@pytest.mark.parametrize("sequence", range(1, 13))
def test_changes_of_the_wrong_kind_are_refused(recorded: Path, sequence: int, tmp_path: Path) -> None:  # noqa: F811
    copy = tmp_path / "copy"
    for payload in WRONG_PAYLOADS:
        shutil.copy(recorded, copy)
        rechained(copy, {sequence: lambda _, payload=payload: payload})
        assert f"hange {sequence}" in refused_on_opening(copy), payload[:60]


def leaves(value: object, way: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Yield the way to every value in a payload that holds no others."""
    within = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, each in within:
        yield from leaves(each, (*way, key))
    if not within:
        yield way


def other_kind(payload: str, way: tuple[str | int, ...], kind: object) -> str:
    """Put a value of another kind at one place of a payload."""
    value = place = json.loads(payload)
    for key in way[:-1]:
        place = place[key]
    place[way[-1]] = kind
    return json.dumps(value)


def test_a_value_of_another_kind_at_any_one_place_is_read_or_refused(recorded: Path, tmp_path: Path) -> None:  # noqa: F811
    """Every kind where a payload is short; by turns where it is long, since all would take a minute."""
    with contextlib.closing(sqlite3.connect(recorded)) as file:
        changes = dict(file.execute("SELECT sequence, payload FROM change"))
    kinds, copy = ([[1]], {"a": 1}, None, -1, "x", 0.5), tmp_path / "copy"
    for sequence, payload in changes.items():
        ways = [way for way in leaves(json.loads(payload)) if way]
        short = len(ways) <= 4
        for number, way in enumerate(ways if short else ways[sequence % 3 :: 3]):
            for kind in kinds if short else [kinds[number % len(kinds)]]:
                shutil.copy(recorded, copy)
                rechained(copy, {sequence: lambda text, way=way, kind=kind: other_kind(text, way, kind)})
                with contextlib.suppress(FileError):
                    Session.open(copy).close()


@pytest.mark.parametrize(("old", "new"), WRONG_SETTINGS)
def test_settings_that_no_car_has_are_refused(recorded: Path, old: str, new: str) -> None:  # noqa: F811
    assert rechained(recorded, {number: lambda text: text.replace(old, new) for number in range(1, 14)})
    refused_on_opening(recorded)


def floats(*values: float) -> bytes:
    return np.array(values, dtype="<f8").tobytes()


NUMBERS = [1000.0, 2000, 3000, 4500, 6000]
WRONG_ROWS: list[tuple[str, Any]] = [
    ("UPDATE revision SET axes = ? WHERE id = 1", "{}"),
    ("UPDATE revision SET axes = ? WHERE id = 1", "[]"),
    ("UPDATE revision SET axes = ? WHERE id = 1", '[["a", "b", -5]]'),
    ("UPDATE revision SET axes = ? WHERE id = 1", '[["a", "b", 5.0]]'),
    ("UPDATE revision SET axes = ? WHERE id = 1", '[["a", "b", 1000000000000]]'),
    ("UPDATE revision SET axes = ? WHERE id = 1", '[["a", "b", 5], ["c", "d", 0]]'),
    ("UPDATE revision SET axes = ? WHERE id = 1", '[["a", "b", 2], ["c", "d", 2], ["e", "f", 1]]'),
    ("UPDATE revision SET axes = ? WHERE id = 1", "[" * 10_000),
    ("UPDATE revision SET breakpoints = ? WHERE id = 1", floats(*NUMBERS[::-1])),
    ("UPDATE revision SET breakpoints = ? WHERE id = 1", floats(np.nan, *NUMBERS[1:])),
    ("UPDATE revision SET breakpoints = ? WHERE id = 1", floats(*NUMBERS, 7000)),
    ("UPDATE revision SET breakpoints = ? WHERE id = 1", b"123"),
    ("UPDATE revision SET cell_values = ? WHERE id = 1", floats(*NUMBERS[:4], np.inf)),
    ("UPDATE revision SET cell_values = ? WHERE id = 1", floats(*NUMBERS[:4], 1e308)),
    ("UPDATE revision SET cell_values = ? WHERE id = 1", b""),
    ("UPDATE revision SET multipliers = ? WHERE id = 1", floats(1.0)),
    ("UPDATE revision SET arguments = ? WHERE id = 1", "[]"),
    ("UPDATE revision SET arguments = ? WHERE id = 1", '{"a": NaN}'),
    ("UPDATE revision SET arguments = ? WHERE id = 1", '{"a": ' + "[" * 200 + "]" * 200 + "}"),
    ("UPDATE revision SET parent = ? WHERE id = 3", 3),
    ("UPDATE revision SET parent = ? WHERE id = 1", 3),
    ("UPDATE revision SET parent = ? WHERE id = 3", 99),
    ("UPDATE revision SET note = CAST(? AS TEXT) WHERE id = 1", b"\xff\xfe"),
    ("UPDATE drive SET row_count = ? WHERE id = 1", -1),
    ("UPDATE drive SET row_count = ? WHERE id = 1", 0),
    ("UPDATE drive SET row_count = ? WHERE id = 1", 1 << 60),
    ("UPDATE drive SET revision = ? WHERE id = 1", 3),
    ("UPDATE drive SET wideband = ? WHERE id = 1", "sideways"),
    ("UPDATE drive SET roles = ? WHERE id = 1", "[]"),
    ("UPDATE drive SET roles = ? WHERE id = 1", '{"nothing": "MAF"}'),
    ("UPDATE drive SET roles = ? WHERE id = 1", '{"airflow": 7}'),
    ("UPDATE drive SET guesses = ? WHERE id = 1", '{"airflow": null}'),
    ("UPDATE drive SET notes = ? WHERE id = 1", '{"a": 1}'),
    ("UPDATE drive SET notes = ? WHERE id = 1", "[1]"),
    ("UPDATE drive SET time = ? WHERE id = 1", pack(np.arange(20.0)[::-1])),
    ("UPDATE drive SET time = ? WHERE id = 1", pack(np.full(20, np.nan))),
    ("UPDATE drive SET time = ? WHERE id = 1", pack(np.full(20, np.inf))),
    ("UPDATE drive SET time = ? WHERE id = 1", b""),
    ("UPDATE channel SET samples = ? WHERE drive = 1", zlib.compress(bytes(100_000_000), 9)),
    ("UPDATE channel SET samples = ? WHERE drive = 1", b"\x01" + bytes(40)),
    ("UPDATE channel SET samples = ? WHERE drive = 1", b"\x01\x02\x00\x01" + b"\xff" * 60),
]


@pytest.mark.parametrize("number", range(len(WRONG_ROWS)))
def test_rows_of_the_wrong_kind_are_refused(recorded: Path, number: int) -> None:  # noqa: F811
    statement, value = WRONG_ROWS[number]
    alter(recorded, [(statement, (value,))])
    refused_on_opening(recorded)


# What holds together by all digests, and yet is strange: it may open, and no command may stumble over it.
STRANGE: list[tuple[str, Any]] = [
    ("UPDATE revision SET cell_values = ? WHERE id = 1", floats(*([1e99] * 5))),
    ("UPDATE revision SET cell_values = ? WHERE id = 1", floats(*([-1e-300] * 5))),
    ("UPDATE revision SET cell_values = ? WHERE id = 1", floats(*([0.0] * 5))),
    ("UPDATE revision SET breakpoints = ? WHERE id = 1", floats(-1e99, 0, 1e-300, 1, 1e99)),
    ("UPDATE revision SET note = ? WHERE id = 1", "\x1b[2J\u202e\0\u2028<script>"),
    ("UPDATE revision SET arguments = ? WHERE id = 3", '{"by": {"a": [[[1, null, "x"]]]}, "to": "nothing"}'),
    ("UPDATE revision SET operation = ? WHERE id = 3", "correct"),
    ("UPDATE revision SET time = ? WHERE id = 3", "not a time"),
    ("UPDATE drive SET time = ? WHERE id = 1", pack(np.full(20, 1e308))),
    ("UPDATE drive SET time = ? WHERE id = 1", pack(np.zeros(20))),
    ("UPDATE channel SET samples = ? WHERE position = 0", pack(np.full(20, 1e308))),
    ("UPDATE channel SET samples = ? WHERE position = 0", pack(np.full(20, np.nan))),
    ("UPDATE channel SET samples = ? WHERE position = 0", pack(np.full(20, np.inf))),
    ("UPDATE channel SET name = ?", "same"),
    ("UPDATE drive SET file = ?", "=cmd|' /C calc'!A0"),
    ("UPDATE drive SET added = ?", ""),
]
assert handbook.MODULES  # they declare the commands
LOOKING: dict[str, dict[str, Any]] = {
    "history": {},
    "difference": {"a": 1, "b": 3},
    "check": {},
    "evidence": {},
    "cautions": {},
    "pulls": {},
    "settings": {},
    "correct": {},
    "smooth": {},
    "scale": {"by": 1.01},
    "undo": {},
}


@pytest.mark.parametrize("number", range(len(STRANGE)))
def test_no_command_stumbles_over_what_is_strange(recorded: Path, number: int, tmp_path: Path) -> None:  # noqa: F811
    statement, value = STRANGE[number]
    alter_consistently(recorded, [(statement, (value,) * statement.count("?"))])
    try:
        session = Session.open(recorded)
    except FileError:
        return
    with session:
        for word, given in LOOKING.items():
            in_a_sentence(lambda word=word, given=given: COMMANDS[word].function(session.state, **given))
        in_a_sentence(lambda: COMMANDS["report"].function(session.state, tmp_path / "r.html"))
        in_a_sentence(lambda: COMMANDS["export"].function(session.state, tmp_path / "o.csv", draft=True))


def in_a_sentence(act: Callable[[], Any]) -> None:
    with contextlib.suppress(WorkbenchError), soon():
        outcome = act()
        if hasattr(outcome, "send"):
            run(outcome)


BOMB = """
import sys
from workbench.cli import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="memory of a child cannot be asked for")
@pytest.mark.parametrize("what", ["samples", "rows", "long"])
def test_bombs_go_off_in_a_sentence(recorded: Path, what: str) -> None:  # noqa: F811
    """Samples that claim to be gigabytes: in no more time and memory than they are worth."""
    rows = 400_000_000 if what != "rows" else MOST
    bomb = zlib.compressobj(9)
    chunk = bytes(1 << 20)
    packed = b"".join([bomb.compress(chunk) for _ in range(500)] + [bomb.flush()])
    if what == "long":
        packed = b"\x01\x04\x00\x01" + (0).to_bytes(8, "little") + rows.to_bytes(8, "little") + bytes(16) + packed
    alter(recorded, [("UPDATE drive SET row_count = ?, time = ?", (rows, packed))])
    begin = time.monotonic()
    done = weighed(BOMB, "history", recorded)
    assert done.code == 1
    assert "Traceback" not in done.err
    assert "Drive 1 cannot be read" in done.err
    assert done.peak_kb < MEGABYTES * 1000
    assert done.seconds < 2 * SECONDS or time.monotonic() - begin < SECONDS
