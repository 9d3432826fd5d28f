"""Numbers that a spreadsheet turned into dates: which ones depends on their value, so what is left is one-sided."""

from collections.abc import Mapping

from workbench.files.vocabulary.asking import TELLING, WEIGHTY
from workbench.files.vocabulary.recording import Spoilt
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import phrase

# What cells rest on, or what a stretch counts for; of the rest a caution is enough.
_ASKED: tuple[Role, ...] = (*WEIGHTY, "airflow", "load", "fuel_system")


def spoilt_by_a_spreadsheet(
    spoilt: Mapping[str, Spoilt], rows: int, roles: Mapping[Role, str], stated: Mapping[Role, str]
) -> tuple[list[str], list[Question]]:
    """Caution against a log whose numbers became dates, and ask of each channel that cells rest on.

    Args:
        spoilt: channel -> what a spreadsheet made of its numbers.
        rows: of the log.
        roles: role -> channel.
        stated: roles that the user stated; of their channels nothing is asked.
    """
    if not spoilt:
        return [], []
    shares = {name: each.count / max(rows, 1) for name, each in spoilt.items()}
    first, worst = next(iter(spoilt.values())), max(shares, key=lambda name: shares[name])
    caution = phrase(
        "Caution: a spreadsheet turned numbers into dates, such as {shown!r}: up to {share:.1%} of a channel "
        "({worst}). Only certain values became dates, so what is left is one-sided. Add the file as the logger wrote "
        "it, unopened.",
        shown=first.shown,
        share=shares[worst],
        worst=worst,
    )
    questions = [
        _question(name, role, spoilt[name], shares[name])
        for role, name in roles.items()
        if role in _ASKED and role not in stated and shares.get(name, 0.0) > TELLING
    ]
    return [caution], questions


def _question(name: str, role: Role, spoilt: Spoilt, share: float) -> Question:
    why = phrase(
        "{share:.1%} of {name} became dates in a spreadsheet, such as {shown!r}, for certain values only. Add the file "
        "as the logger wrote it; or is what is left to be used?",
        share=share,
        name=name,
        shown=spoilt.shown,
    )
    yes = phrase("What is left is used, and is one-sided.")
    no = phrase("{name} is left out.", name=name)
    return Question(
        name,
        why,
        (
            Alternative("use the rest", typed_flag("role", role, name), yes),
            Alternative("leave it out", typed_flag("role", role, ""), no),
        ),
    )
