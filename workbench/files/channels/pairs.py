"""Columns of text that have the name of a role: two numbers in a cell are parted, what else is there is asked about."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from workbench.files.channels.plausibility import TRIMS
from workbench.files.channels.states import state_codes
from workbench.files.text.late_numbers import late_numbers, shown_text
from workbench.files.text.sided import sided
from workbench.files.vocabulary.asking import WEIGHTY, Reading, ask
from workbench.files.vocabulary.recording import Field, Recording, TextArray, listed
from workbench.files.vocabulary.roles import role_by_name
from workbench.model.arrays import FloatArray
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import phrase, plural_phrase

ALMOST_ALL = 0.95  # of the cells that hold something
_NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)"
_PAIR = re.compile(rf"({_NUMBER})\s*%?\s*[/|]\s*({_NUMBER})\s*%?")
_NAMED_TWICE = re.compile(r"(\w+)\s*/\s*(\w+)")


def with_pairs_apart(fields: Sequence[Field]) -> list[Field]:
    """Part columns of two numbers in a cell whose name holds two words by a stroke, as `STFT B1/B2`.

    And read trims whose sign is one of two words beside the size, as `2.0 R`: the first in the alphabet adds fuel.

    Args:
        fields: columns, those of numbers and those of text.
    """
    made = list[Field]()
    for each in fields:
        if (by_word := _by_side(each)) is not None:
            made.append(by_word[0])
            continue
        name = _NAMED_TWICE.search(each.name)
        numbers = None if each.texts is None or name is None else _pairs(each.texts)
        if numbers is None or name is None:
            made.append(each)
            continue
        made += [
            replace(each, name=f"{each.name[: name.start()]}{word}{each.name[name.end() :]}", values=values, texts=None)
            for word, values in zip(name.groups(), numbers, strict=True)
        ]
    return made


def _by_side(field: Field) -> tuple[Field, tuple[str, str]] | None:
    if field.texts is None or role_by_name(field.name, field.unit) not in TRIMS:
        return None
    return sided(field)


def _of_sides(recording: Recording) -> list[Question]:
    """Ask which of two words adds fuel, of trims that tell their sign by one."""
    questions = []
    for each in recording.fields:
        if (found := _by_side(each)) is None:
            continue
        above, below = found[1]
        why = phrase(
            "{channel} has a size and one of two words, {above!r} or {below!r}, in each cell. Which of them adds fuel?",
            channel=each.name,
            above=above,
            below=below,
        )
        means = [phrase("In {channel} {word!r} adds fuel.", channel=each.name, word=word) for word in (above, below)]
        asked = ask(each.name, why, (Reading("as-logged", means[0]), Reading("turned", means[1], -1.0)), "%")
        made = (replace(one, answer=repr(word)) for one, word in zip(asked.alternatives, (above, below), strict=True))
        questions.append(replace(asked, alternatives=tuple(made)))
    return questions


def _pairs(texts: TextArray) -> tuple[FloatArray, FloatArray] | None:
    """Read cells of two numbers: both columns, shape (rows,), NaN where there are none; None where they are others."""
    matches = [_PAIR.fullmatch(str(text).strip()) for text in texts]
    filled = sum(bool(str(text).strip()) for text in texts)
    if not filled or sum(match is not None for match in matches) < ALMOST_ALL * filled:
        return None
    return _numbers(matches, 1), _numbers(matches, 2)


def _numbers(matches: Sequence[re.Match[str] | None], at: int) -> FloatArray:
    return np.array([np.nan if match is None else float(match[at].replace(",", ".")) for match in matches])


def asked_of_texts(recording: Recording, stated: Mapping[Role, str]) -> list[Question]:
    """Ask about columns of text that have the name of what cells rest on: without them the evidence may be another.

    Args:
        recording: as it was read.
        stated: roles that the user stated, each with its channel or none.
    """
    questions = _of_sides(recording)
    trims: dict[Role, Field] = {}
    for each in recording.fields:
        if each.texts is None or not (shown := shown_text(each)) or each.name in stated.values():
            continue
        role = role_by_name(each.name, each.unit)
        if role not in WEIGHTY or role in stated or _is_read(each):
            continue
        if role in TRIMS:
            trims[role] = each
            continue
        why = phrase(
            "{channel} has the name of {role}, but holds text such as {shown!r}, which is no number.",
            channel=each.name,
            role=role.replace("_", " "),
            shown=shown,
        )
        means = phrase(
            "It is left out, and the cells rest on the rest of the log. To use it, write numbers into its cells and "
            "add the file again."
        )
        questions.append(Question(each.name, why, (Alternative("leave it out", typed_flag("role", role, ""), means),)))
    return [*questions, *_of_trims(trims)]


def _of_trims(trims: Mapping[Role, Field]) -> list[Question]:
    """Ask whether trims that are text were at work: left out, what they corrected would be missing in every cell."""
    if not trims:
        return []
    first = next(iter(trims.values()))
    why = plural_phrase(
        len(trims),
        "{channels} has the name of a trim, but holds text such as {shown!r}, which is no number. Was it at work? If "
        "so, write numbers into its cells, above 0 where fuel is added, and add the file again.",
        "{channels} have the names of trims, but hold text such as {shown!r}, which is no number. Were they at work? "
        "If so, write numbers into their cells, above 0 where fuel is added, and add the file again.",
        channels=listed([each.name for each in trims.values()], len(trims)),
        shown=shown_text(first),
    )
    flags = " ".join(typed_flag("role", role, "") for role in trims)
    means = plural_phrase(len(trims), "It counts as 0.", "They count as 0.")
    return [Question(first.name, why, (Alternative("no", flags, means),))]


def _is_read(field: Field) -> bool:
    """Tell whether a column of text is read as numbers or states all the same."""
    if with_pairs_apart([field]) != [field] or late_numbers(field)[0] is not None or field.texts is None:
        return True
    values, note = state_codes(field.name, field.texts, None)
    return values is not None or bool(note)
