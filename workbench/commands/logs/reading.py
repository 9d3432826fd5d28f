"""Reading a log for a session: as it is, and as logs of the same shape were said to be read before."""

from collections.abc import Generator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from workbench.commands.logs.answers import remembered_units, said_units
from workbench.commands.logs.axis_offers import named_by_axes, with_reasons
from workbench.commands.logs.second_looks import Statement, second_look
from workbench.errors import FileError, InputError, WorkbenchError
from workbench.files.channels.doubts import is_of_standing_trim
from workbench.files.channels.stated_answers import holds_unasked, no_units
from workbench.files.identify import refused_as_log
from workbench.files.logs import pack_samples, read_log
from workbench.files.together import is_same_drive, overlap, read_together
from workbench.files.vocabulary.roles import OFFERED, STATED, shape_key
from workbench.maths.signals.sample_hold import held_notes
from workbench.model.log import Channel, Drive, Log, Role, names_as_logged, renaming_note, typed_flag
from workbench.model.table import Table
from workbench.phrases import call, flag, join_phrases, phrase
from workbench.work import Progress

MOST_INSIDE = 200  # files of a folder
SAME_TIME, MOST_SHARED = 0.8, 0.5  # of the shorter log, and of the roles of the one with fewer


@dataclass(frozen=True)
class Reading:
    """How files are to be read.

    Attributes:
        roles: role -> channel, as stated.
        options: of reading.
        again: whether a log may be added that the session has.
        together: whether all files are of one drive.
        apart: whether each is a drive of its own.
    """

    roles: Mapping[Role, str]
    options: Mapping[str, Any]
    again: bool = False
    together: bool = False
    apart: bool = False


def read_as_before(
    files: Sequence[Path],
    roles: Mapping[Role, str],
    options: Mapping[str, Any],
    drives: Sequence[Drive],
    tables: Sequence[Table] = (),
) -> Generator[Progress, None, Log]:
    """Read a log, with the roles that were stated for a log of the same shape before, unless others are stated now.

    Args:
        files: of it; several where one drive was logged in several.
        roles: as stated now.
        options: of reading.
        drives: the logs of the session.
        tables: of the session, whose axes may bear the names of channels.
    """
    file, given = files[0], options["units"]
    try:
        log = yield from _read(files, roles, options)
    except WorkbenchError as refusal:
        if len(files) > 1:
            raise
        raise refused_as_log(file, options["part"], refusal) from refusal
    if not log.roles:  # a table reads as a log of channels that mean nothing
        nothing = InputError("None of its columns is recognised as a channel.", "")
        if (refusal_as_table := refused_as_log(file, options["part"], nothing)) is not nothing:
            raise refusal_as_table
    if named := named_by_axes(log, tables, roles):
        log = yield from _read(files, {**named, **roles}, options)
    units = {**_units_of_shape(log, drives), **options["units"]}
    if units != options["units"]:
        log = yield from _read(files, {**named, **roles}, {**options, "units": units})
        options = {**options, "units": units}
    log = replace(log, notes=(*log.notes, *said_units(units)))
    remembered = {role: name for role, name in remembered_roles(log, drives).items() if role not in roles}
    if any(log.roles.get(role) != name or log.guesses.get(role) == OFFERED for role, name in remembered.items()):
        log = yield from _read(files, {**named, **remembered, **roles}, options)
        log = replace(log, notes=(*log.notes, *said_units(units)))
        listed = ", ".join(f"{role}={name}" for role, name in remembered.items())
        log = replace(
            log, notes=(*log.notes, phrase("As stated for an earlier log of the same shape: {listed}.", listed=listed))
        )
    log = _held_against(log, roles, {**options, "units": given}, drives)
    log = _named_as_before(_without_answered(with_reasons(log, named, {**remembered, **roles}), drives), drives)
    return replace(log, notes=(*log.notes, *held_notes(log)))


def _held_against(log: Log, roles: Mapping[Role, str], options: Mapping[str, Any], drives: Sequence[Drive]) -> Log:
    """Ask to confirm what the log speaks against; of what is remembered that was done with the log before."""
    earlier = _of_shape(log, drives)
    open_ = earlier is not None and bool(earlier.questions)
    fresh_roles = {**(remembered_roles(log, drives) if open_ else {}), **roles}
    units = {**(_units_of_shape(log, drives) if open_ else {}), **options["units"]}
    stated = {role: name for role, name in log.roles.items() if log.guesses.get(role) == STATED}
    said = Statement(log, fresh_roles, units, stated, (), options["stoichiometric_afr"])
    look = second_look(said)
    kept = [each for each in log.questions if each.question not in look.moot]
    return replace(log, questions=(*kept, *look.questions))


