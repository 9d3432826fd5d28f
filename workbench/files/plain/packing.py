"""A session made again of its plain files, held against every digest; FORMAT.md beside this says what they hold."""

import csv
from collections.abc import Iterator, Mapping
from io import StringIO
from pathlib import Path
from typing import Any

import msgspec
import numpy as np

from workbench.errors import FileError
from workbench.files.disk.plain_files import read_bytes
from workbench.files.plain.unpacking import CHANGES, DRIVES, FORMAT, LENGTH, PAGE, REVISIONS, SESSION, VERSION
from workbench.files.store.decoding import read_as, read_json
from workbench.files.store.reading import UNREADABLE, ChangeRow, Record
from workbench.files.store.rows import read_drive, read_revision, to_json
from workbench.files.store.writing import make_session
from workbench.model.arrays import FloatArray
from workbench.model.packing import Column
from workbench.phrases import phrase
from workbench.work import Progress

UNPACK_AGAIN = "Unpack the session again; to use altered numbers, import them into a session."
Row = Mapping[str, Any]


class _About(msgspec.Struct, frozen=True):
    format: str
    version: int
    changes: int
    chain: str


class _Change(msgspec.Struct, frozen=True):
    sequence: int
    kind: str
    payload: dict[str, Any]
    digest: str
    payload_text: str | None = None


class _Axis(msgspec.Struct, frozen=True):
    name: str
    unit: str
    breakpoints: list[float]


class _Channel(msgspec.Struct, frozen=True):
    name: str
    unit: str
    unit_read: str


def pack_session(folder: Path, path: Path) -> Iterator[Progress]:
    """Make a session file of plain files; it is not yet held against its digests: whoever opens it does that.

    Args:
        folder: of the plain files.
        path: of the session to make; nothing may be there yet.

    Raises:
        FileError: naming the file, and where in it, that is missing or cannot be read.
    """
    about = read_about(folder)
    record = Record([_change(folder, number, line) for number, line in enumerate(_lines(folder), 1)])
    if record.last != (about.changes, about.chain):
        raise FileError(
            phrase(
                "{file} does not end with the change that {about} names: number {changes}, digest {digest}.",
                file=folder / CHANGES,
                about=SESSION,
                changes=about.changes,
                digest=about.chain[:12],
            ),
            UNPACK_AGAIN,
        )
    for number, stem in enumerate(_stems(folder / REVISIONS), 1):
        row = _revision_row(stem)
        record.revisions[number] = (row["sequence"], _understood(stem, lambda row=row: read_revision(row)))
    stems = _stems(folder / DRIVES)
    for number, stem in enumerate(stems, 1):
        yield Progress(number, len(stems) + 1, f"reading {stem.name}.csv")
        row, channels = _drive_rows(stem)
        drive = _understood(stem, lambda row=row, channels=channels: read_drive(row, channels))
        record.drives[number] = (row["sequence"], drive)
    make_session(path, record)


def read_about(folder: Path) -> _About:
    """Read what a folder says it is.

    Raises:
        FileError: when it is no folder of plain files of a version that is known.
    """
    about: _About = _json_as(_About, folder / SESSION, _text(folder / SESSION))
    if about.format != FORMAT or about.version > VERSION:
        raise FileError(
            phrase(
                "{file} says {format!r}, version {version}; this program reads {known!r}, version {newest}.",
                file=folder / SESSION,
                format=about.format,
                version=about.version,
                known=FORMAT,
                newest=VERSION,
            ),
            "Pack it with a newer version of the workbench.",
        )
    return about


def strangers(folder: Path) -> tuple[str, ...]:
    """Name the files of a folder that are no part of the session."""
    known = {SESSION, CHANGES, PAGE}
    known |= {f"{REVISIONS}/{stem.name}{ending}" for stem in _stems(folder / REVISIONS) for ending in (".json", ".csv")}
    endings = (".json", ".csv", ".kept")
    known |= {f"{DRIVES}/{stem.name}{ending}" for stem in _stems(folder / DRIVES) for ending in endings}
    there = (each.relative_to(folder).as_posix() for each in sorted(folder.rglob("*")) if each.is_file())
    return tuple(name for name in there if name not in known)


def _stems(folder: Path) -> list[Path]:
    """Return the paths without endings that are numbered from 1 on."""
    found: list[Path] = []
    while (stem := folder / f"{len(found) + 1:04d}").with_suffix(".json").exists():
        found.append(stem)
    return found


def _text(path: Path) -> str:
    try:
        return read_bytes(path).decode("utf-8")
    except OSError as error:
        raise FileError(
            phrase("{path} cannot be read: {why}.", path=path, why=error.strerror),
            "Name the folder that unpack wrote, with all its files.",
        ) from error
    except UnicodeDecodeError as error:
        raise FileError(
            phrase("{path} is not UTF-8 text, from byte {at} on.", path=path, at=error.start), UNPACK_AGAIN
        ) from error


def _json_as(kind: type[msgspec.Struct], where: object, text: str) -> Any:
    try:
        return read_as(kind, read_json(text))
    except (ValueError, msgspec.MsgspecError) as error:
        raise FileError(phrase("{where}: {error}.", where=where, error=str(error).rstrip(".")), UNPACK_AGAIN) from error


