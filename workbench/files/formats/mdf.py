"""ASAM MDF, versions 2 to 4: decoded channels in groups of their own rate, and raw CAN frames."""

import json
import shutil
from collections.abc import Generator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np

from workbench.files.disk.scratch import scratch_folder
from workbench.files.formats.mdf_reader import FINISHED, UNFINISHED
from workbench.files.formats.obd import Frames
from workbench.files.formats.subprocess_reader import IS_DAMAGED, NO_LIBRARY, apart, damaged, missing_library
from workbench.files.vocabulary.recording import Series, listed
from workbench.model.arrays import FloatArray
from workbench.phrases import phrase
from workbench.work import Progress

MARKS = (FINISHED, UNFINISHED)


@dataclass(frozen=True, eq=False)
class Measurement:
    """What an MDF file holds.

    Attributes:
        series: decoded channels.
        frames: raw CAN frames; None where there are none.
        notes: what was left out or repaired.
        began: from when it counts its time, s since 1970; NaN where it does not say.
        zoned: whether it says the time zone of that.
    """

    series: Sequence[Series]
    frames: Frames | None
    notes: Sequence[str]
    began: float = float("nan")
    zoned: bool = True


def read_mdf(file: BinaryIO, path: Path | None, source: str) -> Generator[Progress, None, Measurement]:
    """Read an MDF file; a job.

    A process of its own reads it, which may die over damaged bytes and is ended when the job is.

    Args:
        file: its bytes.
        path: where they lie on the disk; None where they come out of a wrapping.
        source: its name.

    Raises:
        FileError: when it is damaged, or the library is missing.
    """
    with scratch_folder() as folder:
        if path is None:
            path = folder / "unwrapped"
            with path.open("wb") as copy:
                shutil.copyfileobj(file, copy, 1 << 20)
        code, message = yield from apart(
            "workbench.files.formats.mdf_reader", path, folder, lambda: _progress(folder, source)
        )
        if code == NO_LIBRARY:
            raise missing_library("asammdf", "MDF files")
        if code:
            raise damaged(source, "an MDF file", ValueError(message if code == IS_DAMAGED else "its reader crashed"))
        return _measurement(folder, source)


def _progress(folder: Path, source: str) -> Progress:
    try:
        done, total = (int(word) for word in (folder / "progress").read_text().split())
    except (OSError, ValueError):
        done, total = 0, 0
    return Progress(done, total, f"reading {source}")


def _measurement(folder: Path, source: str) -> Measurement:
    index: Mapping[str, Any] = json.loads((folder / "index.json").read_text())
    times: dict[str, FloatArray] = {}
    series = []
    for kept in index["series"]:
        if kept["time"] not in times:
            times[kept["time"]] = np.load(folder / kept["time"])
        series.append(Series(kept["name"], kept["unit"], times[kept["time"]], np.load(folder / kept["values"])))
    notes = []
    if index["unfinished"]:
        notes.append(
            phrase("{source} was not finalised by its logger; counts and lengths were reconstructed.", source=source)
        )
    if states := index["states"]:
        notes.append(
            phrase(
                "Texts were read as states of the fuel system or of purge: {states}.",
                states=listed(states[:5], len(states)),
            )
        )
    if left_out := index["left_out"]:
        shown = listed(left_out[:5], len(left_out))
        notes.append(phrase("Channels of text or of several values were left out: {shown}.", shown=shown))
    frames = _joined([_frames(folder, kept) for kept in index["frames"]])
    began = float("nan") if index["began"] is None else float(index["began"])
    return Measurement(series, frames, notes, began, bool(index["zoned"]))


def _frames(folder: Path, kept: Mapping[str, str]) -> Frames:
    payload = np.load(folder / kept["payload"]).tobytes()
    ends = np.cumsum(np.load(folder / kept["lengths"])).tolist()
    starts = [0, *ends[:-1]]
    cut = [payload[start:end] for start, end in zip(starts, ends, strict=True)] if ends else []
    return Frames(np.load(folder / kept["time"]), np.load(folder / kept["identifier"]), cut)


def _joined(captured: Sequence[Frames]) -> Frames | None:
    if not captured:
        return None
    time = np.concatenate([frames.time for frames in captured])
    order = np.argsort(time, kind="stable")
    payload = [block for frames in captured for block in frames.payload]
    identifier = np.concatenate([frames.identifier for frames in captured])
    return Frames(time[order], identifier[order], [payload[at] for at in order.tolist()])
