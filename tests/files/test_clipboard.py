"""Blocks of numbers to and from a spreadsheet's clipboard."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from workbench.errors import FileError
from workbench.files.tables.clipboard import read_block, write_block, write_with_axes
from workbench.files.tables.tables import read_table_text
from workbench.model.table import Table

BLOCKS = arrays(
    np.float64,
    array_shapes(min_dims=2, max_dims=2, max_side=5),
    elements=st.floats(allow_nan=False, allow_infinity=False),
)


@given(BLOCKS)
def test_a_block_comes_back_bit_for_bit(numbers: np.ndarray) -> None:
    assert read_block(write_block(numbers)).numbers.tobytes() == numbers.tobytes()


@given(arrays(np.float64, (3, 2), elements=st.integers(-99999, 99999).map(lambda n: n / 100)))
def test_a_block_with_decimal_commas_comes_back(numbers: np.ndarray) -> None:
    assert read_block(write_block(numbers, "comma")).numbers.tolist() == numbers.tolist()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1.5\t2\r\n3\t4e-3\r\n", [[1.5, 2], [3, 0.004]]),
        ("1,5\t2\n3\t4,25", [[1.5, 2], [3, 4.25]]),
        ("7", [[7]]),
        ("7,5", [[7.5]]),
        ("1\t2\t3\n", [[1, 2, 3]]),
        ("1\n2\n3\n", [[1], [2], [3]]),
        ("\u22121.5\n2", [[-1.5], [2]]),
        ("1.234,5\t2", [[1234.5, 2]]),
        (" 1 \t 2 ", [[1, 2]]),
    ],
)
def test_what_spreadsheets_copy_is_read(text: str, expected: list[list[float]]) -> None:
    assert read_block(text).numbers.tolist() == expected


def test_text_of_a_real_spreadsheet_in_a_country_with_decimal_commas() -> None:
    """As Gnumeric 1.12.55 wrote it with tabs in the locale de_DE, from a file it had made of our own text."""
    text = '0\t"742,558"\t"1463,178"\n"891,402"\t1E-07\t"1192,947"\n"1301,035"\t"793,109"\t"123456,789"\n'
    block = read_block(text)
    assert block.numbers.tolist() == [
        [0, 742.558, 1463.178],
        [891.402, 1e-7, 1192.947],
        [1301.035, 793.109, 123456.789],
    ]
    assert block.note == "Numbers were read with a decimal comma."


def test_percent_signs_are_taken_off_and_told() -> None:
    block = read_block("2%\t-1,5%\n0%\t3 %")
    assert block.percent
    assert block.numbers.tolist() == [[2, -1.5], [0, 3]]
    assert not read_block("2\t3").percent


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "no text"),
        (" \n\t\n", "no text"),
        ("1\t2\n3\tabc", r"line 2, column 2: 'abc'"),
        ("1\t\n3\t4", "line 1, column 2: the cell is empty"),
        ("1\tnan", "not a finite number"),
        ("1\t1e999", "not a finite number"),
        ("1\t2\n3", "line 2"),
        ("1,234\t5,678", "two|decimal comma or"),
        ("1%\t2", "'1%'"),
        ("signal\tairflow", "'signal' is not a finite number"),
    ],
)
def test_what_is_no_block_of_numbers_is_refused(text: str, told: str) -> None:
    with pytest.raises(FileError, match=told):
        read_block(text)


@pytest.mark.parametrize("decimal", ["point", "comma"])
def test_tables_with_their_axes_are_read_as_tables(curve: Table, grid: Table, decimal: str) -> None:
    for table in (curve, grid):
        text = write_with_axes(table, decimal)  # type: ignore[arg-type]
        read, _ = read_table_text(text, "the clipboard", name=table.name)
        assert read.same_axes(table)
        assert (read.value_name, read.unit) == (table.value_name, table.unit)
        assert read.values.tolist() == table.values.tolist()


@pytest.mark.parametrize("head", ["load 20\tload 30", "Rev. 2\tnow", "\tp1 (kPa)", "ratio\tE85"])
def test_names_of_columns_may_hold_digits(head: str) -> None:
    block = read_block(f"{head}\n66.5\t67.25\n")
    assert block.numbers.tolist() == [[66.5, 67.25]]
    assert "heading" in block.note
    with pytest.raises(FileError):
        read_block("1.5 kPa\tnow\n66.5\t67.25\n")  # begins with a number: that is not left out


def test_a_heading_row_is_left_out_and_told() -> None:
    block = read_block("Hz\tg/s\n1000\t2.5\n2000\t6.0\n")
    assert block.numbers.tolist() == [[1000.0, 2.5], [2000.0, 6.0]]
    assert "heading" in block.note
    assert read_block("1\n2\n").note == ""
