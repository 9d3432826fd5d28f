"""Shapes of containers, continued: workbooks, and files of data."""

import gzip
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from field.containers import FRACTIONS, SHAPES, N, held
from field.shape import Built, Col, col, edit, mapped, round_, rows, std, text
from field.times import SERIAL
from field.writers import DATE, PERCENT, Cell, grid, number, ods, parquet, sqlite, xlsx, zipped


def _books() -> None:
    notes: list[list[Cell]] = [["Notes"], ["Two pulls, tank full"]]

    def book(*parts: Col, styles: Mapping[int, str] | None = None, **sheets: Sequence[Sequence[Cell]]) -> Built:
        cols = std(*parts)
        return held("drive.xlsx", xlsx({"Log": grid(cols), **sheets}, styles), cols)

    percent = [col(k, None, "%", lambda v: v / 100, 6) for k in FRACTIONS.split()]
    places = {k: PERCENT for k, c in enumerate(std()) if c.key in FRACTIONS.split()}
    SHAPES("xlsx", book)
    SHAPES("xlsx_notes_sheet", lambda: book(Notes=notes))
    SHAPES("xlsx_notes_first", lambda: held("drive.xlsx", xlsx({"Notes": notes, "Log": grid(std())})))
    SHAPES(
        "xlsx_percent_cells", lambda: book(*percent, styles=places), "read", "cells formatted as percent hold fractions"
    )
    SHAPES("xlsx_percent_cells_bare", lambda: book(*(replace(c, unit="") for c in percent), styles=places))
    SHAPES(
        "xlsx_date_cells",
        lambda: book(col("time", "Time", "", lambda t: SERIAL + t / 86400, 10), styles={0: DATE}),
        "read",
        "date cells with milliseconds",
    )
    SHAPES(
        "xlsx_clock_cells",
        lambda: book(col("time", "Time", "", lambda t: SERIAL % 1 + t / 86400, 10), styles={0: DATE}),
    )
    SHAPES(
        "xlsx_numbers_as_text",
        lambda: held(
            "drive.xlsx",
            xlsx(
                {
                    "Log": [
                        [round_(c.name, c.unit) for c in std()],
                        *map(list, zip(*(c.cells for c in std()), strict=True)),
                    ]
                }
            ),
        ),
    )
    SHAPES(
        "xlsx_text_comma",
        lambda: held(
            "drive.xlsx",
            xlsx(
                {
                    "Log": [
                        [round_(c.name, c.unit) for c in std()],
                        *(
                            [cell.replace(".", ",") for cell in row]
                            for row in zip(*(c.cells for c in std()), strict=True)
                        ),
                    ]
                }
            ),
        ),
    )
    SHAPES(
        "xlsx_titles_units_row",
        lambda: held(
            "drive.xlsx",
            xlsx(
                {
                    "Log": [
                        ["Drive of 3 March"],
                        [],
                        [c.name for c in std()],
                        [c.unit for c in std()],
                        *grid(std(), head=False),
                    ]
                }
            ),
        ),
    )
    SHAPES("xlsx_empty_left_column", lambda: held("drive.xlsx", xlsx({"Log": [[None, *row] for row in grid(std())]})))
    SHAPES(
        "xlsx_two_logs",
        lambda: held("drive.xlsx", xlsx({"Town": grid(std()), "Road": grid(rows(std(), range(2000)))})),
        "ask",
        "which of two sheets",
        hints=("--part", "Town"),
    )
    SHAPES(
        "xlsx_part",
        lambda: held(
            "drive.xlsx", xlsx({"Town": grid(std()), "Road": grid(rows(std(), range(2000)))}), flags=("--part", "Town")
        ),
    )
    SHAPES(
        "xlsx_channels_on_two_sheets",
        lambda: held("drive.xlsx", xlsx({"ECU": grid(std(drop="lam")), "Wideband": grid(std(keys=["time", "lam"]))})),
        "either",
        "channels of one drive on two sheets",
    )
    SHAPES("xlsx_chart_sheet_empty", lambda: book(Sheet2=[], Sheet3=[]))
    SHAPES(
        "xlsx_blank_cells",
        lambda: held(
            "drive.xlsx",
            xlsx(
                {
                    "Log": [
                        [cell if (r * 7 + c) % 50 or not r or not c else None for c, cell in enumerate(row)]
                        for r, row in enumerate(grid(std()))
                    ]
                }
            ),
        ),
        loose=True,
    )
    SHAPES(
        "xlsx_error_words",
        lambda: book(edit(std(), "lam", mapped(lambda k, cell: "#DIV/0!" if k % 60 == 9 else cell))[11]),
    )
    SHAPES("xlsx_as_csv_name", lambda: held("drive.csv", xlsx({"Log": grid(std())})))
    SHAPES("ods", lambda: held("drive.ods", ods({"Log": grid(std())})))
    SHAPES("ods_notes_first", lambda: held("drive.ods", ods({"Notes": notes, "Log": grid(std())})))
    SHAPES(
        "ods_semicolon_in_one_column",
        lambda: held("drive.ods", ods({"Log": [[line] for line in text(std(), sep=";").splitlines()]})),
        "either",
        "a CSV pasted into one column",
    )


def _numbers(c: Col) -> list[float]:
    return [value if isinstance(value := number(cell), float) else float("nan") for cell in c.cells]


