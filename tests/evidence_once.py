"""The evidence of the same drives for the same table is worked out once in a run, whatever session they are in.

What is in it is for the tests of the maths; tests of what the commands and the window make of it need not wait for it
a hundred times. Names and times of a session, which the evidence does not rest on, are left out of what is compared.
"""

from collections.abc import Callable, Generator, Iterator
from dataclasses import replace

import pytest

from workbench.commands.evidence import gathering
from workbench.files.cache.digests import digest
from workbench.maths.evidence import gather_evidence
from workbench.model.evidence import Evidence
from workbench.model.history import History, Revision
from workbench.model.log import Drive
from workbench.work import Progress

_FOUND: dict[str, Evidence] = {}


def gather_once(
    history: History, head: Revision, drives: tuple[Drive, ...], *rest: object
) -> Generator[Progress, None, Evidence]:
    """Gather evidence as the program does, or give what was gathered of the same before."""
    known, given = [_bare(each) for each in history.revisions], [replace(each, added="") for each in drives]
    key = digest(known, _bare(head), given, *rest)
    if key in _FOUND:
        yield Progress(1, 1)
    else:
        gather: Callable[..., Generator[Progress, None, Evidence]] = gather_evidence
        _FOUND[key] = yield from gather(history, head, drives, *rest)
    return _FOUND[key]


def _bare(revision: Revision) -> Revision:
    return replace(revision, author="", time="", digest="")


@pytest.fixture(autouse=True, scope="module")
def evidence_once() -> Iterator[None]:
    """Let what is asked for through the commands be gathered once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(gathering, "gather_evidence", gather_once)
        yield
