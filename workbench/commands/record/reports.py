"""The session on paper."""

from pathlib import Path

from workbench.commands.declaring.kinds import FIRST, NewFile, Replace, RevisionId, TableName
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.evidence.evidence import cautions, gather_for
from workbench.errors import FileError, InputError
from workbench.files.disk.atomic_write import check_place, write_whole
from workbench.files.disk.clock import now
from workbench.files.export.report import Paper, report_html
from workbench.files.store.verifying import chain_digests
from workbench.model.evidence import Evidence
from workbench.model.state import State
from workbench.phrases import flag, phrase


@command("Write a report", menu="Session", icon="report")
def report(
    state: State,
    file: NewFile,
    *,
    revision: RevisionId | None = None,
    replace: Replace = False,
    table: TableName = FIRST,
) -> Job[Path]:
    """Write the table, its evidence, logs and history as one HTML file.

    Args:
        file: the file to write.
        revision: which revision; the current one if not given.
        replace: replace an existing file; sessions and their logs are never replaced.
        table: the table whose current revision is meant; the first one if not given.

    Example:
        report car.session airflow.html
    """
    check_place(file, {drive.log.sha256 for drive in state.drives})
    if file.exists() and not replace:
        raise FileError(
            phrase("{file} already exists.", file=file),
            phrase("Name another file, or give {replace_flag}.", replace_flag=flag("replace")),
        )
    wanted = state.head(table) if revision is None else state.history.revision(revision)
    chain_digests(Path(state.path), state.sequence)
    name = wanted.table.name
    found: Evidence | None = None
    warned: tuple[str, ...] = ()
    if state.drives:
        try:
            found = yield from gather_for(state, name, "all", "both", "", wanted)
            warned = cautions(state, table=TableName(name)).lines
        except InputError as refusal:
            warned = (str(refusal),)
    paper = Paper(
        state.path, state.history, wanted, state.history.line(wanted.id)[0], state.drives, found, warned, now()
    )
    write_whole(file, report_html(paper).encode())
    return Answer(
        file,
        lambda: {"path": str(file), "revision": wanted.id},
        (phrase("Report on revision {wanted} of {name!r} written to {file}.", wanted=wanted.id, name=name, file=file),),
    )
