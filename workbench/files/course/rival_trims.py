"""Two channels that may each be one and the same trim, as ECUs hold long trims for idle and for cruising."""

import re
from collections.abc import Collection, Mapping

import numpy as np

from workbench.files.vocabulary.asking import ask_player
from workbench.files.vocabulary.spelling import plain_words
from workbench.model.arrays import FloatArray
from workbench.model.log import Question, Role
from workbench.phrases import call, flag, join_phrases, phrase

TRIMS: tuple[Role, ...] = ("stft_1", "ltft_1", "stft_2", "ltft_2", "total_trim_1", "total_trim_2")
_ADDITIVE = re.compile(r"\badd?itiv\w*")  # in five languages
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
        trims = {name for player, name in roles.items() if player in TRIMS}
        others = [name for name in rivals.get(role, ()) if name not in trims and name in values]
        others = [name for name in others if _differs(values[mine], values[name])]
        if not others:
            continue
        names = sorted([mine, *others], key=lambda name: name != mine)
        if all(_moves(values[name]) for name in names):
            questions.append(_of_two_at_work(role, names, values))
            continue
        why = phrase(
            "{names} could each be {role}, and they differ. Which one is at work? Where each is in a range of its own, "
            "put them together by a computed channel, or log the one that is in use.",
            names=phrase(" and ").join(names),
            role=role,
        )
        questions.append(ask_player(role, names, why, [_meaning(name, values[name]) for name in names]))
    return questions


def asked_of_additive_trims(
    roles: Mapping[Role, str], channels: Mapping[str, tuple[str, FloatArray]], stated: Collection[Role]
) -> list[Question]:
    """Ask about a trim that adds beside a long one that multiplies, as some ECUs learn both: it would count as 0.

    Args:
        roles: role -> channel, as they play.
        channels: of those that play none: name -> quantity of its unit, and its values in its base unit.
        stated: roles that the user stated.
    """
    questions: list[Question] = []
    for name, (quantity, values) in channels.items():
        words, known = plain_words(name), values[np.isfinite(values)]
        if _ADDITIVE.search(words) is None or known.size < FEWEST or not _moves(known):
            continue
        second = re.search(r"\b(2|two|b2|bank2)\b", words) is not None
        role: Role = "ltft_2" if second and "ltft_2" in roles else "ltft_1"
        if role not in roles or role in stated or any(each.channel == roles[role] for each in questions):
            continue
        why = phrase(
            "{additive} moves beside {long} and plays no role: what it adds would be missing in every cell, most of "
            "all where the engine breathes little.",
            additive=name,
            long=roles[role],
        )
        if quantity == "mass flow" and "airflow" in roles:
            way = phrase(
                "Where it is air that the ECU adds, compute both together and give them the role: {compute}, {amend}.",
                compute=call("compute", "SESSION", '"Long trim"',
                             f"\"'{roles[role]}' + 100 * '{name}' / '{roles['airflow']}'\"", flag("unit", "%")),
                amend=call("amend-log", "SESSION", "LOG", flag("role", f"'{role}=Long trim'")),
            )  # fmt: skip
            why = join_phrases(" ", (why, way))
        use = phrase("The additive one counts as 0.")
        questions.append(ask_player(role, [roles[role]], why, [use]))
    return questions


def _of_two_at_work(role: Role, names: list[str], values: Mapping[str, FloatArray]) -> Question:
    """Say that none of several trims is the one at work throughout, where all of them move."""
    why = phrase(
        "{names} both move, and they differ: each acts in a range of its own, or one is something else, so that "
        "neither is {role} throughout. Log the one long-term trim that the diagnosis reports (SAE J1979, parameters "
        "07 and 09) instead. Where you know in which range each acts, compute the one in use and give it the role: "
        "{compute}, {amend}.",
        names=phrase(" and ").join(names),
        role=role,
        compute=call("compute", "SESSION", '"Trim in use"', f"\"where(throttle < 2, '{names[0]}', '{names[1]}')\"",
                     flag("unit", "%")),
        amend=call("amend-log", "SESSION", "LOG", flag("role", f"'{role}=Trim in use'")),
    )  # fmt: skip
    means = [
        phrase("{what} In every range: that is right only where no other acts.", what=_meaning(name, values[name]))
        for name in names
    ]
    return ask_player(role, names, why, means)


def _moves(values: FloatArray) -> bool:
    return float(np.nanmax(values)) > float(np.nanmin(values))


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
