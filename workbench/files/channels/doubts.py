"""What leaves open how a channel that cells rest on is meant: coarse steps, an unknown unit, a loop it contradicts."""

import re
from collections.abc import Collection, Mapping

import numpy as np

from workbench.files.channels.measured import Measured, late_part
from workbench.files.channels.mixture import LEANEST, USUAL_SCALES, WIDEBAND_OFF
from workbench.files.channels.plausibility import RICHEST, TRIMS, contradictions
from workbench.files.channels.trims import FACTORS
from workbench.files.course.command_by_course import ask_of_swapped, looks_swapped
from workbench.files.unnamed.other_units import as_ratio, pressures
from workbench.files.vocabulary.asking import WEIGHTY, Reading, ask
from workbench.files.vocabulary.roles import looks_cells_up, role_by_name
from workbench.files.vocabulary.spelling import label_parts
from workbench.files.vocabulary.units import find_unit
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import SCALING, Alternative, Question, Role, typed_flag
from workbench.phrases import call, flag, join_phrases, phrase

# What stands where a unit would and says that there is none, or what is measured instead.
_NO_UNIT = re.compile(
    r"[\W_]*|[\d.]*|n/?a|none|null|nil|no unit|unitless|ratio|x|abs(olute)?|rel(ative)?|raw|enum|bool|bits?|text|"
    r"string|float|double|u?int\d*|min|max|avg|mean|actual|act|ist|soll|is|set|cmd|target|meas|measured|filtered|"
    r"b?\d|bank ?\d|[sb]\d\w?|ecu|obd|can|gauge|sensor|wb|wideband|ext|int|pos|neg|eng|engine|st|lt|left|right|"
    r"l|r|i{1,3}|[ab]|\d+ ?(hz|ms|s)",
    re.IGNORECASE,
)
_BRACKETS = re.compile(r".*\S\s*\(([^()]{1,20})\)")
_OF_UNITS = re.compile(r"[/°^·*²³%‰]|^[^\W\d_]{1,4}$")
# What decides where a cell lies, whether the engine was warm, and where it ran at full throttle.
_ASKED: tuple[Role, ...] = ("manifold_pressure", "engine_speed", "coolant_temperature", "throttle")
_TEMPERATURES = (
    Reading("degC", "Its values count as they are."),
    Reading("degF", "It is in degrees Fahrenheit.", 5 / 9, -32 * 5 / 9),
)
FEWEST_HELD = 100  # rows in closed loop, to judge what is measured there
FAR_FROM_HELD, NEAR_A_FUEL = 2 * WIDEBAND_OFF, 0.03  # of lambda: more than a wideband is off; less than fuels differ
LONG_TO_LEARN_S = 200.0  # in which a long trim that is at work moves (common practice, no source)
# Ranges of airflow; %: what a long trim at work leaves to the short one, and lets it differ by between them (common
# practice, no source).
RANGES, LEFT_TO_SHORT, UNLIKE = 6, 2.5, 2.0
TRIM_MOVES = 1.0  # %: a short trim at work
LEAST_OF_CUTS = 1300.0  # rpm: below no ECU cuts fuel in overrun (common practice, no source)
NEVER_SHUT = 10.0  # %: above what a shut throttle reads nearly all the time
LOOPS = (0.95, 1.05)  # lambda that a loop on a narrow sensor holds
FEWEST = 200  # readings, to tell steps by
MOST_USED = (
    0.018  # lambda: what rests on readings that may be off by more is proven nowhere, and dangers would be steps
)
AROUND = (0.7, 1.3)  # lambda: where an engine runs; further out sensors read coarsely


def coarse_mixture(channel: Measured | None) -> list[Question]:
    """Ask whether measured lambda is to be used where half a step of it is more than its sensor is ever off.

    Where the mixture stands still, as at full throttle, all readings are rounded the same way, and no number of them
    tells by how much.
    """
    if channel is None:
        return []
    near = channel.there[(channel.there > AROUND[0]) & (channel.there < AROUND[1])]
    if near.size < FEWEST or near.min() == near.max():
        return []
    step = float(np.min(np.diff(np.unique(np.round(near, 6)))))
    if step / 2 <= WIDEBAND_OFF:
        return []
    why = phrase(
        "{channel} is written in steps of {step:.3g} lambda: a reading that stands still may be off by {half:.2g} %.",
        channel=channel.name,
        step=step,
        half=100 * step / 2,
    )
    tolerance = f"{step / 2:.2g}"
    use = Alternative(
        "state its tolerance",
        call(SCALING, "SESSION", f"'{channel.name}'", flag("unit", "lambda"), flag("tolerance", tolerance)),
        phrase("Cells that rest on it count as uncertain by what you state: {half} lambda at least.", half=tolerance),
    )
    leave = Alternative(
        "leave it out", typed_flag("role", "lambda_measured", ""), phrase("The cells rest on the trims alone.")
    )
    return [Question(channel.name, why, (leave, use) if step / 2 <= MOST_USED else (leave,))]


