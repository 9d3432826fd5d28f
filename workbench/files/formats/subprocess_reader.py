"""Reading through libraries of others: what to say where one is missing, and which faults mean a damaged file."""

import contextlib
import io
import logging
import os
import struct
import subprocess
import sys
import tempfile
import threading
import zlib
from collections.abc import Callable, Generator
from pathlib import Path
from typing import TypeVar

from workbench.errors import FileError
from workbench.phrases import phrase
from workbench.work import Progress

try:
    import resource
except ImportError:  # not on this system
    resource = None  # type: ignore[assignment]

T = TypeVar("T")

IS_DAMAGED, NO_LIBRARY = 3, 4  # how a reader in a process of its own ends, beside 0
ROOM, ROOM_PER_BYTE = 900_000_000, 60  # bytes of memory it may take: for any file, and for each of its bytes
POLL_S = 0.05

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
    """Name which library is wanted for what."""
    return FileError(
        phrase("Reading {what} needs the library {name}, which is not installed.", what=what, name=name),
        phrase("Install it with: {executable} -m pip install {name}", executable=sys.executable, name=name),
    )


def damaged(source: str, what: str, error: BaseException) -> FileError:
    """Report that a file is not what it should be."""
    text = " ".join(str(error).split())[:120] or type(error).__name__
    return FileError(
        phrase("{source} cannot be read as {what}: {text}.", source=source, what=what, text=text),
        "Copy it again, or export it as CSV text.",
    )


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


def apart(
    reader: str, path: Path, folder: Path, ask: Callable[[], Progress]
) -> Generator[Progress, None, tuple[int, str]]:
    """Run a reader in a process of its own, which may die over damaged bytes; it is ended when the job is.

    Args:
        reader: the module; it is given the file and the folder.
        path: the file.
        folder: where it puts what it found.
        ask: tells how far it is.

    Returns:
        Its exit code, and what it said.
    """
    with tempfile.TemporaryFile() as output:
        process = subprocess.Popen(  # noqa: S603 - our own module, no shell
            [sys.executable, "-m", reader, str(path.resolve()), str(folder)],
            stdin=subprocess.PIPE,  # it closes when this process ends, however it ends: see `end_with_starter`
            stdout=output,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(entry for entry in sys.path if entry) or "."},
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
        try:
            while True:
                try:
                    process.wait(POLL_S)
                except subprocess.TimeoutExpired:
                    yield ask()
                else:
                    output.seek(0)
                    return process.returncode, output.read().decode(errors="replace").strip()
        finally:
            process.kill()
            process.communicate()


def end_with_starter() -> None:
    """End this process when the one that started it is gone, even killed: nobody would wait for what it reads."""

    def wait() -> None:
        os.read(0, 1)  # not through sys.stdin, whose lock this thread would hold when the process ends
        os._exit(1)

    threading.Thread(target=wait, daemon=True).start()


def limit_memory(path: Path) -> None:
    """Let this process take no more memory than reading a file can need, where the system can promise it."""
    if resource is not None and sys.platform == "linux":
        most = ROOM + ROOM_PER_BYTE * path.stat().st_size
        resource.setrlimit(resource.RLIMIT_AS, (most, resource.getrlimit(resource.RLIMIT_AS)[1]))
