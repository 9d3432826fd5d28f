"""What was worked out comes back bit for bit, or not at all; and it is never in the way."""

import os
import stat
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from workbench.files.cache import digests
from workbench.files.cache import folder as cache
from workbench.files.cache.digests import digest, digest_of_program
from workbench.files.cache.lasting import ForeignBytesError, from_bytes, to_bytes
from workbench.model.evidence import Delay
from workbench.model.log import Channel
from workbench.model.packing import Column
from workbench.phrases import CommandCall, Flag, Phrase, call, flag, join_phrases, phrase

KEY = "1f" * 32
VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False)
    | st.text(st.characters(exclude_categories=["Cs"]))
    | arrays.arrays(np.float64, st.integers(0, 5), elements=st.floats(allow_nan=False))
    | arrays.arrays(np.int64, (2, 3))
    | arrays.arrays(np.bool_, 3),
    lambda inner: (
        st.lists(inner) | st.lists(inner).map(tuple) | st.dictionaries(st.text("ab") | st.integers(0, 3), inner)
    ),
    max_leaves=12,
)


@pytest.fixture(autouse=True)
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(cache.SWITCH, str(tmp_path / "kept"))
    return tmp_path / "kept"


def same(left: object, right: object) -> bool:
    if isinstance(left, np.ndarray) and isinstance(right, np.ndarray):
        return (left.dtype, left.shape, left.tobytes()) == (right.dtype, right.shape, right.tobytes())
    if isinstance(left, tuple | list) and isinstance(right, tuple | list):
        return len(left) == len(right) and all(map(same, left, right)) and type(left) is type(right)
    if isinstance(left, dict) and isinstance(right, dict):
        return list(left) == list(right) and all(same(left[key], right[key]) for key in left)
    return type(left) is type(right) and repr(left) == repr(right)


@given(VALUES)
def test_values_come_back_as_they_were(value: object) -> None:
    assert same(from_bytes(to_bytes(value)), value)


@pytest.mark.parametrize("number", [np.nan, -np.nan, np.inf, -0.0, 5e-324, 0.1])
def test_odd_numbers_keep_their_bits(number: float) -> None:
    values = np.array([number])
    assert from_bytes(to_bytes(values)).tobytes() == values.tobytes()
    assert repr(from_bytes(to_bytes(number))) == repr(float(number))
    assert repr(from_bytes(to_bytes(values[0]))) == repr(values[0])


def test_records_come_back() -> None:
    delay = Delay(0.1, 1.5, 0.08, "estimated", 0.01, phrase("{n} steps told it", n=12))
    back = from_bytes(to_bytes({3: delay}))[3]
    assert back == delay
    assert back.carried_by.template == "{n} steps told it"


def test_sentences_stay_translatable() -> None:
    told = join_phrases(
        " ",
        (
            phrase("{a} of {b:.1f} with {flag}", a=np.int64(3), b=np.float64(2.5), flag=flag("from", "N")),
            "and",
            phrase("run {command}", command=call("check", "SESSION")),
        ),
    )
    back = from_bytes(to_bytes(told))
    assert back == told
    assert isinstance(back, Phrase)
    first, last = back.parts[0], back.parts[-1]
    assert isinstance(first, Phrase)
    assert isinstance(last, Phrase)
    assert (first.template, first.values["a"]) == ("{a} of {b:.1f} with {flag}", 3)
    assert isinstance(first.values["flag"], Flag)
    assert isinstance(last.values["command"], CommandCall)
    assert to_bytes(back) == to_bytes(told)


@pytest.mark.parametrize(
    "value", [object(), {1, 2}, np.zeros(2, np.float32), np.str_("text"), b"bytes", 1j, Column(np.zeros(1))]
)
def test_what_is_not_known_is_not_written(value: object) -> None:
    with pytest.raises(TypeError):
        to_bytes(value)


def test_what_comes_back_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="read-only"):
        from_bytes(to_bytes(np.arange(3)))[0] = 1


