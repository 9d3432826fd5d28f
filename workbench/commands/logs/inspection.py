"""Saying what is understood of any file, without a session."""

from collections.abc import Generator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from workbench.commands.declaring.kinds import (
    AirFuelRatios,
    DbcFile,
    ExistingFile,
    LongestHold,
    Roles,
    RowsASecond,
    SheetOrPart,
    Units,
)
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.declaring.telling import plain
from workbench.commands.logs.answers import question_lines, questions_json, read_units
from workbench.commands.logs.logs import players, read_ratios, read_roles
from workbench.errors import InputError, WorkbenchError
from workbench.files.logs import read_log
from workbench.files.tables.tables import read_table
from workbench.maths.signals.fuel import read_fuel
from workbench.maths.signals.resync import level, period_of
from workbench.maths.signals.sample_hold import held_notes
from workbench.model.arrays import FloatArray
from workbench.model.counting import counted
from workbench.model.history import Json
from workbench.model.log import Channel, Log, Role
from workbench.model.series import written_on_change
from workbench.model.table import Table
from workbench.phrases import phrase
from workbench.work import Progress


@command("Inspect a file", menu="Log")
def inspect(
    file: ExistingFile,
    *,
    role: Roles = (),
    rate: RowsASecond = None,
    fuel: str = "14.7",
    afr_of: AirFuelRatios = (),
    unit: Units = (),
    window: LongestHold = None,
    part: SheetOrPart = "",
    dbc: DbcFile = None,
) -> Job[Log | Table]:
    """Show what is recognised in a log or a table, and what had to be assumed.

    Args:
        file: a log or a table in any format.
        role: assign a channel to a role, as in airflow=MAF; otherwise roles are recognised and listed.
        rate: rows per second, for a log without a time column.
        fuel: for channels logged as air-fuel ratio: the fuel's ratio at lambda 1, or its name, as in E10.
        afr_of: another such ratio for one channel, as in AFR=14.1.
        unit: the unit of a channel or of the time, as in Coolant=degF, LTFT=fraction or Time=ms.
        window: hold values for this many seconds, where channels have time bases of their own; none is held by default.
        part: the sheet of a workbook, or the file in a zip with several.
        dbc: a DBC file that describes the messages of a CAN capture.

    Example:
        inspect town.csv
    """
    roles, ratios = read_roles(role), read_ratios(afr_of)
    log: Log | None = None
    refusal: WorkbenchError = InputError(phrase("{file} cannot be read as a log or as a table.", file=file))
    try:
        log = yield from _log(file, _Reading(roles, rate, read_fuel(fuel), ratios, read_units(unit), window, part, dbc))
    except WorkbenchError as error:
        refusal = error
    if log is None or not log.roles:  # a table reads as a log of channels that mean nothing
        try:
            table, assumptions = read_table(file, part=part)
        except WorkbenchError:
            if log is None:
                raise refusal from None
        else:
            return Answer(table, lambda: table_json(file, table, assumptions), table_lines(file, table, assumptions))
    notes = (*log.notes, *held_notes(log))
    return Answer(log, lambda: log_json(log, notes), log_lines(log, notes))


@dataclass(frozen=True)
class _Reading:
    roles: Mapping[Role, str]
    rate: float | None
    afr: float
    ratios: Mapping[str, float]
    units: Mapping[str, str]
    window: float | None
    part: str
    dbc: Path | None


def _log(file: Path, reading: _Reading) -> Generator[Progress, None, Log]:
    return (
        yield from read_log(
            file,
            roles=reading.roles,
            stoichiometric_afr=reading.afr,
            stoichiometric_of=reading.ratios,
            rate_hz=reading.rate,
            units=reading.units,
            window_s=reading.window,
            part=reading.part,
            dbc=reading.dbc,
            must_be_plausible=False,
        )
    )


