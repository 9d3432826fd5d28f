"""Air for each stroke or turn, turned into a flow by engine speed; for each cylinder's stroke their number is asked."""

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from workbench.files.channels.measured import Measured
from workbench.files.vocabulary.asking import Reading, ask
from workbench.files.vocabulary.roles import role_by_name
from workbench.files.vocabulary.spelling import plain_words
from workbench.model.arrays import FloatArray
from workbench.model.log import Question
from workbench.phrases import phrase

# Unit -> (g, whether for one cylinder): a four-stroke cylinder draws air once in two turns.
_UNITS = {
    **dict.fromkeys(("mg/str", "mg/stk", "mg/stroke", "mg/hub", "mg/cyl", "mg/cylinder"), (1e-3, True)),
    **dict.fromkeys(("g/cyl", "g/cylinder", "g/stroke", "g/str"), (1.0, True)),
    **dict.fromkeys(("g/rev", "g/turn", "g/r"), (1.0, False)),
    **dict.fromkeys(("mg/rev", "mg/turn"), (1e-3, False)),
}
_AIR = re.compile(r"\b(air\w*|maf|luft\w*|fullung|filling|charge|aire|ar|lucht|luft)\b")
_NO_AIR = re.compile(r"\b(fuel|inj\w*|egr|target|desired|temp\w*|request\w*)\b")
_STATED = re.compile(r"(\d{1,2})\s*cyl(?:inders?)?\.?", re.IGNORECASE)
USUAL = (4, 6, 8, 3, 5, 2, 10, 12)  # cylinders


def stated_cylinders(text: str) -> int:
    """Read a number of cylinders, as in `6 cylinders`; 0 where it is none."""
    match = _STATED.fullmatch(text.strip())
    return int(match[1]) if match else 0


def as_flow(
    measured: Sequence[Measured], cylinders: dict[str, int]
) -> tuple[list[Measured], list[str], list[Question]]:
    """Turn air for each stroke into g/s where no other channel gives the flow; notes, and questions that stay open.

    Args:
        measured: all channels.
        cylinders: channel -> number of cylinders, where that is stated.
    """
    speed = next((each for each in measured if role_by_name(each.name, "rpm") == "engine_speed"), None)
    flows = [each for each in measured if each.quantity == "mass flow"]
    found, notes, questions = list(measured), list[str](), list[Question]()
    for at, channel in enumerate(measured):
        unit = _UNITS.get(re.sub(r"\s+", "", channel.field.unit.casefold()))
        words = plain_words(channel.name)
        if unit is None or speed is None or flows or not _AIR.search(words) or _NO_AIR.search(words):
            continue
        grams, for_one = unit
        count = cylinders.get(channel.name, USUAL[0]) if for_one else 1
        turns = _everywhere(speed.values) / (120.0 if for_one else 60.0)
        made = channel.becoming("mass flow", channel.values * grams * turns * count)
        found[at] = replace(made, stated=channel.name in cylinders)
        flows.append(made)
        each = phrase("{count} cylinders", count=count) if for_one else "a turn"
        notes.append(
            phrase("{channel} is air for {each}: it was turned into g/s by engine speed.", channel=made.name, each=each)
        )
        if for_one and channel.name not in cylinders:
            questions.append(_ask(channel))
    return found, notes, questions


def _everywhere(values: FloatArray) -> FloatArray:
    """Fill missing readings from the rows beside them."""
    known = np.isfinite(values)
    if known.all() or not known.any():
        return values
    rows = np.arange(values.size)
    return np.interp(rows, rows[known], values[known])


def _ask(channel: Measured) -> Question:
    why = phrase(
        "{channel} is the air of one cylinder's stroke ({unit}). How many cylinders has the engine?",
        channel=channel.name,
        unit=channel.field.unit,
    )
    readings = [
        Reading(f"{count} cylinders", phrase("The engine has {count} cylinders.", count=count), count / USUAL[0])
        for count in USUAL
    ]
    return ask(channel.name, why, readings, "g/s")
