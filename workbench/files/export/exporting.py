"""Exported files, each with a paper beside it that says where it comes from."""

import hashlib
import json
from collections.abc import Callable, Collection, Mapping
from pathlib import Path

from workbench.errors import FileError
from workbench.files.disk.atomic_write import check_place, write_all
from workbench.files.disk.plain_files import read_bytes
from workbench.model.history import Json
from workbench.phrases import flag, phrase

PAPER = ".provenance.json"

Whose = Callable[[Mapping[str, Json], Mapping[str, Json]], str]


def _nobody_elses(_: Mapping[str, Json], __: Mapping[str, Json]) -> str:
    """Take every export for one's own."""
    return ""


def draft_path(path: Path) -> Path:
    """Say in a file's name that it is a draft, as in `out.draft.csv`."""
    return path if "draft" in path.stem.lower() else path.with_name(f"{path.stem}.draft{path.suffix}")


def paper_path(path: Path) -> Path:
    """Return the place of the paper that goes with an exported file."""
    return path.with_name(path.name + PAPER)


def read_paper(path: Path) -> dict[str, Json] | None:
    """Read the paper beside an exported file; None where there is none."""
    try:
        paper = json.loads(read_bytes(paper_path(path)))
    except (OSError, ValueError, FileError):
        return None
    return paper if isinstance(paper, dict) else None


def is_unchanged(path: Path) -> bool:
    """Return whether a file is an export of the workbench, with the very bytes that its paper tells of.

    A kill between the two may leave a new paper beside the export that was about to be replaced; it tells of that too.
    """
    paper = read_paper(path)
    digests = () if paper is None else (paper.get("sha256"), paper.get("replaces"))
    return hashlib.sha256(read_bytes(path)).hexdigest() in digests


def export_file(path: Path, content: bytes, paper: Mapping[str, Json], *, replace: bool = False) -> str:
    """Write a file and the paper beside it, as `export_files` does; give the SHA-256 of its bytes, hexadecimal."""
    return export_files({path: (content, paper)}, replace=replace)[0]


def export_files(
    files: Mapping[Path, tuple[bytes, Mapping[str, Json]]],
    *,
    replace: bool = False,
    kept: Collection[str] = (),
    whose: Whose = _nobody_elses,
) -> tuple[str, ...]:
    """Write files and the papers beside them, all or none; give the SHA-256 of the bytes of each, hexadecimal.

    Args:
        files: path -> its bytes, and what to say beside it, to which the digest is added; an earlier export that was
            not changed since, and is nobody else's, is replaced.
        replace: replace whatever is there, but for a session and what is kept.
        kept: SHA-256 of the files that are never replaced.
        whose: says by the paper that lies there and the new one whose an earlier export is; empty where it may go.

    Raises:
        FileError: when something else is there, or one cannot be written; what was there is then untouched.
    """
    for path, (_, paper) in files.items():
        check_place(path, kept)
        check_place(paper_path(path), kept)
        if path.exists() and not replace:
            _check_own(path, paper, whose)
    digests = tuple(hashlib.sha256(content).hexdigest() for content, _ in files.values())
    contents: dict[Path, bytes] = {}
    for (path, (content, paper)), digest in zip(files.items(), digests, strict=True):
        replaced = {"replaces": hashlib.sha256(read_bytes(path)).hexdigest()} if path.is_file() else {}
        text = json.dumps({**paper, "sha256": digest, **replaced}, indent=2, ensure_ascii=False) + "\n"
        contents |= {paper_path(path): text.encode(), path: content}
    write_all(contents)
    return digests


def _check_own(path: Path, paper: Mapping[str, Json], whose: Whose) -> None:
    """Refuse to replace what is no unchanged export, or somebody else's."""
    hint = phrase("Choose another name, or give {replace_flag}.", replace_flag=flag("replace"))
    if not is_unchanged(path):
        raise FileError(phrase("{path} exists and is not an unchanged export of this workbench.", path=path), hint)
    if others := whose(read_paper(path) or {}, paper):
        raise FileError(phrase("{path} exists and is {others}.", path=path, others=others), hint)
