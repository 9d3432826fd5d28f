"""Logs in wrappings that people make: a web page named as a workbook, a zip with a word to the reader, a huge sheet."""

import zipfile
from pathlib import Path

import pytest
from logs_by_hand import check, written
from workbooks import xlsx, zipped

from workbench.errors import FileError, InputError
from workbench.files.formats import containers
from workbench.files.formats.html_tables import tables_of_page
from workbench.files.logs import read_log
from workbench.model.log import Log
from workbench.work import run


def read(path: Path, content: bytes) -> Log:
    path.write_bytes(content)
    return run(read_log(path))


def page(lines: list[str], *, ends: bool = True) -> str:
    """Write lines as the rows of a table, with the end tags that HTML lets one leave out or without."""
    close = "</td>" if ends else ""
    rows = (
        "<tr>" + "".join(f"<td align=right>&nbsp;{cell}{close}" for cell in line.split(",")) + "</tr>" * ends
        for line in lines
    )
    return "<table>" + "\n".join(rows) + "</table>"


@pytest.mark.parametrize("ends", [True, False])
def test_the_table_of_a_web_page_is_read_as_a_log(tmp_path: Path, ends: bool) -> None:
    head = "<!DOCTYPE html>\n<html><head><meta charset=utf-8><style>td{color:red}</style></head><body><h1>Drive</h1>"
    small = page(["Logger,3", "Owner,me"])
    log = read(tmp_path / "drive.xls", (head + small + page(written(), ends=ends) + "</body></html>").encode())
    check(log)
    assert log.notes[0] == "drive.xls was read as a web page."


def test_several_tables_of_a_page_are_asked_about(tmp_path: Path) -> None:
    both = page(written()) + page(written())
    with pytest.raises(InputError, match="holds 2 tables") as told:
        read(tmp_path / "x.html", both.encode())
    assert "table 1, table 2" in told.value.hint


def test_a_page_without_a_table_of_samples_says_so(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="is a web page, but holds no table of samples"):
        read(tmp_path / "drive.csv", b"<!DOCTYPE html><html><body><h1>Not found</h1></body></html>")


def test_rows_of_a_page_that_are_short_or_long_are_fitted_to_the_names() -> None:
    (table,) = tables_of_page("<table><tr><th>a<th>b<tr><td>1<tr><td>2<td>3<td>4<tr><td>5<td>6</table>").values()
    assert list(table.names) == ["a", "b"]
    assert [list(column) for column in table.cells] == [["1", "2", "5"], ["", "3", "6"]]


def test_rows_that_name_groups_of_columns_are_no_header(tmp_path: Path) -> None:
    names = len(written()[0].split(","))
    over = f"<tr><th>#<th colspan={names}>Car</tr>"
    lines = [f"{at or 'No'},{line}" for at, line in enumerate(written())]
    log = read(
        tmp_path / "drive.html", page(lines).replace("<table>", f"<table><caption>Drive</caption>{over}").encode()
    )
    check(log)


@pytest.mark.parametrize("beside", ["README.txt", "docs/Liesmich.md", "trace.png", "Lizenz", "notes.txt"])
def test_the_one_log_in_a_zip_is_taken_whatever_words_lie_beside_it(tmp_path: Path, beside: str) -> None:
    drive = "\n".join(written()).encode()
    log = read(tmp_path / "x.zip", zipped({beside: b"Hello.\n", "drive/log.csv": drive}))
    check(log)
    assert "drive/log.csv was extracted from x.zip" in log.notes[0]
    with pytest.raises(InputError, match="holds 3 files"):
        read(tmp_path / "y.zip", zipped({beside: b"Hello.\n", "a.csv": drive, "b.csv": drive}))


def test_a_sheet_that_unpacks_to_more_than_any_log_is_named_as_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    content = xlsx({"Log": [["Time (s)", "Engine speed (rpm)"], *([at / 10, 800] for at in range(200))]})
    (tmp_path / "x.xlsx").write_bytes(content)
    with zipfile.ZipFile(tmp_path / "x.xlsx") as archive:
        size = sum(info.file_size for info in archive.infolist())
    monkeypatch.setattr(containers, "LARGEST_WORKBOOK", size - 1)
    with pytest.raises(FileError, match=r"x\.xlsx is a spreadsheet that unpacks to"):
        read(tmp_path / "x.xlsx", content)
    monkeypatch.setattr(containers, "LARGEST_WORKBOOK", size)
    assert read(tmp_path / "x.xlsx", content).rows == 200
