"""The beginning of a file, by which it is told how its text is written."""

from typing import BinaryIO

BEGINNING = 1 << 14  # bytes that tell
LARGEST = 100_000_000  # bytes that are turned at once


def beginning_of(file: BinaryIO) -> tuple[bytes, list[str]]:
    """Read the first bytes of a file, and the whole lines among them; it is left at its start.

    Letters beyond ASCII are not decoded yet: the lines tell of signs and digits alone.
    """
    head = file.read(BEGINNING)
    file.seek(0)
    lines = head.decode("latin-1").splitlines()
    return head, lines if len(head) < BEGINNING else lines[:-1]
