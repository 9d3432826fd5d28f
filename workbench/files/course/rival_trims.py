"""Two channels that may each be one and the same trim, as ECUs hold long trims for idle and for cruising."""

from collections.abc import Collection, Mapping

import numpy as np

from workbench.files.vocabulary.asking import ask_player
from workbench.model.arrays import FloatArray
from workbench.model.log import Question, Role
from workbench.phrases import phrase

TRIMS: tuple[Role, ...] = ("stft_1", "ltft_1", "stft_2", "ltft_2", "total_trim_1", "total_trim_2")
FELT, FEWEST, WIDEST = 0.3, 50, 60.0  # %: what moves a cell; rows in which both are read; %: no trim goes further


def asked_of_rival_trims(
    roles: Mapping[Role, str],
    rivals: Mapping[Role, tuple[str, ...]],
    values: Mapping[str, FloatArray],
    stated: Collection[Role],
) -> list[Question]:
    """Ask which of several channels is a trim, where they differ; one that stands is never preferred in silence.

    Args:
        roles: role -> channel, as they play.
        rivals: role -> channels that could as well.
        values: channel -> its values in %, shape (rows,).
        stated: roles that the user stated.
    """
    questions = []
    for role in TRIMS:
        mine = roles.get(role)
        if mine is None or role in stated or mine not in values:
            continue
        others = [name for name in rivals.get(role, ()) if name not in roles.values() and name in values]
        others = [name for name in others if _differs(values[mine], values[name])]
        if not others:
            continue
        names = sorted([mine, *others], key=lambda name: name != mine)
        why = phrase(
            "{names} could each be {role}, and they differ. Which one is at work? Where each is in a range of its own, "
            "put them together by a computed channel, or log the one that is in use.",
            names=phrase(" and ").join(names),
            role=role,
        )
        questions.append(ask_player(role, names, why, [_meaning(name, values[name]) for name in names]))
    return questions


def _differs(mine: FloatArray, other: FloatArray) -> bool:
    both = np.isfinite(mine) & np.isfinite(other)
    if np.count_nonzero(both) < FEWEST or float(np.nanmax(np.abs(other))) > WIDEST:
        return False
    return float(np.median(np.abs(mine[both] - other[both]))) > FELT


def _meaning(name: str, values: FloatArray) -> str:
    known = values[np.isfinite(values)]
    low, high = float(known.min()), float(known.max())
    if low == high:
        return phrase("{name} is used; it stands at {low:.4g} %.", name=name, low=low)
    return phrase("{name} is used; it runs from {low:.3g} to {high:.3g} %.", name=name, low=low, high=high)