@given(st.data())
def test_bytes_that_were_cut_or_altered_never_do_harm(data: st.DataObject) -> None:
    whole = to_bytes((Delay(0.1, 1.5, 0.08, "default"), np.arange(5.0), phrase("{n}", n=2), {"a": [1, None]}))
    at = data.draw(st.integers(0, len(whole) - 1))
    altered = whole[:at] + bytes([data.draw(st.integers(0, 255))]) + whole[at + 1 :]
    for content in (whole[:at], altered):
        with suppress(ForeignBytesError):
            from_bytes(content)


def test_a_result_is_found_under_its_key_alone(place: Path) -> None:
    assert cache.find(KEY) is None
    cache.keep(KEY, b"found out")
    assert cache.find(KEY) == b"found out"
    other = KEY[::-1]
    (place / f"{KEY}.result").rename(place / f"{other}.result")
    assert cache.find(other) is None
    assert list(place.iterdir()) == []  # it was foreign, and is gone


@pytest.mark.parametrize("content", [b"", b"workbench result 1\n", b"x" * 200])
def test_damaged_results_are_deleted(place: Path, content: bytes) -> None:
    cache.keep(KEY, b"found out")
    (place / f"{KEY}.result").write_bytes(content)
    assert cache.find(KEY) is None
    assert list(place.iterdir()) == []


def test_one_flipped_bit_is_seen(place: Path) -> None:
    cache.keep(KEY, bytes(300))
    path = place / f"{KEY}.result"
    content = bytearray(path.read_bytes())
    content[-100] ^= 4
    path.write_bytes(content)
    assert cache.find(KEY) is None


def test_the_least_used_make_room(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "MOST_BYTES", 1000)
    keys = [f"{number:064x}" for number in range(4)]
    for number, key in enumerate(keys):
        cache.keep(key, bytes(190))
        os.utime(place / f"{key}.result", (number, number))
    assert cache.find(keys[0]) is not None  # used just now
    left = place / ".workbench-0123456789abcdef.new"
    left.write_bytes(b"of a program that was killed")
    os.utime(left, (0, 0))
    cache.keep(KEY, bytes(190))
    assert sorted(path.name for path in place.iterdir()) == sorted(f"{key}.result" for key in (keys[0], *keys[2:], KEY))


def test_what_is_too_large_is_not_kept(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "LARGEST", 10)
    cache.keep(KEY, bytes(11))
    assert not place.exists()


