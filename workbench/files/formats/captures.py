"""CAN captures: candump text, .asc and .blf, and the meaning of their frames by diagnosis standard or DBC file."""

import io
import math
import re
from collections import Counter
from collections.abc import Generator, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np

from workbench.errors import FileError
from workbench.files.disk.plain_files import read_bytes
from workbench.files.formats.can_database import check_database
from workbench.files.formats.obd import EXTENDED, Frames, decode_answers, identifier_text
from workbench.files.formats.subprocess_reader import DAMAGED, aside, damaged, missing_library, quietly
from workbench.files.vocabulary.recording import Series
from workbench.phrases import flag, phrase
from workbench.work import Progress

BLF_MARK = b"LOGG"
_CANDUMP = re.compile(
    rb"\((\d{1,12}\.\d{1,9})\)\s+(\S+)\s+([0-9A-Fa-f]{3}|[0-9A-Fa-f]{8})#(#[0-9A-Fa-f])?([0-9A-Fa-f]*|R\d?)(?:\s+[RT])?\s*"
)
_CANDUMP_SHOWN = re.compile(  # as candump shows it on a screen: with the length in brackets and the bytes apart
    rb"\s*\((\d{1,12}\.\d{1,9})\)\s+(\S+)\s+(?:[RT]X\s+-\s+-\s+)?([0-9A-Fa-f]{3}|[0-9A-Fa-f]{8})\s+"
    rb"\[(\d{1,2})\]\s*((?:[0-9A-Fa-f]{2}\s*)*|remote request)\s*"
)
_ASC = re.compile(rb"^(date |//)?.*\n?(.*\n)?\s*base\s+(hex|dec)", re.IGNORECASE)
_STEP = 5000
_FEWEST_FRAMES, _LENGTHS = 5, {str(length) for length in range(1, 9)}
_IDENTIFIER = re.compile(r"(?:0x)?[0-9A-Fa-f]{3,8}[xh]?")
_BYTES = re.compile(r"(?:[0-9A-Fa-f]{2})+")


def is_candump(head: bytes) -> bool:
    """Return whether text is a candump log."""
    lines = [line for line in head.split(b"\n")[:20] if line.strip()]
    return bool(lines) and sum(_candump_line(line) is not None for line in lines) > 0.5 * len(lines)


def _candump_line(line: bytes) -> re.Match[bytes] | None:
    return _CANDUMP.fullmatch(line) or _CANDUMP_SHOWN.fullmatch(line)


def is_asc(head: bytes) -> bool:
    """Return whether text is an .asc capture."""
    return _ASC.match(head[:400]) is not None


def refuse_frames_as_text(head: bytes, source: str) -> None:
    """Refuse text in which every line is a CAN frame, in a form that nothing here decodes.

    Args:
        head: the first bytes of the file.
        source: its name.

    Raises:
        FileError: saying what was seen, and what takes it.
    """
    lines = [line for line in head.decode("latin-1").splitlines()[:-1] if line.strip()]
    frames = [line for line in lines if _is_frame(line)]
    if len(frames) < max(_FEWEST_FRAMES, 0.8 * len(lines)) or not any(re.search("[A-Fa-f]", line) for line in frames):
        return
    raise FileError(
        phrase(
            "{source} holds CAN frames as text, such as {shown!r}: bytes, without what they mean.",
            source=source,
            shown=frames[0].strip()[:60],
        ),
        phrase(
            "Save the capture as .blf, .asc, candump or MDF and add it with {dbc_flag}, or export its decoded "
            "channels as CSV.",
            dbc_flag=flag("dbc", "FILE.dbc"),
        ),
    )


def _is_frame(line: str) -> bool:
    """Tell whether a line ends in a length and as many bytes in hexadecimal, behind an identifier."""
    cells = [cell.strip("\"'") for cell in re.split(r"[\s,;|]+", line.strip()) if cell.strip("\"'")]
    for at, cell in enumerate(cells[1:], 1):
        length = cell.strip("[]")
        if length not in _LENGTHS or not any(_IDENTIFIER.fullmatch(each) for each in cells[:at]):
            continue
        rest = cells[at + 1 :]
        data = (
            rest[0].removeprefix("0x") if len(rest) == 1 else "".join(each.removeprefix("0x").zfill(2) for each in rest)
        )
        if len(data) == 2 * int(length) and _BYTES.fullmatch(data) and len(rest) in (1, int(length)):
            return True
    return False


