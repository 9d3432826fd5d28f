"""The report holds what it should, is well formed, and replaces nothing unasked."""

from html.parser import HTMLParser
from pathlib import Path

import pytest

from workbench.commands.declaring.registry import Answer
from workbench.commands.record.reports import report
from workbench.errors import FileError
from workbench.session import Session
from workbench.work import run

SHIPPED = Path(__file__).parent.parent.parent / "sample_sessions" / "enlarged_intake.session"
VOID = {"meta", "br", "line", "polyline"}


class Balanced(HTMLParser):
    """Fails where a tag is not closed by its own kind; collects the text."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        del attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def written(path: Path, **how: object) -> str:
    with Session.open(SHIPPED) as session:
        answer = run(report(session.state, path, **how))  # type: ignore[arg-type]
    assert isinstance(answer, Answer)
    assert answer.data["path"] == str(path)
    return path.read_text()


def test_a_report_tells_all_of_it(tmp_path: Path) -> None:
    html = written(tmp_path / "r.html")
    page = Balanced()
    page.feed(html)
    page.close()
    assert page.open == []
    text = " ".join(page.text)
    with Session.open(SHIPPED) as session:
        state = session.state
    head = state.head()
    assert head.digest in text
    assert state.history.approvals[head.id].by in text
    for drive in state.drives:
        assert drive.log.sha256 in text
    for revision in state.history.revisions:
        assert revision.note in text
    assert "proven" in text
    assert "http" not in html  # nothing is fetched from anywhere


def test_an_earlier_revision_is_held_against_its_own_values(tmp_path: Path) -> None:
    html = written(tmp_path / "r.html", revision=1)
    assert "Not approved: a draft." in html
    assert "0 % of driven cells and 0 % of driven time within" in html


def test_nothing_is_replaced_unasked(tmp_path: Path) -> None:
    path = tmp_path / "r.html"
    path.write_text("mine")
    with pytest.raises(FileError, match="already exists"):
        written(path)
    assert path.read_text() == "mine"
    assert "<h1>" in written(path, replace=True)