def _without_answered(log: Log, drives: Sequence[Drive]) -> Log:
    """Ask no more whether a long trim that stands still is one, where it moved in an earlier log of the same shape.

    After a good correction nothing is left to learn: that drive is the one that is to be approved by.
    """
    shape, asked = shape_key(log), [each for each in log.questions if is_of_standing_trim(each)]
    before = (each.renamed(names_as_logged(each)) for each in (drive.as_read for drive in drives)) if asked else ()
    alike = [each for each in before if shape_key(each) == shape]
    answered = [
        question
        for question in asked
        if any((channel := each.channel(question.channel)) is not None and _moves(channel) for each in alike)
    ]
    return replace(log, questions=tuple(each for each in log.questions if each not in answered))


def _moves(channel: Channel) -> bool:
    """Tell whether a channel ever reads anything else."""
    values = channel.values[np.isfinite(channel.values)]
    return values.size > 0 and float(values.min()) != float(values.max())


def _named_as_before(log: Log, drives: Sequence[Drive]) -> Log:
    """Give channels the names that were stated for the last log with the same channels."""
    earlier = _of_shape(log, drives)
    logged = {} if earlier is None else names_as_logged(earlier)
    names = {old: new for new, old in logged.items()}
    notes = tuple(renaming_note(old, new) for old, new in names.items())
    return replace(log.renamed(names), notes=(*log.notes, *notes))


def _of_shape(log: Log, drives: Sequence[Drive]) -> Log | None:
    """Return the last log with the same channels, under the names of its file, as it was read."""
    shape = shape_key(log)
    as_read = (drive.as_read for drive in reversed(drives))
    return next((each for each in as_read if shape_key(each.renamed(names_as_logged(each))) == shape), None)


def _read(
    files: Sequence[Path], roles: Mapping[Role, str], options: Mapping[str, Any]
) -> Generator[Progress, None, Log]:
    several = len(files) > 1
    others = ("rate_hz", "window_s") if several else ("later_s",)  # what says nothing of so many files
    own = {name: value for name, value in options.items() if name not in others}
    return (
        yield from (read_together(files, roles=roles, **own) if several else read_log(files[0], roles=roles, **own))
    )


def check_together(
    *, together: bool, apart: bool, later: float | None, rate: float | None, window: float | None
) -> None:
    """Refuse statements about several files that contradict each other.

    Raises:
        InputError: naming them.
    """
    if together and apart:
        raise InputError(
            phrase("{a} and {b} contradict each other.", a=flag("together"), b=flag("apart")), "Leave one of them out."
        )
    if later is not None and not together:
        raise InputError(
            phrase("{later} says how files of one drive lie to each other.", later=flag("later")),
            phrase("Give {together} too, or leave it out.", together=flag("together")),
        )
    for name, value in (("rate", rate), ("window", window)):
        if together and value is not None:
            raise InputError(
                "Files of one drive are put together by their clocks.", phrase("Leave {flag} out.", flag=flag(name))
            )


def groups_of(files: Sequence[Path], *, together: bool) -> tuple[list[tuple[Path, ...]], frozenset[Path]]:
    """Give the files of each log, and those files of folders that may be no logs.

    Raises:
        FileError: when a folder holds no file, or too many.
    """
    named, perhaps = _logs_inside(files)
    return ([named] if together else [(each,) for each in named]), frozenset(() if together else perhaps)


def read_if_log(
    files: Sequence[Path],
    reading: Reading,
    drives: Sequence[Drive],
    perhaps: frozenset[Path],
    tables: Sequence[Table] = (),
) -> Generator[Progress, None, Log | str]:
    """Read a log that is not among the drives yet, and make it ready to be written down.

    A file of a folder that is no log is told of instead.
    """
    try:
        log = yield from read_as_before(files, reading.roles, reading.options, drives, tables)
        if not reading.again:
            check_new(log, drives)
    except WorkbenchError as refusal:
        if files[0] not in perhaps:
            raise
        return phrase("{name} is left out: {why}", name=files[0].name, why=refusal.message)
    yield from pack_samples(log)
    return log


def check_read(logs: Sequence[Log], messages: Sequence[str], *, apart: bool) -> None:
    """Refuse where no file of a folder is a log, or it is open whether several are of one drive.

    Raises:
        InputError: naming what was left out, or the flags that answer it.
    """
    if not logs:
        raise InputError(
            phrase("None of the files is a log. {messages}", messages=join_phrases(" ", messages)), "Name the logs."
        )
    if not apart:
        _check_apart(logs)


