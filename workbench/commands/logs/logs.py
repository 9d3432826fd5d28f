"""Bringing logs into a session, and saying what they are."""

from collections.abc import Generator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from workbench.commands.declaring.kinds import (
    FIRST,
    AgainstLogs,
    AirFuelRatios,
    Called,
    DbcFile,
    DriveId,
    ExistingFile,
    LongestHold,
    Renames,
    RevisionId,
    Roles,
    RowsASecond,
    SheetOrPart,
    TableName,
    Units,
)
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.declaring.telling import plain
from workbench.commands.evidence.stated_place import check_place
from workbench.commands.logs.answers import (
    answer,
    check_as_read,
    check_not_stated,
    question_lines,
    questions_json,
    read_renames,
    read_units,
)
from workbench.commands.logs.axis_offers import with_axes_fed
from workbench.commands.logs.following_up import with_follow_ups
from workbench.commands.logs.in_car import marked_revisions, never_handed_over
from workbench.commands.logs.reading import Reading, check_read, check_together, groups_of, read_if_log
from workbench.errors import InputError
from workbench.files.channels.recasting import reread
from workbench.files.disk.clock import now
from workbench.files.vocabulary.roles import read_role
from workbench.maths.drives.drive_fit import check_speaks
from workbench.maths.signals.fuel import read_fuel
from workbench.model.counting import counted
from workbench.model.history import Json
from workbench.model.log import Drive, Log, Role, Wideband
from workbench.model.state import DriveAdded, DriveCorrected, State
from workbench.phrases import flag, phrase
from workbench.work import Progress


@command("Add logs", menu="Log", shortcut="Ctrl+L", icon="add-log", quiet=True)
def add_log(
    state: State,
    files: tuple[ExistingFile, ...],
    *,
    on: Annotated[tuple[RevisionId, ...], Called("Driven on revision")] = (),
    together: Annotated[bool, Called("All files are of one drive")] = False,
    apart: Annotated[bool, Called("Each file is a drive of its own")] = False,
    later: Annotated[float | None, Called("Later start of further files (s)", "SECONDS")] = None,
    role: Roles = (),
    wideband: Wideband = "auto",
    rate: RowsASecond = None,
    afr_of: AirFuelRatios = (),
    unit: Units = (),
    window: LongestHold = None,
    part: SheetOrPart = "",
    dbc: DbcFile = None,
    again: Annotated[bool, Called("Add it again")] = False,
    table: TableName = FIRST,
) -> Job[tuple[Drive, ...]]:
    """Add one or more logs and tie them to the revision that was in the car; all or none.

    Args:
        files: the logs, or folders of them; files of a folder that are no logs are named and left out.
        on: the revision that was in the car; of tables not named, the one put in the car last, or the current one.
        together: read all files as one log of one drive, as of an ECU and of a wideband of its own.
        apart: add each file as a log of its own, even if they run over the same time.
        later: of files of one drive: how much later than the first the others began, where nothing in them tells it.
        role: assign a channel to a role, as in airflow=MAF; otherwise roles are recognised and listed.
        wideband: wideband position, before or after the catalyst; auto recognises it.
        rate: rows per second, for a log without a time column.
        afr_of: air-fuel ratio at lambda 1 that one channel is scaled with, as in AFR=14.1, if not the session's.
        unit: the unit of a channel or of the time, as in Coolant=degF, LTFT=fraction or Time=ms.
        window: hold values for this many seconds, where channels have time bases of their own; none is held by default.
        part: the sheet of a workbook, or the file in a zip with several.
        dbc: a DBC file that describes the messages of a CAN capture.
        again: add a log even if the session has one with the same content, or of the same drive.
        table: the table that was driven; the first one if not given.

    Example:
        add-log car.session town.csv road.csv --on 1 --role lambda_measured=AFR
    """
    check_together(together=together, apart=apart, later=later, rate=rate, window=window)
    stated = _by_table(state, on)
    about = state.table_name(table) if table or not on else state.history.revision(on[0]).table.name
    options = {
        "stoichiometric_afr": state.settings.stoichiometric_afr,
        "stoichiometric_of": read_ratios(afr_of),
        "rate_hz": rate,
        "units": read_units(unit),
        "window_s": window,
        "part": part,
        "dbc": dbc,
        "later_s": later,
    }
    reading = Reading(read_roles(role), options, again, together, apart)
    drives, messages = yield from _read_all(state, files, reading, _Tie(about, stated, now(), wideband))
    seen = [state.derived(drive) for drive in drives]
    warned = [(*_deaf(state, about, drive), *never_handed_over(state, drive, stated)) for drive in seen]
    lines = [*messages, *(line for each in zip(seen, warned, strict=True) for line in drive_lines(*each))]
    return Answer(tuple(seen), lambda: _drives_json(about, seen, warned), tuple(lines), DriveAdded(tuple(drives)))


@dataclass(frozen=True)
class _Tie:
    """What a log is tied to.

    Attributes:
        about: the table whose revision is named.
        stated: table -> revision, where that was said.
        added: when, ISO 8601.
        wideband: where it sits.
    """

    about: str
    stated: Mapping[str, int]
    added: str
    wideband: Wideband


