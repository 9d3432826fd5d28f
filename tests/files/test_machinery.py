"""What readers are made of: work aside, bounds, merging, blocks of text."""

import io
import threading
import time
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.errors import FileError
from workbench.files.channels.merging import hold, is_sparse, merge
from workbench.files.disk.text_decoding import Text, decode_head, utf8_blocks
from workbench.files.formats.subprocess_reader import aside, quietly
from workbench.files.logs import read_log
from workbench.files.text.delimited import read_delimited
from workbench.files.vocabulary.recording import Series, listed, there
from workbench.work import Cancelled, Progress, run


def test_work_aside_gives_its_result_or_its_fault() -> None:
    assert run(aside(lambda: 42, "counting")) == 42

    def fail() -> None:
        raise KeyError("x")

    with pytest.raises(KeyError):
        run(aside(fail, "failing"))


def test_work_aside_is_left_behind_when_it_is_not_wanted_any_more() -> None:
    gate = threading.Event()
    job = aside(gate.wait, "waiting")
    assert next(job).text == "waiting"
    job.close()
    gate.set()


def test_what_a_library_prints_is_not_ours_to_say(capsys: pytest.CaptureFixture[str]) -> None:
    quietly(lambda: print("noise"))
    assert capsys.readouterr().out == ""


def test_reading_is_cancelled_at_once_and_leaves_nothing(tmp_path: Path) -> None:
    path = tmp_path / "large.csv"
    row = ",".join(f"{i}.25" for i in range(20))
    path.write_text("Time (s)," + ",".join(f"c{i}" for i in range(20)) + "\n" + f"1,{row}\n" * 150_000)
    seen: list[Progress] = []

    def enough() -> bool:
        return len(seen) > 2

    with pytest.raises(Cancelled):
        run(read_log(path), seen.append, enough)
    assert seen[-1].done <= path.stat().st_size
    assert [p.name for p in tmp_path.iterdir()] == ["large.csv"]
    end = time.monotonic() + 20
    while any(thread.name.startswith("reading") for thread in threading.enumerate()) and time.monotonic() < end:
        time.sleep(0.01)
    assert not any(thread.name.startswith("reading") for thread in threading.enumerate())


def test_progress_rises(tmp_path: Path) -> None:
    path = tmp_path / "large.csv"
    path.write_text("Time (s),rpm\n" + "".join(f"{i / 10},{900 + i % 7}\n" for i in range(1_500_000)))
    seen: list[Progress] = []
    log = run(read_log(path), seen.append)
    assert log.rows == 1_500_000
    done = [step.done for step in seen if step.total == path.stat().st_size]
    assert done == sorted(done)
    assert len(set(done)) > 1


def test_odd_lines_in_a_late_block_are_told_with_their_number(tmp_path: Path) -> None:
    path = tmp_path / "large.csv"
    lines = [f"{i / 10},{900 + i % 7},12.34567890123" for i in range(700_000)]
    lines[600_000] = "60000,1"
    lines[650_000] = "65000,oops,1"
    path.write_text("Time (s),rpm,x\n" + "\n".join(lines) + "\n")
    log = run(read_log(path))
    assert log.rows == 699_999
    assert any("line 600002" in note for note in log.notes)
    assert any("line 650002" in note and "'oops'" in note for note in log.notes)
    channel = log.channel("rpm")
    assert channel is not None
    assert channel.values[599_999] == 900 + 599_999 % 7
    assert np.isnan(channel.values[649_999])


@given(
    st.lists(st.text(st.characters(codec="utf-8", exclude_characters="\n\r\0"), max_size=30), min_size=1, max_size=40)
)
def test_blocks_hold_whole_lines_and_lose_nothing(lines: list[str]) -> None:
    content = "\n".join(lines).encode()
    for size in (1, 7, 64):
        blocks = list(utf8_blocks(io.BytesIO(content), Text("", "utf-8"), size))
        assert b"".join(blocks) == content.removeprefix("\ufeff".encode())
        assert all(block.endswith(b"\n") for block in blocks[:-1])


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-be", "utf-32", "utf-8-sig", "cp1252"])
def test_blocks_are_utf_8_whatever_the_file_is(encoding: str) -> None:
    text = "Zeit;Drehzahl;Kühlmittel\n" + "1;2;3\n" * 500
    content = text.encode(encoding)
    if encoding == "utf-16-be":
        content = b"\xfe\xff" + content
    file = io.BytesIO(content)
    head = decode_head(file, "x")
    assert b"".join(utf8_blocks(file, head, 100)).decode() == text


def test_a_line_without_end_is_refused() -> None:
    file = io.BytesIO(b"1;2\n" + b"9" * 100_000_000)
    with pytest.raises(FileError, match="longer than"):
        run(read_delimited(file, "x", 100_000_004))


def test_series_meet_on_the_union_of_their_times() -> None:
    one = Series("a", "", np.array([0.0, 1.0, 5.0]), np.array([1.0, 2.0, 3.0]))
    other = Series("b", "", np.array([0.5, 1.0]), np.array([10.0, 20.0]))
    found = merge("x", [one, other], [], 1.0)
    assert found.time is not None
    assert found.time.tolist() == [0, 0.5, 1, 5]
    np.testing.assert_array_equal(found.fields[0].values, [1, 1, 2, 3])
    np.testing.assert_array_equal(found.fields[1].values, [np.nan, 10, 20, np.nan])


@given(
    st.lists(st.floats(0, 100), min_size=1, max_size=20, unique=True),
    st.lists(st.floats(0, 100), min_size=1, max_size=20, unique=True),
    st.floats(0, 5),
)
def test_no_value_stands_longer_than_the_window(first: list[float], second: list[float], window: float) -> None:
    series = [
        Series(name, "", np.array(sorted(times)), np.array(sorted(times)))
        for name, times in (("a", first), ("b", second))
    ]
    found = merge("x", series, [], window)
    assert found.time is not None
    for field in found.fields:
        age = found.time - field.values
        assert np.all((age >= 0) | np.isnan(age))
        assert np.all((age <= window * (1 + 1e-9)) | np.isnan(age))


def test_same_names_are_told_apart() -> None:
    time_ = np.arange(3.0)
    found = merge("x", [Series("a", "", time_, time_), Series("a", "", time_, time_ + 1)], [], 1.0)
    assert [field.name for field in found.fields] == ["a", "a #2"]
    assert any("more than once" in note for note in found.notes)


def test_holding_and_sparseness() -> None:
    nan = float("nan")
    values = np.array([nan, 1, nan, nan, 2])
    np.testing.assert_array_equal(hold(values, np.arange(5.0), 1.0), [nan, 1, 1, nan, 2])
    assert is_sparse(values)
    assert not is_sparse(np.ones(5))
    assert not is_sparse(np.full(5, nan))
    assert not is_sparse(np.empty(0))


def test_choices_of_very_many_values() -> None:
    assert there(np.array([1.0, np.nan, 2.0])).tolist() == [1, 2]
    assert 40_000 < there(np.ones(1_000_000)).size < 110_000
    rare = np.full(1_000_000, np.nan)
    rare[17] = 3.0
    assert there(rare).tolist() == [3]
    assert listed(["a", "b"], 5) == "a, b and 3 more"