def contrary_mixture(by_role: Mapping[Role, Measured], stated: Collection[Role]) -> list[Question]:
    """Ask about a wideband that reads other than the loop holds by more than any sensor is off.

    Where the loop is closed, trims and the ECU's own sensor hold the commanded lambda: what a wideband reads otherwise
    there would move every cell by as much.
    """
    measured = by_role.get("lambda_measured")
    if measured is None or (held := _held(by_role, measured.values)) is None:
        return []
    middle, wanted = float(np.median(measured.values[held[0]])), float(np.median(held[1][held[0]]))
    apart = abs(middle / wanted - 1)
    # The loop may hold 1, as most do, and it is the command that is off.
    of_command = "lambda_commanded" in by_role and apart > WIDEBAND_OFF and abs(middle - 1) < apart / 2
    if apart < FAR_FROM_HELD and not of_command:
        return []
    why = phrase(
        "{measured} reads lambda {middle:.2f} in the middle of closed loop, where the ECU holds {wanted:.3g}: more "
        "than a sensor is off. Is either scaled wrongly, or the exhaust leaking?",
        measured=measured.name,
        middle=middle,
        wanted=wanted,
    )
    scale = float(np.nanmedian(measured.field.values)) / float(np.median(measured.there))
    role: Role = "lambda_commanded" if of_command else "lambda_measured"
    name = by_role[role].name
    means = (
        phrase("Closed loop is taken to hold lambda 1.") if of_command else phrase("The cells rest on the trims alone.")
    )
    leave = Alternative(phrase("leave {channel} out", channel=name), typed_flag("role", role, ""), means)
    use = Alternative(
        phrase("use {channel}", channel=name),
        typed_flag("role", role, name),
        _moved(middle / wanted),
    )
    ratio: tuple[Alternative, ...] = ()
    if role == "lambda_measured" and scale > LEANEST:
        ratio = (_own_scale(name, scale, scale * middle / wanted),)
        more = phrase("If it is scaled for another fuel, state its air-fuel ratio at lambda 1, whatever that is.")
        why = join_phrases(" ", (why, more))
    elif role == "lambda_measured" and scale == 1:
        ratio = as_ratio(name, middle / wanted)
    return [] if role in stated else [Question(name, why, (leave, *ratio, use))]


def _moved(factor: float) -> str:
    """Say what using a reading does to the cells, and to the mixture: less air in a cell is less fuel there."""
    if factor < 1:
        return phrase("It moves the cells by {apart:+.2g} %: the mixture gets leaner.", apart=100 * (factor - 1))
    return phrase("It moves the cells by {apart:+.2g} %: the mixture gets richer.", apart=100 * (factor - 1))


def _own_scale(name: str, scale: float, seen: float) -> Alternative:
    """Offer that an air-fuel ratio is scaled with what it reads where the loop holds lambda 1, or the fuel near that.

    Args:
        name: of the channel.
        scale: that it was read with.
        seen: air-fuel ratio that it reads there.
    """
    near = min(USUAL_SCALES, key=lambda usual: abs(seen / usual - 1))
    own = near if abs(seen / near - 1) < NEAR_A_FUEL else round(seen, 1)
    means = phrase("Lambda is this channel over {scale:g}.", scale=own)
    return Alternative(f"{own:g}", typed_flag("afr-of", name, f"{own:g}"), means, "lambda", round(scale / own, 15))


def _held(by_role: Mapping[Role, Measured], measured: FloatArray) -> tuple[BoolArray, FloatArray] | None:
    """Give the rows in which a loop holds a lambda, and that lambda, both shape (rows,); None for too few rows."""
    commanded, state = by_role.get("lambda_commanded"), by_role.get("fuel_system")
    wanted = np.ones(measured.size) if commanded is None else commanded.values
    rows = np.isfinite(measured) & (wanted > RICHEST)
    if state is not None and (closed := np.isin(state.values, (2, 16))).any():  # SAE J1979, parameter 03
        rows &= late_part(closed)
    elif any(role in by_role for role in ("stft_1", "total_trim_1")):
        rows &= late_part((wanted > LOOPS[0]) & (wanted < LOOPS[1])) & (measured > AROUND[0]) & (measured < AROUND[1])
    else:
        return None
    return (rows, wanted) if np.count_nonzero(rows) >= FEWEST_HELD else None


