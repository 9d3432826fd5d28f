"""Answers that are stated as a log is read: words that a question gives in the place of a unit, as `closed-loop`."""

from collections.abc import Mapping
from dataclasses import replace

from workbench.errors import InputError
from workbench.files.channels.per_stroke import stated_cylinders
from workbench.files.gaps.on_change import AS_READ, ON_CHANGE
from workbench.files.vocabulary.clock_scale import stated_seconds
from workbench.files.vocabulary.units import find_unit
from workbench.model.log import Log, typed_flag
from workbench.model.state import Reread
from workbench.phrases import phrase


def no_units(stated: Mapping[str, str]) -> dict[str, str]:
    """Give the statements that name neither a unit nor a number of cylinders: only a question can know them."""
    return {
        name: text
        for name, text in stated.items()
        if find_unit(text) is None
        and stated_seconds(text) is None
        and not stated_cylinders(text)
        and text not in (ON_CHANGE, AS_READ)
    }


def answered(log: Log, words: Mapping[str, str]) -> Log:
    """Answer the questions of a log.

    Args:
        log: as it was read.
        words: channel -> answer.

    Raises:
        InputError: when no question about that channel has such an answer.
    """
    for name, word in words.items():
        flag = typed_flag("unit", name, word)
        asked = next((each for each in log.questions if each.answered_by(flag)), None)
        chosen = None if asked is None else asked.answered_by(flag)
        if asked is None or chosen is None:
            raise InputError(
                phrase("The unit {units!r} of {name} is not known.", units=word, name=name),
                "Give it as in degF, kPa, kg/h, lambda, phi, fraction, factor, ms.",
            )
        channels = log.channels
        if chosen.changes_values:
            made = Reread.as_answered(chosen)
            channels = tuple(made.channel(each) if each.name == name else each for each in channels)
        log = replace(
            log,
            channels=channels,
            questions=tuple(each for each in log.questions if each is not asked),
            notes=(*log.notes, chosen.means),
        )
    return log
