"""What the course of channels is judged by, and the question whether one is to be used as it stands."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from workbench.model.arrays import FloatArray
from workbench.model.log import Alternative, Question, Role, typed_flag


@dataclass(frozen=True, eq=False)
class Heard:
    """The channels of a log that play a role.

    Attributes:
        values: role -> values in base units, shape (rows,), NaN where nothing was read.
        names: role -> name of the channel that plays it.
        time: s, shape (rows,).
        stated: roles that the user stated.
        settled: names of channels about which something is asked already, or whose unit the user stated.
    """

    values: Mapping[Role, FloatArray]
    names: Mapping[Role, str]
    time: FloatArray
    stated: Collection[Role]
    settled: Collection[str]


def use_or_leave(
    about: str, why: str, role: Role, player: str, used: str, left: str, answer: str = "as it stands"
) -> Question:
    """Ask whether a channel is to play a role.

    Args:
        about: name of the channel that the question is about.
        why: the question.
        role: that is asked about.
        player: name of the channel that plays it.
        used: what it means to use it.
        left: what it means to leave it out.
        answer: how the one is said who wants it used.
    """
    use = Alternative(answer, typed_flag("role", role, player), used)
    return Question(about, why, (use, Alternative("leave it out", typed_flag("role", role, ""), left)))
