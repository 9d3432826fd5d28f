"""The report holds what it should, is well formed, and replaces nothing unasked; its pages are drawn as pictures."""

import base64
import hashlib
import os
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.declaring.making import bring_in
from workbench.commands.declaring.registry import Answer
from workbench.commands.evidence.evidence import correct
from workbench.commands.record.approving import approve
from workbench.commands.report.chapters import cells_chapter
from workbench.commands.report.contents import Contents, contents_of
from workbench.commands.report.page_one import MOST
from workbench.commands.report.reports import CHAPTERS, free_path, report, written_report
from workbench.commands.table.hand import scale, set_cells
from workbench.errors import FileError, InputError
from workbench.files.export.blocks import AFTER, Drawing, Ink, Label, Line, PaperSize, Report, Rows, Text
from workbench.files.export.charts import ChartSeries, chart, ticks
from workbench.files.export.printing import report_pdf
from workbench.files.export.report import report_html
from workbench.maths.verdict.approval_case import Objection
from workbench.model.cells import read_cells
from workbench.model.deed import InCar
from workbench.model.history import Approval, Export, History, Signed, brought_in
from workbench.model.log import Drive, Log
from workbench.model.packing import Column
from workbench.model.state import BranchNamed, DriveAdded, Exported, PutInCar, State
from workbench.model.step import step
from workbench.model.table import Axis, Table
from workbench.session import Session
from workbench.work import run

SHIPPED = Path(__file__).parent.parent.parent / "sample_sessions" / "enlarged_intake.session"
VOID = {"meta", "br", "polyline", "circle", "rect", "path"}
FORMS: tuple[tuple[PaperSize, Ink], ...] = (
    ("a4", "colour"),
    ("a4", "black-and-white"),
    ("letter", "colour"),
    ("letter", "black-and-white"),
)


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


@pytest.fixture(scope="module")
def sample() -> Contents:
    """The shipped session's report, gathered once."""
    with Session.open(SHIPPED) as session:
        return run(contents_of(session.state, session.state.head(), "2026-01-01T00:00:00Z"))


@pytest.fixture(scope="module")
def grid(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Contents]:
    """The report of a corrected grid of 14 by 10 cells, gathered once."""
    from workbench.commands.logs.logs import add_log
    from workbench.commands.table.tables import new

    samples, path = SHIPPED.parent, tmp_path_factory.mktemp("grid") / "grid.session"
    run_any(new(path, samples / "efficiency_stale.csv"))
    with Session.open(path) as session:
        for act in (lambda s: add_log(s, (samples / "efficiency_drive.csv",)), correct):
            answer = run_any(act(session.state))
            assert answer.change is not None
            session.record(answer.change)
        yield run(contents_of(session.state, session.state.head(), "2026-01-01T00:00:00Z"))


def run_any(outcome: object) -> Answer[object]:
    return outcome if isinstance(outcome, Answer) else run(outcome)  # type: ignore[arg-type]


def written(path: Path, **how: object) -> bytes:
    with Session.open(SHIPPED) as session:
        answer = run(report(session.state, path, **how))  # type: ignore[arg-type]
    assert isinstance(answer, Answer)
    assert answer.data["path"] == str(path)
    return path.read_bytes()


def text_of(html: str) -> str:
    page = Balanced()
    page.feed(html)
    page.close()
    assert page.open == []
    return " ".join(" ".join(page.text).split())


def test_a_report_tells_all_of_it(sample: Contents) -> None:
    html = report_html(written_report(sample, "a4", "colour"))
    text = text_of(html)
    state = sample.state
    head = state.head()
    assert head.digest in text
    assert state.history.approvals[head.id].by in text
    for drive in state.drives:
        assert drive.log.sha256 in text
    for revision in state.history.revisions:
        assert revision.note in text
    assert "proven" in text
    assert "What the 95 % intervals are made of" in text
    assert sample.found is not None
    assert all(item.name in text for item in sample.found.budget if item.size[sample.found.driven].max() > 0)
    assert "http:" not in html  # nothing is fetched from anywhere
    assert "https:" not in html


def test_page_one_says_what_the_next_person_asks(sample: Contents) -> None:
    blocks = tuple(CHAPTERS[0](sample))
    text = text_of(report_html(Report("t", "f", "a4", "colour", blocks)))
    assert sample.after is not None
    for said in (
        "within ±5 % at part throttle and ±1 % at full throttle",
        "as read from the ECU, old intake",
        "Target reached",
        sample.after.part_target.worst_of(sample.after.table),
        "undriven-changed",
        "The bump is real: two drives show it.",
        "leaner than commanded",
        "Approved by A. Calibrator",
        "not signed",
    ):
        assert said in text, said
    assert any(isinstance(each, Drawing) for each in blocks)