def _data() -> None:
    def records(cols: Sequence[Col], name: str = "round") -> list[dict[str, Cell]]:
        names = [round_(c.name, c.unit) if name == "round" else c.name for c in cols]
        return [dict(zip(names, map(number, row), strict=True)) for row in zip(*(c.cells for c in cols), strict=True)]

    channels = std()[1:]
    lines = "\n".join(map(json.dumps, records(std()))).encode()
    SHAPES("json_lines", lambda: held("drive.jsonl", lines))
    SHAPES("json_lines_gz", lambda: held("drive.jsonl.gz", gzip.compress(lines, mtime=0)))
    SHAPES("json_lines_on_change", lambda: held("drive.ndjson", _changed(records(std()))), loose=True)
    SHAPES(
        "json_lines_long",
        lambda: held(
            "drive.jsonl",
            "\n".join(
                json.dumps({"ts": k / 20, "name": c.name, "value": number(c.cells[k]), "unit": c.unit})
                for k in range(N)
                for c in channels
            ).encode(),
        ),
    )
    SHAPES("json_records", lambda: held("drive.json", json.dumps(records(std())).encode()))
    SHAPES(
        "json_records_wrapped",
        lambda: held("drive.json", json.dumps({"car": "test", "data": records(std())}).encode()),
        "either",
    )
    SHAPES(
        "json_columns",
        lambda: held("drive.json", json.dumps({round_(c.name, c.unit): _numbers(c) for c in std()}).encode()),
    )
    SHAPES(
        "json_channels",
        lambda: held(
            "drive.json",
            json.dumps({"channels": [{"name": c.name, "unit": c.unit, "data": _numbers(c)} for c in std()]}).encode(),
        ),
        "either",
    )
    SHAPES(
        "json_table",
        lambda: held(
            "drive.json",
            json.dumps({"columns": [round_(c.name, c.unit) for c in std()], "data": grid(std(), head=False)}).encode(),
        ),
        "either",
    )
    named = {round_(c.name, c.unit): _numbers(c) for c in std()}
    SHAPES("parquet", lambda: held("drive.parquet", parquet(named)))
    SHAPES(
        "parquet_nulls",
        lambda: held(
            "drive.parquet",
            parquet(
                {
                    n: [v if (k * 7 + j) % 50 or not j else float("nan") for k, v in enumerate(vs)]
                    for j, (n, vs) in enumerate(named.items())
                }
            ),
        ),
        loose=True,
    )
    SHAPES(
        "parquet_epoch_ms",
        lambda: held(
            "drive.parquet",
            parquet({"timestamp": [1772546581250 + 50.0 * k for k in range(N)], **dict(list(named.items())[1:])}),
        ),
    )
    rows_ = grid(std(), head=False)
    SHAPES("sqlite", lambda: held("drive.db", sqlite({"log": (list(named), rows_)})))
    SHAPES(
        "sqlite_two_tables",
        lambda: held(
            "drive.sqlite", sqlite({"meta": (["key", "value"], [["car", "test"]]), "samples": (list(named), rows_)})
        ),
    )
    SHAPES(
        "sqlite_long",
        lambda: held(
            "drive.db",
            sqlite(
                {
                    "samples": (
                        ["time_s", "channel", "value", "unit"],
                        [[k / 20, c.name, number(c.cells[k]), c.unit] for k in range(N) for c in channels],
                    )
                }
            ),
        ),
    )
    SHAPES(
        "sqlite_snake",
        lambda: held("drive.db", sqlite({"log": ([c.name.lower().replace(" ", "_") for c in std()], rows_)}), _snake()),
    )
    SHAPES("npz", lambda: held("drive.npz", _npz({c.name: _numbers(c) for c in std()})))
    SHAPES("npz_snake", lambda: held("drive.npz", _npz({c.name: _numbers(c) for c in _snake()}), _snake()))
    SHAPES(
        "npz_data_and_names",
        lambda: held("drive.npz", _npz({"data": rows_, "names": [round_(c.name, c.unit) for c in std()]})),
        "either",
    )
    SHAPES("npy_structured", lambda: held("drive.npy", _npy()), "either")
    SHAPES(
        "mat",
        lambda: held(
            "drive.mat",
            _mat({c.name.replace(" ", "_"): _numbers(c) for c in std()}),
            [replace(c, name=c.name.replace(" ", "_")) for c in std()],
        ),
    )
    SHAPES(
        "mat_struct",
        lambda: held("drive.mat", _mat({"log": {c.name.replace(" ", "_"): _numbers(c) for c in std()}}), _snake()),
        "either",
    )


def _snake() -> list[Col]:
    return [replace(c, name=c.name.lower().replace(" ", "_"), unit="") for c in std()]


def _changed(records: Sequence[dict[str, Cell]]) -> bytes:
    lines, last = [], dict[str, Cell]()
    for record in records:
        lines.append(json.dumps({k: v for k, v in record.items() if k.startswith("Time") or last.get(k) != v}))
        last = record
    return "\n".join(lines).encode()


def _npz(arrays: Mapping[str, Sequence[object]]) -> bytes:
    files = {}
    for name, values in arrays.items():
        buffer = io.BytesIO()
        np.save(buffer, np.asarray(values))
        files[f"{name}.npy"] = buffer.getvalue()
    return zipped(files)


def _npy() -> bytes:
    cols = std()
    out = np.zeros(N, dtype=[(c.name, "f8") for c in cols])
    for c in cols:
        out[c.name] = _numbers(c)
    buffer = io.BytesIO()
    np.save(buffer, out)
    return buffer.getvalue()


def _mat(variables: Mapping[str, object]) -> bytes:
    from scipy.io import savemat

    buffer = io.BytesIO()
    savemat(buffer, dict(variables), oned_as="column")
    data = buffer.getvalue()
    return b"MATLAB 5.0 MAT-file, written by the corpus".ljust(116) + data[116:]


_books()
_data()
