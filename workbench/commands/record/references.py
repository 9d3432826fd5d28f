"""Tables by reference: a revision, a revision of another session, or a table in a file."""

import re
from dataclasses import dataclass
from pathlib import Path

from workbench.commands.declaring.branch_names import known_names, named
from workbench.commands.table.donors import in_our_units
from workbench.errors import InputError
from workbench.files.tables.tables import read_table
from workbench.model.history import Json
from workbench.model.state import State
from workbench.model.table import Table
from workbench.phrases import phrase
from workbench.session import Session, looks_like_session

_OF_SESSION = re.compile(r"(.*):(.+)")


@dataclass(frozen=True)
class Referred:
    """A table that was referred to.

    Attributes:
        name: what it is called in answers: the number of a revision, else the reference as it was given.
        table: in the units of the session's own table.
        notes: what was assumed in reading it.
    """

    name: int | str
    table: Table
    notes: tuple[str, ...] = ()

    @property
    def json(self) -> Json:
        """Its name, for a program."""
        return self.name

    def __str__(self) -> str:
        """Name it in a sentence."""
        return phrase("revision {number}", number=self.name) if isinstance(self.name, int) else self.name


def referred(state: State, reference: str | int, ours: Table) -> Referred:
    """Find the table that a reference names.

    Args:
        state: the session.
        reference: a revision, as in 3; the name of a branch; a file with a table; another session, as in other.session,
            which stands for its current revision, other.session:3, or other.session:safe with the name of a branch.
        ours: the session's table that it is about; an outside table is brought into its units.

    Raises:
        InputError: when it is of another kind, when no unit leads to ours, or when there is no such revision.
        FileError: when the file cannot be read.
    """
    text = str(reference).strip()
    if (number := revision_of(state, text)) is not None:
        return Referred(number, state.history.revision(number).table)
    path, place = _session_in(text)
    if not path.exists():
        raise InputError(
            phrase("{text!r} is neither a revision nor a file, and no branch has that name.", text=text),
            "Give a revision such as 3, a branch's name, a file with a table, or a revision of another session, as in "
            "other.session:3.",
        )
    if looks_like_session(path):
        read, label = _of_session(path, place, ours)
        notes: tuple[str, ...] = ()
    else:
        read, notes = read_table(Path(text), name=ours.name, kind=ours.kind)
        label = text
    _check_kind(read, ours, label)
    table, more = in_our_units(read, ours, phrase("The table in {file}", file=Path(text).name))
    return Referred(label, table, (*notes, *more))


def revision_of(state: State, reference: str | int) -> int | None:
    """Give the revision of this session that a reference names, by number or branch; None where it is from elsewhere.

    Raises:
        InputError: when a branch and a file have that name, or branches of several tables.
    """
    text = str(reference).strip()
    number = named(state, text)
    if number is not None and not text.isdecimal() and Path(text).exists():
        raise InputError(
            phrase("{text!r} is a branch of this session and a file.", text=text),
            phrase(
                "Give {number} for the branch, or {path} for the file.",
                number=number,
                path=f"./{text}",
            ),
        )
    return number


def file_of(reference: str) -> Path:
    """Give the file that a reference would be read from, were it none of this session's revisions."""
    return _session_in(reference.strip())[0]


def _session_in(text: str) -> tuple[Path, str]:
    match = _OF_SESSION.fullmatch(text)
    if match is not None and not Path(text).exists() and Path(match[1]).exists():
        return Path(match[1]), match[2]
    return Path(text), ""


def _of_session(path: Path, place: str, ours: Table) -> tuple[Table, str]:
    with Session.open(path) as other:
        state = other.state
        if place:
            number = named(state, place)
            if number is None or not 1 <= number <= len(state.history.revisions):
                words = phrase("{path} has no revision and no branch {place!r}.", path=path, place=place.strip())
                raise InputError(words, known_names(state, path.name))
            return state.history.revision(number).table, f"{path}:{place.strip()}"
        names = state.history.table_names
        chosen = (
            ours.name
            if ours.name in names
            else next((name for name in names if state.table(name).kind == ours.kind), names[0])
        )
        head = state.head(chosen)
        return head.table, f"{path}:{head.id}"


def _check_kind(read: Table, ours: Table, label: str) -> None:
    if read.kind != ours.kind:
        raise InputError(
            phrase(
                "{label} is a {theirs}, but {name!r} is a {ours}.",
                label=label,
                theirs=read.kind,
                name=ours.name,
                ours=ours.kind,
            ),
            "Compare two tables of one kind.",
        )