def read_candump(file: BinaryIO, source: str, size: int) -> Generator[Progress, None, tuple[Frames, list[str]]]:
    """Read a candump log; a job."""
    time: list[float] = []
    identifier: list[int] = []
    payload: list[bytes] = []
    odd = 0
    for number, line in enumerate(file):
        if number % _STEP == 0:
            yield Progress(file.tell(), size, f"reading {source}")
        match = _candump_line(line)
        data = b"" if match is None else b"".join(match[5].split())
        if match is None or data[:1] in b"Rr" or len(data) % 2:
            odd += bool(line.strip())
            continue
        time.append(float(match[1]))
        identifier.append(int(match[3], 16) | (EXTENDED if len(match[3]) == 8 else 0))
        payload.append(bytes.fromhex(data.decode()))
    notes = [phrase("{odd} lines hold no data frame and were skipped.", odd=odd)] * bool(odd)
    return Frames(np.array(time), np.array(identifier, dtype=np.int64), payload), notes


def read_asc(file: BinaryIO, source: str) -> Generator[Progress, None, tuple[Frames, list[str]]]:
    """Read an .asc capture; a job.

    Raises:
        FileError: when it is damaged, or the library is missing.
    """
    can = _can()
    text = io.TextIOWrapper(file, encoding="utf-8", errors="replace")
    try:
        reader = quietly(lambda: can.ASCReader(text))
    except DAMAGED as error:
        raise damaged(source, "an .asc capture", error) from error
    return (yield from _messages(reader, source, "an .asc capture"))


def read_blf(file: BinaryIO, source: str) -> Generator[Progress, None, tuple[Frames, list[str]]]:
    """Read a .blf capture; a job.

    Raises:
        FileError: when it is damaged, or the library is missing.
    """
    can = _can()
    try:
        reader = quietly(lambda: can.BLFReader(file))
    except DAMAGED as error:
        raise damaged(source, "a .blf capture", error) from error
    return (yield from _messages(reader, source, "a .blf capture"))


def _can() -> Any:
    try:
        import can
    except ImportError as error:
        raise missing_library("python-can", "CAN captures") from error
    return can


@dataclass
class _Box:
    """Frames as they come out of a reader."""

    time: list[float] = field(default_factory=list)
    identifier: list[int] = field(default_factory=list)
    payload: list[bytes] = field(default_factory=list)

    def fill(self, messages: Iterator[Any], most: int) -> bool:
        """Take up to `most` messages; False at their end."""
        for _ in range(most):
            message = next(messages, None)
            if message is None:
                return False
            usable = not (message.is_error_frame or message.is_remote_frame) and math.isfinite(message.timestamp)
            if usable:
                self.time.append(float(message.timestamp))
                identifier = int(message.arbitration_id) & 0x1FFFFFFF
                self.identifier.append(identifier | (EXTENDED if message.is_extended_id else 0))
                self.payload.append(bytes(message.data))
        return True

    def frames(self) -> Frames:
        """Return what was taken."""
        return Frames(np.array(self.time), np.array(self.identifier, dtype=np.int64), self.payload)


def _messages(reader: Any, source: str, what: str) -> Generator[Progress, None, tuple[Frames, list[str]]]:
    box, messages = _Box(), iter(reader)
    notes: list[str] = []
    try:
        while quietly(lambda: box.fill(messages, _STEP)):
            yield Progress(len(box.time), 0, f"reading {source}")
    except Exception as error:
        if not isinstance(error, DAMAGED) and not type(error).__module__.startswith("can."):
            raise
        if not box.time:
            raise damaged(source, what, error) from error
        notes.append(
            phrase(
                "{source} is damaged after {time} frames; what precedes was read.", source=source, time=len(box.time)
            )
        )
    return box.frames(), notes


