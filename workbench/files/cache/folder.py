"""The folder of what was worked out: each result in a file named by the digest of all that it rests on.

A result is found again only whole and only under its own name; whatever is not as it was written is deleted. The folder
belongs to the user alone, is bounded, and is never in the way: where it cannot be used, everything is worked out anew.
"""

import hashlib
import os
import stat
import sys
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from workbench.errors import FileError
from workbench.files.disk.atomic_write import write_whole
from workbench.files.disk.plain_files import read_bytes

NAME = "calibration-workbench"
SWITCH = "WORKBENCH_CACHE"  # a folder to use instead; "off" for none
OFF = "off"
MOST_BYTES = 500_000_000  # of all results
LARGEST = MOST_BYTES // 2  # of one
_MARK = b"workbench result 1\n"
_ENDING = ".result"
_OTHERS_MAY_WRITE = stat.S_IWGRP | stat.S_IWOTH


def place(environment: Mapping[str, str] = os.environ, system: str = sys.platform) -> Path | None:
    """Name the folder by the convention of the system; None where there shall be none.

    Source: XDG Base Directory Specification 0.8; elsewhere common practice, no source.
    """
    stated = environment.get(SWITCH, "")
    if stated:
        return None if stated == OFF else Path(stated)
    home = environment.get("USERPROFILE" if system == "win32" else "HOME", "")
    if system == "win32":
        base = environment.get("LOCALAPPDATA", "") or (f"{home}\\AppData\\Local" if home else "")
        return Path(base) / NAME / "Cache" if base else None
    caches = environment.get("XDG_CACHE_HOME", "")
    if system != "darwin" and caches.startswith("/"):
        return Path(caches) / NAME
    if not home:
        return None
    return Path(home) / ("Library/Caches" if system == "darwin" else ".cache") / NAME


def find(key: str) -> bytes | None:
    """Return the result of a key; None where there is none, or none that can be trusted."""
    folder = place()
    if folder is None or not _is_ours(folder):
        return None
    path = folder / (key + _ENDING)
    try:
        content = read_bytes(path)
    except (OSError, FileError):
        return None
    start = len(_MARK) + _digest(key, b"").digest_size
    body = content[start:]
    if content[:start] != _MARK + _digest(key, body).digest():
        forget(key)
        return None
    with suppress(OSError):
        os.utime(path)  # what is used stays longest
    return body


def keep(key: str, body: bytes) -> None:
    """Keep a result, unless it is too large or there is no place for it; the least used ones make room."""
    folder = place()
    if folder is None or len(body) > LARGEST:
        return
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if _is_ours(folder):
            write_whole(folder / (key + _ENDING), _MARK + _digest(key, body).digest() + body)
            _make_room(folder)
    except (OSError, FileError):  # read-only, full, or another program tidies just now: nothing is lost
        pass


def forget(key: str) -> None:
    """Delete the result of a key."""
    folder = place()
    if folder is not None:
        with suppress(OSError):
            (folder / (key + _ENDING)).unlink(missing_ok=True)


def _digest(key: str, body: bytes) -> "hashlib.blake2b":
    whole = hashlib.blake2b(key.encode(), digest_size=32)
    whole.update(body)
    return whole


def _is_ours(folder: Path) -> bool:
    """Tell whether only this user can have put something there."""
    try:
        found = folder.lstat()
    except OSError:
        return False
    if not stat.S_ISDIR(found.st_mode):
        return False
    return not hasattr(os, "getuid") or (found.st_uid == os.getuid() and not found.st_mode & _OTHERS_MAY_WRITE)


def _make_room(folder: Path) -> None:
    """Delete the results that were not used for longest until the rest is small enough."""
    found = []
    for each in os.scandir(folder):
        if each.name.endswith(_ENDING):
            known = each.stat(follow_symlinks=False)
            found.append((known.st_mtime_ns, known.st_size, each.path))
    left = sum(size for _, size, _ in found)
    for _, size, path in sorted(found):
        if left <= MOST_BYTES:
            break
        Path(path).unlink(missing_ok=True)
        left -= size
