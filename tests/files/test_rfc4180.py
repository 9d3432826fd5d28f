"""RFC 4180 (October 2005), section 2, "Definition of the CSV Format": its seven points and its grammar, one by one.

The examples follow those of the RFC with numbers in place of words, since a log needs rows of numbers.
"""

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.files.tables.cells import read_matrix
from workbench.files.text.delimited import read_delimited
from workbench.files.vocabulary.recording import Recording
from workbench.work import run

CRLF = "\r\n"


def read(text: str) -> Recording:
    content = text.encode()
    return run(read_delimited(io.BytesIO(content), "x.csv", len(content)))


def cells(text: str) -> list[list[str]]:
    """Give header and values of a text; missing numbers are empty."""
    found = read(text)
    columns = [
        [("" if np.isnan(value) else f"{value:g}") for value in field.values]
        if field.texts is None
        else list(field.texts)
        for field in found.fields
    ]
    return [[field.name for field in found.fields], *map(list, zip(*columns, strict=True))]


WANTED = [["aaa", "bbb", "ccc"], ["1", "2", "3"], ["4", "5", "6"]]
ROWS = ["aaa,bbb,ccc", "1,2,3", "4,5,6"]
POINTS = {
    "1: each record on a line of its own, ended by CRLF": CRLF.join(ROWS) + CRLF,
    "2: the last record may have no line end": CRLF.join(ROWS),
    "3: a header line may come first": CRLF.join(ROWS) + CRLF,
    "4: one or more fields by commas, and none behind the last": ",".join(ROWS[0].split(",")) + CRLF + "1,2,3\r\n4,5,6",
    "5: fields may be in double quotes or not": '"aaa","bbb","ccc"\r\n1,"2",3\r\n"4",5,"6"\r\n',
}


@pytest.mark.parametrize("point", POINTS)
def test_the_points_that_change_no_value(point: str) -> None:
    assert cells(POINTS[point]) == WANTED


def test_point_3_without_a_header_no_row_is_lost() -> None:
    found = read(CRLF.join(ROWS[1:]) + CRLF)
    assert [field.values.tolist() for field in found.fields] == [[1, 4], [2, 5], [3, 6]]
    assert any("has no header" in note for note in found.notes)


def test_point_4_a_record_of_another_length_is_dropped_and_told() -> None:
    found = read(CRLF.join([*ROWS, "7,8", "9,10,11", "12,13,14,15"]) + CRLF)
    assert found.fields[0].values.tolist() == [1, 4, 9]
    assert any("fewer cells than the header: line 4" in note for note in found.notes)
    assert any("more cells than the header: line 6" in note for note in found.notes)


def test_point_6_line_ends_quotes_and_commas_stand_inside_quotes() -> None:
    text = '1,"b CRLF\r\nbb","c,cc"\r\n4,"plain","c""c"\r\n'
    assert cells(f"aaa,bbb,ccc\r\n{text}") == [
        ["aaa", "bbb", "ccc"],
        ["1", "b CRLF\r\nbb", "c,cc"],
        ["4", "plain", 'c"c'],
    ]


def test_point_6_of_the_header() -> None:
    assert cells('"aaa","b\r\nbb","c, cc"\r\n1,2,3\r\n4,5,6\r\n')[0] == ["aaa", "b bb", "c, cc"]


def test_point_7_a_quote_inside_quotes_is_doubled() -> None:
    assert cells('aaa,bbb\r\n1,"b""bb"\r\n2,"""b"""\r\n')[1:] == [["1", 'b"bb'], ["2", "b"]]  # quotes around go off


def test_the_grammar_allows_empty_fields() -> None:
    """`non-escaped = *TEXTDATA` and `escaped = DQUOTE *(...) DQUOTE`: nothing at all is a field in both."""
    assert cells('aaa,bbb,ccc\r\n1,,3\r\n4,"",6\r\n7,8,9\r\n')[1:] == [["1", "", "3"], ["4", "", "6"], ["7", "8", "9"]]


def escaped(field: str) -> str:
    """Write a field by the grammar's `escaped`."""
    doubled = field.replace('"', '""')
    return f'"{doubled}"'


# TEXTDATA is %x20-21 / %x23-2B / %x2D-7E; within quotes also COMMA, CR, LF and 2DQUOTE. Letters stand at both ends,
# since the reader takes off blanks and quotes around a cell, and CR alone is made a line end where no LF occurs.
INNER = st.lists(st.sampled_from([chr(code) for code in range(0x20, 0x7F)] + [CRLF, ","]), max_size=8).map("".join)
FIELD = INNER.map(lambda inner: f"x{inner}x")


@given(st.lists(st.tuples(st.integers(0, 10**6), FIELD), min_size=3, max_size=8))
@settings(max_examples=100)
def test_every_field_of_the_grammar_reads_back(records: list[tuple[int, str]]) -> None:
    text = f"time,note,last{CRLF}" + "".join(
        f"{at},{escaped(field)},{number}{CRLF}" for at, (number, field) in enumerate(records)
    )
    found = read(text)
    assert found.fields[0].values.tolist() == list(range(len(records)))
    assert found.fields[2].values.tolist() == [number for number, _ in records]
    assert found.fields[1].texts is not None
    assert found.fields[1].texts.tolist() == [field for _, field in records]


def test_tables_follow_the_same_points() -> None:
    """A table read by its own reader: quotes, commas and doubled quotes in a header, CRLF or none at the end."""
    for end in ("", CRLF):
        matrix = read_matrix(f'"Sensor, ""raw"" (Hz)",Airflow (g/s)\r\n"1000",2.5\r\n2000,"3.5"{end}', "x.csv")
        assert matrix.texts == (('Sensor, "raw" (Hz)', "Airflow (g/s)"), ("1000", "2.5"), ("2000", "3.5"))