def test_a_target_is_reached_only_where_all_drives_know_every_cell_so_closely(sample: Contents) -> None:
    """One cell at the end of the pulls is known too little to show ±1 %; part throttle asks for less."""
    assert sample.found is not None
    assert sample.after is not None
    widest = sample.found.full_target.widest_cell
    assert widest is not None
    half = 100 * sample.found.full_target.widest
    assert half > 2
    sentence = f"all drives together know {sample.found.table.cell_name(widest)} only to ±{half:.1f} %"
    page = text_of(report_html(Report("t", "f", "a4", "colour", tuple(CHAPTERS[0](sample)))))
    assert page.count("Target reached") == 1
    assert page.count("Inside the target, but not every cell is known as closely as it asks: not shown yet") == 1
    # The drives made with it know it closely, all drives together do not.
    own = replace(sample.after, full_target=replace(sample.after.full_target, widest=0.009))
    closely = replace(sample, after=own)
    page = text_of(report_html(Report("t", "f", "a4", "colour", tuple(CHAPTERS[0](closely)))))
    assert sentence in page
    sure = replace(sample.found, full_target=replace(sample.found.full_target, widest=0.009))
    page = text_of(report_html(Report("t", "f", "a4", "colour", tuple(CHAPTERS[0](replace(closely, found=sure))))))
    assert page.count("Target reached") == 2
    off = replace(sample.after, full_target=replace(sample.after.full_target, worst=0.02))
    page = text_of(report_html(Report("t", "f", "a4", "colour", tuple(CHAPTERS[0](replace(sample, after=off))))))
    assert "Target NOT reached" in page


def test_objections_read_the_same_as_where_they_are_accepted(grid: Contents, tmp_path: Path) -> None:
    """Of a draft as the command lists them, of an approved one as they were then; also where the drives say nothing."""
    page = text_of(report_html(Report("t", "f", "a4", "colour", tuple(CHAPTERS[0](grid)))))
    with pytest.raises(InputError) as refused:
        run_any(approve(grid.state, by="A. Calibrator"))
    listed = [line.removeprefix("- ") for line in refused.value.message.splitlines()[1:]]
    assert [f"{each.name}: {each.sentence}" for each in grid.objections] == listed
    for line in listed[:MOST]:
        assert line[:200] in page
    names = tuple(f"{each.name}=seen" for each in grid.objections)
    answer = run_any(approve(grid.state, by="A. Calibrator", accept=names))
    assert answer.change is not None
    state = step(grid.state, answer.change)  # type: ignore[arg-type]
    approved = replace(grid, state=state)
    page = text_of(report_html(Report("t", "f", "a4", "colour", tuple(CHAPTERS[0](approved)))))
    for line in listed[:MOST]:
        assert line[:200] in page
    del tmp_path


def test_drives_that_say_nothing_are_an_objection_in_the_report_too(session: Session) -> None:
    log = Log("mute.csv", "0" * 64, Column(np.arange(50) / 10.0), (), {})
    session.record(DriveAdded((Drive(1, log, 1),)))
    contents = run(contents_of(session.state, session.state.head(), "2026-01-01T00:00:00Z"))
    with pytest.raises(InputError) as refused:
        run_any(approve(session.state, by="A. Calibrator"))
    listed = [line.removeprefix("- ") for line in refused.value.message.splitlines()[1:]]
    assert [f"{each.name}: {each.sentence}" for each in contents.objections] == listed
    assert "no-evidence" in {each.name for each in contents.objections}


def test_what_was_not_driven_is_only_expected(grid: Contents) -> None:
    text = text_of(report_html(Report("t", "f", "a4", "colour", tuple(CHAPTERS[0](grid)))))
    assert "Not approved: a draft." in text
    assert text.count("Not driven yet with this revision.") == 2
    assert "Target reached" not in text


def test_an_earlier_revision_is_held_against_its_own_values(tmp_path: Path) -> None:
    text = text_of(written(tmp_path / "r.html", revision=1).decode())
    assert "Not approved: a draft." in text
    assert "Target NOT reached" in text
    assert "0 % of driven cells and 0 % of driven time within" in text


