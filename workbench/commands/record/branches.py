"""Branches by name, and which revision is in the car since when."""

from typing import Annotated

from workbench.commands.declaring.branch_names import is_taken_back, members, tip
from workbench.commands.declaring.into_the_car import accepted_lean
from workbench.commands.declaring.kinds import FIRST, BranchStart, Called, Line, RevisionId, TableName
from workbench.commands.declaring.making import NOT_LEANING
from workbench.commands.declaring.registry import Answer, command
from workbench.errors import InputError
from workbench.files.disk.clock import moment_of, now, user_name
from workbench.model.counting import counted
from workbench.model.deed import InCar
from workbench.model.history import Json, Revision
from workbench.model.state import BranchNamed, PutInCar, State
from workbench.model.step import step
from workbench.phrases import call, phrase


@command("Name a branch", menu="History", word="name-branch", icon="history", button="Name it")
def name_branch(state: State, revision: BranchStart, name: Line = "") -> Answer[str]:
    """Give the branch that begins with a revision a name, such as safe or race fuel; without one, take it away.

    The branch is that revision and all that is made from it, up to where another branch with a name begins.

    Args:
        revision: the first revision of the branch; a branch that has a name is named by that too.
        name: of the branch; none takes the name away.

    Example:
        name-branch car.session 5 "race fuel"
    """
    state.history.revision(revision)
    name = name.strip()
    before = state.branches.get(revision, "")
    if name.isdecimal():
        raise InputError(
            phrase("The name {name!r} is a number, which stands for a revision.", name=name),
            "Give the branch a name with letters, as in safe.",
        )
    if name == before:
        raise InputError(
            phrase("The branch from revision {revision} is called {name!r} already.", revision=revision, name=name)
            if name
            else phrase("No branch with a name begins with revision {revision}.", revision=revision),
            "Give it another name.",
        )
    change = BranchNamed(revision, name)
    after = step(state, change)
    if name:
        many = counted(len(members(after, revision)), "revision")
        line = phrase(
            "The branch from revision {revision} is called {name!r}: {many}.", revision=revision, name=name, many=many
        )
    else:
        line = phrase("The branch from revision {revision} lost its name {name!r}.", revision=revision, name=before)
    return Answer(name, lambda: {"revision": revision, "name": name, "before": before}, (line,), change)


@command("Put a revision in the car", menu="History", word="put-in-car", icon="car", button="Put in the car")
def put_in_car(
    state: State,
    revision: RevisionId | None = None,
    *,
    at: Line = "",
    accept: Annotated[tuple[str, ...], Called("Accepted objections", "CHECK")] = (),
    table: TableName = FIRST,
) -> Answer[InCar]:
    """Record since when a revision is in the car: logs added after that belong to it unless you say otherwise.

    Args:
        revision: which revision; the current one if not given.
        at: when, as in 14:10 or 2026-11-27T14:10; now if not given.
        accept: lean-step-at-high-load, for a revision that is leaner there than what is in the car.
        table: the table whose current revision is meant; the first one if not given.

    Example:
        put-in-car car.session 4 --at 14:10
    """
    wanted = state.head(table) if revision is None else state.history.revision(revision)
    if is_taken_back(state, wanted.id):
        raise InputError(
            phrase(
                "Revision {id} was undone: it is neither on the way to the current one nor on a branch with a name.",
                id=wanted.id,
            ),
            phrase(
                "Redo it, or name the branch that begins with it: {command}.",
                command=call("name-branch", "SESSION", str(wanted.id), "NAME"),
            ),
        )
    mark = InCar(wanted.id, moment_of(at) if at.strip() else now(), user_name())
    if mark.since > now():
        raise InputError(
            phrase("{since} is still to come.", since=mark.since), "Give the time at which it was put into the car."
        )
    line = phrase(
        "Revision {id} of {table!r} is in the car since {since}: logs added from now on belong to it.",
        id=wanted.id,
        table=wanted.table.name,
        since=mark.since,
    )
    later = state.carried_at(wanted.table.name, now())
    lean, warnings = _lean(state, wanted, accept, mark)
    if later is not None and later.since > mark.since:
        line = phrase(
            "Revision {id} of {table!r} was in the car from {since} to {until}, when revision {later} was put in.",
            id=wanted.id,
            table=wanted.table.name,
            since=mark.since,
            until=min(each.since for each in state.in_car[wanted.table.name] if each.since > mark.since),
            later=next(e.revision for e in state.in_car[wanted.table.name] if e.since > mark.since),
        )
    return Answer(
        mark,
        lambda: {**lean, "revision": wanted.id, "table": wanted.table.name, "since": mark.since, "by": mark.by},
        (line, *warnings),
        PutInCar(mark),
        warnings=warnings,
    )


def _lean(
    state: State, revision: Revision, accept: tuple[str, ...], mark: InCar
) -> tuple[dict[str, Json], tuple[str, ...]]:
    """Return how a revision leans high load, from what is in the car and, where it never left the desk, on its way.

    One that was in the car before what is there now, and is only recorded late, takes nothing's place.

    Raises:
        InputError: where it does and nobody accepted it.
    """
    history, name = state.history, revision.table.name
    left = revision.id in history.approvals or any(each.revision == revision.id for each in history.exports)
    left = left or any(history.driven(drive, name) is revision for drive in state.drives)
    later = state.carried_at(name, now())
    if left and later is not None and later.since > mark.since:
        return NOT_LEANING
    why = "This is no draft on a desk any more: the engine runs on it."
    return accepted_lean(state, revision, accept, why, left=left)


@command("Show the branches", menu="History", icon="history", opens="answer")
def branches(state: State, *, table: TableName = FIRST) -> Answer[dict[str, tuple[Revision, ...]]]:
    """List the branches that have names, and what is in the car.

    Wherever a revision is asked for, the name of a branch stands for the revision at which it stands: the current one
    where that is on it, else its last.

    Args:
        table: which table; the first one if not given.

    Example:
        branches car.session
    """
    name, head = state.table_name(table), state.head(table)
    roots = [number for number in sorted(state.branches) if state.history.revision(number).table.name == name]
    found = {state.branches[number]: members(state, number) for number in roots}
    stands = {state.branches[number]: tip(state, number).id for number in roots}
    lines = [
        phrase(
            "{mark}{branch}: from revision {first}, {many}, stands at {last}",
            mark="* " if head in inside else "  ",
            branch=branch,
            first=inside[0].id,
            many=counted(len(inside), "revision"),
            last=stands[branch],
        )
        for branch, inside in found.items()
    ]
    if not lines:
        lines = [
            phrase("No branch has a name: {name_command}.", name_command=call("name-branch", "SESSION", "N", "NAME"))
        ]
    carried = state.carried_at(name, now())
    if carried is not None:
        lines.append(phrase("In the car since {since}: revision {id}.", since=carried.since, id=carried.revision))

    def as_json() -> dict[str, Json]:
        listed: dict[str, Json] = {branch: [each.id for each in inside] for branch, inside in found.items()}
        marks: list[Json] = [
            {"revision": each.revision, "since": each.since, "by": each.by} for each in state.in_car.get(name, ())
        ]
        at = dict[str, Json](stands)
        return {"branches": listed, "stands_at": at, "on": state.branch_of(head.id), "in_car": marks}

    return Answer(found, as_json, tuple(lines))