def log_json(log: Log, notes: Sequence[str]) -> dict[str, Json]:
    """Return what is understood of a log as JSON."""
    played = players(log)
    return {
        "kind": "log",
        "file": log.name,
        "sha256": log.sha256,
        "rows": log.rows,
        "time": {"first": plain(log.time.values[0]), "last": plain(log.time.values[-1]), "rate_hz": plain(log.rate_hz)},
        "channels": [_channel_json(channel, log, played.get(channel.name)) for channel in log.channels],
        "warnings": list(notes),
        "questions": questions_json(log),
    }


def _channel_json(channel: Channel, log: Log, role: Role | None) -> dict[str, Json]:
    least, middle, most = _spread(_known(channel, log, role))
    return {
        "name": channel.name,
        "unit": channel.unit,
        "unit_read": channel.unit_read,
        "role": role,
        "why": None if role is None else log.guesses.get(role),
        "values": int(np.isfinite(channel.values).sum()),
        "least": plain(least),
        "median": plain(middle),
        "most": plain(most),
        "renewed_every_s": plain(period_of(channel.values, log.time.values)),
    }


def _known(channel: Channel, log: Log, role: Role | None) -> FloatArray:
    """Give a channel at every row at which it is known."""
    return level(channel.values, log.time.values, role, on_change=written_on_change(log))


def _spread(values: FloatArray) -> tuple[float, float, float]:
    there = values[np.isfinite(values)]
    if not there.size:
        return float("nan"), float("nan"), float("nan")
    return float(there.min()), float(np.median(there)), float(there.max())


def log_lines(log: Log, notes: Sequence[str]) -> tuple[str, ...]:
    """Return what is understood of a log for people."""
    played = players(log)
    seconds = log.time.values[-1] - log.time.values[0]
    lines = [
        phrase(
            "{log} is a log: {rows} over {seconds:.1f} s, {rate_hz:.3g} a second.",
            log=log.name,
            rows=counted(log.rows, "row"),
            seconds=seconds,
            rate_hz=log.rate_hz,
        )
    ]
    for channel in log.channels:
        least, middle, most = _spread(_known(channel, log, played.get(channel.name)))
        values = f"{least:.6g} … {middle:.6g} … {most:.6g}" if np.isfinite(middle) else "no values"
        role = played.get(channel.name)
        role_text = f"  {role} ({log.guesses.get(role, 'stated')})" if role is not None else ""
        lines.append(f"  {channel.name:<36} {channel.unit:<8} {values:<30}{role_text}".rstrip())
    return (*lines, *(f"  Note: {note}" for note in notes), *question_lines(log))


def table_json(file: Path, table: Table, notes: Sequence[str]) -> dict[str, Json]:
    """Return what is understood of a table as JSON."""
    return {
        "kind": table.kind,
        "file": file.name,
        "name": table.name,
        "value": table.value_name,
        "unit": table.unit,
        "axes": [
            {"name": axis.name, "unit": axis.unit, "breakpoints": axis.breakpoints.tolist()} for axis in table.axes
        ],
        "values": table.values.tolist(),
        "warnings": list(notes),
    }


def table_lines(file: Path, table: Table, notes: Sequence[str]) -> tuple[str, ...]:
    """Return what is understood of a table for people."""
    size = " by ".join(str(length) for length in table.shape)
    lines = [
        phrase(
            "{file} is a {kind} of {size} cells: {value_label}.",
            file=file.name,
            kind=table.kind,
            size=size,
            value_label=table.value_label,
        )
    ]
    lines += [
        phrase(
            "  {axis}: {axis_2} breakpoints from {breakpoints:g} to {breakpoints_2:g}",
            axis=axis.label,
            axis_2=len(axis),
            breakpoints=axis.breakpoints[0],
            breakpoints_2=axis.breakpoints[-1],
        )
        for axis in table.axes
    ]
    lines.append(
        phrase(
            "  values from {table_min:g} to {table_max:g}", table_min=table.values.min(), table_max=table.values.max()
        )
    )
    return (*lines, *(f"  Note: {note}" for note in notes))
