"""Reads an ASAM MDF file in a process of its own: the library's compiled parts may fall over damaged bytes.

    python -m workbench.files.formats.mdf_reader FILE FOLDER

Writes the arrays into the folder, and beside them `index.json`, which says what they are; `progress` tells how far it
is. A damaged file ends with exit code 3 and the reason on standard output, a missing library with 4.
"""

import contextlib
import faulthandler
import io
import json
import os
import re
import sys
from collections.abc import Iterator, Sequence
from datetime import UTC
from pathlib import Path
from typing import Any

import numpy as np

from workbench.files.channels.states import state_codes, tells_state
from workbench.files.formats.obd import EXTENDED, Frames
from workbench.files.formats.subprocess_reader import (
    DAMAGED,
    IS_DAMAGED,
    NO_LIBRARY,
    end_with_starter,
    limit_memory,
    quietly,
)
from workbench.files.vocabulary.recording import Series
from workbench.model.arrays import BoolArray, FloatArray

FINISHED, UNFINISHED = b"MDF     ", b"UnFinMF "
DEFLATE_AT_BEST = 1032  # bytes out of one (zlib technical details)
_FRAME = "CAN_DataFrame"
# Within which the list of what a file holds has been read: damaged links may lead in a circle, for ever.
OPENED_S, OPENED_BYTES_PER_S = 10.0, 20e6


def main(path: Path, folder: Path) -> int:
    """Read the file into the folder and give the exit code."""
    limit_memory(path)
    try:
        quietly(lambda: _read(path, folder))
    except ImportError:
        return NO_LIBRARY
    except Exception as error:
        if not isinstance(error, DAMAGED) and type(error).__name__ != "MdfException":
            raise
        sys.stdout.write(" ".join(str(error).split())[:200] or type(error).__name__)
        return IS_DAMAGED
    return 0


def _read(path: Path, folder: Path) -> None:
    from asammdf import MDF

    with path.open("rb") as file:
        unfinished = file.read(8) == UNFINISHED
        file.seek(0)
        # An unfinalised file is mended in place by the library: in memory, never on the disk.
        with _ended_after(OPENED_S + path.stat().st_size / OPENED_BYTES_PER_S):
            measurement: Any = MDF(io.BytesIO(file.read()) if unfinished else file)
        index: dict[str, Any] = {"series": [], "frames": [], "left_out": [], "states": [], "unfinished": unfinished}
        index["began"], index["zoned"] = _began(measurement)
        groups = list(measurement.groups)
        _check_sizes(groups, path.stat().st_size)
        for number, group in enumerate(groups):
            (folder / "progress").write_text(f"{number} {len(groups)}")
            names = [channel.name for channel in group.channels]
            if not names or (is_raw(names) and group.channel_group.cycles_nr == 0):
                continue
            if _FRAME in names:
                index["frames"].append(_keep_frames(_frames(measurement, number), folder, number))
            elif not is_raw(names):
                series = _group(measurement, number, index)
                index["series"] += _keep_series(series, folder, number)
    (folder / "index.json").write_text(json.dumps(index))


@contextlib.contextmanager
def _ended_after(seconds: float) -> Iterator[None]:
    """End this process if what is within takes longer, whatever it does: it is one of its own."""
    with Path(os.devnull).open("w") as nowhere:
        faulthandler.dump_traceback_later(seconds, exit=True, file=nowhere)
        try:
            yield
        finally:
            faulthandler.cancel_dump_traceback_later()


def _began(measurement: Any) -> tuple[float | None, bool]:
    """Return from when the file counts its time, s since 1970, and whether it says the time zone."""
    try:
        start = measurement.start_time
        zoned = start.tzinfo is not None
        return (start if zoned else start.replace(tzinfo=UTC)).timestamp(), zoned
    except (ValueError, OverflowError, OSError, TypeError, AttributeError):  # as odd as a damaged header
        return None, False


def _keep_series(series: Sequence[Series], folder: Path, number: int) -> list[dict[str, str]]:
    kept: list[dict[str, str]] = []
    times: dict[int, str] = {}
    for at, channel in enumerate(series):
        if id(channel.time) not in times:
            times[id(channel.time)] = f"time_{number}_{at}.npy"
            np.save(folder / times[id(channel.time)], channel.time)
        values = f"values_{number}_{at}.npy"
        np.save(folder / values, channel.values)
        kept.append({"name": channel.name, "unit": channel.unit, "time": times[id(channel.time)], "values": values})
    return kept


