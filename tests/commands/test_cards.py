"""The card for the driver: cautions first, then what to drive, and nothing from a file is more than text."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from workbench.commands.logs.logs import add_log
from workbench.commands.report.cards import CAUTIONS, FIRST_DRIVE, MORE_OF_IT, card
from workbench.demo.samples import sample_files
from workbench.errors import FileError, InputError
from workbench.files.export.blocks import Heading, Text
from workbench.files.export.card import Card, card_html, card_report
from workbench.files.tables.tables import read_table
from workbench.maths.verdict.plan import SAFELY
from workbench.session import Session
from workbench.work import run


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """A session of the sample table, without a drive."""
    for name, text in sample_files().items():
        (tmp_path / name).write_text(text, encoding="utf-8", newline="")
    with Session.create(tmp_path / "car.session", read_table(tmp_path / "airflow_stale.csv")[0]) as made:
        yield made


def test_the_first_card_says_what_any_first_drive_needs(session: Session, tmp_path: Path) -> None:
    answer = run(card(session.state, tmp_path / "card.html"))
    page = (tmp_path / "card.html").read_text("utf-8")
    places = [page.index(line) for line in (*CAUTIONS, *FIRST_DRIVE)]
    assert places == sorted(places)
    assert answer.lines[0].startswith("Card for the driver written to ")
    assert answer.to_json()["steps"] == list(FIRST_DRIVE)
    assert answer.change is None


def test_a_card_after_a_drive_says_what_is_missing(session: Session, tmp_path: Path) -> None:
    session.record(run(add_log(session.state, (tmp_path / "part_throttle_drive.csv",))).change)
    steps = run(card(session.state, tmp_path / "card.html")).to_json()["steps"]
    assert steps[0].startswith("Full throttle was not driven.")
    assert SAFELY not in steps
    session.record(run(add_log(session.state, (tmp_path / "pulls_drive.csv",))).change)
    later = run(card(session.state, tmp_path / "card.html", replace=True)).to_json()["steps"]
    assert all(line == MORE_OF_IT or "rpm" in line for line in later)


def test_a_card_replaces_no_file_unasked(session: Session, tmp_path: Path) -> None:
    (tmp_path / "card.html").write_text("mine")
    with pytest.raises(FileError, match=r"card\.html already exists"):
        run(card(session.state, tmp_path / "card.html"))
    assert (tmp_path / "card.html").read_text() == "mine"


def test_what_comes_from_a_file_is_only_text() -> None:
    page = card_html(Card("<script>alert(1)</script>", 1, CAUTIONS, ("a <b> step",), "2026-01-01T00:00:00Z"))
    assert "<script>" not in page
    assert "a &lt;b&gt; step" in page


def test_a_card_that_is_called_pdf_is_one_on_one_page(session: Session, tmp_path: Path) -> None:
    run(card(session.state, tmp_path / "card.pdf"))
    content = (tmp_path / "card.pdf").read_bytes()
    assert content.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type\s*/Page\b", content)) == 1


def test_the_page_says_what_the_html_says() -> None:
    made = Card("air_flow", 3, CAUTIONS, ("Hold 2,100 rpm, 40 s.", "Make two pulls."), "2026-01-01T00:00:00Z")
    page = card_report(made)
    said = [block.text for block in page.blocks if isinstance(block, Heading | Text)]
    places = [next(i for i, text in enumerate(said) if line in text) for line in (*CAUTIONS, *made.steps)]
    assert places == sorted(places)


def test_a_card_of_another_kind_is_refused(session: Session, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="\\.docx"):
        run(card(session.state, tmp_path / "card.docx"))
    assert not (tmp_path / "card.docx").exists()
