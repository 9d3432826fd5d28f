"""Delimited text with all that RFC 4180 allows in a cell: quotes, delimiters, line ends.

The files and their right readings are those of csv-spectrum 2.0.0 (npm, BSD-2-Clause), an acid test for readers of CSV;
those that hold no two rows of numbers are no logs and must be refused by name.
"""

import io

import numpy as np
import pytest

from workbench.errors import FileError
from workbench.files.text.delimited import read_delimited
from workbench.files.vocabulary.recording import Recording
from workbench.work import run

LOGS = {
    "empty": ('a,b,c\n1,"",""\n2,3,4', {"a": ["1", "2"], "b": ["", "3"], "c": ["", "4"]}),
    "empty_crlf": ('a,b,c\r\n1,"",""\r\n2,3,4', {"a": ["1", "2"], "b": ["", "3"], "c": ["", "4"]}),
    "escaped_quotes": ('a,b\n1,"ha ""ha"" ha"\n3,4\n', {"a": ["1", "3"], "b": ['ha "ha" ha', "4"]}),
    "newlines": (
        'a,b,c\n1,2,3\n"Once upon \na time",5,6\n7,8,9\n',
        {"a": ["1", "Once upon \na time", "7"], "b": ["2", "5", "8"], "c": ["3", "6", "9"]},
    ),
    "newlines_crlf": (
        'a,b,c\r\n1,2,3\r\n"Once upon \r\na time",5,6\r\n7,8,9\r\n',
        {"a": ["1", "Once upon \r\na time", "7"], "b": ["2", "5", "8"], "c": ["3", "6", "9"]},
    ),
    "quotes_and_newlines": (
        'a,b\n1,"ha \n""ha"" \nha"\n3,4\n',
        {"a": ["1", "3"], "b": ['ha \n"ha" \nha', "4"]},
    ),
    "utf8": ("a,b,c\n1,2,3\n4,5,ʤ", {"a": ["1", "4"], "b": ["2", "5"], "c": ["3", "ʤ"]}),
}
NO_LOGS = {
    "comma_in_quotes": 'first,last,address,city,zip\nJohn,Doe,120 any st.,"Anytown, WW",08123\n',
    "json": 'key,val\n1,"{""type"": ""Point"", ""coordinates"": [102.0, 0.5]}"\n',
    "simple": "a,b,c\n1,2,3\n",
    "simple_crlf": "a,b,c\r\n1,2,3\r\n",
}


def read(content: bytes, name: str) -> Recording:
    return run(read_delimited(io.BytesIO(content), name, len(content)))


@pytest.mark.parametrize("name", LOGS)
def test_cells_are_read_as_they_are_meant(name: str) -> None:
    content, columns = LOGS[name]
    found = read(content.encode(), name)
    assert [field.name for field in found.fields] == list(columns)
    for field, wanted in zip(found.fields, columns.values(), strict=True):
        if field.texts is None:
            np.testing.assert_array_equal(field.values, [float(text or "nan") for text in wanted])
        else:
            assert field.texts.tolist() == wanted


@pytest.mark.parametrize("name", NO_LOGS)
def test_what_is_no_log_is_refused_by_name(name: str) -> None:
    with pytest.raises(FileError, match=rf"^{name}\.csv holds no line of values"):
        read(NO_LOGS[name].encode(), f"{name}.csv")


def test_a_quoted_line_end_costs_no_row_of_a_log() -> None:
    lines = [f"{i / 10},{900 + i},{i % 7}" for i in range(100)]
    lines[40] = '4.0,940,"5\n"'
    lines[60] = '6.0,960,"a note, of\ntwo lines"'
    found = read(("t (s),rpm,x\n" + "\n".join(lines) + "\n").encode(), "x.csv")
    assert found.rows == 100
    np.testing.assert_array_equal(found.fields[1].values, 900 + np.arange(100))
    assert found.fields[2].values[40] == 5
    assert np.isnan(found.fields[2].values[60])
    assert any("line 63" in note and "two lines" in note for note in found.notes)


def test_a_quote_that_is_never_closed_belongs_to_its_line_alone() -> None:
    lines = [f'{i / 10},{900 + i},"hose' if i in (10, 20) else f"{i / 10},{900 + i},ok" for i in range(50)]
    found = read(("t (s),rpm,part\n" + "\n".join(lines) + "\n").encode(), "x.csv")
    assert found.fields[1].values.size >= 49
    for at in (0, 9, 30, 49):
        assert 900 + at in found.fields[1].values
