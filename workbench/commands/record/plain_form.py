"""A session as plain files for other programs, and back."""

from pathlib import Path

from workbench.commands.declaring.kinds import Folder, NewFile
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.errors import FileError
from workbench.files.disk.scratch import scratch_folder
from workbench.files.plain.packing import UNPACK_AGAIN, pack_session, strangers
from workbench.files.plain.unpacking import unpack_session
from workbench.files.store.verifying import chain_digests, copy_session, stored_problems
from workbench.model.counting import counted
from workbench.model.state import State
from workbench.phrases import join_phrases, phrase
from workbench.session import Session


@command("Unpack the session into plain files", menu="Session", icon="export", button="Unpack")
def unpack(state: State, folder: Folder) -> Job[Path]:
    """Write everything in the session as plain files (JSON and CSV) that any program reads.

    FORMAT.md in the folder says what stands in them; `pack` makes the same session of them again.

    Args:
        folder: where to write them; nothing but an empty folder may be there yet.

    Example:
        unpack car.session car_plain
    """
    path = Path(state.path)
    yield from unpack_session(path, state.sequence, folder)
    revisions, logs = len(state.history.revisions), len(state.drives) + len(state.removed)
    line = phrase(
        "{folder}: {changes}, {revisions} and {logs} as JSON and CSV.",
        folder=folder,
        changes=counted(state.sequence, "change"),
        revisions=counted(revisions, "revision"),
        logs=counted(logs, "log"),
    )
    return Answer(folder, lambda: {"path": str(folder), "changes": state.sequence}, (line,))


@command("Pack plain files into a session", menu="Session", icon="open", button="Pack")
def pack(folder: Folder, session: NewFile) -> Job[Path]:
    """Make a session of the plain files that `unpack` wrote, to the same digests.

    Args:
        folder: the folder that `unpack` wrote.
        session: the session file to make; nothing may be there yet.

    Example:
        pack car_plain car_again.session
    """
    with scratch_folder() as scratch:
        draft = scratch / "packed.session"
        yield from pack_session(folder, draft)
        if problems := stored_problems(draft):
            refusal = FileError(
                phrase(
                    "The files in {folder} are not as they were recorded: {problems}",
                    folder=folder,
                    problems=join_phrases(" ", problems[:5]),
                ),
                UNPACK_AGAIN,
            )
            refusal.details["problems"] = list(problems)
            raise refusal
        with Session.open(draft) as opened:
            sequence = opened.state.sequence
        changes = copy_session(draft, sequence, session)
        digest = chain_digests(draft, sequence)[sequence]
    left = strangers(folder)
    lines = (
        phrase("{session}: {changes}, every digest as it was.", session=session, changes=counted(changes, "change")),
        *(phrase("Left out, since it is no part of a session: {name}", name=name) for name in left),
    )
    return Answer(
        session, lambda: {"path": str(session), "changes": changes, "chain": digest, "left_out": list(left)}, lines
    )
