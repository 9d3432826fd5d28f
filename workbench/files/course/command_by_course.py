"""Which of two mixtures is the command, where their names do not tell: the one that stands still, as no sensor does."""

import re
from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from workbench.files.vocabulary.roles import Cast
from workbench.files.vocabulary.scoring import Candidate
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.vocabulary import RULES
from workbench.model.arrays import FloatArray
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import phrase

# Of the readings: a commanded mixture stands at one value for most of a drive, a sensor does not (common practice, no
# source); and how near to that value the sensor reads in the middle.
PLATEAU, NO_PLATEAU, NEAR = 0.4, 0.2, 0.05
SURELY = 0.6  # a coarse sensor may stand at 1 for a good part of a drive
IN_EACH = 0.15  # of each third of a drive


def command_by_course(cast: Cast, candidates: Sequence[Candidate], stated: Collection[Role]) -> Cast:
    """Give the command its role where two mixtures ask for that of the sensor and nothing plays the command."""
    names = [cast.roles.get("lambda_measured", ""), *cast.rivals.get("lambda_measured", ())]
    pair = [each for each in candidates if each.name in names]
    if {"lambda_measured", "lambda_commanded"} & set(stated) or "lambda_commanded" in cast.roles or len(pair) != 2:
        return cast
    still, moving = sorted(pair, key=lambda each: -plateau(each.there)[1])
    level, share = plateau(still.there)
    near = moving.there[np.abs(moving.there - level) < NEAR * abs(level)]  # what stands at an end of its range aside
    if not PLATEAU < share < 1 or 2 * near.size < moving.there.size or plateau(near)[1] > NO_PLATEAU:
        return cast
    of_a_sensor = re.search(rf"\b(?:{RULES['lambda_measured'].better})", plain_words(still.name))
    all_along = all(np.mean(part == level) > IN_EACH for part in np.array_split(still.there, 3))
    if of_a_sensor or not all_along:  # a sensor that is not ready may stand still as well
        return cast
    reasons: dict[Role, str] = {
        "lambda_commanded": phrase("by its values: it stands at {level:g} as no sensor does", level=level),
        "lambda_measured": phrase("by its name, and since {other} is the command", other=still.name),
    }
    roles: dict[Role, str] = {"lambda_commanded": still.name, "lambda_measured": moving.name}
    others: dict[Role, tuple[str, ...]] = {
        role: rivals for role, rivals in cast.rivals.items() if role != "lambda_measured"
    }
    return replace(cast, roles={**cast.roles, **roles}, reasons={**cast.reasons, **reasons}, rivals=others)


def plateau(there: FloatArray) -> tuple[float, float]:
    """Give the value that a channel reads most often, and in which part of its readings."""
    levels, counts = np.unique(there, return_counts=True)
    return (float(levels[np.argmax(counts)]), float(counts.max() / there.size)) if there.size else (1.0, 0.0)


def looks_swapped(commanded: FloatArray, measured: FloatArray) -> bool:
    """Tell whether the command moves as a sensor does while the sensor stands still as a command does."""
    level, share = plateau(measured)
    near = commanded[np.abs(commanded - level) < NEAR * abs(level)]
    stands = SURELY < share < 1 and all(np.mean(part == level) > IN_EACH for part in np.array_split(measured, 3))
    return stands and 2 * near.size > commanded.size and plateau(near)[1] < NO_PLATEAU


def as_they_move(
    cast: Cast, candidates: Sequence[Candidate], stated: Collection[Role]
) -> tuple[Cast, tuple[Question, ...]]:
    """Read command and sensor as they move where their names say the contrary, and ask whether that is so.

    As named, the sensor would be blanked where it stands, and no answer would bring that back.
    """
    names = cast.roles.get("lambda_commanded"), cast.roles.get("lambda_measured")
    found = {each.name: each for each in candidates}
    commanded, measured = (found.get(name or "") for name in names)
    if commanded is None or measured is None or {"lambda_measured", "lambda_commanded"} & set(stated):
        return cast, ()
    if not looks_swapped(commanded.there, measured.there):
        return cast, ()
    roles: dict[Role, str] = {"lambda_commanded": measured.name, "lambda_measured": commanded.name}
    return replace(cast, roles={**cast.roles, **roles}), (ask_of_swapped(commanded.name, measured.name),)


def ask_of_swapped(commanded: str, measured: str) -> Question:
    """Ask whether the names of the command and of the sensor were exchanged.

    Args:
        commanded: the channel that is named as the command.
        measured: the one that is named as the sensor.
    """
    turned = _both_flags(commanded, measured)
    why = phrase(
        "{measured} stands at one value as no sensor does, while {commanded} moves as one: are their names exchanged? "
        "If so, state both: {flags}.",
        measured=measured,
        commanded=commanded,
        flags=turned,
    )
    exchanged = Alternative(
        phrase("{commanded} is measured", commanded=commanded),
        turned,
        phrase("{commanded} counts as measured lambda, {measured} as the command.", commanded=commanded,
               measured=measured),
    )  # fmt: skip
    named = Alternative(phrase("as named"), _both_flags(measured, commanded), phrase("Both count as they are named."))
    return Question(measured, why, (exchanged, named))


def _both_flags(measured: str, commanded: str) -> str:
    flags = typed_flag("role", "lambda_measured", measured), typed_flag("role", "lambda_commanded", commanded)
    return " ".join(flags)
