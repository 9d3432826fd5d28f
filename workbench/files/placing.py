"""A place for a new file: there, free to be written to, and then holding the file whole or not at all."""

import os
import secrets
import shutil
from collections.abc import Mapping
from pathlib import Path

from workbench.errors import FileError


def check_place(path: Path) -> None:
    """Refuse a place where no file can come to be.

    Raises:
        FileError: when it is a directory, or its folder is missing or cannot be written to.
    """
    folder = path.absolute().parent
    if os.path.isdir(path):  # noqa: PTH112 - Path's own raises where a folder on the way cannot be entered
        raise FileError(f"{path} is a directory.", "Name the file to write.")
    if not os.path.isdir(folder):  # noqa: PTH112 - as above
        raise FileError(f"There is no folder {folder}.", "Make it, or choose another place.")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise FileError(f"{path} cannot be written: the folder {folder} is read-only.", "Choose another place.")


def cannot_write(path: Path | str, error: OSError) -> FileError:
    """Say that a file cannot be written, and why."""
    return FileError(
        f"{path} cannot be written: {error.strerror or error}. Nothing was written.",
        "Make room, or choose a place that can be written to.",
    )


def write_whole(path: Path, content: bytes) -> None:
    """Write a file beside its place, make sure that it is on the disk, then give it its name.

    Raises:
        FileError: when it cannot be written; what was there is then untouched.
    """
    write_all({path: content})


def write_all(files: Mapping[Path, bytes]) -> None:
    """Write files beside their places, make sure that all are on the disk, then give them their names.

    Raises:
        FileError: naming the one that cannot be written; what was there is then as it was, and nothing is added.
    """
    mark = secrets.token_hex(4)
    drafts = {path: path.with_name(f".{path.name}.{mark}.new") for path in files}
    before = {path: path.with_name(f".{path.name}.{mark}.old") for path in files if len(files) > 1 and path.exists()}
    named: list[Path] = []
    try:
        for path, content in files.items():
            with drafts[path].open("xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
        for path, kept in before.items():
            shutil.copy2(path, kept)
        for path, draft in drafts.items():
            draft.replace(path)
            named.append(path)
    except BaseException as error:
        for path in named:
            if path in before:
                before[path].replace(path)
            else:
                path.unlink()
        if isinstance(error, OSError):
            hidden = {str(draft): path for path, draft in (*drafts.items(), *before.items())}
            raise cannot_write(hidden.get(str(error.filename), error.filename or next(iter(files))), error) from error
        raise
    finally:
        for left in (*drafts.values(), *before.values()):
            left.unlink(missing_ok=True)
    for folder in {path.absolute().parent for path in files}:
        sync_folder(folder)


def sync_folder(folder: Path) -> None:
    """Make sure that a name just given in a folder survives a loss of power, where the system can promise it."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
