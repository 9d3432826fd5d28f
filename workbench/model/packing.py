"""Samples kept exactly, in few bytes and little time.

A short channel is deflated as it is. A long one would take longer to deflate than to read, so it is looked at first:
values that were written with a few decimals are whole numbers divided by a power of ten, and those fit in one, two or
four bytes; values that came as single precision fit in four. What is made is held against the values bit for bit; the
few that differ (missing ones, a negative zero) are kept beside it. What deflates well is then deflated too.

The bytes of a long channel begin with a mark that no deflated bytes begin with. Another way of packing takes one of the
marks that are kept for it, so that a program that does not know it can say so.
"""

import struct
import weakref
import zlib
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from workbench.errors import FileError
from workbench.model.arrays import BoolArray, FloatArray, frozen
from workbench.phrases import call, phrase

LONG = 100_000  # values; fewer are deflated in no time
MOST = 12_000_000  # values of a channel; 33 hours at 100 Hz, and less than 100 MB that a file can claim to hold
_MARK = 1
_NEWER_MARKS = range(2, 32)  # deflated bytes begin with 0x78 (RFC 1950)
_HEAD = struct.Struct("<BBBBqQQQ")  # mark, kind, decimals, deflated, lowest whole number, values, bytes of odd ones: 2
_KINDS = ("<u1", "<u2", "<u4", "<f4", "<f8")
_SINGLE, _DOUBLE = 3, 4
_MOST_DECIMALS = 6
_MOST_ODD = 0.02  # of the values
_BLOCK = 32_768  # values that stay in the processor's cache from one step to the next
_TRIAL = 1000
_TRIAL_BYTES = 8192
_WORTH = 0.25  # deflated bytes must be fewer than this share
_FASTEST = 1  # higher levels of deflating take thrice the time for a tenth


def pack(values: FloatArray) -> bytes:
    """Return bytes from which `unpack` makes exactly these values, shape (values,), down to the kind of NaN."""
    values = np.ascontiguousarray(values, dtype="<f8")
    if values.size < LONG:
        return zlib.compress(values.tobytes(), _FASTEST)
    decimals = _decimals(values)
    packed = None if decimals is None else _pack_whole(values, decimals)
    return packed or _pack_floats(values)


def unpack(packed: bytes, size: int) -> FloatArray:
    """Return the values that were packed, shape (size,); never more bytes are taken up than they need.

    Raises:
        ValueError: when the bytes are not what `pack` makes of so many values.
    """
    try:
        if not 0 <= size <= MOST:
            raise ValueError(phrase("{size} values are more than a log can have", size=size))
        values = _unpack_long(packed, size) if is_long(packed) else np.frombuffer(_inflate(packed, 8 * size), "<f8")
    except (struct.error, zlib.error) as error:
        raise ValueError(str(error)) from error
    return values


def _inflate(packed: bytes | memoryview, size: int) -> bytes:
    """Inflate bytes that must come to so many; a few may claim to be very many."""
    inflater = zlib.decompressobj()
    content = inflater.decompress(packed, size + 1)
    if len(content) != size or not inflater.eof or inflater.unused_data:
        raise ValueError("the number of values differs")
    return content


def is_long(packed: bytes) -> bool:
    """Return whether bytes are those of a long channel."""
    return packed[:1] == bytes([_MARK])


def is_newer(packed: bytes) -> bool:
    """Return whether bytes were packed in a way that only a newer version of the workbench knows."""
    return packed[:1] != b"" and (
        packed[0] in _NEWER_MARKS or (is_long(packed) and packed[1:2] >= bytes([len(_KINDS)]))
    )


