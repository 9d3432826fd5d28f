"""The files of an export: their names, what these say of the revision in them, and whose lies there already."""

import re
from collections.abc import Mapping
from pathlib import Path

from workbench.errors import InputError
from workbench.maths.table.storage import parts_of
from workbench.model.ecu_format import EcuFormat
from workbench.model.history import Json, Revision
from workbench.model.state import State
from workbench.model.table import Table
from workbench.phrases import phrase

_NAMED = re.compile(r"(?<![^\W_])rev(?:ision)?[ ._-]*(\d+)(?!\d)", re.IGNORECASE)


def check_name(state: State, wanted: Revision, path: Path) -> None:
    """Refuse a file name that names another revision of the session than the one the file is to hold.

    Whoever flashes the file sees its name alone. A number that no revision has may mean anything.

    Raises:
        InputError: naming both.
    """
    named = _NAMED.findall(path.stem)
    number = int(named[-1]) if named else wanted.id
    if number == wanted.id or all(number != each.id for each in state.history.revisions):
        return
    raise InputError(
        phrase(
            "The name {path} says revision {number}, but the file would hold revision {wanted}.",
            path=path.name,
            number=number,
            wanted=wanted.id,
        ),
        phrase(
            "Write {wanted} in the name, or no revision; or choose revision {number}.", wanted=wanted.id, number=number
        ),
    )


def whose(earlier: Mapping[str, Json], now: Mapping[str, Json], chain: Mapping[int, str]) -> str:
    """Say whose an exported file is that would be replaced; empty where it is an earlier one of the same table.

    Args:
        earlier: the paper that lies beside it.
        now: the paper that would take its place.
        chain: digest of each change of the session, by its number.
    """
    session, table = earlier.get("session"), earlier.get("table")
    number, digest = earlier.get("changes"), earlier.get("chain")
    of = phrase("revision {revision} of {table!r}", revision=earlier.get("revision"), table=table)
    if session != now.get("session"):
        return phrase("{of}, exported from another session, {session}", of=of, session=session)
    if table != now.get("table"):
        return phrase("{of}, another table", of=of)
    if isinstance(number, int) and chain.get(number) != digest:
        return phrase("{of}, exported from another session of the same name, {session}", of=of, session=session)
    return ""


def files_of(path: Path, whole: Table, ecu_format: EcuFormat) -> dict[Path, Table]:
    """Return the files of an export: the whole table first, then its parts.

    Raises:
        InputError: when two parts would get the same file name.
    """
    kept = parts_of(whole, ecu_format)
    files = {path: whole} | {_part_path(path, part.name): part for part in kept}
    if len(files) < 1 + len(kept):
        names = ", ".join(repr(part.name) for part in kept)
        raise InputError(
            phrase("The parts {names} would be written to the same file.", names=names),
            "Give them names that differ in more than punctuation.",
        )
    return files


def _part_path(path: Path, part: str) -> Path:
    name = re.sub(r"[^\w.-]+", "_", part)
    return path.with_name(f"{path.stem}.{name}{path.suffix}")
