"""Answers that are stated as a log is read: words that a question gives in the place of a unit, as `closed-loop`."""

import re
from collections.abc import Mapping
from dataclasses import replace

from workbench.errors import InputError
from workbench.files.channels.per_stroke import stated_cylinders
from workbench.files.gaps.on_change import AS_READ, ON_CHANGE
from workbench.files.vocabulary.clock_scale import stated_seconds
from workbench.files.vocabulary.units import find_unit
from workbench.model.log import Alternative, Log, typed_flag
from workbench.model.state import Reread
from workbench.phrases import phrase

_TIMES = re.compile(r"times-(\d{1,9}(?:\.\d{1,9})?(?:e[+-]?\d{1,2})?)")
# Answer -> what it makes of values as they are logged, whether or not a log asks: its logger writes them so.
_ALWAYS: Mapping[str, tuple[float, bool]] = {
    "as-logged": (1.0, False),
    "turned": (-1.0, False),
    "measured/commanded": (1.0, False),
    "commanded/measured": (-1.0, False),
    "fuel-over-air": (1.0, True),
}


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
        chosen = _unasked(log, name, word) if asked is None else asked.answered_by(flag)
        if chosen is None:
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


def holds_unasked(word: str) -> bool:
    """Tell whether an answer says by itself what it makes of a channel, so that it holds where a log does not ask."""
    return word in _ALWAYS or _TIMES.fullmatch(word) is not None


def _unasked(log: Log, name: str, word: str) -> Alternative | None:
    """Give what an answer makes of a channel about which the log does not ask; None where the answer alone says not."""
    channel = log.channel(name)
    if channel is None or not holds_unasked(word):
        return None
    times = _TIMES.fullmatch(word)
    factor, inverse = _ALWAYS.get(word, (1.0, False)) if times is None else (float(times[1]), False)
    means = phrase("{channel} counts as {word!r}, as stated.", channel=name, word=word)
    unit = channel.unit if (factor, inverse) != (1.0, False) else ""
    return Alternative(word, typed_flag("unit", name, word), means, unit, factor, 0.0, inverse)
