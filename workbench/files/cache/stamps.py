"""Digests of what a result rests on: the values it is made of, and the program that makes it."""

import hashlib
import platform
import sys
import time
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np

import workbench
from workbench.files.disk.plain_files import read_bytes
from workbench.model.log import Column

LIBRARIES = ("numpy", "scipy")
HOUSE = Path(workbench.__file__).parent
_BEGAN_NS = time.time_ns()


def stamp(*parts: object) -> str:
    """Return a digest that differs wherever one of the values differs, hexadecimal.

    Raises:
        TypeError: when there is something in them that is not known here.
    """
    whole = hashlib.blake2b(digest_size=32)
    for part in parts:
        _take_in(whole, part)
    return whole.hexdigest()


@cache
def stamp_of_program(*floors: str) -> str:
    """Return a digest of the program: its version, that of what it rests on, and the source of some of its floors.

    Where the source is not there, in a bundle, the program's own file stands for it. Empty where one of these files
    was changed since the program began: what runs may then be the one from before.
    """
    modules = [path for floor in floors for path in (HOUSE / f"{floor}.py", *sorted((HOUSE / floor).rglob("*.py")))]
    found = [path for path in modules if path.is_file()]
    if len(found) < len(floors):
        found = [Path(sys.executable)]
    if any(max(each.st_mtime_ns, each.st_ctime_ns) > _BEGAN_NS for each in (path.stat() for path in found)):
        return ""
    source = [(path.relative_to(HOUSE).as_posix() if path in modules else "", read_bytes(path)) for path in found]
    return stamp(workbench.__version__, sys.version, platform.machine(), [_version(name) for name in LIBRARIES], source)


def _version(library: str) -> str:
    try:
        return metadata.version(library)
    except metadata.PackageNotFoundError:
        return ""


def _take_in(whole: "hashlib.blake2b", value: object) -> None:  # noqa: C901 - one for each kind
    """Add a value with its kind and its size, so that no two values look alike."""

    def add(kind: str, content: Any) -> None:
        whole.update(f"{kind}:{len(content)}:".encode())
        whole.update(content)

    match value:
        case None | bool() | int() | float() | np.generic():
            add(type(value).__name__, repr(value).encode())
        case Enum():
            add(type(value).__name__, value.name.encode())
        case str():
            add("str", str.encode(value, "utf-8", "surrogatepass"))
        case bytes():
            add("bytes", value)
        case np.ndarray():
            add(f"array {value.dtype.str} {value.shape}", np.ascontiguousarray(value).reshape(-1).view(np.uint8).data)
        case Column():
            add(f"column {value.rows}", value.standing_for())
        case Mapping():
            _take_in(whole, sorted(value.items()))
        case tuple() | list() | set() | frozenset():
            ordered = sorted(value) if isinstance(value, set | frozenset) else list(value)
            add("list", bytes(len(ordered)))
            for item in ordered:
                _take_in(whole, item)
        case _ if is_dataclass(value) and not isinstance(value, type):
            add("record", type(value).__name__.encode())
            for field in fields(value):
                _take_in(whole, getattr(value, field.name))
        case _:
            raise TypeError(f"{type(value).__name__} is not known here")
