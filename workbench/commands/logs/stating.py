"""What is said of channels for all logs of a session: how an input is scaled, and channels computed from others."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from itertools import pairwise
from typing import Annotated

import numpy as np

from workbench.commands.declaring.kinds import Called, ChannelName, ExistingFile, Line
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import plain
from workbench.commands.logs.computed import computed_lines
from workbench.commands.logs.scaling import Curve, line_of, read_curve, read_points, read_tolerance
from workbench.errors import InputError
from workbench.expressions import read_expression
from workbench.files.channels.mixture import is_inverse
from workbench.files.vocabulary.expression_units import brought_to, unit_of
from workbench.files.vocabulary.roles import check_dimension, read_role, role_range
from workbench.files.vocabulary.units import find_unit
from workbench.model.arrays import FloatArray
from workbench.model.derived import ComputedChannel, derived, input_note, meant, missing
from workbench.model.history import Json
from workbench.model.log import AnalogueInput, Channel, Drive, Role
from workbench.model.state import ChannelComputed, InputStated, State
from workbench.phrases import call, flag, join_phrases, phrase

NameOfRole = Annotated[str, Called("Role", "ROLE")]
# Where more of the readings lie outside the points, or they all lie within less of their width, the points are of
# another unit or another channel.
MOST_OUTSIDE, LEAST_COVERED = 0.5, 0.01


@command("Scale an analogue input", menu="Log", button="Record")
def analogue_input(
    state: State,
    channel: ChannelName,
    *,
    point: Annotated[tuple[str, ...], Called("Points of its scaling", "LOGGED=MEASURED")] = (),
    factor: float | None = None,
    offset: float | None = None,
    curve: Annotated[ExistingFile | None, Called("Calibration curve (CSV)")] = None,
    unit: str = "",
    tolerance: Annotated[str, Called(metavar="NUMBER|PERCENT%")] = "",
    plays: NameOfRole = "",
    as_logged: Annotated[bool, Called("Use it as it is logged")] = False,
) -> Answer[AnalogueInput | None]:
    """State how a channel logged in volts or counts becomes what its instrument measures, in all logs.

    Logs added later that have a channel of that name and unit are scaled so too. The logs keep what was logged.

    Args:
        channel: name of the channel, as in "Wideband (V)".
        point: a logged value and what the instrument measures there, as in 0=0.68 or "500 mV=0.82"; at least two.
        factor: instead of points: what a logged value is multiplied by.
        offset: what is added after that.
        curve: instead of points: a CSV of two columns with a header, logged and measured.
        unit: unit of what is measured, as in lambda, AFR, kPa or degC.
        tolerance: how far the instrument may be off, in that unit, or of the reading as in 1.5%.
        plays: role of the channel where no other channel has it, as in lambda_measured.
        as_logged: use the channel as it is logged, unscaled, again.

    Example:
        analogue-input car.session "Analogue 1" --point 0=0.68 --point 5=1.36 --unit lambda --plays lambda_measured
    """
    logged = _logged(state, channel)
    key = channel, logged[0][1].unit
    before = state.inputs.get(key)
    if as_logged:
        line = phrase("{channel} is used as it is logged.", channel=channel)
        return Answer(None, lambda: {"channel": channel, "scaling": None}, (line,), _changed(key, before, None))
    afr = state.settings.stoichiometric_afr
    ways = sum((bool(point), factor is not None or offset is not None, curve is not None))
    if ways > 1:
        raise InputError("The scaling is given in more than one way.", "Give points, or factor and offset, or a curve.")
    read_in = logged[0][1].unit_read or logged[0][1].unit
    given = Curve(())
    if point:
        given = read_points(point, read_in)
    elif curve is not None:
        given = read_curve(curve, read_in)
    elif ways:
        given = line_of(1.0 if factor is None else factor, offset or 0.0, read_in)
    role = read_role(plays) if plays else ""
    scaling = _scaling(key, given, unit or given.unit, tolerance, role, afr)
    if not scaling.points and not tolerance:
        raise InputError(
            phrase("Nothing is said of {channel}.", channel=channel),
            phrase("Give {point_flag} twice or more, or a tolerance.", point_flag=flag("point")),
        )
    _check_scaled(scaling, logged, ranged=bool(point) or curve is not None)
    lines = (_input_line(scaling), *_played_lines(state, scaling.role, channel))
    data: dict[str, Json] = {"channel": channel, "logged_in": key[1], "scaling": plain(asdict(scaling))}
    return Answer(scaling, lambda: data, lines, _changed(key, before, scaling))


@command("Computed channel", menu="Log", button="Record")
def compute(
    state: State,
    name: Line,
    expression: Line = "",
    *,
    unit: str = "",
    plays: NameOfRole = "",
    remove: Annotated[bool, Called("Remove the channel")] = False,
) -> Answer[ComputedChannel | None]:
    """Add a channel that is computed from others, in all logs that have them.

    Channels are written by name, in quotation marks where a name is more than one word; names of roles do too. There
    are + - * / ( ), comparisons, and, or, not, min(a, b), max(a, b), abs(a), sqrt(a), kelvin(a),
    where(condition, a, b), mean(a, seconds), delay(a, seconds) and derivative(a), by second. Values count in the units
    in which the log lists them.

    Args:
        name: of the new channel.
        expression: as in "100 * (lambda_measured / lambda_commanded - 1)".
        unit: unit of what it gives, where the units of the channels do not tell it, as in % or lambda.
        plays: role of the channel where no other channel has it, as in lambda_measured.
        remove: remove the channel from all logs.

    Example:
        compute car.session "Lambda error" "100 * (lambda_measured / lambda_commanded - 1)" --unit %
    """
    name = name.strip()
    before = state.computed.get(name)
    if remove:
        if before is None:
            raise InputError(phrase("No channel {name!r} is computed.", name=name), _known(state.computed))
        line = phrase("{name} is no longer computed.", name=name)
        return Answer(None, lambda: {"name": name, "computed": None}, (line,), ChannelComputed(name, None))
    parsed = read_expression(expression)
    _check_name(state, name)
    role = read_role(plays) if plays else ""
    with_names = [drive for drive in state.drives if not missing(drive.log, ComputedChannel(name, expression, ""))]
    if not with_names or name in parsed.names:
        raise _no_such(state, name, parsed.names)
    units = [unit_of(parsed, _units(drive, parsed.names)) for drive in with_names]
    if len(set(units)) > 1:
        raise InputError(
            phrase("{name} would be in {units} in different logs.", name=name, units=" and ".join(sorted(set(units)))),
            "State the units of the channels that have none, so that all logs agree.",
        )
    base, factor, offset = (
        brought_to(units[0], unit, state.settings.stoichiometric_afr) if unit else (units[0], 1.0, 0.0)
    )
    made = ComputedChannel(name, expression.strip(), base, factor, offset, role)
    _check_role(role, name, base)
    after = {**{each: known for each, known in state.computed.items() if each != name}, name: made}
    drives = [derived(drive, state.inputs, after) for drive in state.drives]
    _check_circle([derived(drive, state.inputs, after) for drive in with_names], name)
    kept: dict[str, Json] = {key: plain(value) for key, value in asdict(made).items()}
    data: dict[str, Json] = {**kept, "logs": [d.id for d in drives if d.log.channel(name)]}
    change = ChannelComputed(name, made) if made != before else None
    return Answer(made, lambda: data, (*computed_lines(made, drives), *_played_lines(state, role, name)), change)


def _logged(state: State, name: str) -> list[tuple[Drive, Channel]]:
    """Find the logs with a channel, as it was read.

    Raises:
        InputError: when there is none, or they hold it in different units.
    """
    found = [(drive, channel) for drive in state.drives if (channel := drive.as_read.channel(name)) is not None]
    if not found:
        known = dict.fromkeys(channel.name for drive in state.drives for channel in drive.as_read.channels)
        raise InputError(
            phrase("No log of this session has a channel {name!r}.", name=name),
            _known(known)
            if known
            else phrase("Add a log first: {add_log}.", add_log=call("add-log", "SESSION", "LOG")),
        )
    return [each for each in found if each[1].unit == found[-1][1].unit]


def _known(names: Mapping[str, object]) -> str:
    return phrase("There is: {names}.", names=", ".join(names)) if names else "There is none."


def _changed(key: tuple[str, str], before: AnalogueInput | None, after: AnalogueInput | None) -> InputStated | None:
    return InputStated(*key, after) if after != before else None


def _scaling(
    key: tuple[str, str], given: Curve, unit: str, tolerance: str, role: Role | str, afr: float
) -> AnalogueInput:
    """Make the scaling, in base units.

    Raises:
        InputError: when it does not go together.
    """
    name, unit_read = key
    if given.points and not unit:
        raise InputError(
            phrase("The unit of what {name} measures is not given.", name=name),
            phrase("Give it with {unit_flag}, as in lambda, AFR, kPa or degC.", unit_flag=flag("unit")),
        )
    base, by, plus = brought_to("", unit, afr) if unit else (unit_read, 1.0, 0.0)
    if not given.points and base != unit_read:
        raise InputError(
            phrase("{name} is logged in {logged}, not in {unit}.", name=name, logged=unit_read or "no unit", unit=unit),
            phrase("State its scaling too, with {point_flag}.", point_flag=flag("point")),
        )
    points = tuple((read, measured * by + plus) for read, measured in given.points)
    if any(b[0] <= a[0] for a, b in pairwise(points)):
        raise InputError("Two points have the same logged value.", "Leave one of them out.")
    if points and len({measured for _, measured in points}) < 2:
        raise InputError("All points measure the same.", "Give points that differ.")
    _check_role(role, name, base)
    absolute, share = read_tolerance(tolerance)
    return AnalogueInput(name, unit_read, base, points, read_role(role) if role else "", absolute * by, share)


def _check_scaled(scaling: AnalogueInput, logged: Sequence[tuple[Drive, Channel]], *, ranged: bool) -> None:
    """Refuse a scaling that most readings lie outside of, or that makes of them what its role never is.

    Raises:
        InputError: naming log and readings.
    """
    for drive, channel in logged:
        values = channel.values[np.isfinite(channel.values)]
        if not values.size or not scaling.points:
            continue
        if ranged:
            _check_covered(scaling, drive, values)
        if scaling.role and (bounds := role_range(scaling.role)) is not None:
            _check_direction(scaling, drive, channel)
            middle = float(np.nanmedian(scaling.scaled(values)))
            if not bounds[0] <= middle <= bounds[1]:
                raise InputError(
                    phrase(
                        "{channel} would read around {middle:.4g} {unit}, which no {role} does.",
                        channel=channel.name,
                        middle=middle,
                        unit=scaling.unit,
                        role=scaling.role,
                    ),
                    "Check the points and the unit.",
                )


def _check_direction(scaling: AnalogueInput, drive: Drive, channel: Channel) -> None:
    """Refuse points by which the mixture would lean out where the engine works hard: they are the wrong way round.

    Raises:
        InputError: naming log and channel.
    """
    efforts = [drive.log.playing(role) for role in ("load", "manifold_pressure", "airflow", "throttle")]
    effort = next((each for each in efforts if each is not None), None)
    if scaling.role != "lambda_measured" or effort is None:
        return
    scaled = scaling.scaled(channel.values)
    if is_inverse(scaled, effort) and is_inverse(2.0 - scaled, effort) is False:
        raise InputError(
            phrase(
                "Scaled so, {channel} reads lean where the engine works hard, and rich where it is not driven, in log "
                "{log}.",
                channel=channel.name,
                log=drive.id,
            ),
            "The measured values of the points seem to be swapped: check which voltage is rich.",
        )


def _check_covered(scaling: AnalogueInput, drive: Drive, values: FloatArray) -> None:
    """Refuse points between which few of the readings lie, or all of them within next to nothing.

    Raises:
        InputError: naming log and readings.
    """
    low, high = scaling.points[0][0], scaling.points[-1][0]
    outside = float(np.mean((values < low) | (values > high)))
    least, most = float(values.min()), float(values.max())
    if outside > MOST_OUTSIDE or most - least < LEAST_COVERED * (high - low):
        raise InputError(
            phrase(
                "The points, {low:g} to {high:g} {unit}, do not fit the readings of {channel} in log {log}: "
                "{least:.4g} to {most:.4g}.",
                low=low,
                high=high,
                unit=scaling.unit_read or "as logged",
                channel=scaling.channel,
                log=drive.id,
                least=least,
                most=most,
            ),
            "Check the unit of the logged values, and give it as in '5000 mV=1.36'.",
        )


def _input_line(scaling: AnalogueInput) -> str:
    parts = [input_note(scaling)] if scaling.points else []
    if scaling.tolerance or scaling.tolerance_share:
        size = (
            f"{scaling.tolerance:g} {scaling.unit}".strip()
            if scaling.tolerance
            else phrase("{share:g} % of the reading", share=100 * scaling.tolerance_share)
        )
        parts.append(phrase("{channel} may be off by {size}.", channel=scaling.channel, size=size))
    return join_phrases(" ", parts)


def _played_lines(state: State, role: Role | str, name: str) -> tuple[str, ...]:
    """Tell in which logs another channel keeps the role."""
    others = [d for d in state.drives if role and d.log.roles.get(read_role(role), name) != name]
    return tuple(
        phrase(
            "Log {log}: {player} stays {role}; change it with {command}.",
            log=drive.id,
            player=drive.log.roles[read_role(role)],
            role=role,
            command=call("amend-log", "SESSION", str(drive.id)),
        )
        for drive in others
    )


def _check_name(state: State, name: str) -> None:
    if not name or len(name) > 100 or re.search(r"[\x00-\x1f\"']", name):
        raise InputError(
            phrase("{name!r} is no name for a channel.", name=name), "Give 1 to 100 characters without quotation marks."
        )
    taken = next((drive for drive in state.drives if drive.as_read.channel(name) is not None), None)
    if taken is not None:
        raise InputError(
            phrase("Log {log} has a channel {name!r} already.", log=taken.id, name=name), "Choose another name."
        )


def _no_such(state: State, name: str, names: Sequence[str]) -> InputError:
    """Tell what an expression names that no log has."""
    if name in names:
        return InputError(phrase("{name} would be computed from itself.", name=name), "Name other channels.")
    known = dict.fromkeys(channel.name for drive in state.drives for channel in drive.log.channels)
    nowhere = [each for each in names if all(meant(drive.log, each) is None for drive in state.drives)]
    if nowhere:
        return InputError(
            phrase("No log has a channel or a role {names}.", names=", ".join(map(repr, nowhere))), _known(known)
        )
    return InputError(phrase("No log has all of {names}.", names=", ".join(names)), "Name channels of one log.")


def _units(drive: Drive, names: Sequence[str]) -> dict[str, str]:
    return {name: channel.unit for name in names if (channel := meant(drive.log, name)) is not None}


def _check_role(role: Role | str, name: str, unit: str) -> None:
    """Refuse a role that is in other units.

    Raises:
        InputError: naming them.
    """
    if not role:
        return
    if not unit:
        raise InputError(
            phrase("{name} has no unit, so it cannot be {role}.", name=name, role=role),
            phrase("State its unit with {unit_flag}.", unit_flag=flag("unit")),
        )
    check_dimension("", read_role(role), name, find_unit(unit), unit)


def _check_circle(drives: Sequence[Drive], name: str) -> None:
    """Refuse a channel that is in none of the logs that had all it names: it would rest on itself.

    Raises:
        InputError: naming the channels.
    """
    if any(drive.log.channel(name) is None for drive in drives):
        raise InputError(
            phrase("{name} would rest on itself in a circle, by other computed channels.", name=name),
            "Compute it from other channels.",
        )
