"""Branches with names: what is on them, where they stand, and which revision a name stands for."""

from workbench.errors import InputError
from workbench.model.history import Revision
from workbench.model.state import State
from workbench.phrases import phrase


def members(state: State, first: int) -> tuple[Revision, ...]:
    """Return the revisions of the branch that begins with one and has a name, oldest first."""
    name, table = state.branches[first], state.history.revision(first).table.name
    return tuple(
        each for each in state.history.revisions if each.table.name == table and state.branch_of(each.id) == name
    )


def tip(state: State, first: int) -> Revision:
    """Return where the branch stands that begins with a revision: the current one if it is on it, else its last."""
    found = members(state, first)
    head = state.head(found[0].table.name)
    return head if head in found else found[-1]


def named(state: State, text: str) -> int | None:
    """Find the revision that a number, or the name of a branch, stands for; None where it is neither.

    Raises:
        InputError: when branches of several tables have that name.
    """
    text = text.strip()
    if text.isdecimal():
        return int(text)
    tips = [tip(state, first) for first in sorted(state.branches) if state.branches[first] == text]
    if len(tips) > 1:
        listed = ", ".join(f"{each.id} ({each.table.name})" for each in tips)
        raise InputError(
            phrase("Branches of several tables are called {text!r}.", text=text),
            phrase("Give the revision by its number: {listed}.", listed=listed),
        )
    return tips[0].id if tips else None


def beginning(state: State, text: str) -> int | None:
    """Find the revision that a number stands for, or with which the branch of a name begins; None where it is neither.

    Raises:
        InputError: when branches of several tables have that name.
    """
    if text.strip().isdecimal() or named(state, text) is None:
        return named(state, text)
    return next(first for first in state.branches if state.branches[first] == text.strip())


def known_names(state: State, file: str = "") -> str:
    """Say what may be given for a revision: numbers, and the names of branches where there are any.

    Args:
        state: of the session that was asked.
        file: it, where it is another than the one that is worked on.
    """
    last = len(state.history.revisions)
    if file:
        revisions = phrase("{file} has revisions 1 to {revisions}.", file=file, revisions=last)
    else:
        revisions = phrase("This session has revisions 1 to {revisions}.", revisions=last)
    if not state.branches:
        return revisions
    return phrase("{revisions} Its branches: {names}.", revisions=revisions, names=", ".join(state.branches.values()))


def is_taken_back(state: State, number: int) -> bool:
    """Whether a revision is neither on the way to the current one nor on a branch with a name."""
    table = state.history.revision(number).table.name
    current = state.history.line(state.history.heads[table])
    return not state.branch_of(number) and all(each.id != number for each in current)
