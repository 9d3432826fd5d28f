"""Files of data: each kind holds the same few samples and is read as the same channels."""

import bz2
import io
import json
import lzma
import sqlite3
import tarfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from workbench.errors import FileError, InputError, WorkbenchError
from workbench.files.formats.json_tables import as_lines, tables_in
from workbench.files.formats.xml_tables import tables_of_xml
from workbench.files.logs import read_log
from workbench.model.log import Log
from workbench.work import run

ROWS = 60
TIME = np.arange(ROWS) * 0.1
SPEED = 1500 + 10.0 * np.arange(ROWS)
FLOW = 4 + 0.125 * np.arange(ROWS)
NAMES = ("Time (s)", "Engine speed (rpm)", "Airflow (g/s)")


def columns() -> dict[str, list[float]]:
    return dict(zip(NAMES, (TIME.tolist(), SPEED.tolist(), FLOW.tolist()), strict=True))


def records() -> list[dict[str, float]]:
    return [
        dict(zip(NAMES, row, strict=True)) for row in zip(TIME.tolist(), SPEED.tolist(), FLOW.tolist(), strict=True)
    ]


def text() -> str:
    return "\n".join([",".join(NAMES), *(",".join(map(repr, row.values())) for row in records())]) + "\n"


def as_sqlite(path: Path) -> None:
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE log ({})".format(", ".join(f'"{name}" REAL' for name in NAMES)))
        connection.executemany("INSERT INTO log VALUES (?, ?, ?)", [tuple(row.values()) for row in records()])
        connection.execute(
            "CREATE VIEW endless AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i FROM n) SELECT * FROM n"
        )
    connection.close()


def as_parquet(path: Path) -> None:
    import pandas as pd

    fastparquet = pytest.importorskip("fastparquet")
    fastparquet.write(str(path), pd.DataFrame(columns()))


def as_mat(path: Path) -> None:
    from scipy.io import savemat

    with path.open("wb") as file:
        savemat(file, {"names": np.array(NAMES, dtype=object), "values": np.stack([TIME, SPEED, FLOW], axis=1)})


def as_tar(path: Path) -> None:
    with tarfile.open(path, "w:gz") as archive:
        info = tarfile.TarInfo("drive.csv")
        info.size = len(text().encode())
        archive.addfile(info, io.BytesIO(text().encode()))


WRITERS: dict[str, Callable[[Path], object]] = {
    "records.json": lambda path: path.write_text(json.dumps(records())),
    "wrapped.json": lambda path: path.write_text(json.dumps({"car": "x", "drive": {"samples": records()}})),
    "lines.jsonl": lambda path: path.write_text("".join(json.dumps(row) + "\n" for row in records())),
    "columns.json": lambda path: path.write_text(json.dumps(columns())),
    "split.json": lambda path: path.write_text(
        json.dumps({"columns": NAMES, "data": [list(row.values()) for row in records()]})
    ),
    "channels.json": lambda path: path.write_text(
        json.dumps(
            [{"name": n.split(" (")[0], "unit": n.split("(")[1][:-1], "values": v} for n, v in columns().items()]
        )
    ),
    "log.sqlite": as_sqlite,
    "log.parquet": as_parquet,
    "log.npz": lambda path: np.savez(path, **columns()),
    "log.mat": as_mat,
    "log.csv.bz2": lambda path: path.write_bytes(bz2.compress(text().encode())),
    "log.csv.xz": lambda path: path.write_bytes(lzma.compress(text().encode())),
    "log.tar.gz": as_tar,
}


def read(path: Path, part: str = "") -> Log:
    return run(read_log(path, part=part))


@pytest.mark.parametrize("name", WRITERS)
def test_the_same_samples_in_every_kind(name: str, tmp_path: Path) -> None:
    WRITERS[name](tmp_path / name)
    log = read(tmp_path / name)
    found = {channel.name: (channel.unit, np.asarray(channel.column.values)) for channel in log.channels}
    assert np.array_equal(log.time.values, TIME)
    assert found["Engine speed"][0] == "rpm"
    assert np.array_equal(found["Engine speed"][1], SPEED)
    assert np.array_equal(found["Airflow"][1], FLOW)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ('{"gain": 1.5, "name": "x", "list": [1]}', "holds no table of samples"),
        ("[[1, 2], [3, 4]]", "holds no table of samples"),
        ('[{"a": 1}, {"a": ', "cannot be read as JSON"),
        ('{"a": 1}\n{"a": 2\n{"a": 3}\n', "line 2 is no JSON"),
    ],
)
def test_json_that_is_no_log_is_refused_by_what_it_is(content: str, said: str, tmp_path: Path) -> None:
    (tmp_path / "x.json").write_text(content)
    with pytest.raises(FileError, match=said):
        read(tmp_path / "x.json")


def test_several_tables_are_asked_about(tmp_path: Path) -> None:
    (tmp_path / "x.json").write_text(json.dumps({"town": records(), "road": records()[:50]}))
    with pytest.raises(InputError, match="holds 2 tables") as refused:
        read(tmp_path / "x.json")
    assert "--part: town, road" in str(refused.value.hint)
    assert read(tmp_path / "x.json", "road").rows == 50
    with pytest.raises(InputError, match="no table 'sea'"):
        read(tmp_path / "x.json", "sea")


@pytest.mark.parametrize("name", ["log.sqlite", "log.parquet", "log.npz", "log.mat", "log.tar.gz", "log.csv.xz"])
def test_cut_in_half_it_ends_in_a_sentence(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    WRITERS[name](path)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(WorkbenchError):
        read(path)


def test_values_inside_objects_keep_their_units_and_gaps() -> None:
    found = tables_in('[{"t": 0, "air": {"value": 3.5, "unit": "g/s"}}, {"t": 1, "on": true}, {"t": 2, "air": null}]')[
        ""
    ]
    assert list(as_lines(found)) == ["t\tair (g/s)\ton\tair\n", "0\t3.5\t\t\n", "1\t\t1\t\n", "2\t\t\t\n"]


def test_what_stands_inside_a_record_once_belongs_to_it() -> None:
    """As the extensions of a point of a track do (GPX 1.1); what is repeated inside is a record of its own."""
    point = "<p lat='{k}'><time>2026-03-03T14:03:{k:02d}Z</time><extensions><rpm>{v}</rpm></extensions></p>"
    body = "".join(point.format(k=k, v=800 + k) for k in range(20))
    (columns,) = tables_of_xml(f"<?xml version='1.0'?><gpx><seg>{body}</seg></gpx>".encode()).values()
    assert columns.names == ["lat", "time", "rpm"]
    assert columns.cells[2][:3] == ["800", "801", "802"]


def test_names_and_values_may_take_turns_as_in_a_property_list() -> None:
    row = "<dict><key>Time (s)</key><real>{k}.5</real><key>RPM</key><integer>{v}</integer><key>On</key><true/></dict>"
    body = "".join(row.format(k=k, v=800 + k) for k in range(20))
    (columns,) = tables_of_xml(f"<?xml version='1.0'?><plist><array>{body}</array></plist>".encode()).values()
    assert columns.names == ["Time (s)", "RPM", "On"]
    assert [column[1] for column in columns.cells] == ["1.5", "801", "true"]