def _keep_frames(frames: Frames, folder: Path, number: int) -> dict[str, str]:
    kept = {part: f"{part}_{number}.npy" for part in ("time", "identifier", "lengths", "payload")}
    np.save(folder / kept["time"], frames.time)
    np.save(folder / kept["identifier"], frames.identifier)
    np.save(folder / kept["lengths"], np.array([len(payload) for payload in frames.payload], dtype=np.int64))
    np.save(folder / kept["payload"], np.frombuffer(b"".join(frames.payload), dtype=np.uint8))
    return kept


def _check_sizes(groups: Sequence[Any], size: int) -> None:
    """Refuse groups that claim more data than the file can hold, however well it is compressed.

    Raises:
        ValueError: when one does.
    """
    for group in groups:
        record = getattr(group.channel_group, "samples_byte_nr", 0)
        record += getattr(group.channel_group, "invalidation_bytes_nr", 0)
        if group.channel_group.cycles_nr * record > DEFLATE_AT_BEST * size:
            raise ValueError("a group declares more data than the file holds")


def is_raw(names: Sequence[str]) -> bool:
    """Tell a group that logs a bus from one of decoded channels."""
    return any(re.match(r"(CAN|LIN|FLX|ETH)_\w*(Frame|Error)\b", name) for name in names)


def _group(measurement: Any, number: int, index: dict[str, Any]) -> list[Series]:
    """Read the channels of a group; they share one array of times.

    Args:
        measurement: the open file.
        number: of the group.
        index: takes the names of channels that are left out, and of those whose texts were read as states.
    """
    channels = measurement.groups[number].channels
    master = measurement.masters_db.get(number)
    wanted = [(None, number, at) for at in range(len(channels)) if at != master]
    if not wanted:
        return []
    signals = measurement.select(wanted, ignore_value2text_conversions=True, copy_master=False)
    times: dict[int, tuple[FloatArray, BoolArray]] = {}
    series = []
    for (_, _, at), signal in zip(wanted, signals, strict=True):
        samples = np.asarray(signal.samples)
        if (
            tells_state(str(signal.name))
            and (codes := _state_codes(measurement, number, at, str(signal.name))) is not None
        ):
            samples = codes
            index["states"].append(str(signal.name))
        stamps = np.asarray(signal.timestamps, dtype=np.float64)
        if samples.ndim != 1 or samples.dtype.names or samples.dtype.kind not in "iufb" or samples.size != stamps.size:
            index["left_out"].append(str(signal.name))
            continue
        if samples.size == 0:
            continue
        key = stamps.size
        if key not in times:
            usable = np.isfinite(stamps)
            times[key] = (stamps[usable], usable)
        time, usable = times[key]
        with np.errstate(invalid="ignore"):
            values = samples.astype(np.float64)[usable]
        if signal.invalidation_bits is not None:
            bad = np.asarray(signal.invalidation_bits, dtype=np.bool_)
            if bad.size == usable.size:
                values[bad[usable]] = np.nan
        values[~np.isfinite(values)] = np.nan
        series.append(Series(str(signal.name), str(signal.unit or ""), time, values))
    return [_in_order(channel) for channel in series]


def _state_codes(measurement: Any, number: int, at: int, name: str) -> FloatArray | None:
    """Turn the texts of a channel that tells the state of the fuel system into codes; None where they tell none."""
    signal = measurement.select([(None, number, at)], copy_master=False)[0]
    samples = np.asarray(signal.samples)
    if samples.ndim != 1 or samples.dtype.kind not in "SU":
        return None
    texts = samples if samples.dtype.kind == "U" else np.char.decode(samples, "utf-8", "replace")
    return state_codes(name, np.char.strip(texts, " \0").astype(object))[0]


def _in_order(series: Series) -> Series:
    if series.time.size < 2 or not np.any(np.diff(series.time) < 0):
        return series
    order = np.argsort(series.time, kind="stable")
    return Series(series.name, series.unit, series.time[order], series.values[order])


def _frames(measurement: Any, number: int) -> Frames:
    signal = measurement.get(_FRAME, group=number)
    samples = signal.samples
    identifier = np.asarray(samples[f"{_FRAME}.ID"], dtype=np.int64) & 0x1FFFFFFF
    fields = samples.dtype.names or ()
    if f"{_FRAME}.IDE" in fields:
        extended = np.asarray(samples[f"{_FRAME}.IDE"], dtype=np.float64) > 0
        identifier = np.where(extended, identifier | EXTENDED, identifier)
    data = np.asarray(samples[f"{_FRAME}.DataBytes"], dtype=np.uint8)
    lengths = np.asarray(samples[f"{_FRAME}.DataLength"], dtype=np.int64)
    payload = [bytes(row[: max(length, 0)]) for row, length in zip(data, lengths.tolist(), strict=True)]
    return Frames(np.asarray(signal.timestamps, dtype=np.float64), identifier, payload)


if __name__ == "__main__":
    end_with_starter()
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