def test_a_session_without_logs_tells_branches_tables_and_the_car(session: Session, grid_table: Table) -> None:
    for make in (
        lambda s: bring_in(s, grid_table, "add-table", {}, ""),
        lambda s: scale(s, by=1.02, cells=read_cells("2")).change,
        lambda s: set_cells(s, to=7.0, cells=read_cells("1")).change,
        lambda s: BranchNamed(3, "race fuel"),
        lambda s: PutInCar(InCar(4, "2026-01-02T03:04:05Z", "me")),
        lambda s: Exported(Export(4, {"out.csv": "00"}, False, "me", "2026-01-02T04:04:05Z")),
    ):
        change = make(session.state)
        assert change is not None
        session.record(change)
    contents = run(contents_of(session.state, session.state.head(), "now"))
    text = text_of(report_html(written_report(contents, "letter", "black-and-white")))
    for said in (
        "No logs, so none were looked for.",
        "There are no logs.",
        "3 “race fuel”",
        "in the car since 2026-01-02T03:04:05Z",
        "exported as a draft on 2026-01-02T04:04:05Z as out.csv by me",
        "The session also holds the table 'efficiency'",
        "No correction from evidence leads to this revision.",
        "No pull of a second or more.",
        "1 cell set outright",
    ):
        assert said in text, said
    (rows,) = (each for each in cells_chapter(contents) if isinstance(each, Rows))
    assert [row[1:3] for row in rows.rows] == [("", ""), ("", "set"), ("+2.00", ""), ("", ""), ("", "")]


@pytest.fixture
def grid_table() -> Table:
    axes = (Axis("speed", "rpm", np.array([1000.0, 2000])), Axis("pressure", "kPa", np.array([30.0, 60, 90])))
    return Table("efficiency", "volumetric efficiency", "%", axes, np.full((2, 3), 80.0))


def test_page_one_stays_one_page_whatever_is_said(sample: Contents) -> None:
    """Thirty long objections, a long note and a long name: all of it is told, and page one still says the rest."""
    pdfium = pytest.importorskip("pypdfium2")
    many = tuple(Objection(f"objection-{n}", f"Number {n}: " + "far too lean at high load, " * 30) for n in range(30))
    approval = Approval("A. " + "Tester " * 30, "because " * 300, "2026", tuple(each.name for each in many))
    history = replace(sample.state.history, approvals={sample.revision.id: approval})
    contents = replace(sample, state=replace(sample.state, history=history), objections=many)
    for paper, ink in FORMS[::2]:
        document = pdfium.PdfDocument(run(report_pdf(written_report(contents, paper, ink))))
        texts = [page.get_textpage().get_text_bounded() for page in document]
        assert "Cautions from the logs" in texts[0]
        assert "25 more stand under" in texts[0]
        whole = " ".join("".join(texts).split())
        assert all(f"objection-{n}" in whole for n in range(30))


def test_the_history_of_every_cell_adds_up(sample: Contents) -> None:
    (rows,) = (each for each in cells_chapter(sample) if isinstance(each, Rows))
    values = sample.revision.table.values / sample.first.table.values
    for row, change in zip(rows.rows, values, strict=True):
        factors = [1 + float(text) / 100 for text in row[1:-1] if text]
        assert float(row[-1]) == pytest.approx(100 * (change - 1), abs=0.006)
        assert np.prod(factors) == pytest.approx(change, abs=3e-4)


def test_the_words_of_an_accepted_objection_are_kept(sample: Contents) -> None:
    approval = Approval("A. Calibrator", "", "2026", ("big-step", "gone"), None, None, {"big-step": "It was 30 %."})
    history = replace(sample.state.history, approvals={sample.revision.id: approval})
    contents = replace(sample, state=replace(sample.state, history=history), objections=())
    text = text_of(report_html(Report("t", "f", "a4", "colour", tuple(CHAPTERS[0](contents)))))
    assert "big-step: It was 30 %." in text
    assert "gone (its words were not kept" in text
    assert "No reason was written down." in text


def test_nothing_is_replaced_unasked(tmp_path: Path) -> None:
    path = tmp_path / "r.html"
    path.write_text("mine")
    with pytest.raises(FileError, match="already exists"):
        written(path)
    assert path.read_text() == "mine"
    assert b"<h1>" in written(path, replace=True)
    with pytest.raises(InputError, match="is written as"):
        written(tmp_path / "r.doc")


def test_a_free_name_is_found_beside_the_session(session: Session) -> None:
    first = free_path(session.state, session.state.head())
    assert first == Path(session.state.path).with_name("car_airflow_revision_1.pdf")
    first.touch()
    assert free_path(session.state, session.state.head()).name == "car_airflow_revision_1_2.pdf"


def keep(image: np.ndarray, path: Path) -> None:
    """Write a picture, shape (rows, columns, 3), as PNG."""
    from PySide6.QtGui import QImage

    rows, columns, _ = image.shape
    whole = np.ascontiguousarray(image)
    assert QImage(whole.data, columns, rows, 3 * columns, QImage.Format.Format_RGB888).save(str(path))


