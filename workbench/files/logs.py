"""Logs of any format, read into channels in base units; every assumption becomes a note.

This module finds the format. Delimited text comes block by block on two threads: the fast parser takes a block only
where the careful reader would read the very same and find nothing odd (a test holds the two against each other); else
the careful one reads it, and names line and column. `channels/interpret` then gives units, roles and doubts. Where
`1.000` may be one or a thousand, what the channel can read decides, and a note says so; `summary_rows` leaves out lines
that are means or totals; `states` reads closed loop and purge in words or flags. A refused file is looked at once more
by `identify`, so that the refusal can name the command that takes it.
"""

import hashlib
import io
from collections.abc import Generator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import BinaryIO, cast

from workbench.errors import FileError, InputError, WorkbenchError
from workbench.files.channels.interpret import Choices, make_log
from workbench.files.channels.merging import merge
from workbench.files.channels.states import as_numbers
from workbench.files.disk.plain_files import reading
from workbench.files.disk.text_decoding import check_readable
from workbench.files.formats.captures import (
    BLF_MARK,
    decode_frames,
    is_asc,
    is_candump,
    read_asc,
    read_blf,
    read_candump,
    refuse_frames_as_text,
)
from workbench.files.formats.containers import Opened, is_workbook, unwrapped
from workbench.files.formats.data_files import choose_table, data_kind, read_tables
from workbench.files.formats.mdf import MARKS, read_mdf
from workbench.files.formats.sheets import choose_sheet, read_sheets
from workbench.files.formats.subprocess_reader import aside
from workbench.files.groups import as_groups, is_log
from workbench.files.text.delimited import read_delimited
from workbench.files.vocabulary.recording import Recording
from workbench.files.written.arrays import in_arrays
from workbench.files.written.beginning import LARGEST as LARGEST_TURNED
from workbench.files.written.blocks import in_blocks
from workbench.files.written.labelled import labelled
from workbench.files.written.longform import LongForm, long_form
from workbench.files.written.one_header import under_one_header
from workbench.files.written.own_clocks import on_one_clock, own_clocks
from workbench.files.written.rejoined import one_line_a_row
from workbench.files.written.surrounded import surrounded
from workbench.files.written.transposed import turned
from workbench.model.log import Log, Role
from workbench.model.packing import MOST
from workbench.phrases import flag, harmless, phrase
from workbench.work import Progress

THREADS = 2
PATIENCE_S = 0.05
LARGEST = 2_000_000_000  # bytes of a binary log that is held in memory whole


@dataclass(frozen=True)
class Options:
    """How a file is to be read, where it is not told from the file itself.

    Attributes:
        choices: what its channels mean.
        part: the sheet of a workbook, or the file in a zip with several.
        dbc: description of CAN messages.
    """

    choices: Choices = field(default_factory=Choices)
    part: str = ""
    dbc: Path | None = None


def read_log(
    path: Path,
    *,
    roles: Mapping[Role, str] = {},
    stoichiometric_afr: float = 14.7,
    stoichiometric_of: Mapping[str, float] = {},
    units: Mapping[str, str] = {},
    rate_hz: float | None = None,
    window_s: float | None = None,
    part: str = "",
    dbc: Path | None = None,
    must_be_plausible: bool = True,
) -> Generator[Progress, None, Log]:
    """Read a log of any format; a job.

    Args:
        path: the file.
        roles: role -> channel, where the user says so.
        stoichiometric_afr: air-fuel ratio at lambda 1 of the fuel, for channels logged as AFR.
        stoichiometric_of: channel -> air-fuel ratio at lambda 1 that this channel alone was scaled with.
        units: channel -> its unit, where the user says so; the time is known by its column too.
        rate_hz: rows a second, for a file without a time.
        window_s: hold values for so long, where channels have time bases of their own, s; None leaves each value at
            the moment at which it was read.
        part: the sheet of a workbook, or the file in a zip with several.
        dbc: description of CAN messages.
        must_be_plausible: whether to refuse a log whose values cannot come from an engine.

    Raises:
        FileError: when the file cannot be read as a log.
        InputError: when a stated channel is not there, the time cannot be known, or the values cannot be true.
    """
    choices = Choices(roles, stoichiometric_afr, stoichiometric_of, units, rate_hz, must_be_plausible, window_s)
    recording, sha256 = yield from read_recording(path, Options(choices, part, dbc))
    log = yield from aside(lambda: make_log(recording, sha256, choices), f"interpreting {path.name}")
    check_length(log)
    return log


def check_length(log: Log) -> None:
    """Refuse a log that no session could be opened with again.

    Raises:
        FileError: when it has more rows than a session keeps.
    """
    if log.rows > MOST:
        raise FileError(
            phrase(
                "{path} has {rows} rows; a session keeps logs of at most {most}.",
                path=log.name,
                rows=log.rows,
                most=MOST,
            ),
            "Split it into several logs.",
        )