def _unpack_long(packed: bytes, wanted: int) -> FloatArray:
    _, kind, decimals, deflated, lowest, size, mask_bytes, odd_bytes = _HEAD.unpack_from(packed)
    at = _HEAD.size + mask_bytes + odd_bytes
    if kind >= len(_KINDS) or decimals > _MOST_DECIMALS or at > len(packed):
        raise ValueError("the header is invalid")
    if size != wanted:
        raise ValueError("the number of values differs")
    body = memoryview(packed)[at:]
    numbers = np.frombuffer(_inflate(body, size * int(_KINDS[kind][2:])) if deflated else body, dtype=_KINDS[kind])
    if numbers.size != size:
        raise ValueError("the number of values differs")
    values = numbers.astype(np.float64)
    if kind < _SINGLE:
        values += lowest
        values /= 10.0**decimals
    if mask_bytes:
        mask = np.frombuffer(_inflate(packed[_HEAD.size : _HEAD.size + mask_bytes], -(-size // 8)), dtype=np.uint8)
        places = np.unpackbits(mask, count=size).astype(np.bool_)
        odd = _inflate(packed[_HEAD.size + mask_bytes : at], 8 * int(np.count_nonzero(places)))
        values[places] = np.frombuffer(odd, dtype="<f8")
    return values


def _decimals(values: FloatArray) -> int | None:
    """Find how many decimals most of some values are written with, chosen here and there and in a row; or None."""
    middle = values.size // 2
    trial = np.concatenate([values[:: max(1, values.size // _TRIAL)], values[middle : middle + _TRIAL]])
    trial = trial[np.isfinite(trial)]
    for decimals in range(_MOST_DECIMALS + 1):
        scale = 10.0**decimals
        with np.errstate(over="ignore"):
            same = np.rint(trial * scale) / scale == trial
        if np.count_nonzero(same) >= (1 - _MOST_ODD) * trial.size:
            return decimals
    return None


def _pack_whole(values: FloatArray, decimals: int) -> bytes | None:
    """Pack values as whole numbers; None where they do not fit."""
    scale = 10.0**decimals
    with np.errstate(all="ignore"):
        lowest = np.rint(np.fmin.reduce(values) * scale)
        span = np.rint(np.fmax.reduce(values) * scale) - lowest
        if not (abs(lowest) < 2.0**51 and span < 2.0**32):  # also where there is no value at all
            return None
        kind = 0 if span < 2**8 else 1 if span < 2**16 else 2
        numbers = np.empty(values.size, dtype=_KINDS[kind])
        odd = np.empty(values.size, dtype=np.bool_)
        room = np.empty(_BLOCK)
        for start in range(0, values.size, _BLOCK):
            block, kept = values[start : start + _BLOCK], numbers[start : start + _BLOCK]
            counts = room[: block.size]
            np.rint(np.multiply(block, scale, out=counts), out=counts)
            kept[:] = np.subtract(counts, lowest, out=counts)
            back = np.divide(np.add(kept, lowest, out=counts), scale, out=counts)
            np.not_equal(back.view(np.int64), block.view(np.int64), out=odd[start : start + _BLOCK])
    left = values[odd]
    if left.size > _MOST_ODD * values.size and np.any(left.view(np.int64) != left.view(np.int64)[0]):
        return None
    return _joined(kind, decimals, int(lowest), numbers.view(np.uint8), odd, left)


def _pack_floats(values: FloatArray) -> bytes:
    """Pack values in single precision where that is exact, else as they are."""
    with np.errstate(all="ignore"):
        single = values.astype("<f4")
        exact = np.array_equal(single.astype("<f8").view(np.int64), values.view(np.int64))
    none = np.zeros(values.size, dtype=np.bool_)
    body = single.view(np.uint8) if exact else values.view(np.uint8)
    return _joined(_SINGLE if exact else _DOUBLE, 0, 0, body, none, values[:0])


def _joined(kind: int, decimals: int, lowest: int, body: NDArray[np.uint8], odd: BoolArray, left: FloatArray) -> bytes:
    middle = body[body.size // 2 :][:_TRIAL_BYTES].tobytes()
    deflated = len(zlib.compress(middle, _FASTEST)) < _WORTH * len(middle)
    mask = zlib.compress(np.packbits(odd).tobytes(), _FASTEST) if left.size else b""
    values = zlib.compress(left.tobytes(), _FASTEST) if left.size else b""
    head = _HEAD.pack(_MARK, kind, decimals, deflated, lowest, odd.size, len(mask), len(values))
    return b"".join((head, mask, values, zlib.compress(body.data, _FASTEST) if deflated else body.data))


class Column:
    """A channel's values, kept as packed bytes, or not worked out, until they are first asked for."""

    def __init__(
        self,
        values: FloatArray | None = None,
        packed: bytes = b"",
        rows: int = 0,
        make: Callable[[], FloatArray] | None = None,
    ) -> None:
        """Take the values (n,) themselves; or the number of rows with the bytes that `pack` made or what makes them."""
        self._values = None if values is None else frozen(values)
        self._lent: weakref.ref[FloatArray] | None = None  # to whom they are of use; none are kept for nobody
        self._packed, self._make = packed, make
        self.rows = rows if values is None else int(np.size(values))

    @property
    def values(self) -> FloatArray:
        """The values, shape (rows,), float64, NaN where missing.

        Raises:
            FileError: when the bytes are not what `pack` made.
        """
        values = self._values  # another thread may let go of them meanwhile
        if values is None:
            values = self._values = frozen(self.unpacked())
        return values

    def let_go(self) -> None:
        """Keep the values no longer where they can be unpacked again; whoever has them keeps them."""
        values = self._values
        if self._packed and values is not None:
            self._lent, self._values = weakref.ref(values), None

    def unpacked(self) -> FloatArray:
        """Return the values, shape (rows,), without keeping them.

        Raises:
            FileError: when the bytes are not what `pack` made.
        """
        values = self._values
        if values is None and self._lent is not None:
            values = self._lent()
        if values is not None:
            return values
        if self._make is not None:
            return self._make()
        try:
            return unpack(self._packed, self.rows)
        except ValueError as error:
            raise FileError(
                "The samples of a channel in the session file are damaged.",
                phrase("Run: {check_command}", check_command=call("check", "SESSION")),
            ) from error

    def pack(self) -> bytes:
        """Return the bytes that keep these values exactly."""
        if not self._packed:
            self._packed = pack(self.values)
        return self._packed

    def standing_for(self) -> bytes:
        """Return bytes that no other values have: the packed ones where there are any, told apart by how they begin."""
        return b"packed " + self._packed if self._packed else b"plain " + self.unpacked().astype("<f8").tobytes()

    def digested(self) -> bytes | memoryview:
        """Return the bytes that stand for these values in a digest.

        Of a short channel the values themselves, however they were deflated; of a long one, which take too long to go
        through, the packed ones that are kept.
        """
        packed = self.pack()
        return packed if is_long(packed) else self.unpacked().astype("<f8", copy=False).data.cast("B")
