"""What leaves open how a channel that cells rest on is meant: steps too coarse, or a unit that nobody knows."""

import re
from collections.abc import Collection, Mapping

import numpy as np

from workbench.files.channels.measured import Measured
from workbench.files.channels.mixture import WIDEBAND_OFF
from workbench.files.vocabulary.asking import WEIGHTY
from workbench.files.vocabulary.roles import role_by_name
from workbench.files.vocabulary.spelling import label_parts
from workbench.files.vocabulary.units import find_unit
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import flag, join_phrases, phrase

# What stands where a unit would and says that there is none, or what is measured instead.
_NO_UNIT = re.compile(
    r"[\W_]*|[\d.]*|n/?a|none|null|nil|no unit|unitless|ratio|x|abs(olute)?|rel(ative)?|raw|enum|bool|bits?|text|"
    r"string|float|double|u?int\d*|min|max|avg|mean|actual|act|ist|soll|is|set|cmd|target|meas|measured|filtered|"
    r"b?\d|bank ?\d|[sb]\d\w?|ecu|obd|can|gauge|sensor|wb|wideband|ext|int|pos|neg|eng|engine|st|lt|left|right|"
    r"l|r|i{1,3}|[ab]|\d+ ?(hz|ms|s)",
    re.IGNORECASE,
)
_BRACKETS = re.compile(r".*\S\s*\(([^()]{1,12})\)")
_OF_UNITS = re.compile(r"[/°^·*²³%‰]|^[^\W\d_]{1,4}$")
FEWEST = 200  # readings, to tell steps by
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
    use = Alternative(
        "use it",
        typed_flag("role", "lambda_measured", channel.name),
        phrase("Cells that rest on it may be wrong by that much, and their intervals do not say so."),
    )
    leave = Alternative(
        "leave it out", typed_flag("role", "lambda_measured", ""), phrase("The cells rest on the trims alone.")
    )
    return [Question(channel.name, why, (leave, use))]


def unknown_unit(name: str, unit: str) -> str:
    """Return what a file gives as a unit that is none known; empty where it gives none, or a known one."""
    if find_unit(label_parts(name)[1]) is not None:
        return ""  # what stands behind a known unit is something else, as a rate
    given = unit
    if not given and (match := _BRACKETS.fullmatch(name)) and _OF_UNITS.search(match[1]):
        given = match[1]
    return "" if _NO_UNIT.fullmatch(given) or find_unit(given) is not None else given


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
        if role not in WEIGHTY or channel.unit is not None or channel.stated or not given:
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
