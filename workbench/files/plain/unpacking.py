"""A session written as plain files; FORMAT.md beside this says what stands in them."""

import csv
import json
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import closing
from importlib import resources
from io import StringIO
from pathlib import Path
from typing import Any

import numpy as np

from workbench.errors import FileError
from workbench.files.disk.atomic_write import cannot_write, sync_folder
from workbench.files.disk.formulas import beyond_formulas
from workbench.files.store.reading import ChangeRow, Record
from workbench.files.store.rows import drive_row, revision_row, to_json
from workbench.files.store.store import Store, live_store
from workbench.model.history import Revision
from workbench.model.log import Drive
from workbench.phrases import phrase
from workbench.work import Progress

FORMAT, VERSION = "plain-session", 1
SESSION, CHANGES, REVISIONS, DRIVES, PAGE = "session.json", "changes.jsonl", "revisions", "drives", "FORMAT.md"
LENGTH = 8  # bytes of a length in a file of kept bytes


def unpack_session(path: Path, sequence: int, folder: Path) -> Iterator[Progress]:
    """Write a session as plain files; the folder appears whole, or not at all.

    Args:
        path: of the session.
        sequence: number of changes known.
        folder: where; nothing may be there yet.

    Raises:
        FileError: when something is there, it cannot be written, or the session cannot be read.
    """
    if folder.is_symlink() or (folder.exists() and not (folder.is_dir() and not any(folder.iterdir()))):
        raise FileError(
            phrase("{folder} exists already, and is no empty folder.", folder=folder),
            "Name a folder that does not exist.",
        )
    record = _record_of(path, sequence)
    steps = len(record.drives) + 1
    try:
        draft = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.absolute().parent))
    except OSError as error:
        raise cannot_write(folder, error) from error
    try:
        for number, what in enumerate(_write(record, draft)):
            yield Progress(number, steps, what)
        draft.chmod(0o755)
        if folder.exists():
            folder.rmdir()  # refused where something was put into it meanwhile
        draft.rename(folder)
        sync_folder(folder.absolute().parent)
    except OSError as error:
        raise cannot_write(folder, error) from error
    finally:
        shutil.rmtree(draft, ignore_errors=True)


def _record_of(path: Path, sequence: int) -> Record:
    """Return all that was recorded, from memory where the session is open in this process."""
    live = live_store(path, sequence)
    if live is not None:
        return live.record
    with closing(Store.open(path)) as store:
        store.changes()
        return store.record


def _write(record: Record, folder: Path) -> Iterator[str]:
    changes, chain = record.last
    about = {"format": FORMAT, "version": VERSION, "changes": changes, "chain": chain}
    (folder / SESSION).write_text(_pretty(about), "utf-8")
    page = resources.files("workbench.files.plain").joinpath(PAGE).read_bytes()
    (folder / PAGE).write_bytes(page)
    lines = [f"{json.dumps(_change(row), ensure_ascii=False)}\n" for row in record.rows]
    (folder / CHANGES).write_text("".join(lines), "utf-8", newline="")
    for name in (REVISIONS, DRIVES):
        (folder / name).mkdir()
    for sequence, revision in record.revisions.values():
        stem = folder / REVISIONS / f"{revision.id:04d}"
        stem.with_suffix(".json").write_text(_pretty(_revision(revision, sequence)), "utf-8")
        stem.with_suffix(".csv").write_text(_cells(revision), "utf-8", newline="")
    yield "writing revisions"
    for sequence, drive in record.drives.values():
        yield f"writing {drive.log.name}"
        stem = folder / DRIVES / f"{drive.id:04d}"
        stem.with_suffix(".json").write_text(_pretty(_drive(drive, sequence)), "utf-8")
        stem.with_suffix(".csv").write_text(_samples(drive), "utf-8", newline="")
        columns = (drive.log.time, *(channel.column for channel in drive.log.channels))
        stem.with_suffix(".kept").write_bytes(
            b"".join(len(each.pack()).to_bytes(LENGTH, "big") + each.pack() for each in columns)
        )


def _pretty(value: object) -> str:
    return json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _change(row: ChangeRow) -> dict[str, Any]:
    payload = json.loads(row.payload)
    exact = {} if to_json(payload) == row.payload else {"payload_text": row.payload}
    return {"sequence": row.sequence, "kind": row.kind, "payload": payload, **exact, "digest": row.digest}


def _revision(revision: Revision, sequence: int) -> dict[str, Any]:
    row = revision_row(revision, sequence)
    axes = [
        {"name": axis.name, "unit": axis.unit, "breakpoints": axis.breakpoints.tolist()} for axis in revision.table.axes
    ]
    plain = {key: row[key] for key in row if key not in ("breakpoints", "cell_values", "multipliers")}
    return {**plain, "axes": axes, "arguments": dict(revision.arguments)}


def _cells(revision: Revision) -> str:
    table = revision.table
    places = np.meshgrid(*(axis.breakpoints for axis in table.axes), indexing="ij")
    columns = [*(place.ravel().tolist() for place in places), table.values.ravel().tolist()]
    multipliers = ["" if each != each else repr(each) for each in revision.multipliers.ravel().tolist()]  # noqa: PLR0124
    head = (*(axis.label for axis in table.axes), "value", "multiplier")
    return _csv(head, zip(*([map(repr, column) for column in columns]), multipliers, strict=True))


def _drive(drive: Drive, sequence: int) -> dict[str, Any]:
    row = drive_row(drive, sequence)
    del row["time"]
    channels = [{"name": each.name, "unit": each.unit, "unit_read": each.unit_read} for each in drive.log.channels]
    return {**row, **{key: json.loads(row[key]) for key in ("roles", "guesses", "notes")}, "channels": channels}


def _samples(drive: Drive) -> str:
    columns = (drive.log.time, *(channel.column for channel in drive.log.channels))
    texts = [["" if each != each else repr(each) for each in column.unpacked().tolist()] for column in columns]  # noqa: PLR0124
    head = ("time (s)", *(f"{each.name} ({each.unit})" if each.unit else each.name for each in drive.log.channels))
    return _csv(head, zip(*texts, strict=True))


def _csv(head: tuple[str, ...], rows: Iterator[tuple[str, ...]]) -> str:
    text = StringIO()
    writer = csv.writer(text)
    writer.writerow(beyond_formulas(name) for name in head)
    writer.writerows(rows)
    return text.getvalue()
