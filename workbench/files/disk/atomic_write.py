"""A place for a new file: there, free to be written to, and then holding the file whole or not at all."""

import hashlib
import os
import re
import stat
import time
from collections.abc import Collection, Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from workbench.errors import FileError
from workbench.files.disk.plain_files import read_bytes
from workbench.files.disk.session_header import is_session
from workbench.phrases import phrase

BESIDE_A_SESSION = ("-wal", "-shm", "-journal")  # what SQLite keeps of it in files of their own
OLD_S = 600.0  # no file takes longer to write
_OURS = ".workbench-"
_LEFT = re.compile(r"\.workbench-[0-9a-f]{16}\.(new|old)(-journal|-wal|-shm)?")


def check_place(path: Path, kept: Collection[str] = ()) -> None:
    """Refuse a place where no file can come to be, or where one lies that is never replaced.

    Args:
        path: the place.
        kept: SHA-256, hexadecimal, of the bytes of files that are not to be replaced; sessions never are.

    Raises:
        FileError: when it is a directory, its folder is missing or cannot be written to, or what lies there must stay.
    """
    folder = path.absolute().parent
    if os.path.isdir(path):  # noqa: PTH112 - Path's own raises where a folder on the way cannot be entered
        raise FileError(phrase("{path} is a directory.", path=path), "Name the file to write.")
    if not os.path.isdir(folder):  # noqa: PTH112 - as above
        raise FileError(
            phrase("There is no folder {folder}.", folder=folder), "Make the folder, or choose another one."
        )
    if not os.access(folder, os.W_OK | os.X_OK):
        raise FileError(
            phrase("{path} cannot be written: the folder {folder} is read-only.", path=path, folder=folder),
            "Choose another folder.",
        )
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return
    except OSError as error:  # the name is too long, or leads round in circles
        raise cannot_write(path, error) from error
    if not stat.S_ISREG(mode):
        raise FileError(
            phrase("{path} is a device or a pipe: it is never replaced.", path=path), "Name the file to write."
        )
    _check_not_kept(path, kept)


def _check_not_kept(path: Path, kept: Collection[str]) -> None:
    whole = next(
        (path.with_name(path.name.removesuffix(end)) for end in BESIDE_A_SESSION if path.name.endswith(end)), path
    )
    try:
        if whole.is_file() and is_session(whole):
            what = "is a session" if whole == path else phrase("belongs to the session {whole}", whole=whole)
            raise FileError(
                phrase("{path} {what}: it is never replaced.", path=path, what=what), "Name another file to write."
            )
        if kept and hashlib.sha256(read_bytes(path)).hexdigest() in kept:
            raise FileError(
                phrase("{path} is a log of this session: it is never replaced.", path=path),
                "Name another file to write.",
            )
    except OSError as error:
        raise FileError(
            phrase(
                "{path} exists but cannot be read ({strerror}), so it is not replaced.",
                path=path,
                strerror=error.strerror,
            ),
            "Name another file to write.",
        ) from error


def cannot_write(path: Path | str, error: OSError) -> FileError:
    """Report that a file cannot be written, and why."""
    return FileError(
        phrase("{path} cannot be written: {reason}. Nothing was written.", path=path, reason=error.strerror or error),
        "Free disk space, or choose a folder that can be written to.",
    )


def temporary_beside(path: Path, ending: str = ".new") -> Path:
    """Return a name beside a place that nothing else has; short, so that it fits wherever the place's own does."""
    return path.with_name(f"{_OURS}{os.urandom(8).hex()}{ending}")


def tidy(folder: Path) -> None:
    """Take away what processes that were killed left of ours in a folder, once it is old enough to be nobody's."""
    with suppress(OSError):
        for each in folder.glob(f"{_OURS}*"):
            if _LEFT.fullmatch(each.name) and time.time() - each.lstat().st_mtime > OLD_S:
                each.unlink()


def tidy_second_name(path: Path) -> None:
    """Take away the draft that a file was named from, where a kill left it as a second name of the same file."""
    real = path.resolve()
    with suppress(OSError):
        if real.stat().st_nlink > 1:
            for each in real.parent.glob(f"{_OURS}*"):
                if _LEFT.fullmatch(each.name) and each.samefile(real):
                    each.unlink()


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
    import shutil

    _check_places(files)
    drafts = {path: temporary_beside(path) for path in files}
    before = {path: temporary_beside(path, ".old") for path in files if len(files) > 1 and path.exists()}
    named: list[Path] = []
    try:
        for path, content in files.items():
            _write_draft(drafts[path], content)
        for path, kept in before.items():
            kept.write_bytes(read_bytes(path))
            shutil.copystat(path, kept)
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


def _check_places(paths: Iterable[Path]) -> None:
    for path in paths:
        check_place(path)
        tidy(path.absolute().parent)


def _write_draft(draft: Path, content: bytes) -> None:
    with draft.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    """Make sure that a name just given in a folder survives a loss of power, where the system can promise it."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
