"""Channels that are written only where they change: each value stands until the next one, so that no row lacks it.

Who writes so never writes a value twice in a row. Of a channel that goes to and fro between few levels that tells much,
since readings taken at even times would often be the same as the one before; of a fast one with many digits it tells
nothing, so there the rest of the log decides: one program wrote it all.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from dataclasses import field as dataclass_field
from typing import Literal

import numpy as np

from workbench.files.vocabulary.recording import Field, is_complete, listed
from workbench.files.vocabulary.roles import role_by_name
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.counting import counted
from workbench.model.log import Alternative, Question, typed_flag
from workbench.model.series import standing, would_repeat, writes_changes
from workbench.phrases import phrase, plural_phrase

Way = Literal["whole", "sure", "repeats", "open"]
ON_CHANGE, AS_READ = "on-change", "as-read"  # answers to the question which it is
FEW_REPEATS = 0.005  # of the readings; who writes on change repeats a value only where a row was begun anew
SELDOM = 0.1  # of the readings; 0 and -0, or 1.5 and 1.50, are two ways to write one number
FEWEST_SURE, MANY_TO_ONE = 3, 4  # channels that tell that a whole log is written so, and for each that seldom repeats
ONE_STEP, FEWEST = 1.5, 12  # steps of resolution by which a slow channel mostly moves, and readings to tell it by
UNEVEN = 4.0  # times the usual gap between two readings; a channel that is asked in turn leaves no longer ones so often
LONG_SHARE = 0.02  # of the gaps
MOST_WRITTEN = 0.95  # of the rows; a channel that lacks fewer cells tells nothing of how it is written
MUCH = 0.9  # of the rows; a channel that is there more often lacks too little to be asked about
SHOWN = 4


@dataclass(frozen=True)
class Held:
    """Columns of which those written on change hold.

    Attributes:
        fields: all of them.
        notes: what was held.
        questions: of which channels it is open.
    """

    fields: Sequence[Field]
    notes: list[str] = dataclass_field(default_factory=list)
    questions: list[Question] = dataclass_field(default_factory=list)


def hold_what_is_written_on_change(fields: Sequence[Field], stated: Mapping[str, str]) -> Held:
    """Let the values of channels stand until the next one where only changes are written, and say so.

    Args:
        fields: columns of numbers.
        stated: channel -> `ON_CHANGE`, `AS_READ` or a unit, where the user said so.
    """
    if all(map(is_complete, (each.values for each in fields))):
        return Held(fields)
    ways = {each.name: _way(each.values) for each in fields}
    sure = [name for name, way in ways.items() if way == "sure"]
    whole = _is_whole_log(fields, ways) or writes_changes([each.values for each in fields])
    held = {name for name, way in ways.items() if way != "whole"} if whole else set(sure)
    held = {name for name in held if stated.get(name) != AS_READ}
    held |= {name for name, word in stated.items() if word == ON_CHANGE}
    made = [replace(each, values=standing(each.values)) if each.name in held else each for each in fields]
    asked = [] if whole else [each for each in fields if _is_to_be_asked(each, ways[each.name], stated)]
    shown = [each.name for each in fields if each.name in held and ways[each.name] != "whole"]
    return Held(made, _notes(shown), [_question(each) for each in asked])


def _is_whole_log(fields: Sequence[Field], ways: Mapping[str, Way]) -> bool:
    """Tell whether all channels of a log are written on change: many surely are, and none repeats itself often."""
    seldom = 0
    for each in fields:
        repeats = _repeats(each.values)
        gappy = ways[each.name] != "whole"
        if repeats > (SELDOM if gappy else FEW_REPEATS):
            return False
        seldom += ways[each.name] == "repeats"
    return list(ways.values()).count("sure") >= max(FEWEST_SURE, MANY_TO_ONE * seldom)


def _notes(names: Sequence[str]) -> list[str]:
    if not names:
        return []
    return [
        plural_phrase(
            len(names),
            "{names} is written only on change: each value stands until the next one.",
            "{names} are written only on change: each value stands until the next one.",
            names=listed(names[:SHOWN], len(names)),
        )
    ]


def _way(values: FloatArray) -> Way:
    there = np.isfinite(values)
    seen = values[there]
    if seen.size == values.size or not seen.size:
        return "whole"
    if seen.size < 2:
        return "open"
    if _repeats(values) > FEW_REPEATS:
        return "repeats"
    if seen.size > MOST_WRITTEN * values.size:
        return "open"
    if would_repeat(seen):
        return "sure"
    moves = np.abs(np.diff(seen))
    steady = seen.size >= FEWEST and float(np.median(moves)) <= ONE_STEP * float(np.quantile(moves, 0.02))
    return "sure" if steady and is_uneven(there) else "open"


def _repeats(values: FloatArray) -> float:
    seen = values[np.isfinite(values)]
    return float(np.mean(np.diff(seen) == 0)) if seen.size > 1 else 0.0


def is_uneven(there: BoolArray) -> bool:
    """Tell whether the rows in which a channel is there keep no pace.

    Args:
        there: shape (rows,).
    """
    gaps = np.diff(np.flatnonzero(there))
    return bool(gaps.size and float(np.mean(gaps > UNEVEN * float(np.median(gaps)))) > LONG_SHARE)


def _is_to_be_asked(field: Field, way: Way, stated: Mapping[str, str]) -> bool:
    if way != "open" or stated.get(field.name) in (ON_CHANGE, AS_READ) or role_by_name(field.name, field.unit) is None:
        return False
    there = np.isfinite(field.values)
    return FEWEST <= int(there.sum()) < MUCH * there.size and is_uneven(there)


def _question(field: Field) -> Question:
    there = np.isfinite(field.values)
    why = phrase(
        "{name} has a value in {share:.0%} of the rows, at uneven times, and never the same twice. Is it written only "
        "where it changes?",
        name=field.name,
        share=float(np.mean(there)),
    )
    longest = counted(int(np.max(np.diff(np.flatnonzero(there)))) - 1, "row")
    no = phrase("Between two values it is unknown, for up to {longest}.", longest=longest)
    yes = phrase("Each value stands until the next one.")
    return Question(
        field.name,
        why,
        (
            Alternative(AS_READ, typed_flag("unit", field.name, AS_READ), no),
            Alternative(ON_CHANGE, typed_flag("unit", field.name, ON_CHANGE), yes, held=True),
        ),
    )
