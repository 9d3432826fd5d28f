"""Arrays that are put aside are the same bit for bit, take no memory while nobody looks at them, and leave nothing."""

import errno
import mmap
import os
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as drawn

from workbench.files.disk import shelf as module
from workbench.files.disk.shelf import MANY_ROWS, Shelf, shelf

pytestmark = pytest.mark.skipif(not hasattr(mmap.mmap, "madvise"), reason="the system takes no memory back")
MEGABYTES = 40
KINDS = st.sampled_from([np.dtype(name) for name in ("f8", "i8", "?", "f4", "u1")])


@given(drawn.arrays(KINDS, drawn.array_shapes(max_dims=3, max_side=9)), st.integers(0, 3))
def test_what_is_put_aside_is_the_same_bit_for_bit(array: np.ndarray[Any, Any], before: int) -> None:
    with pytest.MonkeyPatch.context() as patch, shelf(MANY_ROWS) as place:
        patch.setattr(module, "SMALLEST", 1)
        for number in range(before):
            place.put(np.arange(1.0, 3.0 + number))
        there = place.put(array)
        assert there is not array
        place.rest()
        assert (there.dtype, there.shape, there.strides) == (array.dtype, array.shape, array.strides)
        assert there.tobytes() == array.tobytes()
        assert not there.flags.writeable
        assert there.ctypes.data % 64 == 0
        assert place.put(there) is there


def test_parts_of_others_small_ones_and_those_of_few_rows_stay_where_they_are() -> None:
    whole = np.arange(20_000.0).reshape(10_000, 2)
    with shelf(MANY_ROWS) as place:
        assert all(place.put(each) is each for each in (whole[:, 0], whole[:5000], np.zeros(3)))
        assert place.put(np.asfortranarray(np.ones((100, 100)))).flags.owndata
    with shelf(MANY_ROWS - 1) as place:
        assert place.put(whole) is whole


def test_an_array_larger_than_a_page_has_one_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "PAGE", 1 << 14)
    place = Shelf(usable=True)
    arrays = [np.full(size, float(size)) for size in (1000, 1000, 5000, 600)]
    assert all(place.put(each).tobytes() == each.tobytes() for each in arrays)


def test_nothing_has_a_name_and_a_page_is_gone_with_its_last_array(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setattr(module, "PAGE", 1 << 13)
    opened = len(os.listdir("/proc/self/fd")) if sys.platform == "linux" else 0
    with shelf(MANY_ROWS) as place:
        there = [place.put(np.full(1000, float(k))) for k in range(4)]
        assert not list(tmp_path.iterdir())
        assert len(place._pages) == 4
        del there[1:3]
        assert len(place._pages) == 2
    assert there[0].tolist() == [0.0] * 1000  # what is still of use stays
    del there
    assert len(place._pages) == 0
    if sys.platform == "linux":
        assert len(os.listdir("/proc/self/fd")) == opened


def test_where_the_disk_is_full_arrays_stay_in_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    place, array = Shelf(usable=True), np.ones(10_000)
    first = place.put(np.ones(10_000))
    monkeypatch.setattr(os, "pwrite", full)
    assert place.put(array) is array
    monkeypatch.undo()
    assert place.put(array) is array  # nor is it tried again
    assert first.sum() == 10_000


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_what_was_looked_at_gives_its_memory_back(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "EVERY_S", 3600.0)  # only when it is told to
    place, there = full_shelf()
    before = resident_kb()
    assert sum(each.sum() for each in there) == (1 << 17) * sum(range(MEGABYTES))
    looked_at = resident_kb()
    place.rest()
    assert looked_at - before > 0.8 * 1024 * MEGABYTES
    assert resident_kb() - before < 0.2 * 1024 * MEGABYTES
    assert there[7][:3].tolist() == [7.0, 7.0, 7.0]


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_it_gives_memory_back_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "EVERY_S", 0.01)
    _place, there = full_shelf()
    before = resident_kb()
    for each in there:
        each.sum()
    end = time.monotonic() + 10
    while resident_kb() - before >= 0.2 * 1024 * MEGABYTES and time.monotonic() < end:
        time.sleep(0.02)
    assert resident_kb() - before < 0.2 * 1024 * MEGABYTES


def full_shelf() -> tuple[Shelf, list[np.ndarray[Any, Any]]]:
    """A shelf with arrays of a megabyte each, none of them in memory."""
    place = Shelf(usable=True)
    there = [place.put(np.full(1 << 17, float(k))) for k in range(MEGABYTES)]
    place.rest()
    return place, there


def resident_kb() -> int:
    lines = Path("/proc/self/status").read_text().splitlines()
    return int(next(line.split()[1] for line in lines if line.startswith("VmRSS")))
