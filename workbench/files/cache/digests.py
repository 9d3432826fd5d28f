"""Digests of what a result rests on: the values it is made of, and the program that makes it."""

import hashlib
import platform
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache, singledispatch
from importlib import metadata
from pathlib import Path
from types import NoneType
from typing import Any

import numpy as np
from numpy.typing import NDArray

import workbench
from workbench.files.disk.plain_files import read_bytes
from workbench.model.packing import Column

LIBRARIES = ("numpy", "scipy")
HOUSE = Path(workbench.__file__).parent
_BEGAN_NS = time.time_ns()


def digest(*parts: object) -> str:
    """Return a digest that differs wherever one of the values differs, hexadecimal.

    Raises:
        TypeError: when there is something in them that is not known here.
    """
    whole = hashlib.blake2b(digest_size=32)
    for part in parts:
        _take_in(part, whole)
    return whole.hexdigest()


@cache
def digest_of_program(*floors: str) -> str:
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
    return digest(
        workbench.__version__, sys.version, platform.machine(), [_version(name) for name in LIBRARIES], source
    )


def _version(library: str) -> str:
    try:
        return metadata.version(library)
    except metadata.PackageNotFoundError:
        return ""


@singledispatch
def _take_in(value: object, whole: "hashlib.blake2b") -> None:
    """Add a value with its kind and its size, so that no two values look alike."""
    if not is_dataclass(value) or isinstance(value, type):
        raise TypeError(f"{type(value).__name__} is not known here")
    _add(whole, "record", type(value).__name__.encode())
    for field in fields(value):
        _take_in(getattr(value, field.name), whole)


def _add(whole: "hashlib.blake2b", kind: str, content: Any) -> None:
    whole.update(f"{kind}:{len(content)}:".encode())
    whole.update(content)


@_take_in.register(NoneType | bool | int | float | np.generic)
def _plain(value: object, whole: "hashlib.blake2b") -> None:
    _add(whole, type(value).__name__, repr(value).encode())


@_take_in.register
def _choice(value: Enum, whole: "hashlib.blake2b") -> None:
    _add(whole, type(value).__name__, value.name.encode())


@_take_in.register
def _text(value: str, whole: "hashlib.blake2b") -> None:
    _add(whole, "str", str.encode(value, "utf-8", "surrogatepass"))


@_take_in.register
def _bytes(value: bytes, whole: "hashlib.blake2b") -> None:
    _add(whole, "bytes", value)


@_take_in.register(np.ndarray)
def _array(value: NDArray[Any], whole: "hashlib.blake2b") -> None:
    content = np.ascontiguousarray(value).reshape(-1).view(np.uint8).data
    _add(whole, f"array {value.dtype.str} {value.shape}", content)


@_take_in.register
def _column(value: Column, whole: "hashlib.blake2b") -> None:
    _add(whole, f"column {value.rows}", value.standing_for())


@_take_in.register(Mapping)
def _mapping(value: Mapping[Any, object], whole: "hashlib.blake2b") -> None:
    _take_in(sorted(value.items()), whole)


@_take_in.register(set | frozenset)
def _set(value: set[Any] | frozenset[Any], whole: "hashlib.blake2b") -> None:
    _take_in(sorted(value), whole)


@_take_in.register(tuple | list)
def _sequence(value: Sequence[object], whole: "hashlib.blake2b") -> None:
    _add(whole, "list", bytes(len(value)))
    for item in value:
        _take_in(item, whole)