def read_recording(path: Path, options: Options) -> Generator[Progress, None, tuple[Recording, str]]:
    """Read the columns of a log of any format, and the SHA-256 of the file; a job.

    Raises:
        FileError: when the file cannot be read as a log.
        InputError: when what the user says does not apply to it.
    """
    check_readable(path)
    yield Progress(0, 1, f"reading {path.name}")
    try:
        with reading(path) as file:
            return (yield from _read(_Digested(file), path, options))
    except OSError as error:
        raise FileError(
            phrase("The file {path} cannot be read: {reason}.", path=path, reason=error.strerror or error),
            "Check its permissions.",
        ) from error


def read_log_text(text: str, source: str, *, options: Options | None = None) -> Generator[Progress, None, Log]:
    """Read a log from text, as pasted from the clipboard; a job.

    Raises:
        FileError: when it cannot be read as a log.
        InputError: when a stated channel is not there, the time cannot be known, or the values cannot be true.
    """
    content = text.encode()
    recording = yield from _text(io.BytesIO(content), source, len(content), options or Options())
    return make_log(recording, hashlib.sha256(content).hexdigest(), (options or Options()).choices)


def pack_samples(log: Log) -> Generator[Progress, None, None]:
    """Pack the samples of a log, so that it is written down without delay; a job."""
    columns = (log.time, *(channel.column for channel in log.channels))
    pool = ThreadPoolExecutor(THREADS, thread_name_prefix="packing")
    try:
        for done, packed in enumerate([pool.submit(column.pack) for column in columns]):
            progress = Progress(done, len(columns), f"packing {log.name}")
            yield progress
            while not wait([packed], timeout=PATIENCE_S).done:
                yield progress
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


class _Digested(io.RawIOBase):
    """A file whose bytes go into a digest as they are read, each of them once."""

    def __init__(self, file: BinaryIO) -> None:
        super().__init__()
        self._file = file
        self._digest = hashlib.sha256()
        self._seen = 0

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def read(self, size: int = -1) -> bytes:
        at = self._file.tell()
        content = self._file.read(size)
        if at <= self._seen < at + len(content):
            self._digest.update(content[self._seen - at :])
            self._seen = at + len(content)
        return content

    def readinto(self, buffer: object) -> int:
        view = memoryview(cast("bytearray", buffer)).cast("B")
        content = self.read(len(view))
        view[: len(content)] = content
        return len(content)

    def tell(self) -> int:
        return self._file.tell()

    def seek(self, at: int, whence: int = 0) -> int:
        return self._file.seek(at, whence)

    def finish(self) -> str:
        """Digest what was not read, and give the digest in hexadecimal."""
        self._file.seek(self._seen)
        while self.read(1 << 20):
            pass
        return self._digest.hexdigest()


def _read(file: _Digested, path: Path, options: Options) -> Generator[Progress, None, tuple[Recording, str]]:
    size = path.stat().st_size
    with unwrapped(cast("BinaryIO", file), path.name, options.part) as opened:
        bare = path if opened.notes == () else None
        recording = yield from _recording(opened, bare, size, replace(options, part=opened.part))
        recording = replace(recording, source=harmless(path.name), notes=(*opened.notes, *recording.notes))
    sha256 = yield from aside(file.finish, f"reading {path.name}")
    return recording, sha256


def _recording(opened: Opened, bare: Path | None, size: int, options: Options) -> Generator[Progress, None, Recording]:
    """Find the format by the first bytes, and read."""
    file, source = opened.file, opened.name
    head = file.read(4096)
    file.seek(0)
    captured = head.startswith(BLF_MARK) or is_candump(head) or is_asc(head)
    if options.dbc is not None and not captured and not head.startswith(MARKS):
        raise InputError(
            phrase("{source} holds no CAN frames, so a DBC file does not apply.", source=source),
            phrase("Leave {dbc_flag} out.", dbc_flag=flag("dbc")),
        )
    kind = data_kind(file)
    if options.part and not is_workbook(file) and not kind:
        raise InputError(
            phrase("{source} has no parts, so {part!r} cannot be selected.", source=source, part=options.part),
            phrase("Leave {part_flag} out.", part_flag=flag("part")),
        )
    if head.startswith(MARKS):
        return (yield from _mdf(file, source, bare, options))
    if captured:
        if head.startswith(BLF_MARK):
            frames, notes = yield from read_blf(_whole(file, source), source)
        elif is_candump(head):
            frames, notes = yield from read_candump(file, source, size)
        else:
            frames, notes = yield from read_asc(_whole(file, source), source)
        series, remarks = yield from decode_frames(frames, source, options.dbc)
        return merge(source, series, [*notes, *remarks], options.choices.window_s)
    if kind or is_workbook(file):
        return (yield from _of_parts(file, source, kind, options))
    refuse_frames_as_text(head, source)
    return (yield from _text(file, source, size, options))