def test_a_place_that_cannot_be_used_is_never_in_the_way(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place.write_text("a file")
    cache.keep(KEY, b"found out")
    assert cache.find(KEY) is None
    assert place.read_text() == "a file"
    for nowhere in ("off", "/dev/null/cache", "/proc/none"):
        monkeypatch.setenv(cache.SWITCH, nowhere)
        cache.keep(KEY, b"found out")
        assert cache.find(KEY) is None
        cache.forget(KEY)


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="the system has no such owners")
def test_a_folder_that_others_may_write_to_is_not_used(place: Path) -> None:
    cache.keep(KEY, b"found out")
    assert stat.S_IMODE(place.stat().st_mode) == 0o700
    place.chmod(0o777)
    assert cache.find(KEY) is None
    cache.keep(KEY[::-1], b"found out")
    assert [path.name for path in place.iterdir()] == [f"{KEY}.result"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no pipes with names")
def test_a_pipe_in_place_of_a_result_does_not_hang(place: Path) -> None:
    cache.keep(KEY[::-1], b"found out")
    os.mkfifo(place / f"{KEY}.result")
    assert cache.find(KEY) is None


@pytest.mark.parametrize(
    ("environment", "system", "expected"),
    [
        ({"HOME": "/home/a"}, "linux", "/home/a/.cache/calibration-workbench"),
        ({"HOME": "/home/a", "XDG_CACHE_HOME": "/var/a"}, "linux", "/var/a/calibration-workbench"),
        ({"HOME": "/home/a", "XDG_CACHE_HOME": "not/absolute"}, "linux", "/home/a/.cache/calibration-workbench"),
        ({"HOME": "/Users/a"}, "darwin", "/Users/a/Library/Caches/calibration-workbench"),
        ({}, "linux", None),
        ({}, "win32", None),
        ({"HOME": "/home/a", "WORKBENCH_CACHE": "off"}, "linux", None),
        ({"HOME": "/home/a", "WORKBENCH_CACHE": "/else"}, "linux", "/else"),
    ],
)
def test_the_place_follows_the_system(environment: dict[str, str], system: str, expected: str | None) -> None:
    found = cache.place(environment, system)
    assert (None if found is None else found.as_posix()) == expected


def test_the_place_on_windows() -> None:
    assert "Cache" in str(cache.place({"LOCALAPPDATA": "C:\\Users\\a\\AppData\\Local"}, "win32"))
    assert "AppData" in str(cache.place({"USERPROFILE": "C:\\Users\\a"}, "win32"))


def test_digests_differ_wherever_a_value_does() -> None:
    packed = Column(packed=Column(np.arange(3.0)).pack(), rows=3)
    values = [
        *(None, True, False, 0, 1, 1.0, -0.0, 0.0, "1", "", b"", b"1", (), ((),), ("a", "b"), ("ab",), frozenset({1})),
        *({"a": 1}, {"a": 2}, np.zeros(2), np.zeros((2, 1)), np.zeros(2, dtype=np.int64), np.float64(1.0)),
        *(Column(np.arange(3.0)), Column(np.arange(1.0, 4.0)), packed),
        *(Delay(0.1, 1.5, 0.08, "default"), Delay(0.1, 1.5, 0.09, "default")),
        Channel("MAF", "g/s", Column(np.zeros(2))),
    ]
    found = [digest(value) for value in values]
    assert len(set(found)) == len(values)
    assert [digest(value) for value in values] == found
    assert digest("a", "b") != digest("ab")
    assert digest({"a": 1, "b": 2}) == digest({"b": 2, "a": 1})
    with pytest.raises(TypeError):
        digest(object())


def test_a_digest_is_the_same_after_the_columns_were_written(tmp_path: Path) -> None:
    column = Column(np.arange(4.0))
    column.pack()
    assert digest(column) == digest(Column(packed=column.pack(), rows=4))
    channel = Channel("MAF", "g/s", column)
    assert digest(channel) != digest(replace(channel, unit="kg/h"))


@pytest.fixture
def house(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Path]:
    """A program of one module, which was there before the program began."""
    monkeypatch.setattr(digests, "HOUSE", tmp_path)
    monkeypatch.setattr(digests, "_BEGAN_NS", time.time_ns() + 10**12)
    (tmp_path / "maths").mkdir()
    (tmp_path / "maths" / "sums.py").write_text("a = 1\n")
    yield tmp_path
    digest_of_program.cache_clear()


def program_now() -> str:
    digest_of_program.cache_clear()
    return digest_of_program("maths")


def test_the_program_s_digest_follows_its_source(house: Path) -> None:
    found = [program_now(), program_now()]
    (house / "maths" / "sums.py").write_text("a = 2\n")
    found.append(program_now())
    (house / "maths" / "more.py").write_text("")
    found.append(program_now())
    for each in (house / "maths").iterdir():
        each.unlink()
    found.append(program_now())  # as in a bundle: the program's own file
    assert found[0] == found[1]
    assert len(set(found)) == 4
    assert all(found)


def test_a_program_whose_source_was_changed_while_it_runs_keeps_nothing(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(digests, "_BEGAN_NS", (house / "maths" / "sums.py").stat().st_ctime_ns)
    assert program_now()
    os.utime(house / "maths" / "sums.py", (time.time() + 60,) * 2)
    assert program_now() == ""