@pytest.mark.parametrize("which", ["sample", "grid"])
@pytest.mark.parametrize(("paper", "ink"), FORMS)
def test_every_form_is_drawn_and_can_be_looked_at(
    which: str, paper: PaperSize, ink: Ink, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    """Page one is one page, nothing leaves the margins, and black and white has no colour."""
    pdfium = pytest.importorskip("pypdfium2")
    contents: Contents = request.getfixturevalue(which)
    document = pdfium.PdfDocument(run(report_pdf(written_report(contents, paper, ink))))
    assert [round(side) for side in document[0].get_size()] == ([595, 842] if paper == "a4" else [612, 792])
    assert 4 <= len(document) <= 10
    texts = [page.get_textpage().get_text_bounded() for page in document]
    assert "What was asked" in texts[0]
    assert "Cautions from the logs" in texts[0]
    assert "Error before and now" in texts[0]
    assert "The table, and its change" in texts[1]
    for number, page in enumerate(document, 1):
        image = page.render(scale=1.5, rev_byteorder=True).to_numpy()[..., :3]
        if folder := os.environ.get("KEEP_PAGES"):  # to look at them
            keep(image, Path(folder) / f"{which}_{paper}_{ink}_{number}.png")
        image = image.astype(int)
        assert f"{number} / {len(document)}" in texts[number - 1]
        dark = image.min(axis=2) < 200
        edge = int(1.5 * 40)
        assert not dark[:edge].any()
        assert not dark[:, :edge].any()
        assert not dark[:, -edge:].any()
        assert 0.005 < dark.mean() < 0.4
        coloured = int((np.ptp(image, axis=2) > 40).sum())
        assert coloured == 0 if ink != "colour" else number > 1 or coloured > 100


def test_all_breakpoints_of_a_long_curve_stand_on_one_page(sample: Contents) -> None:
    pdfium = pytest.importorskip("pypdfium2")
    rows = tuple((f"{1000 + 100 * i}", f"{i * 3.25:.4f}", "+1.00", "proven") for i in range(59))
    whole = Report(
        "t", "f", "letter", "colour", (Rows(("Sensor (Hz)", "Airflow (g/s)", "change %", "evidence"), rows, flow=True),)
    )
    document = pdfium.PdfDocument(run(report_pdf(whole)))
    assert len(document) == 1
    text = document[0].get_textpage().get_text_bounded()
    assert all(row[0] in text for row in rows)


def test_scripts_and_steering_text_are_printed_as_text() -> None:
    pdfium = pytest.importorskip("pypdfium2")

    whole = Report("t", "f\ud800", "a4", "colour", (Text("Žluťoučký Ωμέγα привет <b>\u202eabc\ud800"),))
    text = pdfium.PdfDocument(run(report_pdf(whole)))[0].get_textpage().get_text_bounded()
    assert "привет <b>" in text
    assert "\\u202eabc\\ud800" in text


def test_axes_have_round_numbers_and_every_value_its_place() -> None:
    assert ticks(0, 10) == [0, 2, 4, 6, 8, 10]
    assert ticks(-0.9, 0.9) == pytest.approx([-0.5, 0, 0.5])
    assert ticks(3, 3) == [3]
    x, y = np.array([0.0, 10, 20, 30]), np.array([0.0, 10, np.nan, 5])
    drawn = chart("w", "x", "y", [ChartSeries("s", x, y, AFTER, "dot", np.array([1.0, 1, 1, 1e9]))])
    assert drawn is not None
    labels = [each.text for each in drawn.marks if isinstance(each, Label)]
    assert {"0", "10", "20", "30", "x", "y", "s"} <= set(labels)
    for mark in drawn.marks:
        points = mark.points if isinstance(mark, Line) else ((mark.x, mark.y),)
        assert all(0 <= a <= drawn.width and 0 <= b <= drawn.height for a, b in points)
    assert chart("w", "x", "y", [ChartSeries("s", x, np.full(4, np.nan), AFTER)]) is None


def hostile(text: str) -> str:
    return f"<script>alert(1)</script><img src=x onerror=alert(2)>\"'&{{{{ 7 * 7 }}}}\u202e{text}"


def test_nothing_that_comes_from_a_file_is_more_than_text(session: Session, make_drive: Callable[..., Drive]) -> None:
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
    made = State(hostile("s"), history, (Drive(1, log, 1),))
    contents = run(contents_of(made, other, hostile("w")))
    assert contents.refusal
    html = report_html(written_report(contents, "a4", "colour"))
    text_of(html)
    assert "<script" not in html
    assert "<img" not in html
    assert "\u202e" not in html
    assert "{{ 7 * 7 }}" in html
    for named in ("digest", "sha", "key", "by", "accepted", "axis", "op", "w"):
        assert f"\\u202e{named}" in html, named
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', html)
    assert policy is not None
    assert policy[1].startswith("default-src 'none") or policy[1].startswith("default-src &#39;none")
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)
    assert style is not None
    assert base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode() in policy[1]
