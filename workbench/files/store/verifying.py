"""A session file held against what was recorded, and copied, whoever has it open."""

from collections.abc import Mapping
from contextlib import closing
from pathlib import Path

from workbench.errors import FileError, WorkbenchError
from workbench.files.disk.session_header import DAMAGED
from workbench.files.store.refusals import while_open
from workbench.files.store.store import Store, live_store
from workbench.phrases import phrase


def stored_problems(path: Path) -> tuple[str, ...]:
    """Open a session anew and tell everything in it that is not as it was recorded, as sentences."""
    try:
        with closing(Store.open(path)) as store:
            return store.problems()
    except WorkbenchError as refusal:
        problems = refusal.details.get("problems")
        return tuple(map(str, problems)) if isinstance(problems, list) else (str(refusal),)


def chain_digests(path: Path, sequence: int) -> Mapping[int, str]:
    """Compare a session as it lies on the disk now with its digests and against what was opened.

    Args:
        path: of the session.
        sequence: number of changes known.

    Returns:
        The digest of each change by its sequence number; each stands for all that was recorded up to it.

    Raises:
        FileError: naming what is not as it was recorded, or was opened; a LostFileError where it is open here.
    """
    live = live_store(path, sequence)
    try:
        return _checked_chain(path, sequence, live)
    except FileError as refusal:
        if live is None:
            raise
        raise while_open(refusal) from refusal


def _checked_chain(path: Path, sequence: int, live: Store | None) -> Mapping[int, str]:
    with closing(Store.open(path)) as store:
        store.changes()
        digests = store.record.digests
    known = digests.get(sequence) if live is None else live.record.digest_at(sequence)
    if known is None or digests.get(sequence) != known:
        raise FileError(
            phrase(
                "{path} holds another history than the one that was opened: its change {sequence} "
                "differs or is missing.",
                path=path,
                sequence=sequence,
            ),
            DAMAGED,
        )
    return digests


def copy_session(path: Path, sequence: int, target: Path) -> int:
    """Copy a session row by row, from memory where it is open in this process; give the number of changes.

    Raises:
        FileError: when something is at the target already, it cannot be written, or the session cannot be read.
    """
    live = live_store(path, sequence)
    if live is not None:
        live.copy_to(target)
        return live.record.last[0]
    with closing(Store.open(path)) as store:
        store.changes()
        store.copy_to(target)
        return store.record.last[0]
