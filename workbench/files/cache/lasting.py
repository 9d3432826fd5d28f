"""Values of the model as bytes and back, bit for bit: frozen records, arrays, sentences that stay translatable.

Every value is written with its kind, so nothing is taken for something like it; reading makes nothing but the records
of `KINDS`, arrays of `DTYPES` and plain values. The arrays stand one after the other behind a head that names them.
"""

import struct
from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, is_dataclass
from functools import singledispatch
from types import NoneType
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from workbench.files.store.decoding import read_json
from workbench.model.evidence import BudgetItem, Caution, Delay, Effect, Evidence, Samples, Target
from workbench.model.gate import GateCount
from workbench.model.table import Axis, Table
from workbench.phrases import CommandCall, Flag, Phrase, call, english, flag

KINDS = {
    kind.__name__: kind
    for kind in (Axis, BudgetItem, Caution, Delay, Effect, Evidence, GateCount, Samples, Table, Target)
}
DTYPES = ("<f8", "<i8", "|b1")
_NARROW = ("|i1", "<i2", "<i4")  # in which whole numbers are kept where they fit
_ALIGNED = 8
_LENGTH = struct.Struct("<Q")


class ForeignBytesError(ValueError):
    """Bytes that are not what `to_bytes` makes."""


def to_bytes(value: object) -> bytes:
    """Return bytes from which `from_bytes` makes exactly this value.

    Raises:
        TypeError: when there is something in it that is not known here.
    """
    arrays: list[bytes] = []
    head = msgspec.json.encode(_written(value, arrays))
    head += b" " * (-len(head) % _ALIGNED)
    return b"".join((_LENGTH.pack(len(head)), head, *arrays))


def from_bytes(content: bytes) -> Any:
    """Return the value that bytes were made of; its arrays cannot be written to.

    Raises:
        ForeignBytesError: when they are not what `to_bytes` makes.
    """
    try:
        (length,) = _LENGTH.unpack_from(content)
        start = _LENGTH.size + length
        if start > len(content):
            raise ForeignBytesError("the head is cut short")
        return _Reading(memoryview(content)[start:]).value(read_json(content[_LENGTH.size : start].decode()))
    except (struct.error, ValueError, TypeError, LookupError, AttributeError, msgspec.MsgspecError) as error:
        raise ForeignBytesError(str(error)) from error


@singledispatch
def _written(value: object, arrays: list[bytes]) -> Any:
    """Write a value as JSON, by its kind; arrays go to the end of those there are."""
    if is_dataclass(value) and type(value) in KINDS.values():
        return [type(value).__name__, *_each((getattr(value, field.name) for field in fields(value)), arrays)]
    raise TypeError(f"{type(value).__name__} is not known here")


def _each(values: Iterable[object], arrays: list[bytes]) -> list[Any]:
    return [_written(value, arrays) for value in values]


@_written.register(bool | NoneType)
def _as_itself(value: bool | None, _: list[bytes]) -> Any:
    return value


@_written.register
def _text(value: str, _: list[bytes]) -> Any:
    return ["", value]


@_written.register
def _int(value: int, _: list[bytes]) -> Any:
    return ["int", str(value)]


@_written.register
def _float(value: float, _: list[bytes]) -> Any:
    return ["float", value.hex()]


@_written.register
def _phrase(value: Phrase, arrays: list[bytes]) -> Any:
    values = _written(dict(value.values), arrays)
    return ["phrase", english(value), value.template, values, _each(value.parts, arrays)]


@_written.register
def _flag(value: Flag, _: list[bytes]) -> Any:
    return ["flag", value.name, value.value]


@_written.register
def _call(value: CommandCall, _: list[bytes]) -> Any:
    return ["call", value.word, *value.words]


@_written.register(np.generic | np.str_)  # a text of numpy is a text, too: taken for one it would come back as another
def _number(value: np.generic, arrays: list[bytes]) -> Any:
    return ["number", _dtype_of(value), _written(np.array([value]), arrays)]


@_written.register(tuple)
def _tuple(value: tuple[object, ...], arrays: list[bytes]) -> Any:
    return ["tuple", *_each(value, arrays)]


@_written.register(list)
def _list(value: list[object], arrays: list[bytes]) -> Any:
    return ["list", *_each(value, arrays)]


@_written.register(Mapping)
def _dict(value: Mapping[object, object], arrays: list[bytes]) -> Any:
    return ["dict", *_each(value.items(), arrays)]


@_written.register(np.ndarray)
def _array(array: NDArray[Any], arrays: list[bytes]) -> Any:
    kind = _dtype_of(array)
    array = np.ascontiguousarray(array).reshape(array.shape)
    narrow = next((each for each in _NARROW if kind == "<i8" and _fits(array, each)), kind)
    content = array.astype(narrow).tobytes()
    arrays.append(content + bytes(-len(content) % _ALIGNED))
    return ["array", kind, narrow, *array.shape]


def _dtype_of(value: np.generic | NDArray[Any]) -> str:
    if value.dtype.str not in DTYPES:
        raise TypeError(f"numbers of the kind {value.dtype.str} are not known here")
    return value.dtype.str


def _fits(array: NDArray[Any], kind: str) -> bool:
    ends = np.iinfo(kind)
    return not array.size or bool(array.min() >= ends.min and array.max() <= ends.max)


class _Reading:
    """One pass over what was written."""

    def __init__(self, arrays: memoryview) -> None:
        self._arrays, self._at = arrays, 0
        self._makers: dict[str, Callable[..., Any]] = {
            "": str,
            "int": int,
            "float": float.fromhex,
            "flag": flag,
            "call": call,
            "array": self._array,
        }

    def value(self, written: Any) -> Any:
        """Make the value that was written."""
        if written is None or isinstance(written, bool):
            return written
        kind, *rest = written
        if kind in self._makers:
            return self._makers[kind](*rest)
        if kind == "phrase":
            whole, template, values, parts = rest
            named = self.value(values)  # in the order in which they were written: so stand their arrays
            return Phrase.made(whole, template, named, tuple(self.value(part) for part in parts))
        if kind == "number":
            return self.value(rest[1])[0]
        items = [self.value(item) for item in rest]
        plain: dict[str, Callable[[Any], Any]] = {"tuple": tuple, "list": list, "dict": dict}
        return plain[kind](items) if kind in plain else KINDS[kind](*items)

    def _array(self, kind: str, narrow: str, *shape: int) -> NDArray[Any]:
        if kind not in DTYPES or narrow not in (kind, *_NARROW):
            raise ForeignBytesError(f"numbers of the kind {narrow}")
        count = int(np.prod(shape, dtype=np.int64))
        size = count * np.dtype(narrow).itemsize
        content = self._arrays[self._at : self._at + size]
        if len(content) != size:
            raise ForeignBytesError("an array is cut short")
        self._at += size + -size % _ALIGNED
        array = np.frombuffer(content, dtype=narrow).astype(kind, copy=False).reshape(shape)
        array.flags.writeable = False
        return array