def _understood(stem: Path, read: Any) -> Any:
    try:
        return read()
    except UNREADABLE as error:
        path = stem.with_suffix(".json")
        raise FileError(phrase("{path}: {error}.", path=path, error=str(error).rstrip(".")), UNPACK_AGAIN) from error


def _lines(folder: Path) -> list[str]:
    return [line for line in _text(folder / CHANGES).split("\n") if line]


def _change(folder: Path, number: int, line: str) -> ChangeRow:
    where = phrase("{file}, line {number}", file=folder / CHANGES, number=number)
    change = _json_as(_Change, where, line)
    text = change.payload_text if change.payload_text is not None else to_json(change.payload)
    return ChangeRow(change.sequence, change.kind, text, change.digest)


def _revision_row(stem: Path) -> dict[str, Any]:
    path = stem.with_suffix(".json")
    fields = _fields(path)
    axes = [read_as(_Axis, each) for each in fields.get("axes") or ()]
    points = [np.array(axis.breakpoints, dtype=np.float64) for axis in axes]
    table = _numbers(stem.with_suffix(".csv"), len(axes) + 2)
    for column, expected in enumerate(np.meshgrid(*points, indexing="ij")):
        if not np.array_equal(table[column], expected.ravel()):
            raise FileError(
                phrase(
                    "{path}: column {column} differs from the breakpoints in {json}.",
                    path=stem.with_suffix(".csv"),
                    column=column + 1,
                    json=path.name,
                ),
                UNPACK_AGAIN,
            )
    return {
        **fields,
        "axes": to_json([[axis.name, axis.unit, len(axis.breakpoints)] for axis in axes]),
        "breakpoints": b"".join(map(_bytes, points)),
        "cell_values": _bytes(table[-2]),
        "multipliers": _bytes(table[-1]),
        "arguments": to_json(fields.get("arguments")),
    }


def _drive_rows(stem: Path) -> tuple[dict[str, Any], list[Row]]:
    fields = _fields(stem.with_suffix(".json"))
    channels = [read_as(_Channel, each) for each in fields.pop("channels", ())]
    columns = _numbers(stem.with_suffix(".csv"), len(channels) + 1)
    packed = _packed(stem.with_suffix(".kept"), columns)
    row = {**fields, "time": packed[0], **{key: to_json(fields.get(key)) for key in ("roles", "guesses", "notes")}}
    rows: list[Row] = [
        {
            "drive": fields.get("id"),
            "position": position,
            "name": channel.name,
            "unit": channel.unit,
            "unit_read": channel.unit_read,
            "samples": samples,
        }
        for position, (channel, samples) in enumerate(zip(channels, packed[1:], strict=True))
    ]
    return row, rows


def _fields(path: Path) -> dict[str, Any]:
    try:
        fields = read_json(_text(path))
    except ValueError as error:
        raise FileError(phrase("{path}: {error}.", path=path, error=error), UNPACK_AGAIN) from error
    if not isinstance(fields, dict):
        raise FileError(phrase("{path} holds no JSON object.", path=path), UNPACK_AGAIN)
    return fields


def _numbers(path: Path, columns: int) -> list[FloatArray]:
    """Read a CSV of numbers, an empty field standing for none; gives its columns."""
    rows = csv.reader(StringIO(_text(path), newline=""), strict=True)
    found: list[list[float]] = [[] for _ in range(columns)]
    try:
        next(rows, None)  # the head says for people what the JSON says for programs
        for row in rows:
            for column, text in zip(found, _fields_of(row, columns), strict=True):
                column.append(float(text) if text else np.nan)
    except (ValueError, csv.Error) as error:
        raise FileError(
            phrase("{path}, line {line}: {error}.", path=path, line=rows.line_num, error=error), UNPACK_AGAIN
        ) from error
    return [np.array(column, dtype=np.float64) for column in found]


def _fields_of(row: list[str], columns: int) -> list[str]:
    if len(row) != columns:
        raise ValueError(phrase("{n} fields instead of {columns}", n=len(row), columns=columns))
    return row


def _packed(path: Path, columns: list[FloatArray]) -> list[bytes]:
    """Return the kept bytes of columns where they hold the very same numbers; else the numbers are packed anew."""
    kept = _split(read_bytes(path)) if path.exists() else []
    packed = []
    for number, values in enumerate(columns):
        column = Column(packed=kept[number], rows=values.size) if number < len(kept) else Column(values)
        try:
            same = number < len(kept) and np.array_equal(column.unpacked(), values, equal_nan=True)
        except FileError:
            same = False
        packed.append(kept[number] if same else Column(values).pack())
    return packed


def _split(content: bytes) -> list[bytes]:
    found, at = [], 0
    while at + LENGTH <= len(content):
        size = int.from_bytes(content[at : at + LENGTH], "big")
        found.append(content[at + LENGTH : at + LENGTH + size])
        at += LENGTH + size
    return found


def _bytes(array: FloatArray) -> bytes:
    return array.astype("<f8").tobytes()
