"""What the course of channels is judged by, and the question whether one is to be used as it stands."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from workbench.model.arrays import FloatArray
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import phrase


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


def trims_or_no_evidence(
    heard: Heard, about: str, why: str, role: Role, means: str, answer: str, *, alone: bool = False
) -> Question:
    """Ask whether the trims of a bank are to be used; left out, what they corrected would be missing in every cell.

    So they may be left out only where another bank's are used; else the log stays out of the evidence.

    Args:
        heard: the channels.
        about: name of the channel that the question is about.
        why: the question.
        role: of the bank's short trim.
        means: what it means to use them.
        answer: how the one is said who wants them used: what is true of the car then, since the cells rest on it.
        alone: whether what is asked may be so of the other bank too.
    """
    use = Alternative(answer, typed_flag("role", role, heard.names[role]), means)
    others = {"stft_1", "stft_2", "total_trim_1", "total_trim_2"} & set(heard.names) - {role}
    if not others or alone:
        return Question(about, why, (use,))
    left = phrase("The trims of that bank are left out; the other bank's are used.")
    return Question(about, why, (use, Alternative("leave it out", typed_flag("role", role, ""), left)))
