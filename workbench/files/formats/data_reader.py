"""Reads a file of data (JSON, web page, XML, SQLite, Parquet, NumPy, MAT) in a process that damaged ones may end.

    python -m workbench.files.formats.data_reader FILE FOLDER

Writes into the folder `sheets.json`, the names of the tables inside, and each as tab-separated text under its place
among them. A damaged file ends with exit code 3 and the reason on standard output, a missing library with 4.
"""

import itertools
import json
import sqlite3
import sys
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from workbench.files.disk.text_decoding import decode
from workbench.files.formats.html_tables import is_web_page, tables_of_page
from workbench.files.formats.json_tables import LEAST_ROWS, Columns, as_lines, tables_in
from workbench.files.formats.subprocess_reader import DAMAGED, IS_DAMAGED, NO_LIBRARY, end_with_starter, limit_memory
from workbench.files.formats.xml_tables import is_xml, tables_of_xml

MOST_ROWS = 50_000_000
STEPS, STEPS_EACH = 300_000_000, 100_000  # of a view; a log of a million rows and 20 columns takes a tenth


def main(path: Path, folder: Path) -> int:
    """Read the file into the folder and give the exit code."""
    limit_memory(path)
    try:
        tables = _reader_for(path)(path)
    except ImportError:
        return NO_LIBRARY
    except (*DAMAGED, sqlite3.Error, zipfile.BadZipFile) as error:
        sys.stdout.write(" ".join(str(error).split())[:200] or type(error).__name__)
        return IS_DAMAGED
    for at, table in enumerate(tables.values()):
        with (folder / str(at)).open("w", encoding="utf-8", newline="") as file:
            file.writelines(as_lines(table))
    (folder / "sheets.json").write_text(json.dumps({"filled": list(tables), "all": list(tables)}))
    return 0


def _reader_for(path: Path) -> Callable[[Path], dict[str, Columns]]:
    with path.open("rb") as file:
        head = file.read(256)
    if head.startswith(b"SQLite format 3"):
        return _from_sqlite
    if head.startswith(b"PAR1"):
        return _from_parquet
    if head.startswith((b"PK", b"\x93NUMPY")):
        return _from_numpy
    if is_web_page(head):
        return _from_page
    if is_xml(head):
        return _from_xml
    return _from_mat if head.startswith(b"MATLAB 5.0") else _from_json


def _from_json(path: Path) -> dict[str, Columns]:
    return tables_in(path.read_bytes().decode("utf-8-sig"))


def _from_page(path: Path) -> dict[str, Columns]:
    return tables_of_page(decode(path.read_bytes(), path.name).text)


def _from_xml(path: Path) -> dict[str, Columns]:
    return tables_of_xml(path.read_bytes())


def _from_sqlite(path: Path) -> dict[str, Columns]:
    """Read every table, and views that name columns otherwise; virtual tables run code, so they are left alone.

    A view runs what somebody wrote into the file: it may only read, and is ended after so many steps.
    """
    connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True)
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cell_size_check = ON")
    chosen = (
        "SELECT name, type FROM sqlite_schema WHERE name NOT LIKE 'sqlite%' "
        "AND (type = 'view' OR type = 'table' AND rootpage > 0) ORDER BY type"
    )
    found: dict[str, Columns] = {}
    for name, kind in connection.execute(chosen).fetchall():
        if kind == "view":
            connection.set_authorizer(_only_reading)
            connection.set_progress_handler(_steps_left(), STEPS_EACH)
        quoted = '"' + name.replace('"', '""') + '"'
        try:
            cursor = connection.execute(f"SELECT * FROM {quoted} LIMIT {MOST_ROWS}")
            rows = cursor.fetchall()
        except sqlite3.Error:
            if kind == "view":
                continue
            raise
        names = [column[0] for column in cursor.description]
        told = kind == "view" and any(set(names) <= set(table.names) for table in found.values())
        if len(rows) >= LEAST_ROWS and not told:
            found[name] = Columns(names, list(zip(*rows, strict=True)))
    connection.close()
    return found


def _only_reading(action: int, *_: str | None) -> int:
    reading = (sqlite3.SQLITE_SELECT, sqlite3.SQLITE_READ, sqlite3.SQLITE_FUNCTION)
    return sqlite3.SQLITE_OK if action in reading else sqlite3.SQLITE_DENY


def _steps_left() -> Callable[[], bool]:
    """Give what ends a view once it has used up its steps."""
    left = itertools.count(STEPS // STEPS_EACH, -1)
    return lambda: next(left) <= 0


def _from_parquet(path: Path) -> dict[str, Columns]:
    import fastparquet  # type: ignore[import-untyped]

    frame = fastparquet.ParquetFile(str(path)).to_pandas()
    if frame.index.name:
        frame = frame.reset_index()
    return _grouped({str(name): frame[name].to_numpy() for name in frame.columns})


def _from_numpy(path: Path) -> dict[str, Columns]:
    loaded = np.load(path, allow_pickle=False)
    return _grouped(dict(loaded) if hasattr(loaded, "files") else {"": loaded})


def _from_mat(path: Path) -> dict[str, Columns]:
    from scipy.io import loadmat

    loaded = loadmat(path, simplify_cells=True)
    return _grouped(dict(_leaves("", {name: each for name, each in loaded.items() if not name.startswith("__")})))


def _leaves(prefix: str, found: Mapping[str, Any]) -> list[tuple[str, Any]]:
    """Return what lies in structures; one that is alone at the top gives no prefix."""
    if not prefix and len(found) == 1 and isinstance(only := next(iter(found.values())), dict):
        found = only
    leaves: list[tuple[str, Any]] = []
    for name, value in found.items():
        whole = f"{prefix}.{name}" if prefix else name
        leaves += _leaves(whole, value) if isinstance(value, dict) else [(whole, np.asarray(value))]
    return leaves


def _grouped(arrays: Mapping[str, Any]) -> dict[str, Columns]:
    """Bring arrays of one length together; a matrix takes its names from an array of as many texts."""
    groups: dict[int, dict[str, Any]] = {}
    texts = [each for each in arrays.values() if each.ndim == 1 and each.dtype.kind in "UO" and each.size < 1000]
    for name, array in arrays.items():
        if array.dtype.names:
            for part in array.dtype.names:
                groups.setdefault(array.shape[0], {})[part] = array[part]
        elif array.ndim == 1 or (array.ndim == 2 and 1 in array.shape):
            groups.setdefault(array.size, {})[name] = array.reshape(-1)
        elif array.ndim == 2:
            titles = next((each for each in texts if each.size == array.shape[1]), np.arange(array.shape[1]))
            for title, column in zip(titles, array.T, strict=True):
                groups.setdefault(array.shape[0], {})[str(title)] = column
    large = {size: group for size, group in groups.items() if size >= LEAST_ROWS and len(group) > 1}
    alone = len(large) == 1
    return {
        "" if alone else f"{size} values": Columns(list(group), [_listed(column) for column in group.values()])
        for size, group in large.items()
    }


def _listed(column: Any) -> list[Any]:
    if column.dtype.kind in "mM":
        unit = "datetime64[us]" if column.dtype.kind == "M" else "timedelta64[us]"
        moments = column.astype(unit)
        if column.dtype.kind == "m":
            return [each / 1e6 for each in moments.astype("int64").tolist()]
        return [None if each is None else each.isoformat(sep=" ") for each in moments.tolist()]
    return list(column.tolist())


if __name__ == "__main__":
    end_with_starter()
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