def asked_of_contradictions(
    by_role: Mapping[Role, Measured], stated: Collection[Role]
) -> tuple[list[str], list[Question]]:
    """Ask about channels whose values contradict their unit; tell it of those that no cell rests on, or were stated."""
    notes, questions = list[str](), list[Question]()
    for role, said in contradictions(by_role):
        channel = by_role[role]
        if role not in _ASKED or role in stated or channel.stated:
            notes.append(phrase("Caution: {said}", said=said))
            continue
        if role == "coolant_temperature":
            in_degf = channel.unit == find_unit("degF")
            questions.append(ask(channel.name, said, _TEMPERATURES[:: -1 if in_degf else 1], "degC"))
            continue
        use = Alternative("use it", typed_flag("role", role, channel.name), phrase("Its values count as they are."))
        leave = Alternative(
            "leave it out", typed_flag("role", role, ""), phrase("It is not used as {role}.", role=role)
        )
        units = pressures(channel.name, channel.values, channel.unit) if role == "manifold_pressure" else ()
        turned = _exchanged_with(channel, by_role.get("throttle")) if role == "manifold_pressure" else ()
        questions.append(Question(channel.name, said, (leave, *turned, *units, use)))
    return notes, questions


def _exchanged_with(pressure: Measured, throttle: Measured | None) -> tuple[Alternative, ...]:
    """Offer to exchange manifold pressure and throttle, where one is shut at times and the other never is."""
    if throttle is None or not throttle.there.size or float(np.quantile(throttle.there, 0.02)) < NEVER_SHUT:
        return ()
    flags = (
        typed_flag("role", "manifold_pressure", throttle.name),
        typed_flag("role", "throttle", pressure.name),
        typed_flag("unit", throttle.name, pressure.field.unit or "kPa"),
        typed_flag("unit", pressure.name, throttle.field.unit or "%"),
    )
    means = phrase(
        "{throttle} is the pressure in the manifold, and {pressure} the throttle.", **_two(pressure, throttle)
    )
    return (
        Alternative(
            phrase("{throttle} and {pressure} are exchanged", **_two(pressure, throttle)), " ".join(flags), means
        ),
    )


def _two(pressure: Measured, throttle: Measured) -> dict[str, str]:
    return {"pressure": pressure.name, "throttle": throttle.name}


def still_long_trim(by_role: Mapping[Role, Measured], stated: Collection[Role], seconds: float) -> list[Question]:
    """Ask whether a long trim that never moves is one: a car that is not asked for it reads so, too.

    Args:
        by_role: role -> channel, as they play.
        stated: roles that the user stated.
        seconds: how long the log is; a run at full throttle is too short for a trim to be learnt.
    """
    if seconds < LONG_TO_LEARN_S:
        return []
    banks: tuple[tuple[Role, Role], ...] = (("stft_1", "ltft_1"), ("stft_2", "ltft_2"))
    for short_role, role in banks:
        short, long = by_role.get(short_role), by_role.get(role)
        if short is None or long is None or role in stated or not looks_cells_up(by_role):
            continue
        low, high = long.extent
        moves = short.extent[1] - short.extent[0] > TRIM_MOVES
        if low != high or not moves or long.there.size < FEWEST or (low != 0 and _carries_error(by_role, short)):
            continue
        why = phrase(
            "{long} stands at {value:.4g} % in every row while {short} moves: a long trim that is not learnt, or that "
            "the car was not asked for, reads so. Does the ECU hold it there?",
            long=long.name,
            value=low,
            short=short.name,
        )
        yes = Alternative("yes", typed_flag("role", role, long.name), phrase("It counts as it stands."))
        no = Alternative("no", typed_flag("role", short_role, ""), phrase("The trims of that bank are left out."))
        return [Question(long.name, why, (yes, no))]
    return []


def is_of_standing_trim(question: Question) -> bool:
    """Tell whether a question is whether a long trim that never moves is one."""
    return question.question.endswith("Does the ECU hold it there?")


def _carries_error(by_role: Mapping[Role, Measured], short: Measured) -> bool:
    """Tell whether the short trim stays off 0 in some range of airflow, as where no long trim takes that over."""
    axis = next((by_role[role] for role in ("airflow", "sensor_signal", "manifold_pressure") if role in by_role), None)
    if axis is None:
        return False
    rows = np.arange(axis.values.size)  # channels that are polled in turn never stand in one row: the last one counts
    last = np.maximum.accumulate(np.where(np.isfinite(axis.values), rows, -1))
    known = (last >= 0) & np.isfinite(short.values) & (short.values != 0)
    if np.count_nonzero(known) < FEWEST:
        return False
    order = np.argsort(axis.values[last[known]])
    means = [float(np.mean(part)) for part in np.array_split(short.values[known][order], RANGES)]
    return max(map(abs, means)) > LEFT_TO_SHORT or max(means) - min(means) > UNLIKE


