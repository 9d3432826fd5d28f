"""ASAM MDF, versions 2 to 4: decoded channels in groups of their own rate, and raw CAN frames."""

import mmap
import re
from collections.abc import Generator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, BinaryIO, cast

import numpy as np

from workbench.files.foreign import DAMAGED, aside, bounded, damaged, missing_library, quietly
from workbench.files.obd import EXTENDED, Frames
from workbench.files.recording import Series, listed
from workbench.model.arrays import BoolArray, FloatArray
from workbench.work import Progress

FINISHED, UNFINISHED = b"MDF     ", b"UnFinMF "
DEFLATE_AT_BEST = 1032  # bytes out of one (zlib technical details)
_FRAME = "CAN_DataFrame"


@dataclass(frozen=True, eq=False)
class Measurement:
    """What an MDF file holds.

    Attributes:
        series: decoded channels.
        frames: raw CAN frames; None where there are none.
        notes: what was left out or repaired.
    """

    series: Sequence[Series]
    frames: Frames | None
    notes: Sequence[str]


def read_mdf(file: BinaryIO, source: str) -> Generator[Progress, None, Measurement]:
    """Read an MDF file; a job.

    Args:
        file: its bytes; an unfinalised file is mended in them, so they must not be those on the disk.
        source: its name.

    Raises:
        FileError: when it is damaged, or the library is missing.
    """
    try:
        from asammdf import MDF
    except ImportError as error:
        raise missing_library("asammdf", "MDF files") from error
    head = file.read(168)
    size = file.seek(0, 2)
    file.seek(0)
    unfinished = head.startswith(UNFINISHED)
    # Without these the library trips over its own half-made object when it is thrown away.
    whole = head[64:68] == b"##HD" and len(head) == 168 if head[8:9] == b"4" else head[64:66] == b"HD"
    if not whole or re.match(rb"[234]\.\d\d", head[8:12]) is None:
        raise damaged(source, "an MDF file", ValueError("its header block is missing"))
    if head[8:9] == b"4":
        yield from _check_lengths(file, source)
    try:
        with bounded(size):
            measurement = yield from aside(lambda: quietly(lambda: MDF(cast("Any", file))), f"opening {source}")
            try:
                found = yield from _read(measurement, size, source)
            finally:
                measurement.close()
    except DAMAGED as error:
        _make_whole(error)
        raise damaged(source, "an MDF file", error) from error
    except Exception as error:
        if type(error).__name__ == "MdfException":
            _make_whole(error)
            raise damaged(source, "an MDF file", error) from error
        raise
    if not unfinished:
        return found
    said = f"{source} was not finalised by its logger; counts and lengths were worked out."
    return replace(found, notes=[said, *found.notes])


def _check_lengths(file: BinaryIO, source: str) -> Generator[Progress, None, None]:
    """Refuse data of varying length whose lengths lead out of their block: room would be made for the longest of them.

    A ##SD block (ASAM MDF 4.1, signal data) has a header of 24 bytes, and then each value with its length before it.

    Raises:
        FileError: when such a length is wrong.
    """
    try:
        content: mmap.mmap | bytes = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
    except (OSError, ValueError):  # not on the disk
        content = file.read()
        file.seek(0)
    start = content.find(b"##SD")
    while start >= 0:
        end = start + int.from_bytes(content[start + 8 : start + 16], "little")
        at, count = start + 24, 0
        while at + 4 <= min(end, len(content)):
            at += 4 + int.from_bytes(content[at : at + 4], "little")
            count += 1
            if count % 200_000 == 0:
                yield Progress(at, len(content), f"checking {source}")
        if at > end or end > len(content):
            raise damaged(source, "an MDF file", ValueError("a length in it leads out of its block"))
        start = content.find(b"##SD", start + 4)


def _check_sizes(groups: Sequence[Any], size: int, source: str) -> None:
    """Refuse groups that claim more data than the file can hold, however well it is compressed.

    Raises:
        FileError: when one does.
    """
    for group in groups:
        record = getattr(group.channel_group, "samples_byte_nr", 0)
        record += getattr(group.channel_group, "invalidation_bytes_nr", 0)
        if group.channel_group.cycles_nr * record > DEFLATE_AT_BEST * size:
            raise damaged(source, "an MDF file", ValueError("a group claims more data than the file can hold"))


def _make_whole(error: BaseException) -> None:
    """Give the library's half-made object what it takes away when it is thrown away, or it would complain aloud."""
    trace = error.__traceback__
    while trace is not None:
        half_made = trace.tb_frame.f_locals.get("self")
        if type(half_made).__name__ in ("MDF3", "MDF4"):
            for name in ("header", "identification"):
                if not hasattr(half_made, name):
                    setattr(half_made, name, None)
        trace = trace.tb_next


def _read(measurement: Any, size: int, source: str) -> Generator[Progress, None, Measurement]:
    series: list[Series] = []
    captured: list[Frames] = []
    left_out: list[str] = []
    groups = list(measurement.groups)
    _check_sizes(groups, size, source)
    reading = f"reading {source}"
    for number, group in enumerate(groups):
        yield Progress(number, len(groups), reading)
        names = [channel.name for channel in group.channels]
        if not names or (_is_raw(names) and group.channel_group.cycles_nr == 0):
            continue
        if _FRAME in names:
            captured.append((yield from aside(partial(quietly, partial(_frames, measurement, number)), reading)))
        elif not _is_raw(names):
            series += yield from aside(partial(quietly, partial(_group, measurement, number, left_out)), reading)
    notes = []
    if left_out:
        notes.append(
            f"Channels that hold text or several values at once were left out: {listed(left_out[:5], len(left_out))}."
        )
    return Measurement(series, _joined(captured), notes)


def _is_raw(names: Sequence[str]) -> bool:
    """Tell a group that logs a bus from one of decoded channels."""
    return any(re.match(r"(CAN|LIN|FLX|ETH)_\w*(Frame|Error)\b", name) for name in names)


def _group(measurement: Any, number: int, left_out: list[str]) -> list[Series]:
    """Read the channels of a group; they share one array of times."""
    channels = measurement.groups[number].channels
    master = measurement.masters_db.get(number)
    wanted = [(None, number, at) for at in range(len(channels)) if at != master]
    if not wanted:
        return []
    signals = measurement.select(wanted, ignore_value2text_conversions=True, copy_master=False)
    times: dict[int, tuple[FloatArray, BoolArray]] = {}
    series = []
    for signal in signals:
        samples = np.asarray(signal.samples)
        stamps = np.asarray(signal.timestamps, dtype=np.float64)
        if samples.ndim != 1 or samples.dtype.names or samples.dtype.kind not in "iufb" or samples.size != stamps.size:
            left_out.append(str(signal.name))
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
    return [_in_order(one) for one in series]


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


def _joined(captured: Sequence[Frames]) -> Frames | None:
    if not captured:
        return None
    time = np.concatenate([frames.time for frames in captured])
    order = np.argsort(time, kind="stable")
    payload = [one for frames in captured for one in frames.payload]
    identifier = np.concatenate([frames.identifier for frames in captured])
    return Frames(time[order], identifier[order], [payload[at] for at in order.tolist()])
