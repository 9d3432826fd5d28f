"""The session on paper."""

import re
from collections.abc import Generator
from pathlib import Path
from typing import Annotated, Literal

from workbench.commands.declaring.kinds import FIRST, Called, NewFile, Replace, RevisionId, TableName
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.record.export_names import check_name
from workbench.commands.report.chapters import cells_chapter, pulls_chapter, rounds_chapter, table_chapter
from workbench.commands.report.contents import Contents, contents_of
from workbench.commands.report.grounds import evidence_chapter, history_chapter, logs_chapter, whole_lists
from workbench.commands.report.page_one import page_one
from workbench.errors import FileError, InputError
from workbench.files.disk.atomic_write import check_place, write_whole
from workbench.files.disk.clock import now
from workbench.files.export.blocks import Ink, PaperSize, Report
from workbench.files.export.printing import report_pdf
from workbench.files.export.report import report_html
from workbench.files.store.verifying import chain_digests
from workbench.model.history import Revision
from workbench.model.state import State
from workbench.phrases import flag, phrase
from workbench.work import Progress

CHAPTERS = (
    page_one,
    table_chapter,
    rounds_chapter,
    pulls_chapter,
    evidence_chapter,
    whole_lists,
    logs_chapter,
    history_chapter,
    cells_chapter,
)
ENDINGS = (".html", ".htm", ".pdf")


@command("Write a report", menu="Session", shortcut="Ctrl+P", icon="report", button="Write the report")
def report(
    state: State,
    file: NewFile,
    *,
    revision: RevisionId | None = None,
    paper: Annotated[Literal["a4", "letter"], Called("Paper")] = "a4",
    ink: Annotated[Literal["colour", "black-and-white"], Called("Ink")] = "colour",
    replace: Replace = False,
    table: TableName = FIRST,
) -> Job[Path]:
    """Write the table, its evidence, logs and history as PDF, or as one HTML file.

    The first page says it all; behind it stand the table, rounds, pulls, evidence, logs and the whole history.

    Args:
        file: the file to write; its ending says whether it is .pdf or .html.
        revision: which revision; the current one if not given.
        paper: size of the paper.
        ink: with colour, or told apart by dashes and shades alone.
        replace: replace an existing file; sessions and their logs are never replaced.
        table: the table whose current revision is meant; the first one if not given.

    Example:
        report car.session airflow.pdf --paper letter
    """
    check_place(file, {drive.log.sha256 for drive in state.drives})
    if file.suffix.lower() not in ENDINGS:
        raise InputError(
            phrase("A report is written as .pdf or .html, not as {ending!r}.", ending=file.suffix),
            "Give a file name that ends in .pdf or .html.",
        )
    if file.exists() and not replace:
        raise FileError(
            phrase("{file} already exists.", file=file),
            phrase("Name another file, or give {replace_flag}.", replace_flag=flag("replace")),
        )
    wanted = state.head(table) if revision is None else state.history.revision(revision)
    check_name(state, wanted, file)
    chain_digests(Path(state.path), state.sequence)
    contents = yield from contents_of(state, wanted, now())
    whole = written_report(contents, paper, ink)
    content = yield from _content(whole, file)
    write_whole(file, content)
    name = wanted.table.name
    return Answer(
        file,
        lambda: {"path": str(file), "revision": wanted.id},
        (phrase("Report on revision {wanted} of {name!r} written to {file}.", wanted=wanted.id, name=name, file=file),),
    )


def free_path(state: State, revision: Revision, what: str = "", ending: str = ".pdf") -> Path:
    """Return a path beside the session for a paper on a revision, under which there is nothing yet."""
    session = Path(state.path)
    name = re.sub(r"[^\w.-]+", "_", revision.table.name)
    stem = f"{session.stem}_{name}_{what}revision_{revision.id}"
    every = (f"{stem}{ending}", *(f"{stem}_{number}{ending}" for number in range(2, 10_000)))
    return next(path for path in map(session.with_name, every) if not path.exists())


def written_report(contents: Contents, paper: PaperSize, ink: Ink) -> Report:
    """Write all chapters of a report as blocks."""
    title = phrase("{name}, revision {id}", name=contents.name, id=contents.revision.id)
    footer = phrase(
        "{name}, revision {id} of {session}; digest {digest}; written {time}",
        name=contents.name,
        id=contents.revision.id,
        session=contents.session,
        digest=contents.revision.digest[:12],
        time=contents.written,
    )
    return Report(title, footer, paper, ink, tuple(block for chapter in CHAPTERS for block in chapter(contents)))


def _content(whole: Report, file: Path) -> Generator[Progress, None, bytes]:
    if file.suffix.lower() == ".pdf":
        return (yield from report_pdf(whole))
    return report_html(whole).encode()
