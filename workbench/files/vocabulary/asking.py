"""Questions about a channel, made from the ways in which it may be meant."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.model.log import Alternative, Question, Role, typed_flag

TELLING = 0.003  # what may move a cell by more is no note but a question
TRIMS: tuple[Role, ...] = ("stft_1", "ltft_1", "stft_2", "ltft_2", "total_trim_1", "total_trim_2")
# What a cell's value rests on.
WEIGHTY: tuple[Role, ...] = (
    "sensor_signal",
    "engine_speed",
    "manifold_pressure",
    "stft_1",
    "ltft_1",
    "stft_2",
    "ltft_2",
    "total_trim_1",
    "total_trim_2",
    "lambda_measured",
    "lambda_commanded",
    "lambda_error",
)


@dataclass(frozen=True)
class Reading:
    """One way in which the values of a channel may be meant: as read, times the factor, plus the offset.

    Attributes:
        unit: as it would be stated.
        means: what that makes of the channel, as a sentence.
        factor, offset: to the base unit, from the values as read.
        inverse: and one over that.
    """

    unit: str
    means: str
    factor: float = 1.0
    offset: float = 0.0
    inverse: bool = False


def ask(
    name: str, why: str, readings: Sequence[Reading], base: str, *, option: str = "unit", same: Reading | None = None
) -> Question:
    """Make the question which of several readings a channel has.

    Args:
        name: of the channel.
        why: what leaves it open, as a sentence.
        readings: as they may be meant; the log was read by the first one.
        base: the base unit of all of them.
        option: the flag that states it.
        same: by what the log was read, where it was by none of them.
    """
    first = same or readings[0]
    alternatives = []
    for each in readings:
        # From what stands in the log back to what was read, and on to what it would be.
        factor = each.factor / first.factor
        offset = each.offset - each.factor * first.offset / first.factor
        changed = (factor, offset, each.inverse) != (1.0, 0.0, False)
        alternatives.append(
            Alternative(
                each.unit,
                typed_flag(option, name, each.unit),
                each.means,
                base if changed else "",
                float(np.round(factor, 15)),
                float(np.round(offset, 12)) + 0.0,
                each.inverse,
            )
        )
    return Question(name, why, tuple(alternatives))


def ask_player(role: str, names: Sequence[str], why: str, means: Sequence[str]) -> Question:
    """Make the question which of several channels plays a role; the log was read with the first one."""
    alternatives = [
        Alternative(name, typed_flag("role", role, name), meaning) for name, meaning in zip(names, means, strict=True)
    ]
    return Question(names[0], why, tuple(alternatives))
