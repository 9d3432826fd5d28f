"""What takes too long on the window's thread, as large files do: it is done aside."""

from collections.abc import Callable, Generator, Iterator, Mapping
from pathlib import Path
from typing import Any, TypeVar

from workbench.commands.declaring.kinds import Kind
from workbench.commands.declaring.registry import Command
from workbench.commands.record.references import file_of
from workbench.session import looks_like_session
from workbench.work import Progress

T = TypeVar("T")
LARGE_TABLE = 16_000  # bytes of a table's file, some 1,500 cells: to read it takes 20 ms
LARGE = 5_000_000  # bytes; holding so many against their digests takes 10 ms, on a slow machine the 50 ms that are felt


def is_large(path: Path) -> bool:
    """Tell whether a session, or a table in a file, takes long to read; what is not there does not."""
    try:
        size = path.stat().st_size
    except OSError:
        return False
    return size > LARGE or (size > LARGE_TABLE and not looks_like_session(path))


def takes_long(command: Command, arguments: Mapping[str, Any]) -> bool:
    """Tell whether a command is given what takes long.

    That is a large file, another session that is large, or a place of the wideband, which is held against all logs.
    """
    return bool(arguments.get("wideband")) or any(is_large(path) for path in _files(command, arguments))


def _files(command: Command, arguments: Mapping[str, Any]) -> Iterator[Path]:
    for parameter in command.parameters:
        value = arguments.get(parameter.name)
        if parameter.kind is Kind.EXISTING_FILE:
            yield from (each for each in (value if isinstance(value, tuple) else (value,)) if isinstance(each, Path))
        elif parameter.kind is Kind.REVISION and isinstance(value, str):
            yield file_of(value)


def in_job(read: Callable[[], Any], name: str) -> Generator[Progress, None, Any]:
    """Make a job of what is done at once, or is a job itself."""
    yield Progress(0, 1, name)
    result = read()
    return (yield from result) if isinstance(result, Generator) else result
