"""The fast reader takes a block only where the careful one would read the very same and find nothing odd."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from workbench.files.text import delimited
from workbench.files.text.layout import Layout, find_layout
from workbench.work import run

NUMBERS = st.one_of(
    st.integers(-10_000, 10_000).map(str),
    st.floats(-1e4, 1e4).map(lambda value: f"{value:.3f}"),
    st.sampled_from(["0", "-0.000", "1e3", "+5", ".5", "5.", "007", "1E-2"]),
)
ODD = st.sampled_from(
    [
        "",
        " ",
        "x",
        "nan",
        "NA",
        "-",
        "inf",
        "-inf",
        "1,5",
        '"3"',
        '"3',
        "#",
        "1 2",
        "0x10",
        "1_000",
        "1\r",
        "\0",
        "é",
        "1e999",
    ]
)
CELLS = st.one_of(NUMBERS, NUMBERS, NUMBERS, NUMBERS, ODD)
LINES = st.one_of(
    st.lists(NUMBERS, min_size=3, max_size=3).map(",".join),
    st.lists(NUMBERS, min_size=3, max_size=3).map(",".join),
    st.lists(CELLS, min_size=3, max_size=3).map(",".join),
    st.lists(CELLS, min_size=0, max_size=5).map(",".join),
    st.sampled_from(["", " ", "# said", ",", ",,", ",,,", "1,2,3,"]),
)


def layout_of(names: str, row: str) -> Layout:
    return find_layout(f"{names}\n" + f"{row}\n" * 9, "x.csv")


def check(content: bytes, layout: Layout) -> None:
    taken = delimited._take(content, layout, 0)
    assert taken.lines == content.count(b"\n") + (not content.endswith(b"\n"))
    if taken.columns is None:
        return
    careful = delimited._Taken(content, 0, taken.lines, len(content), None)
    oddities = delimited.Oddities()
    columns = run(delimited._careful(careful, layout, 0, oddities, "x.csv"))
    assert not oddities.short.count
    assert not oddities.long.count
    assert not oddities.blank.count
    assert not oddities.cells
    for fast, slow in zip(taken.columns, columns, strict=True):
        if slow.dtype == object:
            assert fast.tolist() == slow.tolist()
        else:
            np.testing.assert_array_equal(fast, slow)


@given(st.lists(LINES, min_size=1, max_size=8))
@example(["1,2,3", "1,2", "1,2,3,4"])
@example(["1,2,3,4", "1,2,3,4"])
@example(["1,2,3", "1,2,3,"])
@settings(max_examples=150)
def test_numbers(lines: list[str]) -> None:
    content = "".join(f"{line}\n" for line in lines).encode()
    check(content, layout_of("t,a,b", "1,2,3"))
    check(content.rstrip(b"\n"), layout_of("t,a,b", "1,2,3"))


@given(st.lists(LINES, min_size=1, max_size=8), st.sampled_from(["1,up,3", "1,2,up", "1,2,3,", "up,1,2"]))
@settings(max_examples=150)
def test_texts_and_delimiters_at_the_end(lines: list[str], row: str) -> None:
    names = "t,a,b" if row.count(",") == 2 else "t,a,b,"
    check("".join(f"{line}\n" for line in lines).encode(), layout_of(names, row))


@pytest.mark.parametrize("count", [1, 2, 100])
def test_a_clean_block_is_taken_by_the_fast_reader(count: int) -> None:
    taken = delimited._take(b"1,2.5,3\n" * count, layout_of("t,a,b", "1,2,3"), 0)
    assert taken.columns is not None
    assert [column.size for column in taken.columns] == [count] * 3
