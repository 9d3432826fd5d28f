"""Writing files so that they are there whole or not at all, with a paper beside them that says where they come from."""

import hashlib
import json
import os
import secrets
import shutil
from collections.abc import Mapping
from pathlib import Path

from workbench.errors import FileError
from workbench.files.store import sync_folder
from workbench.model.history import Json

PAPER = ".provenance.json"


def draft_path(path: Path) -> Path:
    """Say in a file's name that it is a draft, as in `out.draft.csv`."""
    return path if "draft" in path.stem.lower() else path.with_name(f"{path.stem}.draft{path.suffix}")


def paper_path(path: Path) -> Path:
    """Give the place of the paper that goes with an exported file."""
    return path.with_name(path.name + PAPER)


def read_paper(path: Path) -> dict[str, Json] | None:
    """Read the paper beside an exported file; None where there is none."""
    try:
        paper = json.loads(paper_path(path).read_text("utf-8"))
    except (OSError, ValueError):
        return None
    return paper if isinstance(paper, dict) else None


def is_unchanged(path: Path) -> bool:
    """Tell whether a file is an export of the workbench, with the very bytes that its paper tells of."""
    paper = read_paper(path)
    return paper is not None and paper.get("sha256") == hashlib.sha256(path.read_bytes()).hexdigest()


def export_file(path: Path, content: bytes, paper: Mapping[str, Json], *, replace: bool = False) -> str:
    """Write a file and the paper beside it, as `export_files` does; give the SHA-256 of its bytes, hexadecimal."""
    return export_files({path: (content, paper)}, replace=replace)[0]


def export_files(files: Mapping[Path, tuple[bytes, Mapping[str, Json]]], *, replace: bool = False) -> tuple[str, ...]:
    """Write files and the papers beside them, all or none; give the SHA-256 of the bytes of each, hexadecimal.

    Args:
        files: path -> its bytes, and what to say beside it, to which the digest is added; an earlier export that was
            not changed since is replaced.
        replace: replace whatever is there.

    Raises:
        FileError: when something else is there, or one cannot be written; what was there is then untouched.
    """
    for path in files:
        _check_free(path, replace=replace)
    digests = tuple(hashlib.sha256(content).hexdigest() for content, _ in files.values())
    told: dict[Path, bytes] = {}
    for (path, (content, paper)), digest in zip(files.items(), digests, strict=True):
        text = json.dumps({**paper, "sha256": digest}, indent=2, ensure_ascii=False) + "\n"
        told |= {paper_path(path): text.encode(), path: content}
    try:
        write_all(told)
    except OSError as error:
        raise FileError(
            f"{error.filename or next(iter(files))} cannot be written: {error.strerror}. Nothing was exported.",
            "Make room, or choose a place that can be written to.",
        ) from error
    return digests


def _check_free(path: Path, *, replace: bool) -> None:
    if path.is_dir():
        raise FileError(f"{path} is a directory.", "Name the file to write.")
    if not path.absolute().parent.is_dir():
        raise FileError(f"There is no folder {path.absolute().parent}.", "Make it, or choose another place.")
    if path.exists() and not replace and not is_unchanged(path):
        raise FileError(
            f"{path} exists and is no unchanged export of the workbench.", "Choose another name, or say --replace."
        )


def write_whole(path: Path, content: bytes) -> None:
    """Write a file beside its place, make sure that it is on the disk, then give it its name.

    Raises:
        OSError: when it cannot be written; what was there is then untouched.
    """
    write_all({path: content})


def write_all(files: Mapping[Path, bytes]) -> None:
    """Write files beside their places, make sure that all are on the disk, then give them their names.

    Raises:
        OSError: when one cannot be written or named; what was there is then as it was, and nothing is added.
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
            error.filename = str(hidden.get(str(error.filename), error.filename or next(iter(files))))
        raise
    finally:
        for left in (*drafts.values(), *before.values()):
            left.unlink(missing_ok=True)
    for folder in {path.absolute().parent for path in files}:
        sync_folder(folder)