def _logs_inside(files: Sequence[Path]) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """Put the files of folders in their places: all files, and those of them that are looked at as perhaps no logs.

    Raises:
        FileError: when a folder holds no file.
    """
    found: list[Path] = []
    perhaps: list[Path] = []
    for file in files:
        if not file.is_dir():
            found.append(file)
            continue
        inside = sorted(each for each in file.rglob("*") if each.is_file() and not _is_hidden(each, file))
        if not inside:
            raise FileError(phrase("The folder {path} holds no file.", path=file), "Name the folder of the logs.")
        if len(inside) > MOST_INSIDE:
            raise FileError(
                phrase("The folder {path} holds {count} files.", path=file, count=len(inside)),
                phrase("At most {most} are read at once: name a folder of fewer.", most=MOST_INSIDE),
            )
        found += inside
        perhaps += inside
    return tuple(found), tuple(perhaps)


def _is_hidden(file: Path, folder: Path) -> bool:
    return any(part.startswith(".") for part in file.relative_to(folder).parts)


def _check_apart(logs: Sequence[Log]) -> None:
    """Ask whether logs that run over the same time and hold different channels are of one drive.

    Raises:
        InputError: naming the two flags that answer it.
    """
    for at, first in enumerate(logs):
        for other in logs[at + 1 :]:
            common = {*first.roles} & {*other.roles}
            shared = len(common) / max(1, min(len(first.roles), len(other.roles)))
            if overlap(first.time.values, other.time.values) < SAME_TIME or shared > MOST_SHARED:
                continue
            if not other.roles or not first.roles:
                continue
            raise InputError(
                phrase(
                    "{first} and {other} run over the same time and hold different channels: are they of one drive?",
                    first=first.name,
                    other=other.name,
                ),
                phrase(
                    "Add them as one log with {together_flag}, or as logs of their own with {apart_flag}. {first} "
                    "holds {mine}; {other} holds {theirs}.",
                    together_flag=flag("together"),
                    apart_flag=flag("apart"),
                    first=first.name,
                    mine=", ".join(first.roles.values()),
                    other=other.name,
                    theirs=", ".join(other.roles.values()),
                ),
            )


def _units_of_shape(log: Log, drives: Sequence[Drive]) -> dict[str, str]:
    """Give the units that were stated for the last log with the same channels."""
    earlier = _of_shape(log, drives)
    if earlier is None:
        return {}
    logged = names_as_logged(earlier)
    units = {logged.get(name, name): unit for name, unit in remembered_units(earlier).items()}
    words = no_units(units)
    # An answer that only its question can tell is given where this log asks the same.
    asked = {
        name
        for name, word in words.items()
        if holds_unasked(word) or any(each.answered_by(typed_flag("unit", name, word)) for each in log.questions)
    }
    return {name: unit for name, unit in units.items() if name not in words or name in asked}


def remembered_roles(log: Log, drives: Sequence[Drive]) -> dict[Role, str]:
    """Return the roles that the user stated, or corrected afterwards, for the last log with the same channels."""
    earlier = _of_shape(log, drives)
    if earlier is None:
        return {}
    earlier = earlier.renamed(names_as_logged(earlier))
    # What was offered and asked about is as good as stated once it is answered.
    asked = any(each.asks_role(role) for each in earlier.questions for role in earlier.roles)
    said = {STATED} if asked else {STATED, OFFERED}
    return {
        role: name
        for role, name in earlier.roles.items()
        if earlier.guesses.get(role, STATED) in said or log.roles.get(role, name) != name
    }


def check_new(log: Log, drives: Sequence[Drive]) -> None:
    """Refuse a log of which the session has the content, or the drive, already.

    Raises:
        InputError: naming that log.
    """
    for drive in drives:
        if drive.log.sha256 == log.sha256:
            what = phrase(
                "{log} has the same content as log {drive} ({log_2}).",
                log=log.name,
                drive=drive.id,
                log_2=drive.log.name,
            )
        elif is_same_drive(drive.log, log):
            what = phrase(
                "{log} is of the same drive as log {drive} ({log_2}): engine speed and mixture run the same in both.",
                log=log.name,
                drive=drive.id,
                log_2=drive.log.name,
            )
        else:
            continue
        raise InputError(
            what,
            phrase(
                "It would count twice; to change what its channels are, use {amend} {role_flag}. To "
                "add it all the same, give {again_flag}.",
                amend=call("amend-log", "SESSION", str(drive.id)),
                role_flag=flag("role", "ROLE=CHANNEL"),
                again_flag=flag("again"),
            ),
        )
