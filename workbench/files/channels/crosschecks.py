"""Channels held against what is possible and against each other, once they are in base units."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from workbench.files.channels.doubts import asked_of_contradictions, coarse_mixture, contrary_mixture
from workbench.files.channels.measured import Measured
from workbench.files.channels.mixture import settle_mixture
from workbench.files.channels.plausibility import (
    FEW_IMPOSSIBLE,
    RICHEST,
    blank_codes,
    blank_impossible,
    blank_spikes,
    impossible_jumps,
    is_dead,
    is_no_mixture,
    out_of_range,
)
from workbench.files.channels.settling import Settled
from workbench.files.vocabulary.asking import TELLING, ask_player
from workbench.files.vocabulary.file_words import BEHIND_CATALYST
from workbench.files.vocabulary.recording import listed
from workbench.files.vocabulary.roles import Cast
from workbench.files.vocabulary.scoring import MIXTURES
from workbench.files.vocabulary.spelling import plain_words
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.counting import counted
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import phrase

# Asked about where two channels that could play them differ: what a cell's value rests on.
_WEIGHTY: tuple[Role, ...] = (
    "sensor_signal",
    "engine_speed",
    "manifold_pressure",
    "lambda_commanded",
    "lambda_measured",
)
_MEET: tuple[Role, ...] = ("engine_speed", "manifold_pressure", "airflow", "sensor_signal", "stft_1", "lambda_measured")
_NEVER_0: tuple[Role, ...] = ("airflow", "sensor_signal", "manifold_pressure")  # with the engine running
_NEVER_BELOW_0: tuple[Role, ...] = (
    "throttle",
    "pedal",
    "vehicle_speed",
    "load",
    "purge",
    "airflow",
    "sensor_signal",
    "engine_speed",
)
RUNNING_RPM = 400.0
STANDS_STILL = 0.04  # lambda from lowest to highest: loops dither their target by a percent or two (no source)
_BREATHES: tuple[Role, ...] = ("airflow", "load", "manifold_pressure", "sensor_signal", "throttle")
MOSTLY = 0.6  # of the rows
RICH_SHARE, FEWEST_RICH = 0.95, 20  # of the command, and rows: no table is off by more under load (no source)
LEANEST_LOOP = 1.3  # lambda; a loop on a narrow sensor asks for about 1 (common practice, no source)
NEAR_S = 2.0  # further apart in time two readings say nothing of the same moment
FEWEST_COMMON = 50  # rows in which two channels are there
FEWEST_LEVELS = 2  # different trims of a bank whose loop works
FROM_ROW_TO_ROW = 0.005  # two control units may report the same a moment apart
FELT = 0.3  # %: a trim that is left out moves a cell by as much
COLD = 60.0  # degC; colder coolant warms while the engine runs (common practice, no source)
HALF = 0.5  # of the other bank's readings; a bank that is logged less than that is not averaged with it


@dataclass
class Checked:
    """What is left of the channels that play roles.

    Attributes:
        by_role: role -> channel.
        dead: roles whose channel says nothing.
        notes: what was found, as sentences.
        questions: what is open about channels that still play a role.
        objections: why the whole log cannot come from a car.
    """

    by_role: dict[Role, Measured]
    dead: set[Role] = field(default_factory=set)
    notes: list[str] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    objections: list[str] = field(default_factory=list)


def cross_check(
    found: Settled, cast: Cast, measured: Sequence[Measured], time: FloatArray, stated: Mapping[Role, str]
) -> Checked:
    """Take out what cannot be, find what says nothing, and ask where two channels contradict each other.

    Args:
        found: the channels by their roles.
        cast: who plays which role, and who could as well.
        measured: all channels.
        time: s, shape (rows,).
        stated: roles that the user stated; their channels stay.
    """
    checked = Checked(dict(found.by_role))
    _suspect(checked, frozenset(stated))
    _without_contradicted(checked)
    _banks(checked, frozenset(stated))
    open_banks = _still_long_trim(checked, frozenset(stated))
    said, open_units = asked_of_contradictions(checked.by_role, frozenset(stated))
    checked.notes += said
    checked.objections = impossible_jumps(checked.by_role, time) + out_of_range(checked.by_role)
    if checked.objections:
        checked.notes.append(
            phrase(
                "Caution: these values are impossible in a car: {objections}.", objections="; ".join(checked.objections)
            )
        )
    checked.by_role, spikes = blank_spikes(checked.by_role, time)
    checked.notes += spikes + _strangers(checked.by_role, time)
    playing = {
        channel.name for role, channel in checked.by_role.items() if role not in checked.dead and channel.there.size
    }
    checked.questions = [each for each in found.questions if each.channel in playing] + open_banks
    checked.questions += open_units
    if "coolant_temperature" not in stated:
        checked.questions += _still_coolant(checked.by_role)
    for role in _WEIGHTY:
        if role in checked.by_role and role not in checked.dead and role not in stated:
            checked.questions += _rivals(role, checked.by_role[role], cast, measured, found)
    if "lambda_commanded" not in stated:
        checked.questions += _deaf_command(checked.by_role)
    if "lambda_measured" not in stated and "lambda_measured" not in checked.dead:
        wideband = checked.by_role.get("lambda_measured")
        checked.questions += coarse_mixture(wideband)
        if wideband is not None and all(each.channel != wideband.name for each in checked.questions):
            checked.questions += contrary_mixture(checked.by_role, stated)
    return checked


def _deaf_command(by_role: Mapping[Role, Measured]) -> list[Question]:
    """Ask whether a command that never moves is one, where the engine ran rich in open loop."""
    channels = [by_role.get(role) for role in ("lambda_commanded", "lambda_measured", "fuel_system")]
    if any(each is None for each in channels):
        return []
    commanded, measured, state = (each for each in channels if each is not None)
    if not commanded.extent[1] - commanded.extent[0] <= STANDS_STILL:
        return []
    # SAE J1979: 4 is open loop by load, but also on overrun, where a film that runs off is rich for a moment.
    asked = (state.values == 4) & _loaded(by_role, state) & np.isfinite(measured.values)
    usual = float(np.median(commanded.there))
    rich = asked & (measured.values < RICH_SHARE * usual)
    if np.count_nonzero(rich) < max(FEWEST_RICH, np.count_nonzero(asked) / 2):
        return []
    why = phrase(
        "{channel} stands at {value:.4g} throughout, but measured lambda is around {rich:.3g} in open loop under load. "
        "Is it what the ECU commands?",
        channel=commanded.name,
        value=usual,
        rich=float(np.median(measured.values[rich])),
    )
    yes = Alternative(
        "yes", typed_flag("role", "lambda_commanded", commanded.name), "Then the engine ran that much too rich."
    )
    no = Alternative("no", typed_flag("role", "lambda_commanded", ""), "Then the command in open loop is unknown.")
    return [Question(commanded.name, why, (yes, no))]


def _loaded(by_role: Mapping[Role, Measured], state: Measured) -> BoolArray:
    """Mark the rows in which the engine breathes more than it mostly does, shape (rows,); all where nothing tells."""
    for role in _BREATHES:
        channel = by_role.get(role)
        if channel is not None and channel.there.size and channel.values.size == state.values.size:
            return np.asarray(channel.values > np.quantile(channel.there, MOSTLY))
    return np.ones(state.values.size, dtype=np.bool_)


def _without_contradicted(checked: Checked) -> None:
    """Take out single values that other channels, or all others of the same channel, say cannot be."""
    values = {role: channel.values for role, channel in checked.by_role.items()}
    running = values["engine_speed"] > RUNNING_RPM if "engine_speed" in values else None
    closed = np.isin(values["fuel_system"], (2, 16)) if "fuel_system" in values else None  # SAE J1979 PID 03
    if running is not None:
        for role in _NEVER_0:
            _blank(checked, role, running & (values.get(role, np.ones(1)) == 0), "with the engine running")
    for role in _NEVER_BELOW_0:
        there = values.get(role, np.ones(1))
        if float(np.fmin.reduce(there[there != -1], initial=np.inf)) >= 0:
            _blank(checked, role, there == -1, "and nothing else below 0")
    if closed is not None:
        lean = values.get("lambda_commanded", np.ones(1)) > LEANEST_LOOP
        _blank(checked, "lambda_commanded", closed & lean, "in closed loop")


def _blank(checked: Checked, role: Role, bad: BoolArray, when: str) -> None:
    """Let few values of a channel count as missing, and say so."""
    channel = checked.by_role.get(role)
    count = int(np.count_nonzero(bad))
    if channel is None or not 0 < count <= FEW_IMPOSSIBLE * np.count_nonzero(np.isfinite(channel.values)):
        return
    checked.by_role[role] = channel.without(bad)
    checked.notes.append(
        phrase(
            "{channel} reads {value:.6g} in {rows} {when}: impossible, so these count as missing.",
            channel=channel.name,
            value=float(channel.values[bad][0]),
            rows=counted(count, "row"),
            when=when,
        )
    )


def _suspect(checked: Checked, stated: frozenset[Role]) -> None:
    """Take out codes and what is impossible, and find dead channels."""
    for role, channel in tuple(checked.by_role.items()):
        made, note = blank_codes(channel, role)
        made, more = blank_impossible(made, role)
        checked.by_role[role] = made
        checked.notes += note + more
        if is_dead(made, role):
            checked.dead.add(role)
            level = f"{made.there[0]:g} {channel.unit_name}".strip()
            end = "" if role in stated else " and is left out"
            checked.notes.append(
                phrase(
                    "{channel} reads {level} in every row: the channel is dead{end}.",
                    channel=channel.name,
                    level=level,
                    end=end,
                )
            )
        elif is_no_mixture(made, role):
            checked.dead.add(role)
            end = "" if role in stated else " It is left out."
            checked.notes.append(
                phrase(
                    "Caution: {channel} often reads below lambda {richest:g}; is it a voltage?{end}",
                    channel=channel.name,
                    richest=RICHEST,
                    end=end,
                )
            )


def _banks(checked: Checked, stated: frozenset[Role]) -> None:
    """Leave out the trims of a bank that says nothing while the other does: the mean of both would halve every trim."""
    banks: tuple[tuple[Role, Role], ...] = (("stft_1", "ltft_1"), ("stft_2", "ltft_2"))
    short = [checked.by_role.get(bank[0]) for bank in banks]
    for (role, long_role), mine, other in zip(banks, short, reversed(short), strict=True):
        if mine is None or other is None or role in stated or not _works(other):
            continue
        count, others = (int(np.isfinite(each.values).sum()) for each in (mine, other))
        if _works(mine) and count >= HALF * others:
            continue
        why = (
            "stands still"
            if not _works(mine)
            else phrase("has only {count} readings, to {others} of the other", count=count, others=others)
        )
        checked.notes.append(
            phrase(
                "{mine} {why}: the trims of that bank are left out; the other bank's are used.", mine=mine.name, why=why
            )
        )
        checked.dead |= {role, long_role} & set(checked.by_role)
    for role, long_role in banks:  # a long trim of a bank whose short one is not logged beside one whose is
        other_short = banks[1][0] if role == banks[0][0] else banks[0][0]
        channel = checked.by_role.get(long_role)
        if channel is None or role in checked.by_role or long_role in stated or long_role in checked.dead:
            continue
        if other_short in checked.by_role and other_short not in checked.dead:
            checked.dead.add(long_role)
            checked.notes.append(
                phrase("{channel} is left out, since the short trim of its bank is not logged.", channel=channel.name)
            )


def _still_long_trim(checked: Checked, stated: frozenset[Role]) -> list[Question]:
    """Ask whether a long trim that stands at 0 is one, where that of the other bank moves."""
    banks: tuple[tuple[Role, Role, Role], ...] = (("stft_1", "ltft_1", "ltft_2"), ("stft_2", "ltft_2", "ltft_1"))
    for short_role, role, other_role in banks:
        mine, other = checked.by_role.get(role), checked.by_role.get(other_role)
        short = checked.by_role.get(short_role)
        if mine is None or other is None or short is None or {role, other_role, short_role} & (checked.dead | stated):
            continue
        if mine.extent != (0.0, 0.0) or not _works(short) or abs(other.middle) < FELT or not _works(other):
            continue
        why = phrase(
            "{mine} stands at 0 while {other} is around {middle:+.3g} %. Is it learnt and logged at all?",
            mine=mine.name,
            other=other.name,
            middle=other.middle,
        )
        yes = Alternative("yes", typed_flag("role", role, mine.name), "Then bank 2 differs from bank 1 by that much.")
        no = Alternative("no", typed_flag("role", short_role, ""), "Then the trims of that bank are left out.")
        return [Question(mine.name, why, (yes, no))]
    return []


def _still_coolant(by_role: Mapping[Role, Measured]) -> list[Question]:
    """Ask whether a coolant temperature is one that never moves and is cold throughout: the engine warms meanwhile."""
    channel, speed = by_role.get("coolant_temperature"), by_role.get("engine_speed")
    if channel is None or channel.there.size < FEWEST_RICH or speed is None or not speed.extent[1] > RUNNING_RPM:
        return []
    low, high = channel.extent
    if low != high or low >= COLD:
        return []
    why = phrase(
        "{channel} stands at {value:.4g} degC throughout, though the engine ran: is it the engine's temperature?",
        channel=channel.name,
        value=low,
    )
    dead = Alternative("no", typed_flag("role", "coolant_temperature", ""), "Then the engine is taken to be warm.")
    alive = Alternative(
        "yes",
        typed_flag("role", "coolant_temperature", channel.name),
        "Then the engine was cold, and gives no evidence.",
    )
    return [Question(channel.name, why, (alive, dead))]


def _works(channel: Measured) -> bool:
    """Tell whether a trim moves as one of a working loop; of few readings that is not told."""
    return 1 < channel.there.size < FEWEST_COMMON or (
        channel.there.size > 1 and np.unique(channel.there).size >= FEWEST_LEVELS
    )


def _strangers(by_role: Mapping[Role, Measured], time: FloatArray) -> list[str]:
    """Say which channels that belong together are never read near the same moment."""
    here = [by_role[role] for role in _MEET if role in by_role and by_role[role].there.size]
    apart = [
        f"{index.name} and {other.name}"
        for at, index in enumerate(here)
        for other in here[at + 1 :]
        if not (index.complete or other.complete or _meet(index.values, other.values, time))
    ]
    if not apart:
        return []
    return [
        phrase(
            "Caution: never logged at the same moment, so they cannot be used together: {apart}.",
            apart=listed(apart[:4], len(apart)),
        )
    ]


def _meet(first: FloatArray, second: FloatArray, time: FloatArray) -> bool:
    first_times, second_times = time[np.isfinite(first)], time[np.isfinite(second)]
    at = np.clip(np.searchsorted(second_times, first_times), 1, max(second_times.size - 1, 1))
    nearest = np.minimum(
        np.abs(first_times - second_times[np.minimum(at, second_times.size - 1)]),
        np.abs(first_times - second_times[at - 1]),
    )
    return bool(nearest.min() <= NEAR_S)


def _rivals(role: Role, channel: Measured, cast: Cast, measured: Sequence[Measured], found: Settled) -> list[Question]:
    """Ask which channel plays a role where another that could reads otherwise."""
    names, means = [channel.name], [phrase("{channel} is used.", channel=channel.name)]
    for name in cast.rivals.get(role, ()):
        if (
            role == "lambda_measured"
            and BEHIND_CATALYST.search(plain_words(name))
            and not BEHIND_CATALYST.search(plain_words(channel.name))
        ):
            continue  # behind the catalyst, by its name
        other = next(each for each in measured if each.name == name)
        values = other.values
        if role in MIXTURES:
            values = settle_mixture(other, found.scales.get(channel.name, 14.7), found.scales)[0].values
        elif other.quantity != channel.quantity and other.unit is not None:
            continue
        apart = _apart(channel.values, values, mixture=role in MIXTURES)
        if abs(apart) > TELLING:
            names.append(name)
            means.append(
                phrase(
                    "{name} is used; it reads {apart:+.2g} % against {channel}.",
                    name=name,
                    apart=100 * apart,
                    channel=channel.name,
                )
            )
    if len(names) < 2:
        return []
    why = phrase(
        "{names} could each be the {replace}, and they differ. Which one is?",
        names=" and ".join(names),
        replace=role.replace("_", " "),
    )
    return [ask_player(role, names, why, means)]


def _apart(channel: FloatArray, other: FloatArray, *, mixture: bool) -> float:
    """Give by how much another channel typically differs, as a part; 0 where they are too seldom there together."""
    both = np.isfinite(channel) & np.isfinite(other) & (channel != 0)
    if mixture:
        both &= (channel > RICHEST) & (channel < 1.3) & (other > RICHEST) & (other < 1.3)
    if both.sum() < FEWEST_COMMON:
        return 0.0
    ratio = other[both] / channel[both]
    middle, usual = float(np.median(ratio)) - 1, float(np.median(np.abs(ratio - 1)))
    # Two that agree on the whole may be two things all the same, where they differ from row to row.
    return middle if abs(middle) > TELLING or usual < FROM_ROW_TO_ROW else usual
