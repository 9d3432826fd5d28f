"""The report holds what it should, is well formed, and replaces nothing unasked."""

import base64
import hashlib
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.declaring.registry import Answer
from workbench.commands.record.reports import report
from workbench.errors import FileError
from workbench.files.export.report import Paper, report_html
from workbench.model.history import Approval, Export, History, Signed, brought_in
from workbench.model.log import Column, Drive, Log
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
    assert "http:" not in html  # nothing is fetched from anywhere
    assert "https:" not in html


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


def hostile(text: str) -> str:
    return f"<script>alert(1)</script><img src=x onerror=alert(2)>\"'&{{{{ 7 * 7 }}}}\u202e{text}"


def test_nothing_that_comes_from_a_file_is_more_than_text(session: Session, tmp_path: Path) -> None:
    """Every text of a session that a report shows, the digests among them, could have been written by anyone."""
    state = session.state
    axis = replace(state.table().axes[0], name=hostile("axis"), unit=hostile("unit"))
    table = replace(
        state.table(), name=hostile("t"), value_name=hostile("v"), unit=hostile("g"), axes=(axis,), values=np.ones(5)
    )
    first = brought_in(1, table, hostile("op"), {}, hostile("note"), hostile("me"), hostile("time"))
    other = replace(first, id=2, parent=1, digest=hostile("digest"), table=table.with_values(table.values * 1.5))
    log = Log(hostile("file"), hostile("sha"), Column(np.arange(3.0)), ())
    history = History(
        (first, other),
        {table.name: 2},
        {2: Approval(hostile("by"), hostile("note"), hostile("on"), (hostile("accepted"),))},
        {},
        (Export(2, {hostile("file"): "x"}, True, hostile("by"), hostile("time")),),
        {2: 3},
        {2: (Signed(hostile("by"), hostile("time"), 3, hostile("key"), "x"),)},
    )
    drives = (Drive(1, log, 1),)
    html = report_html(Paper(hostile("s"), history, other, first, drives, None, (hostile("c"),), hostile("w")))
    page = Balanced()
    page.feed(html)
    assert page.open == []
    assert "<script" not in html
    assert "<img" not in html
    assert "\u202e" not in html
    assert "{{ 7 * 7 }}" in html
    for named in ("digest", "sha", "key", "by", "accepted", "axis", "op", "c"):
        assert f"\\u202e{named}" in html, named
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', html)
    assert policy is not None
    assert policy[1].startswith("default-src 'none'") or policy[1].startswith("default-src &#39;none")
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)
    assert style is not None
    assert base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode() in policy[1]