def decode_frames(
    frames: Frames, source: str, dbc: Path | None
) -> Generator[Progress, None, tuple[list[Series], list[str]]]:
    """Return frames their meaning: diagnosis answers, and messages that a DBC file describes; a job.

    Raises:
        FileError: when neither finds anything, saying what the capture holds.
    """
    answers = yield from aside(lambda: decode_answers(frames), f"decoding {source}")
    series, notes = list(answers.series), list(answers.notes)
    if dbc is not None:
        more, remarks = yield from _by_database(frames, source, dbc)
        series += more
        notes += remarks
    if series:
        return series, notes
    counts = Counter(frames.identifier.tolist())
    shown = ", ".join(f"{identifier_text(identifier)} ({number})" for identifier, number in counts.most_common(8))
    held = phrase("{payload} frames of {counts} identifiers", payload=len(frames.payload), counts=len(counts)) + (
        f": {shown}" if counts else ""
    )
    if dbc is not None:
        raise FileError(
            phrase("{source} holds {held}; {dbc} describes none of them.", source=source, held=held, dbc=dbc.name),
            "Give this car's DBC file.",
        )
    raise FileError(
        phrase("{source} holds {held}, but no diagnostic responses (7E8 to 7EF).", source=source, held=held),
        phrase("Give a DBC file that describes them with {dbc_flag}.", dbc_flag=flag("dbc", "FILE")),
    )


def _by_database(frames: Frames, source: str, dbc: Path) -> Generator[Progress, None, tuple[list[Series], list[str]]]:
    database = _database(dbc)
    messages = {
        (message.frame_id | (EXTENDED if message.is_extended_frame else 0)): message for message in database.messages
    }
    found: dict[tuple[str, str], tuple[str, list[float], list[float]]] = {}
    failed = 0
    for number, (time, identifier, payload) in enumerate(
        zip(frames.time.tolist(), frames.identifier.tolist(), frames.payload, strict=True)
    ):
        if number % _STEP == 0:
            yield Progress(number, len(frames.payload), f"decoding {source}")
        message = messages.get(identifier)
        if message is None:
            continue
        try:
            decoded = message.decode(payload, decode_choices=False, allow_truncated=True)
        except DAMAGED:
            failed += 1
            continue
        units = {signal.name: signal.unit or "" for signal in message.signals}
        for name, value in decoded.items():
            if isinstance(value, int | float):
                box = found.setdefault((message.name, name), (units.get(name, ""), [], []))
                box[1].append(time)
                box[2].append(float(value))
    names = Counter(name for _, name in found)
    series = []
    for (message_name, name), (unit, time_, values) in found.items():
        shown = name if names[name] == 1 else f"{message_name}.{name}"
        stamps = np.array(time_)
        order = np.argsort(stamps, kind="stable")
        series.append(Series(shown, unit, stamps[order], np.array(values)[order]))
    notes = [phrase("{series} signals were decoded by {dbc}.", series=len(series), dbc=dbc.name)] * bool(series)
    if failed:
        notes.append(
            phrase(
                "{failed} frames do not match their description in {dbc} and were left out.",
                failed=failed,
                dbc=dbc.name,
            )
        )
    return series, notes


def _database(dbc: Path) -> Any:
    try:
        import cantools
    except ImportError as error:
        raise missing_library("cantools", "DBC files") from error
    if not dbc.is_file():
        raise FileError(phrase("There is no file {dbc}.", dbc=dbc), "Name a DBC file.")
    try:
        text = read_bytes(dbc).decode("cp1252", errors="replace")  # as cantools itself reads one
        check_database(text, dbc.name)
        database: Any = cantools.database.load_string(text, strict=False)
    except FileError:
        raise
    except Exception as error:
        if not isinstance(error, DAMAGED) and not type(error).__module__.startswith(("cantools", "textparser")):
            raise
        raise damaged(dbc.name, "a DBC file", error) from error
    if not hasattr(database, "messages"):
        raise FileError(phrase("{dbc} describes no CAN messages.", dbc=dbc.name), "Give a DBC file.")
    return database
