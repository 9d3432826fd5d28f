"""Prints what it costs to refuse each crafted session, bomb and description: memory, processor time, and the sentence.

python tests/benchmarks/zoo.py [FOLDER]

Every case is read by a program of its own, as a user would have it. Only what takes more than 2 s or 300 MB, or ends in
a traceback, is printed line by line, and the ten largest. In November 2026 of 369 cases all ended in a sentence within
1.0 s of processor time; a bomb of rows took 229 MB, all others 108 MB or less.
"""

import shutil
import sqlite3
import sys
import tempfile
import zlib
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[1] / "files")]


import conftest  # noqa: E402
import test_bombs as bombs  # noqa: E402
import test_hostile_sessions as hostile  # noqa: E402
from altering import alter, alter_consistently, rechained  # noqa: E402
from test_alterations import recorded  # noqa: E402
from victims import candump  # noqa: E402
from weighing import Weighed, weighed  # noqa: E402

from workbench.session import Session  # noqa: E402

SECONDS, MEGABYTES = 2.0, 300
COMMAND = "import sys; from workbench.cli import main; sys.exit(main(sys.argv[1:]))"
Case = tuple[str, list[str | Path]]


def plain_session(folder: Path) -> Path:
    """Make the session with every kind of change that the tests alter."""
    curve, grid, make = (getattr(conftest, name).__wrapped__() for name in ("curve", "grid", "make_drive"))
    with Session.create(folder / "car.session", curve, author="tester") as session:
        return recorded.__wrapped__(session, grid, make, folder)


def altered(path: Path) -> Iterator[tuple[str, Callable[[], object]]]:
    """Give how each case is made of the whole session, which lies at a path by then."""
    for name, statements in hostile.RULES.items():
        yield name, partial(run_all, path, statements)
    for sequence in range(1, 13):
        for number, payload in enumerate(hostile.WRONG_PAYLOADS):
            told = {sequence: lambda _, payload=payload: payload}
            yield f"payload {number} of change {sequence}", partial(rechained, path, told)
    for old, new in hostile.WRONG_SETTINGS:
        changed = {number: lambda text, old=old, new=new: text.replace(old, new) for number in range(1, 14)}
        yield f"setting {new}", partial(rechained, path, changed)
    for number, (statement, value) in enumerate(hostile.WRONG_ROWS):
        yield f"row {number}", partial(alter, path, [(statement, (value,))])
    for number, (statement, value) in enumerate(hostile.STRANGE):
        whole = [(statement, (value,) * statement.count("?"))]
        yield f"strange {number}", partial(alter_consistently, path, whole)
    for what in ("samples", "rows", "long"):
        yield f"bomb of {what}", partial(plant, path, what)


def run_all(path: Path, statements: list[str]) -> None:
    """Run statements on a session as they are."""
    connection = sqlite3.connect(path, isolation_level=None)
    for statement in statements:
        connection.execute(statement)
    connection.close()


def plant(path: Path, what: str) -> None:
    """Put a bomb in place of a drive's time."""
    rows = 400_000_000 if what != "rows" else hostile.MOST
    bomb = zlib.compressobj(9)
    packed = b"".join([bomb.compress(bytes(1 << 20)) for _ in range(500)] + [bomb.flush()])
    if what == "long":
        packed = b"\x01\x04\x00\x01" + bytes(8) + rows.to_bytes(8, "little") + bytes(16) + packed
    alter(path, [("UPDATE drive SET row_count = ?, time = ?", (rows, packed))])


def sessions(folder: Path) -> Iterator[Case]:
    """Give the crafted sessions, one after the other in the same place."""
    whole, path = plain_session(folder), folder / "crafted.session"
    for name, make in altered(path):
        for each in folder.glob("crafted.session*"):
            each.unlink()
        shutil.copy(whole, path)
        make()
        for word in ("history", "evidence", "correct", "check") if name.startswith("strange") else ("history",):
            yield f"{name}, {word}", [word, path]


def logs(folder: Path) -> Iterator[Case]:
    """Give the bombs and descriptions among logs."""
    for kind in ("gzip", "twice", "zip"):
        path = folder / ("a.zip" if kind == "zip" else "a.csv.gz")
        path.write_bytes(bombs.packed(kind))
        yield f"unpacks to gigabytes: {kind}", ["inspect", path]
    path = folder / "line.csv"
    for piece, many in ((b"1,2,3,", 4_000_000), (b"1;2;3;", 3_000_000), (b"rpm=900 afr=14 ", 1_000_000)):
        path.write_bytes(piece * many)
        yield f"one line of {len(piece) * many // 1_000_000} MB", ["inspect", path]
    capture, description = folder / "a.log", folder / "car.dbc"
    capture.write_bytes(candump())
    for wrong in bombs.WRONG:
        description.write_text(bombs.DBC.format(**{**bombs.GOOD, **wrong}))
        yield f"description with {next(iter(wrong.items()))!s:.40}", ["inspect", capture, "--dbc", description]


def cost(case: list[str | Path]) -> Weighed:
    """Run a command and weigh it."""
    return weighed(COMMAND, *case)


def main(folder: Path) -> None:
    """Weigh every case."""
    found: list[tuple[str, Weighed]] = []
    for cases in (sessions, logs):
        place = folder / cases.__name__
        place.mkdir()
        for name, words in cases(place):
            found.append((name, cost(words)))
    bad = 0
    for name, told in found:
        faults = [
            f"{told.seconds:.1f} s" if told.seconds > SECONDS else "",
            f"{told.peak_kb / 1000:.0f} MB" if told.peak_kb > 1000 * MEGABYTES else "",
            "traceback" if "Traceback" in told.err or told.code not in (0, 1, 2) else "",
        ]
        if any(faults):
            bad += 1
            print(f"NOT KEPT {name}: {' '.join(faults)}: {(told.err or told.out).strip()[-150:]}")
    for name, told in sorted(found, key=lambda each: -each[1].peak_kb)[:10]:
        print(f"{told.peak_kb / 1000:6.0f} MB {told.seconds:5.2f} s  {name}")
    slowest = max(told.seconds for _, told in found)
    print(f"{len(found)} cases, {bad} not kept; slowest {slowest:.2f} s")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        main(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory() as made:
            main(Path(made))
