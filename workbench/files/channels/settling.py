"""What the channels that play roles mean: each in its role's base unit, with what was assumed and what is open."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from workbench.files.channels.ambient import absolute
from workbench.files.channels.assumed_units import assume_unit
from workbench.files.channels.measured import Measured
from workbench.files.channels.mixture import Scales, find_scales, may_be_inverse, settle_inverse, settle_mixture
from workbench.files.channels.plausibility import TRIMS
from workbench.files.channels.states import settle_fuel_system, settle_purge
from workbench.files.channels.trims import settle_error, settle_trim
from workbench.files.course.unwritten_command import unwritten_in_closed_loop
from workbench.files.vocabulary.recording import listed
from workbench.files.vocabulary.scoring import MIXTURES
from workbench.files.vocabulary.units import find_unit
from workbench.model.arrays import FloatArray
from workbench.model.log import Question, Role
from workbench.phrases import phrase

_EFFORTS: tuple[Role, ...] = ("load", "manifold_pressure", "airflow", "throttle", "pedal")
# Settled first are those against which others are held.
_ORDER: tuple[Role, ...] = ("engine_speed", "barometer", "manifold_pressure", "stft_1", "stft_2")
_SHORT_OF: Mapping[Role, Role] = {"ltft_1": "stft_1", "ltft_2": "stft_2"}
RICHEST_HELD, LEANEST_HELD = 0.97, 1.03  # a loop on a narrow sensor holds nothing else


@dataclass
class Settled:
    """Channels by their roles, in base units.

    Attributes:
        by_role: role -> channel.
        notes: what was assumed, as sentences.
        questions: what is open.
        scales: with what the mixture channels are scaled.
        assumed: units that were assumed, each with its channel.
    """

    by_role: dict[Role, Measured] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    scales: Mapping[str, float] = field(default_factory=dict)
    assumed: list[str] = field(default_factory=list)

    def take(self, role: Role, channel: Measured, note: str = "", question: Question | None = None) -> None:
        """Take a channel in, with what is to be said of it."""
        self.by_role[role] = channel
        self.notes += [note] * bool(note)
        if question is not None and not channel.stated:
            self.questions.append(question)

    def values(self, role: Role) -> FloatArray | None:
        """Give the values of the channel of a role; None where there is none."""
        return self.by_role[role].values if role in self.by_role else None


def settle(
    playing: Mapping[Role, Measured], measured: Sequence[Measured], afr: float, of: Mapping[str, float]
) -> Settled:
    """Bring every channel that plays a role to the role's base unit.

    Args:
        playing: role -> channel.
        measured: all channels.
        afr: air-fuel ratio at lambda 1 of the stated fuel.
        of: channel -> its own, where the user said so.
    """
    found = Settled()
    ordered = [role for role in _ORDER if role in playing] + [role for role in playing if role not in _ORDER]
    for role in ordered:
        if role not in MIXTURES:
            _settle_one(found, role, playing[role], playing.get(_SHORT_OF.get(role, role)))
    if "manifold_pressure" in found.by_role:
        pressure = found.by_role["manifold_pressure"]
        made, note, height = absolute(pressure, "manifold_pressure", found.values("barometer"))
        found.take("manifold_pressure", made, note)
        found.questions += [] if height is None else [height]
    _settle_mixtures(found, playing, measured, afr, of)
    tails = [
        each.name for each in playing.values() if not each.field.unit and each.unit is not None and not each.stated
    ]
    if tails:
        found.notes.append(
            phrase("Units were taken from the end of channel names: {tails}.", tails=listed(tails, len(tails)))
        )
    if found.assumed:
        found.notes.append(
            phrase("No units are given; assumed: {assumed}.", assumed=listed(found.assumed, len(found.assumed)))
        )
    found.by_role = {role: found.by_role[role] for role in playing}
    return found


def _settle_one(found: Settled, role: Role, channel: Measured, beside: Measured | None) -> None:
    if role in TRIMS:
        made, note, question = settle_trim(channel, beside if role in _SHORT_OF else None)
        if not note and channel.unit is None:
            found.assumed.append(f"{channel.name} in %")
        found.take(role, made, note, question)
    elif role == "lambda_error":
        found.take(role, *settle_error(channel))
    elif role == "fuel_system":
        short = found.values("stft_1")
        found.take(role, *settle_fuel_system(channel, found.values("stft_2") if short is None else short))
    elif role == "sensor_signal" and channel.quantity == "time" and channel.unit is not None:
        found.take(role, *_as_frequency(channel))
    else:
        turned, note = settle_purge(channel) if role == "purge" else (channel, "")
        made, unit, question = assume_unit(turned, role, found.by_role)
        found.assumed += [unit] * bool(unit)
        found.take(role, made, note, question)


def _as_frequency(channel: Measured) -> tuple[Measured, str]:
    """Turn the time between two pulses of a sensor into their frequency."""
    factor = {"millisecond": 1e-3, "microsecond": 1e-6}.get(channel.unit.name if channel.unit else "", 1.0)
    with np.errstate(divide="ignore"):
        hertz = np.where(channel.values > 0, 1 / (channel.values * factor), np.nan)
    return channel.becoming("frequency", hertz), phrase(
        "{channel} is the time between pulses; it was converted to Hz.", channel=channel.name
    )


def _settle_mixtures(
    found: Settled,
    playing: Mapping[Role, Measured],
    measured: Sequence[Measured],
    afr: float,
    of: Mapping[str, float],
) -> None:
    """Bring the mixtures to lambda: the commanded one first, by which the measured one is held."""
    scales: dict[str, float] = dict(of)
    commanded: FloatArray | None = None
    for role in ("lambda_commanded", "lambda_measured"):
        if role not in playing:
            continue
        channel = playing[role]
        held = _held(found, commanded, channel.values.size)
        found_scales: Scales = find_scales(measured, {role: channel.name}, afr, scales, held)
        scales |= found_scales.of
        found.notes += found_scales.notes
        made, note = settle_mixture(channel, afr, scales)
        found.take(role, made, note)
        found.questions += [] if channel.stated else found_scales.questions
        if not channel.stated and may_be_inverse(replace(channel, unit=find_unit(channel.field.unit))):
            found.take(role, *settle_inverse(made, _effort(found), commanded))
        if role == "lambda_commanded":
            _with_closed_loop(found)
            commanded = found.by_role["lambda_commanded"].values
    found.scales = scales


def _with_closed_loop(found: Settled) -> None:
    """Let a command that is 0 or empty in closed loop be what a loop holds: 1, as where there is no command."""
    channel = found.by_role["lambda_commanded"]
    rows = unwritten_in_closed_loop(channel.values, found.values("fuel_system"))
    if rows is not None:
        note = phrase(
            "{channel} is written in open loop only and reads 0 in closed loop, which is taken to hold lambda 1.",
            channel=channel.name,
        )
        if not np.any(channel.values == 0):
            note = phrase(
                "{channel} is written in open loop only and empty in closed loop, which is taken to hold lambda 1.",
                channel=channel.name,
            )
        found.take("lambda_commanded", replace(channel, values=np.where(rows, 1.0, channel.values)), note)


def _effort(found: Settled) -> FloatArray | None:
    return next((found.by_role[role].values for role in _EFFORTS if role in found.by_role), None)


def _held(found: Settled, commanded: FloatArray | None, rows: int) -> FloatArray:
    """Give the lambda that the ECU holds in each row, shape (rows,); NaN where it holds none or that is not known."""
    state = found.values("fuel_system")
    asked = np.ones(rows) if commanded is None else np.where(commanded > 0.1, commanded, np.nan)
    if commanded is not None and not np.isfinite(asked).any():
        asked = np.ones(rows)
    near = (asked > RICHEST_HELD) & (asked < LEANEST_HELD)
    held: FloatArray = np.where(near if state is None else near & np.isin(state, (2, 16)), asked, np.nan)
    return held
