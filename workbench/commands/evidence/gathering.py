"""Gathering evidence for a session, once for the same drives: what was found is kept and found again.

The maths is given nothing but what the key of a result is made of, so that no result can rest on anything else.
"""

from collections.abc import Container, Generator
from contextlib import suppress

from workbench.commands.evidence.next_step import drives_of
from workbench.errors import InputError
from workbench.files.cache.digests import digest, digest_of_program
from workbench.files.cache.folder import find, forget, keep, place
from workbench.files.cache.lasting import ForeignBytesError, from_bytes, to_bytes
from workbench.files.disk.shelf import shelf
from workbench.maths.evidence import gather_evidence
from workbench.maths.signals.aside import putting_aside
from workbench.model.evidence import Delay, Evidence, Source
from workbench.model.history import History, Revision
from workbench.model.log import Drive
from workbench.model.state import State
from workbench.work import Progress

RESTS_ON = ("maths", "model", "phrases", "expressions", "work", "errors")  # floors that evidence is worked out by


def gathered(
    state: State,
    head: Revision,
    drives: tuple[Drive, ...],
    source: Source,
    stated: Delay | None,
    trusted: frozenset[int],
) -> Generator[Progress, None, Evidence]:
    """Gather the evidence of drives for a table, or find it again, bit for bit the same.

    Args: as of `gather_evidence`.

    Raises:
        InputError: as `gather_evidence` does.
    """
    history = History(state.history.revisions, {}, {}, {})
    known = tuple((each.id, each.digest, each.origin) for each in history.revisions)
    key, program = "", digest_of_program(*RESTS_ON) if place() is not None else ""
    if program and all(told for _, told, _ in known):
        key = digest("evidence", program, known, head, drives, state.settings, source, stated, trusted)
        if (found := _found(key, head)) is not None:
            return found
    with shelf(sum(drive.log.rows for drive in drives)) as aside, putting_aside(aside):
        evidence = yield from gather_evidence(history, head, drives, state.settings, source, stated, trusted)
    if key:
        with suppress(TypeError):  # what cannot be kept is worked out again; it is never in the way
            keep(key, to_bytes(evidence))
    return evidence


def own_drives(state: State, revision: Revision, found: Evidence) -> tuple[int, ...]:
    """Number the drives that count and were made with a revision; none where the evidence is of no others."""
    own = tuple(drive.id for drive in drives_of(state, revision) if drive.id in found.drives)
    return own if len(own) < len(found.drives) else ()


def from_drives_with(
    state: State, revision: Revision, usable: Container[int] | None = None
) -> Generator[Progress, None, Evidence | None]:
    """Gather what the drives made with a revision in the car say of it.

    Args:
        state: the session.
        revision: of a table.
        usable: numbers of the drives that count: one that is left out, as the airflow it logs fits another revision,
            says nothing of this one; all where not given.

    Returns:
        None where there is no such drive, or nothing in them passes the gates.
    """
    drives = tuple(each for each in drives_of(state, revision) if usable is None or each.id in usable)
    return (yield from from_drives(state, revision, drives))


def from_drives(
    state: State, revision: Revision, drives: tuple[Drive, ...]
) -> Generator[Progress, None, Evidence | None]:
    """Gather what some drives say of a revision, used as they were chosen; None where they say nothing."""
    if not drives:
        return None
    try:
        return (yield from gathered(state, revision, drives, "both", None, frozenset(each.id for each in drives)))
    except InputError:  # nothing in them passes the gates
        return None


def _found(key: str, head: Revision) -> Evidence | None:
    """Find the evidence of a key; what cannot be read is forgotten."""
    content = find(key)
    if content is None:
        return None
    try:
        evidence = from_bytes(content)
        if isinstance(evidence, Evidence) and evidence.revision == head.id:
            return evidence
    except (ForeignBytesError, InputError):
        pass
    forget(key)
    return None
