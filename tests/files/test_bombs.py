"""Logs that unpack to gigabytes, rows without end, and descriptions of signals that no frame holds."""

import gzip
import io
import sys
import tracemalloc
import zipfile
from pathlib import Path

import numpy as np
import pytest
from test_alterations import recorded  # noqa: F401 - a fixture
from victims import candump
from weighing import weighed

from workbench.errors import FileError, InputError, WorkbenchError
from workbench.files.logs import read_log
from workbench.files.moments.order import told_twice
from workbench.files.tables.apart import side_by_side
from workbench.files.text import columns
from workbench.files.vocabulary.recording import Field
from workbench.work import run

SECONDS, MEGABYTES = 2.0, 300  # the interpreter with pandas takes 130 MB

CHILD = """
import sys
from pathlib import Path
from workbench.errors import WorkbenchError
from workbench.files.logs import read_log
from workbench.files.moments.order import told_twice
from workbench.work import run
try:
    run(read_log(Path(sys.argv[1])))
except WorkbenchError as refusal:
    print(refusal)
"""


def packed(kind: str) -> bytes:
    rows = b"0.1,900,3.5,1.0,1.0\n" * 50_000
    out = io.BytesIO()
    if kind == "zip":
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("a.csv", "w") as file:
            file.write(b"Time (s),RPM (rpm),MAF (g/s),a,b\n")
            for _ in range(500):
                file.write(rows)
    else:
        with gzip.GzipFile(fileobj=out, mode="wb", compresslevel=6) as file:
            file.write(b"Time (s),RPM (rpm),MAF (g/s),a,b\n")
            for _ in range(500):
                file.write(rows)
    content = out.getvalue()
    return gzip.compress(content) if kind == "twice" else content


@pytest.mark.skipif(sys.platform == "win32", reason="memory of a child cannot be asked for")
@pytest.mark.parametrize("kind", ["gzip", "twice", "zip"])
def test_what_unpacks_to_gigabytes_ends_in_a_sentence(tmp_path: Path, kind: str) -> None:
    """Half a gigabyte out of a megabyte; out of the gzip in a gzip, out of a few kilobytes."""
    path = tmp_path / ("a.zip" if kind == "zip" else "a.csv.gz")
    path.write_bytes(packed(kind))
    assert path.stat().st_size < 2_000_000
    done = weighed(CHILD, path)
    assert "unpacks to more than" in done.out, (done.out, done.err[-2000:])
    assert done.peak_kb < MEGABYTES * 1000
    assert done.seconds < SECONDS


def test_rows_without_end_are_refused_while_they_are_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(columns, "MOST", 60_000)
    path = tmp_path / "a.csv"
    path.write_bytes(b"Time (s),RPM (rpm)\n" + b"0.1,900\n" * 400_000)
    with pytest.raises(FileError, match="more than 60000 rows"):
        run(read_log(path))


def test_one_line_of_megabytes_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"1,2,3," * 4_000_000)
    with pytest.raises(FileError, match="no end of line"):
        run(read_log(path))


INSPECT = "import sys; from workbench.cli import main; sys.exit(main(['inspect', *sys.argv[1:]]))"


@pytest.mark.parametrize("content", [b"1,2,3," * 4_000_000, b"1;2;3;" * 2_000_000, b"a,b\n1,2\n" + b"x=1 " * 2_000_000])
def test_a_line_without_end_is_split_into_cells_by_nobody(tmp_path: Path, content: bytes) -> None:
    """As a log or as a table: of 18 MB in one line the latter made two gigabytes of cells in 18 s."""
    path = tmp_path / "a.csv"
    path.write_bytes(content)
    told = weighed(INSPECT, path)
    assert told.code == 1
    assert "Traceback" not in told.err
    assert told.peak_kb < 200_000
    assert told.seconds < 3


def test_members_without_a_name_are_left_aside(tmp_path: Path) -> None:
    path = tmp_path / "a.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("x", b"1,2\n" * 100)
    content = path.read_bytes()
    at = content.index(b"PK\x01\x02")
    head = bytearray(content[:at] + content[at:])
    head[at + 28 : at + 30] = (0).to_bytes(2, "little")
    head = head[: at + 46] + head[at + 47 :]
    head[-10:-6] = (int.from_bytes(head[-10:-6], "little") - 1).to_bytes(4, "little")
    path.write_bytes(bytes(head))
    with pytest.raises(WorkbenchError):
        run(read_log(path))


DBC = """VERSION ""
BU_: A
BO_ {identifier} Engine: {length} A
 SG_ Speed : {start}|{bits}@1+ ({factor},{offset}) [0|0] "rpm" A
"""
GOOD = {"identifier": 2024, "length": 8, "start": 0, "bits": 16, "factor": 1, "offset": 0}
WRONG: list[dict[str, object]] = [
    {"length": 10**9},
    {"length": "9" * 5000},
    {"bits": 64_000},
    {"bits": 0},
    {"start": 10**9},
    {"factor": "1e308"},
    {"factor": "nan"},
    {"offset": "-1e300"},
]


@pytest.mark.parametrize("wrong", WRONG)
def test_what_no_frame_can_hold_is_refused(tmp_path: Path, wrong: dict[str, object]) -> None:
    pytest.importorskip("cantools")
    capture, dbc = tmp_path / "a.log", tmp_path / "car.dbc"
    capture.write_bytes(candump())
    dbc.write_text(DBC.format(**{**GOOD, **wrong}))
    with pytest.raises(FileError, match="is not a valid DBC file"):
        run(read_log(capture, dbc=dbc))


def test_a_database_of_a_car_is_read(tmp_path: Path) -> None:
    pytest.importorskip("cantools")
    capture, dbc = tmp_path / "a.log", tmp_path / "car.dbc"
    capture.write_bytes(candump())
    dbc.write_text(DBC.format(**GOOD))
    assert run(read_log(capture, dbc=dbc)).channel("Speed") is not None


def test_a_session_is_no_database(recorded: Path, tmp_path: Path) -> None:  # noqa: F811
    capture = tmp_path / "a.log"
    capture.write_bytes(candump())
    with pytest.raises((FileError, InputError)):
        run(read_log(capture, dbc=recorded))


def test_a_line_of_many_cells_makes_no_other_line_longer() -> None:
    rows = [[str(each) for each in range(5)] for _ in range(800)]
    rows[3] = ["1", *[""] * 50_000, "2"]
    tracemalloc.start()
    try:
        assert side_by_side(rows) == []
        assert tracemalloc.get_traced_memory()[1] < 20e6
    finally:
        tracemalloc.stop()
    apart = [["a", "b", "", "c", "d"], *[["1", "2", "", "3", "4"]] * 3]
    assert [len(block[0]) for block in side_by_side(apart)] == [2, 2]


def test_a_giant_cell_takes_its_room_once_where_rows_are_compared() -> None:
    texts = np.array(["x" * 400_000, *("ab" * 100)], dtype=object)
    stamps = np.append(np.arange(100.0), np.arange(101.0))
    tracemalloc.start()
    try:
        kept, _ = told_twice(stamps, (Field("a", "", np.zeros(201), texts),))
        assert tracemalloc.get_traced_memory()[1] < 5e6
    finally:
        tracemalloc.stop()
    assert kept is not None