def _read_all(
    state: State, files: Sequence[Path], reading: Reading, tie: _Tie
) -> Generator[Progress, None, tuple[list[Drive], list[str]]]:
    """Read the logs, and tie each to the revision that was in the car."""
    groups, perhaps = groups_of(files, together=reading.together)
    drives: list[Drive] = []
    messages: list[str] = []
    tables = [state.history.revision(head).table for head in state.history.heads.values()]
    for group in groups:
        log = yield from read_if_log(group, reading, (*state.drives, *drives), perhaps, tables)
        if isinstance(log, str):
            messages.append(log)
            continue
        log = with_axes_fed(log, tables, reading.roles)
        marked, words = marked_revisions(state, log, group[0], tie.stated, tie.added)
        messages += [each for each in words if each not in messages]
        others = {**state.history.heads, **marked, **tie.stated}
        revision = others.pop(tie.about)
        drives.append(Drive(state.next_drive + len(drives), log, revision, tie.wideband, tie.added, others))
    check_read([drive.log for drive in drives], messages, apart=reading.apart)
    return drives, messages


def _drives_json(about: str, drives: list[Drive], warned: list[tuple[str, ...]]) -> dict[str, Json]:
    listed = [drive_json(drive, about, words) for drive, words in zip(drives, warned, strict=True)]
    return {**listed[0], "logs": list[Json](listed)}


@command("Change a log's settings", menu="Log", icon="amend-log", button="Record")
def amend_log(
    state: State,
    log: DriveId,
    *,
    on: Annotated[tuple[RevisionId, ...], Called("Driven on revision", unset="unchanged")] = (),
    role: Roles = (),
    unit: Units = (),
    afr_of: AirFuelRatios = (),
    wideband: Wideband | None = None,
    rename: Renames = (),
    against_logs: AgainstLogs = False,
) -> Answer[Drive]:
    """Change a log's revision, wideband position, channel names, roles or units, and answer its open questions.

    A channel without unit is understood anew for its new role. Logs of the same shape are then read so at once.

    Args:
        log: number of the log.
        on: the revision that was in the car; other tables keep what was stated.
        role: assign a channel to a role, as in airflow=MAF; airflow= clears it.
        unit: the unit of a channel or of the time, as in Coolant=degF.
        afr_of: air-fuel ratio at lambda 1 that a channel is scaled with, if that is an open question.
        wideband: wideband position, before or after the catalyst; auto recognises it.
        rename: another name for a channel, as in 'Kanal 7=Airflow sensor'.
        against_logs: take a wideband position that the logs tell otherwise.

    Example:
        amend-log car.session 2 --on 3
    """
    drive = state.drive(log)
    fresh = read_roles(role)
    roles = _roles_with(state, drive, fresh)
    about, others = state.history.revision(drive.revision).table.name, _by_table(state, on)
    revision = others.pop(about, drive.revision)
    again = reread(drive.log, fresh, state.settings.stoichiometric_afr)
    units = read_units(unit)
    for name in units:
        check_as_read(drive, name)
    ratios = read_ratios(afr_of)
    given = answer(drive, units, ratios, fresh, frozenset(roles.values()))
    again |= given.reread
    names = read_renames(rename, drive)
    roles = {each: names.get(name, name) for each, name in roles.items()}
    again = {names.get(name, name): each for name, each in again.items()}
    where = wideband or drive.wideband
    if where != drive.wideband:
        check_place(state, where, log, all_the_same=against_logs)
    change = DriveCorrected(log, revision, where, roles, again, others, given.answered, renamed=names)
    if fresh or units or ratios:
        change = with_follow_ups(state, drive, change, fresh, units, ratios)
    after = state.derived(change.applied(drive))
    if not (again or given.answered or names) and _statements(after) == _statements(drive):
        return Answer(drive, lambda: drive_json(drive, about), ("Nothing changes.",))
    return Answer(after, lambda: drive_json(after, about), drive_lines(after), change)


def _roles_with(state: State, drive: Drive, fresh: Mapping[Role, str]) -> dict[Role, str]:
    """Give the roles of a log with those that are stated now.

    Raises:
        InputError: when the log has no such channel, or the role is stated for all logs.
    """
    roles = dict(drive.log.roles)
    for each, name in fresh.items():
        if name and drive.log.channel(name) is None:
            known = ", ".join(channel.name for channel in drive.log.channels)
            raise InputError(
                phrase("Log {log} ({log_2}) has no channel {name!r}.", log=drive.id, log_2=drive.log.name, name=name),
                phrase("It has: {known}.", known=known),
            )
        check_not_stated(state, drive, each, name)
        roles = {old: channel for old, channel in roles.items() if old != each and channel != name}
        roles |= {each: name} if name else {}
    return roles


def _statements(drive: Drive) -> tuple[object, ...]:
    return drive.revision, dict(drive.others), drive.wideband, dict(drive.log.roles)


