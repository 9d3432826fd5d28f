"""Writing files so that they are there whole or not at all, with a paper beside them that says where they come from."""

import hashlib
import json
import os
import secrets
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
    """Write a file and the paper beside it; give the SHA-256 of its bytes, hexadecimal.

    Args:
        path: where; an earlier export that was not changed since is replaced.
        content: its bytes.
        paper: what to say beside it; the digest is added.
        replace: replace whatever is there.

    Raises:
        FileError: when something else is there, or it cannot be written; what was there is then untouched.
    """
    if path.is_dir():
        raise FileError(f"{path} is a directory.", "Name the file to write.")
    if not path.absolute().parent.is_dir():
        raise FileError(f"There is no folder {path.absolute().parent}.", "Make it, or choose another place.")
    if path.exists() and not replace and not is_unchanged(path):
        raise FileError(
            f"{path} exists and is no unchanged export of the workbench.", "Choose another name, or say --replace."
        )
    digest = hashlib.sha256(content).hexdigest()
    told = json.dumps({**paper, "sha256": digest}, indent=2, ensure_ascii=False) + "\n"
    try:
        write_whole(paper_path(path), told.encode())
        write_whole(path, content)
    except OSError as error:
        raise FileError(
            f"{path} cannot be written: {error.strerror}.", "Make room, or choose a place that can be written to."
        ) from error
    return digest


def write_whole(path: Path, content: bytes) -> None:
    """Write a file beside its place, make sure that it is on the disk, then give it its name.

    Raises:
        OSError: when it cannot be written; what was there is then untouched.
    """
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}.new")
    try:
        with draft.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)
    sync_folder(path.absolute().parent)
