"""A channel that no name tells may feed an axis of a table by unit and range: taken where it is sure, else asked.

Airflow that follows the table over a channel, row by row, is the ECU's own look-up: no other channel does that.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np

from workbench.files.channels.ambient import is_of_ambient
from workbench.files.vocabulary.roles import OFFERED
from workbench.maths.signals.axes import axis_role, axis_unit
from workbench.model.arrays import FloatArray
from workbench.model.log import Alternative, Channel, Log, Question, Role, typed_flag
from workbench.model.table import Axis, Table
from workbench.phrases import phrase

INSIDE = 0.9  # of a channel's values, that lie among the breakpoints
SPREAD = 0.2  # of the breakpoints' range, that a drive covers at least
FEWEST, FEWEST_LEVELS = 200, 20  # rows, and values that differ
FOLLOWS = 0.02  # of the airflow: how near to the table it stays in nine rows of ten, but for one factor over all
SHARE = 0.9
MOST = 4  # channels in one question


def with_axes_fed(log: Log, tables: Sequence[Table], stated: Collection[Role] = ()) -> Log:
    """Give a log a channel for each axis that none feeds by its name, or ask which one does.

    Args:
        log: as it was read.
        tables: of the session, as they are worked on.
        stated: roles that the user stated, if only to clear them.
    """
    for table in tables:
        for axis in table.axes:
            role = axis_role(axis)
            if role is None or role in stated or log.playing(role) is not None or _is_settled(log, axis, role):
                continue
            fitting = [each for each in log.channels if _fits(each, axis, log)]
            following = [each for each in fitting if _follows(each, table, log)]
            if len(following) == 1:
                log = _fed(log, following[0], axis, role)
            elif 0 < len(_measured(fitting, axis)) <= MOST:
                question = _question(_measured(fitting, axis), axis, role)
                log = replace(log, questions=(*log.questions, question))
    return _without_idle(log, tables)


def named_by_axes(log: Log, tables: Sequence[Table], stated: Collection[Role]) -> dict[Role, str]:
    """Give the roles of channels that bear the name of an axis: they feed it, and nothing of that is to be offered.

    Args:
        log: as it was read.
        tables: of the session.
        stated: roles that the user stated, if only to clear them.
    """
    named: dict[Role, str] = {}
    for table in tables:
        for axis in table.axes:
            role = axis_role(axis)
            known = role in log.roles and log.guesses.get(role) != OFFERED if role is not None else True
            if role is None or known or role in stated or role in named:
                continue
            played = {name for other, name in log.roles.items() if log.guesses.get(other) != OFFERED}
            alike = [each.name for each in log.channels if _bears(each, axis) and each.name not in played]
            if alike:
                named[role] = alike[0]
    return named


def with_reasons(log: Log, named: Mapping[Role, str], stated: Collection[Role]) -> Log:
    """Say of a log why channels that bear the name of an axis play what they play, where nobody stated that.

    Args:
        log: as it was read with those roles.
        named: role -> channel.
        stated: roles that the user stated, for this log or one like it.
    """
    why = phrase("it bears the name of the axis")
    return replace(log, guesses={**log.guesses, **{role: why for role in named if role not in stated}})


def _bears(channel: Channel, axis: Axis) -> bool:
    """Tell whether a channel bears an axis' name, and is not in a unit of something else."""
    same = channel.name.strip().casefold() == axis.name.strip().casefold()
    return same and (not channel.unit or channel.unit == axis_unit(axis)[0])


def _without_idle(log: Log, tables: Sequence[Table]) -> Log:
    """Leave out what is asked for the sake of tables over manifold pressure, where there are none."""
    if any(axis_role(axis) == "manifold_pressure" for table in tables for axis in table.axes):
        return log
    return replace(log, questions=tuple(each for each in log.questions if not is_of_ambient(each)))


def _is_settled(log: Log, axis: Axis, role: Role) -> bool:
    """Tell whether a channel bears the axis' own name, or it was asked for another table already."""
    if any(each.name.strip().casefold() == axis.name.strip().casefold() for each in log.channels):
        return True
    return any(each.asks_role(role) for each in log.questions)


def _fits(channel: Channel, axis: Axis, log: Log) -> bool:
    base, factor = axis_unit(axis)
    if channel.name in log.roles.values() or (channel.unit and channel.unit != base):
        return False
    seen = channel.values[np.isfinite(channel.values)] / factor
    if seen.size < FEWEST or np.unique(seen).size < FEWEST_LEVELS:
        return False
    low, high = axis.breakpoints[0], axis.breakpoints[-1]
    least, most = np.quantile(seen, [0.05, 0.95])
    return bool(np.mean((seen >= low) & (seen <= high)) >= INSIDE and most - least >= SPREAD * (high - low))


def _measured(channels: Sequence[Channel], axis: Axis) -> list[Channel]:
    """Keep the channels that are measured in what the axis counts; of others the range alone says too little."""
    return [each for each in channels if each.unit and each.unit == axis_unit(axis)[0]]


def _follows(channel: Channel, table: Table, log: Log) -> bool:
    """Tell whether the logged airflow is the table's over a channel, but for one factor."""
    airflow = log.playing("airflow")
    if airflow is None or len(table.axes) != 1 or table.values.size < 2:
        return False
    at: FloatArray = channel.values / axis_unit(table.axes[0])[1]
    looked_up = np.interp(at, table.axes[0].breakpoints, table.values)
    both = np.isfinite(at) & np.isfinite(airflow) & (airflow > 0) & (looked_up > 0)
    if both.sum() < FEWEST:
        return False
    ratio = airflow[both] / looked_up[both]
    return bool(np.mean(np.abs(ratio / np.median(ratio) - 1) <= FOLLOWS) >= SHARE)


def _fed(log: Log, channel: Channel, axis: Axis, role: Role) -> Log:
    why = phrase("airflow over it follows the table")
    note = phrase(
        "{channel} was taken for the axis {axis}: airflow over it follows the table.",
        channel=channel.name,
        axis=axis.label,
    )
    return replace(
        log, roles={**log.roles, role: channel.name}, guesses={**log.guesses, role: why}, notes=(*log.notes, note)
    )


def _question(channels: Sequence[Channel], axis: Axis, role: Role) -> Question:
    names = ", ".join(each.name for each in channels)
    why = phrase(
        "No channel is known to feed the axis {axis}; by unit and range it may be {names}. Which one is it?",
        axis=axis.label,
        names=names,
    )
    none = phrase("None: the log gives no evidence for that table.")
    answers = [
        Alternative(each.name, typed_flag("role", role, each.name), phrase("{name} feeds the axis.", name=each.name))
        for each in channels
    ]
    return Question("", why, (Alternative("none", typed_flag("role", role, ""), none), *answers))