def swapped_mixtures(by_role: Mapping[Role, Measured], stated: Collection[Role]) -> list[Question]:
    """Ask whether the names of the command and the sensor were exchanged: the sensor stands still, the command moves.

    Args:
        by_role: role -> channel, as they were read.
        stated: roles that the user stated.
    """
    commanded, measured = by_role.get("lambda_commanded"), by_role.get("lambda_measured")
    if commanded is None or measured is None or {"lambda_commanded", "lambda_measured"} & set(stated):
        return []
    if not looks_swapped(commanded.there, measured.there):
        return []
    return [ask_of_swapped(commanded.name, measured.name)]


def untold_cuts(by_role: Mapping[Role, Measured], stated: Collection[Role]) -> list[Question]:
    """Ask whether fuel was cut in overrun where nothing shows it: neither the loop's state, nor throttle and speed.

    Trims stand still in a cut and some time after, and would be taken for those of a closed loop.

    Args:
        by_role: role -> channel, as they play.
        stated: roles that the user stated, also those that nothing is to play.
    """
    trim = next((by_role[role] for role in ("stft_1", "stft_2", "total_trim_1") if role in by_role), None)
    missing = [role for role in ("throttle", "engine_speed") if role not in by_role]
    if trim is None or "fuel_system" in {*by_role, *stated} or not missing or not looks_cells_up(by_role):
        return []
    speed = by_role.get("engine_speed")
    if speed is not None and not speed.extent[1] > LEAST_OF_CUTS:
        return []
    why = phrase(
        "Neither {channel} nor anything else shows where fuel was cut in overrun: no fuel system status is logged, and "
        "no {missing}. Trims that stand still there would count as those of a closed loop, and move cells by several "
        "percent. Was fuel ever cut? If so, log the status, or both throttle and engine speed.",
        channel=trim.name,
        missing=" and no ".join(role.replace("_", " ") for role in missing),
    )
    none = Alternative("no", typed_flag("role", "fuel_system", ""), phrase("All rows count as without a cut."))
    return [Question(trim.name, why, (none,))]


def unknown_unit(name: str, unit: str) -> str:
    """Return what a file gives as a unit that is none known; empty where it gives none, or a known one."""
    if find_unit(label_parts(name)[1]) is not None:
        return ""  # what stands behind a known unit is something else, as a rate
    given = unit
    if not given and (match := _BRACKETS.fullmatch(name)) and _OF_UNITS.search(match[1]):
        given = match[1]
    return "" if _NO_UNIT.fullmatch(given) or find_unit(given) is not None else given


def is_times_of_no_factor(channel: Measured) -> bool:
    """Tell whether a trim is marked as so many times, as a factor is, and yet lies where no factor does."""
    marked = label_parts(channel.name)[1] or channel.field.unit
    return marked.strip().casefold() in ("x", "×") and not (
        channel.extent[0] > FACTORS[0] and channel.extent[1] < FACTORS[1]
    )


def asked_of_unknown_units(
    playing: Mapping[Role, Measured], left_out: Collection[Role], stated: Collection[Role]
) -> list[Question]:
    """Ask about channels that cells rest on and whose unit is given but not known: their numbers may be any others.

    Args:
        playing: role -> channel, as they were read.
        left_out: roles that nothing plays in the end.
        stated: roles that the user stated.
    """
    questions = []
    for role, channel in playing.items():
        given = "" if role in left_out or role in stated else unknown_unit(channel.name, channel.field.unit)
        if role in TRIMS and role not in left_out and role not in stated and is_times_of_no_factor(channel):
            given = "x"
        if role not in (*WEIGHTY, "airflow") or channel.unit is not None or channel.stated or not given:
            continue
        if role_by_name(channel.name.partition("(")[0], "") != role:
            continue  # what stands in brackets tells what the channel is
        why = phrase(
            "{channel} is given in {given!r}, which is no unit that is known here; it was read as if it named none.",
            channel=channel.name,
            given=given,
        )
        read = phrase("Its numbers are what they would be without that.")
        state = phrase("State the unit with {unit_flag} instead, where it is one.", unit_flag=flag("unit"))
        use = Alternative("as if none", typed_flag("role", role, channel.name), join_phrases(" ", (read, state)))
        leave = Alternative(
            "leave it out", typed_flag("role", role, ""), phrase("It is not used as {role}.", role=role)
        )
        questions.append(Question(channel.name, why, (use, leave)))
    return questions
