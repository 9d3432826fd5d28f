"""Samples are kept bit for bit, however they are packed."""

import zlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.errors import FileError
from workbench.model import packing
from workbench.model.arrays import FloatArray
from workbench.model.packing import Column

ROWS = packing.LONG + 7


def draw(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


def same(one: FloatArray, other: FloatArray) -> bool:
    return np.array_equal(one.view(np.int64), other.view(np.int64))


def missing_here_and_there(values: FloatArray, share: float) -> FloatArray:
    return np.where(draw(9).random(values.size) < share, np.nan, values)


LONG_ONES = {
    "three decimals": np.round(draw().normal(20, 5, ROWS), 3),
    "around zero, with negative zeros": np.round(draw().normal(0, 0.001, ROWS), 3),
    "whole numbers": np.rint(draw().normal(3000, 20, ROWS)),
    "few levels": np.rint(draw().normal(3, 1, ROWS)),
    "constant": np.full(ROWS, 1.25),
    "a clock": np.arange(ROWS) * 0.05,
    "a clock since 1970": np.round(1.7e9 + np.arange(ROWS) * 0.1, 1),
    "single precision": draw().normal(0, 1, ROWS).astype(np.float32).astype(np.float64),
    "all digits": draw().normal(0, 1, ROWS),
    "some missing": missing_here_and_there(np.round(draw().normal(20, 5, ROWS), 2), 0.01),
    "most missing": missing_here_and_there(np.round(draw().normal(20, 5, ROWS), 2), 0.9),
    "all missing": np.full(ROWS, np.nan),
    "infinite": np.where(np.arange(ROWS) == 5, np.inf, 1.5),
    "huge": draw().normal(0, 1e300, ROWS),
    "huge and even": np.rint(draw().normal(0, 1, ROWS)) * 1e17,
    "tiny": draw().normal(0, 1e-310, ROWS),
    "mostly short": np.where(
        draw(2).random(ROWS) < 0.001, draw(3).normal(0, 1, ROWS), np.round(draw().random(ROWS), 1)
    ),
    "short where it is looked at": np.where(np.arange(ROWS) % 100 == 0, 1.0, draw().random(ROWS)),
}


@pytest.mark.parametrize("name", LONG_ONES)
def test_long_channels_come_back_bit_for_bit(name: str) -> None:
    values = LONG_ONES[name]
    packed = packing.pack(values)
    assert packing.is_long(packed)
    assert len(packed) < 8.01 * values.size
    assert same(packing.unpack(packed, values.size), values)


@pytest.mark.parametrize(
    ("name", "most"),
    [
        ("three decimals", 2.1),
        ("around zero, with negative zeros", 1.3),
        ("few levels", 1.1),
        ("constant", 0.01),
        ("single precision", 4.1),
        ("most missing", 2.4),
        ("all missing", 0.1),
    ],
)
def test_values_that_need_few_bytes_get_few(name: str, most: float) -> None:
    assert len(packing.pack(LONG_ONES[name])) < most * ROWS


@given(
    st.integers(0, 2**32), st.integers(0, 6), st.floats(-1e6, 1e6), st.floats(0, 1e6), st.sampled_from([0, 0.001, 0.5])
)
def test_numbers_as_loggers_write_them_come_back(
    seed: int, decimals: int, level: float, size: float, gone: float
) -> None:
    values = np.round(draw(seed).normal(level, size, ROWS), decimals)
    values = np.where(draw(seed + 1).random(ROWS) < gone, np.nan, values)
    assert same(packing.unpack(packing.pack(values), values.size), values)


@given(st.lists(st.floats(width=64), max_size=30))
def test_short_channels_are_deflated_as_they_ever_were(numbers: list[float]) -> None:
    """What earlier versions wrote: the values as little-endian float64, deflated at level 1."""
    values = np.array(numbers, dtype=np.float64)
    old = zlib.compress(values.astype("<f8").tobytes(), 1)
    assert packing.pack(values) == old
    assert same(packing.unpack(old, values.size), values)


def test_a_long_channel_of_an_earlier_version_still_opens() -> None:
    """Earlier versions deflated long channels too; and their digest went over the values."""
    values = LONG_ONES["three decimals"]
    old = Column(packed=zlib.compress(values.tobytes(), 1), rows=ROWS)
    assert same(old.values, values)
    assert bytes(old.digested()) == values.tobytes()
    new = Column(values)
    assert new.digested() == new.pack() != old.pack()


@pytest.mark.parametrize("cut", [0, 1, 5, 30, 40, 5000])
def test_damaged_bytes_are_named_so(cut: int) -> None:
    whole = packing.pack(LONG_ONES["some missing"])
    column = Column(packed=whole[:cut], rows=ROWS)
    with pytest.raises(FileError, match="damaged"):
        _ = column.values


@given(st.integers(0, 200), st.integers(0, 255))
def test_a_flipped_byte_is_damage_or_another_value_and_never_a_crash(at: int, byte: int) -> None:
    whole = bytearray(packing.pack(LONG_ONES["some missing"]))
    whole[at] = byte
    try:
        values = Column(packed=bytes(whole), rows=ROWS).values
    except FileError:
        return
    assert values.size == ROWS


def test_what_is_let_go_is_unpacked_again_and_kept_for_who_has_it() -> None:
    values = LONG_ONES["three decimals"]
    column = Column(values)
    column.let_go()
    assert column._values is not None  # it was never packed, so nothing could bring it back
    column.pack()
    mine = column.values
    column.let_go()
    assert column._values is None
    assert column.values is mine
    column.let_go()
    del mine
    assert column._lent() is None
    assert same(column.values, values)
