"""DBC files looked over before the library that reads them works out what no frame can hold."""

import math
import re

from workbench.errors import FileError
from workbench.phrases import phrase

LARGEST = 30_000_000  # characters
LONGEST = 1785  # bytes of a message; the longest of SAE J1939-21, in its transport protocol
LARGEST_NUMBER = 1e15  # of a factor or an offset
_MESSAGE = re.compile(r"^\s*BO_\s+\d+\s+(\S+?)\s*:\s*(\d+)", re.MULTILINE)
_SIGNAL = re.compile(r"^\s*SG_\s+(\S+)[^:\n]*:\s*(\d+)\s*\|\s*(\d+)\s*@[^(\n]*\(([^,\n]*),([^)\n]*)\)", re.MULTILINE)


def check_database(text: str, source: str) -> None:
    """Refuse a description of messages or signals that no frame can hold.

    Args:
        text: of the DBC file.
        source: its name.

    Raises:
        FileError: naming the first message or signal that is out of all bounds.
    """
    if len(text) > LARGEST:
        raise _refusal(source, phrase("it is larger than {largest} MB", largest=LARGEST // 1000000))
    for name, length in _MESSAGE.findall(text):
        if len(length) > 9 or int(length) > LONGEST:
            raise _refusal(
                source,
                phrase("the message {name!r} is said to have {length} bytes", name=name[:60], length=length[:20]),
            )
    for name, start, length, factor, offset in _SIGNAL.findall(text):
        if max(len(start), len(length)) > 9 or int(start) >= 8 * LONGEST or not 1 <= int(length) <= 64:
            raise _refusal(
                source,
                phrase(
                    "the signal {name!r} is said to take {length} bits from bit {start}",
                    name=name[:60],
                    length=length[:20],
                    start=start[:20],
                ),
            )
        if not (_is_small(factor) and _is_small(offset)):
            raise _refusal(
                source,
                phrase(
                    "the signal {name!r} is scaled by {factor} and {offset}",
                    name=name[:60],
                    factor=factor[:20],
                    offset=offset[:20],
                ),
            )


def _is_small(text: str) -> bool:
    try:
        number = float(text)
    except ValueError:
        return True  # the library says what is wrong with it
    return math.isfinite(number) and abs(number) <= LARGEST_NUMBER


def _refusal(source: str, wrong: str) -> FileError:
    return FileError(
        phrase("{source} is not a valid DBC file: {wrong}.", source=source, wrong=wrong),
        "Give this car's DBC file.",
    )
