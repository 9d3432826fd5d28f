"""Reading through libraries of others: what to say where one is missing, and which faults mean a damaged file."""

import contextlib
import io
import logging
import struct
import threading
import zlib
from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import TypeVar

from workbench.errors import FileError
from workbench.work import Progress

try:
    import resource
except ImportError:  # not on this system
    resource = None  # type: ignore[assignment]

T = TypeVar("T")

_BOUNDS = (0, 0) if resource is None else resource.getrlimit(resource.RLIMIT_AS)
_MAPPED = Path("/proc/self/statm")
ROOM = 500_000_000  # bytes a file of any size may need
ROOM_PER_BYTE = 50  # for a compressed file and copies on the way

# A parser of a binary format that meets damaged bytes trips over them in many ways; all of these mean the same.
DAMAGED = (
    ArithmeticError,
    AssertionError,
    AttributeError,
    BufferError,
    EOFError,
    LookupError,
    MemoryError,
    NameError,
    OSError,
    RuntimeError,
    SyntaxError,
    SystemError,
    TypeError,
    ValueError,
    struct.error,
    zlib.error,
)


def missing_library(name: str, what: str) -> FileError:
    """Say which library is wanted for what."""
    return FileError(
        f"Reading {what} needs the library {name}, which is not installed.",
        'Install it with: pip install "calibration-workbench[formats]"',
    )


def damaged(source: str, what: str, error: BaseException) -> FileError:
    """Say that a file is not what it should be."""
    text = " ".join(str(error).split())[:120] or type(error).__name__
    return FileError(f"{source} cannot be read as {what}: {text}.", "Copy it again, or export it as CSV text.")


@contextlib.contextmanager
def bounded(size: int) -> Iterator[None]:
    """Let the process grow only so far while a library reads a file; a damaged length asks for any amount of memory.

    Past the bound an allocation fails as it does without memory. Where the system knows no such bound there is none.

    Args:
        size: of the file, bytes.
    """
    if resource is None or not _MAPPED.exists():
        yield
        return
    mapped = int(_MAPPED.read_text().split()[0]) * resource.getpagesize()
    wanted = mapped + ROOM + ROOM_PER_BYTE * size
    soft, hard = _BOUNDS
    resource.setrlimit(resource.RLIMIT_AS, (wanted if soft == resource.RLIM_INFINITY else min(wanted, soft), hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, _BOUNDS)


def quietly(work: Callable[[], T]) -> T:
    """Run work of a library that prints what it stumbles over; standard output belongs to the answer."""
    for name in ("asammdf", "can", "cantools"):
        logging.getLogger(name).setLevel(logging.CRITICAL + 1)  # what matters is raised, and told as a refusal
    with contextlib.redirect_stdout(io.StringIO()):
        return work()


def aside(work: Callable[[], T], text: str) -> Generator[Progress, None, T]:
    """Run work that cannot be interrupted on a thread of its own; a job that stays answerable meanwhile.

    When the job is closed the thread is left to end by itself, and what it finds is thrown away.
    """
    result: list[T] = []
    fault: list[BaseException] = []

    def target() -> None:
        try:
            result.append(work())
        except BaseException as error:  # noqa: BLE001 - it is raised again where it is waited for
            fault.append(error)

    thread = threading.Thread(target=target, name=text, daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(0.05)
        yield Progress(0, 0, text)
    if fault:
        raise fault[0]
    return result[0]