def _of_parts(file: BinaryIO, source: str, kind: str, options: Options) -> Generator[Progress, None, Recording]:
    """Read a workbook or a file of data: the part that was named, the only log in it, or groups of one log."""
    if kind:
        parts: Mapping[str, str] = yield from read_tables(file, source, kind)
        names: Sequence[str] = list(parts)
    else:
        parts, names = yield from read_sheets(file, source)
    part = options.part
    if len(parts) > 1 and not part:
        logs = yield from _logs_among(parts, source, options)
        if len(logs) > 1 and (found := as_groups(logs, options.choices.units)) is not None:
            return _merged(source, found, options)
        part = next(iter(logs)) if len(logs) == 1 else ""
    text, note = choose_table(parts, source, kind, part) if kind else choose_sheet(parts, names, source, part)
    content = text.encode()
    recording = yield from _text(io.BytesIO(content), source, len(content), options)
    return replace(recording, notes=(note,) * bool(note) + recording.notes)


def _logs_among(
    parts: Mapping[str, str], source: str, options: Options
) -> Generator[Progress, None, dict[str, Recording]]:
    """Read those parts of a file that hold a log; notes, settings and the like are left alone."""
    found = {}
    for name, text in parts.items():
        content = text.encode()
        try:
            recording = yield from _text(io.BytesIO(content), source, len(content), options)
        except WorkbenchError:
            continue
        if is_log(recording):
            found[name] = recording
    return found


def _mdf(file: BinaryIO, source: str, bare: Path | None, options: Options) -> Generator[Progress, None, Recording]:
    measurement = yield from read_mdf(file, bare, source)
    series, notes = list(measurement.series), list(measurement.notes)
    if measurement.frames is not None and (options.dbc is not None or not series):
        more, remarks = yield from decode_frames(measurement.frames, source, options.dbc)
        series, notes = series + more, notes + remarks
    if not series:
        raise FileError(phrase("{source} holds no channels.", source=source), "Log at least one channel.")
    recording = merge(source, series, notes, options.choices.window_s)
    return replace(recording, began=measurement.began, zoned=measurement.zoned)


def _whole(file: BinaryIO, source: str) -> BinaryIO:
    content = file.read(LARGEST + 1)
    if len(content) > LARGEST:
        raise FileError(
            phrase("{source} is larger than {largest} MB once unpacked.", source=source, largest=LARGEST // 1000000),
            "Split it into shorter drives.",
        )
    return cast("BinaryIO", io.BytesIO(content))


# Ways of writing channels that are turned into a header and lines of values, and what is said of them.
_WAYS = (
    (turned, "The log is transposed: it has a line for each channel."),
    (labelled, "Every value stands beside its name."),
    (in_arrays, "Each channel is an array of a script."),
)


def _text(file: BinaryIO, source: str, size: int, options: Options) -> Generator[Progress, None, Recording]:
    if (rejoined := surrounded(file, source, size) or one_line_a_row(file, source, size)) is not None:
        recording = yield from _text(io.BytesIO(rejoined[0]), source, len(rejoined[0]), options)
        return replace(recording, notes=(rejoined[1], *recording.notes))
    for way, note in _WAYS:
        if (content := way(file, source, size)) is not None:
            recording = yield from read_delimited(io.BytesIO(content), source, len(content))
            return replace(recording, notes=(note, *recording.notes))
    found = yield from in_blocks(file, source, size)
    if found is not None:
        return _merged(source, found, options)
    recording = on_one_clock((yield from _delimited(file, source, size)))
    found = long_form(recording) or own_clocks(recording, lambda fields: as_numbers(fields, {}))
    if found is None:
        return recording
    return _merged(source, replace(found, notes=[*recording.notes, *found.notes]), options)


def _delimited(file: BinaryIO, source: str, size: int) -> Generator[Progress, None, Recording]:
    try:
        return (yield from read_delimited(file, source, size))
    except FileError:  # a header below the values, or other ones among them
        content = None
        with suppress(FileError):  # what was refused first is told
            file.seek(0)
            content = None if size > LARGEST_TURNED else under_one_header(file.read(), source)
        if content is None:
            raise
        recording = yield from read_delimited(io.BytesIO(content), source, len(content))
        note = "Headers stand among the values; each value was put under its own name."
        return replace(recording, notes=(note, *recording.notes))


def _merged(source: str, found: LongForm, options: Options) -> Recording:
    merged = merge(source, found.series, found.notes, options.choices.window_s)
    return replace(merged, clock_name=found.clock_name, scale=found.scale)
