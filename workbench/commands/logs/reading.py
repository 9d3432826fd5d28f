"""Reading a log for a session: as it is, and as logs of the same shape were said to be read before."""

from collections.abc import Generator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from workbench.commands.logs.answers import remembered_units, said_units
from workbench.errors import InputError, WorkbenchError
from workbench.files.identify import refused_as_log
from workbench.files.logs import read_log
from workbench.files.vocabulary.roles import STATED, shape_key
from workbench.maths.signals.sample_hold import held_notes
from workbench.model.log import Drive, Log, Role
from workbench.phrases import flag, phrase
from workbench.work import Progress


def read_as_before(
    file: Path, roles: Mapping[Role, str], options: Mapping[str, Any], drives: Sequence[Drive]
) -> Generator[Progress, None, Log]:
    """Read a log, with the roles that were stated for a log of the same shape before, unless others are stated now."""
    try:
        log = yield from read_log(file, roles=roles, **options)
    except WorkbenchError as refusal:
        raise refused_as_log(file, options["part"], refusal) from refusal
    if not log.roles:  # a table reads as a log of channels that mean nothing
        nothing = InputError("None of its columns is recognised as a channel.", "")
        if (refusal_as_table := refused_as_log(file, options["part"], nothing)) is not nothing:
            raise refusal_as_table
    units = {**_units_of_shape(log, drives), **options["units"]}
    if units != options["units"]:
        log = yield from read_log(file, roles=roles, **{**options, "units": units})
        options = {**options, "units": units}
    log = replace(log, notes=(*log.notes, *said_units(units)))
    remembered = {role: name for role, name in remembered_roles(log, drives).items() if role not in roles}
    if any(log.roles.get(role) != name for role, name in remembered.items()):
        log = yield from read_log(file, roles={**remembered, **roles}, **options)
        log = replace(log, notes=(*log.notes, *said_units(units)))
        listed = ", ".join(f"{role}={name}" for role, name in remembered.items())
        log = replace(
            log, notes=(*log.notes, phrase("As stated for an earlier log of the same shape: {listed}.", listed=listed))
        )
    return replace(log, notes=(*log.notes, *held_notes(log)))


def _units_of_shape(log: Log, drives: Sequence[Drive]) -> dict[str, str]:
    """Give the units that were stated for the last log with the same channels."""
    shape = shape_key(log)
    earlier = next((drive.as_read for drive in reversed(drives) if shape_key(drive.as_read) == shape), None)
    return {} if earlier is None else remembered_units(earlier)


def remembered_roles(log: Log, drives: Sequence[Drive]) -> dict[Role, str]:
    """Return the roles that the user stated, or corrected afterwards, for the last log with the same channels."""
    shape = shape_key(log)
    earlier = next((drive.as_read for drive in reversed(drives) if shape_key(drive.as_read) == shape), None)
    if earlier is None:
        return {}
    return {
        role: name
        for role, name in earlier.roles.items()
        if earlier.guesses.get(role, STATED) == STATED or log.roles.get(role, name) != name
    }


def check_new(log: Log, drives: Sequence[Drive]) -> None:
    """Refuse a log of which the session has the content already.

    Raises:
        InputError: naming that log.
    """
    for drive in drives:
        if drive.log.sha256 == log.sha256:
            raise InputError(
                phrase(
                    "{log} has the same content as log {drive} ({log_2}).",
                    log=log.name,
                    drive=drive.id,
                    log_2=drive.log.name,
                ),
                phrase("It would count twice; to add it all the same, give {again_flag}.", again_flag=flag("again")),
            )
