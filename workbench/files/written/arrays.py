"""Channels written as arrays of a script, as in `rpm = [812 815 …]; % 1/min`, as a header and lines."""

import re
from typing import BinaryIO

from workbench.files.disk.text_decoding import decode
from workbench.files.vocabulary.units import find_unit
from workbench.files.written.beginning import LARGEST, beginning_of

FEWEST_ROWS, FEWEST_ARRAYS = 5, 2
_BEGINS = re.compile(
    r"\s*(?:\w+ ){0,2}[\w.]{1,80}(?:\[\d*\])? ?= ?(?:[\w.]{1,40}\()?[\[{(]\s*[-+]?\.?(?:\d|nan)", re.IGNORECASE
)
_ARRAY = re.compile(
    r"^[ \t]*(?:\w+ ){0,2}([\w.]{1,80})(?:\[\d*\])? ?= ?(?:[\w.]{1,40}\()?[\[{(]([^\[\](){}=]*)[\]})]\)?[ \t]*;?"
    r"[ \t]*(?:(?:%|#|//)[ \t]*([^\n]{1,40}))?",
    re.MULTILINE,
)
_REMARKS = ("%", "#", "//")


def in_arrays(file: BinaryIO, source: str, size: int) -> bytes | None:
    """Return arrays of one length as a log with a header, UTF-8; None where there are none. The file is at its start.

    Raises:
        FileError: when it is no text.
    """
    head, _ = beginning_of(file)  # the line of an array may be longer
    lines = [line for line in head.decode("latin-1").splitlines() if line.strip()]
    first = next((line for line in lines if not line.lstrip().startswith(_REMARKS)), "")
    if size > LARGEST or _BEGINS.match(first) is None:
        return None
    text = decode(file.read(), source).text
    file.seek(0)
    arrays = [
        (match[1], re.split(r"[\s,;]+", match[2].strip(" \t\r\n,;")), match[3]) for match in _ARRAY.finditer(text)
    ]
    rows = len(arrays[0][1]) if arrays else 0
    arrays = [each for each in arrays if len(each[1]) == rows]
    if len(arrays) < FEWEST_ARRAYS or rows < FEWEST_ROWS:
        return None
    names = [_label(name, remark or "") for name, _, remark in arrays]
    body = zip(*(values for _, values, _ in arrays), strict=True)
    return "\n".join([";".join(names), *(";".join(row) for row in body), ""]).encode()


def _label(name: str, remark: str) -> str:
    """Write a channel's name without the structure that holds it, and its unit where the remark is one."""
    unit = remark.strip().strip("[]()")
    return name.rpartition(".")[2] + (f" ({unit})" if find_unit(unit) is not None else "")