def _by_table(state: State, on: Sequence[int]) -> dict[str, int]:
    """Return table -> its stated revision.

    Raises:
        InputError: when there is no such revision, or two of one table are stated.
    """
    stated: dict[str, int] = {}
    for number in on:
        name = state.history.revision(number).table.name
        if stated.setdefault(name, number) != number:
            raise InputError(
                phrase(
                    "Revisions {stated} and {number} are both of {name!r}; only one can have been in the car.",
                    stated=stated[name],
                    number=number,
                    name=name,
                ),
                "State one revision for each table.",
            )
    return stated


def read_roles(words: Sequence[str]) -> dict[Role, str]:
    """Read roles stated as ROLE=CHANNEL.

    Raises:
        InputError: when a word is not of that form, there is no such role, or one is stated twice.
    """
    roles: dict[Role, str] = {}
    for word in words:
        name, equals, channel = word.partition("=")
        if not equals:
            raise InputError(
                phrase("The role {word!r} cannot be read.", word=word), "Write ROLE=CHANNEL, as in airflow=MAF."
            )
        role = read_role(name)
        if role in roles:
            raise InputError(phrase("The role {role} is stated twice.", role=role), "Leave one of them out.")
        roles[role] = channel.strip()
    return roles


def drive_json(drive: Drive, about: str, warned: tuple[str, ...] = ()) -> dict[str, Json]:
    """Return a log as the JSON object of the command-line contract.

    Args:
        drive: the log.
        about: name of the table of its revision.
        warned: further warnings.
    """
    log = drive.log
    played = players(log)
    return {
        "log": drive.id,
        "file": log.name,
        "sha256": log.sha256,
        "revision": drive.revision,
        "revisions": {about: drive.revision, **drive.others},
        "wideband": drive.wideband,
        "rows": log.rows,
        "channels": [
            {
                "name": channel.name,
                "unit": channel.unit,
                "role": played.get(channel.name),
                "why": log.guesses.get(played[channel.name]) if channel.name in played else None,
            }
            for channel in log.channels
        ],
        "time": {"first": plain(log.time.values[0]), "last": plain(log.time.values[-1]), "rate_hz": plain(log.rate_hz)},
        "warnings": [*log.notes, *_silent(log), *warned],
        "questions": questions_json(log),
    }


def drive_lines(drive: Drive, warned: tuple[str, ...] = ()) -> tuple[str, ...]:
    """Return a log for people, line by line, with further warnings."""
    log = drive.log
    played = players(log)
    seconds = log.time.values[-1] - log.time.values[0]
    extent = phrase(
        "{rows} over {seconds:.1f} s, {rate_hz:.3g} a second",
        rows=counted(log.rows, "row"),
        seconds=seconds,
        rate_hz=log.rate_hz,
    )
    others = "".join(f", {number} of {name!r}" for name, number in drive.others.items())
    lines = [
        phrase(
            "Log {drive}, {log}: {extent}; driven on revision {revision}{others}.",
            drive=drive.id,
            log=log.name,
            extent=extent,
            revision=drive.revision,
            others=others,
        )
    ]
    for channel in log.channels:
        role = played.get(channel.name)
        role_text = f"  {role} ({log.guesses.get(role, 'stated')})" if role is not None else ""
        lines.append(f"  {channel.name:<32} {channel.unit:<8}{role_text}".rstrip())
    return (*lines, *(f"  Note: {note}" for note in (*log.notes, *_silent(log), *warned)), *question_lines(log))


def _deaf(state: State, table: str, drive: Drive) -> tuple[str, ...]:
    """Warn of a log that lacks a channel for an axis of the table."""
    try:
        check_speaks(state.history, drive, table)
    except InputError as refusal:
        return (
            phrase(
                "Caution: {message} It gives no evidence for {table!r}. {hint}",
                message=refusal.message,
                table=table,
                hint=refusal.hint,
            ),
        )
    return ()


def _silent(log: Log) -> tuple[str, ...]:
    """Warn of a log that holds nothing of the mixture."""
    if any(log.playing(role) is not None for role in ("stft_1", "stft_2", "lambda_measured")):
        return ()
    return (
        phrase(
            "It holds neither trims nor measured lambda, so it gives no evidence. Assign channels with {role_flag}.",
            role_flag=flag("role"),
        ),
    )


def players(log: Log) -> Mapping[str, Role]:
    """Return channel name -> the role it plays."""
    return {name: role for role, name in log.roles.items()}


def read_ratios(words: Sequence[str]) -> dict[str, float]:
    """Read air-fuel ratios stated as CHANNEL=RATIO.

    Raises:
        InputError: when a word is not of that form, or the ratio is no ratio of a fuel.
    """
    ratios: dict[str, float] = {}
    for word in words:
        name, _, ratio = word.rpartition("=")
        if not name.strip():
            raise InputError(
                phrase("The ratio {word!r} cannot be read.", word=word), "Write CHANNEL=RATIO, as in AFR=14.1."
            )
        ratios[name.strip()] = read_fuel(ratio)
    return ratios
