"""Roles offered to channels whose names nobody knows here, in one question that one command answers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from workbench.files.unnamed.by_physics import Told, Unnamed, told_by_physics
from workbench.files.vocabulary.roles import OFFERED, looks_cells_up
from workbench.files.vocabulary.units import BASES
from workbench.files.vocabulary.vocabulary import RULES
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import join_phrases, phrase

# Any of them says how the mixture was off.
MIXTURE: tuple[Role, ...] = ("stft_1", "stft_2", "total_trim_1", "lambda_measured", "lambda_error")
MOST_SHOWN = 24  # channels in one sentence
_QUANTITIES = frozenset(quantity for rule in RULES.values() for quantity in rule.quantities) - {"time"}


@dataclass(frozen=True)
class Offer:
    """What is offered.

    Attributes:
        roles: role -> channel, by which the log is read until it is answered.
        questions: one, or none.
        notes: what looks like a role, where that is told and not asked.
    """

    roles: Mapping[Role, str] = field(default_factory=dict)
    questions: tuple[Question, ...] = ()
    notes: tuple[str, ...] = ()


def offered(channels: Sequence[Unnamed], roles: Mapping[Role, str], stated: Mapping[Role, str]) -> Offer:
    """Offer roles to channels that have no name known here, where the log is of no use without.

    Args:
        channels: all of the log.
        roles: role -> channel, as told by names or stated.
        stated: role -> channel, as stated; the channel is empty for a role that nothing is to play.
    """
    whole = looks_cells_up(roles) and any(role in roles for role in MIXTURE)
    known = [each for each in channels if each.quantity in _QUANTITIES]
    strange = sum(each.name not in roles.values() for each in known)
    if not strange and whole:
        return Offer()
    told = told_by_physics(channels, roles, [role for role, name in stated.items() if not name])
    if not told.roles:
        return Offer(notes=_listed(channels, roles, told) if not whole else ())
    shown = {each.name: _shown(each) for each in channels}
    looks = [
        phrase("{channel} like {role}", channel=shown[name], role=role.replace("_", " "))
        for role, name in told.roles.items()
    ]
    likeness = join_phrases(", ", looks[:MOST_SHOWN])
    flags = " ".join(typed_flag("role", role, name) for role, name in told.roles.items())
    if whole and (any(stated.values()) or 2 * strange <= len(known)):
        return Offer(
            notes=(
                phrase("Nothing plays these roles, though by unit and course {likeness} look: {flags}.",
                       likeness=likeness, flags=flags),
            )
        )  # fmt: skip
    why = phrase("By their names these channels are not known. By unit and course look {likeness}.", likeness=likeness)
    why = join_phrases(" ", (why, *_open(told, shown), phrase("Is that so?")))
    yes = Alternative(
        "yes", flags, phrase("They are used so. State another channel in the same command where one is wrong.")
    )
    none = " ".join(typed_flag("role", role, "") for role in told.roles)
    no = Alternative("none of them", none, phrase("None of them is used."))
    return Offer(told.roles, (Question("", why, (yes, no)),))


def reasons(offer: Offer) -> dict[Role, str]:
    """Give why the offered channels were taken: role -> reason."""
    return dict.fromkeys(offer.roles, OFFERED)


def _open(told: Told, shown: Mapping[str, str]) -> list[str]:
    """Say which channels fit one role alike."""
    said = []
    for role, names in told.either.items():
        add = typed_flag("role", role, names[0] if len(names) == 1 else "NAME")
        which = join_phrases(" or ", [shown[name] for name in names])
        text = phrase("{which} may be {role}: if so, add {add}.", which=which, role=role.replace("_", " "), add=add)
        said.append(text)
    return said


def _listed(channels: Sequence[Unnamed], roles: Mapping[Role, str], told: Told) -> tuple[str, ...]:
    """List channels of which nothing is known, with what they read, so that they can be named."""
    strange = [each for each in channels if each.name not in roles.values()]
    if 2 * len(strange) <= len(channels) or len(strange) < 2:
        return ()
    lacking: list[Role] = ["engine_speed", "sensor_signal", "stft_1", "ltft_1", "lambda_measured", "lambda_commanded"]
    flags = " ".join(typed_flag("role", role, "NAME") for role in lacking if role not in roles)
    shown = {each.name: _shown(each) for each in channels}
    note = phrase(
        "These channels are known by neither name nor unit; say what they are, as in {flags}: {names}.",
        flags=flags,
        names=join_phrases("; ", [shown[each.name] for each in strange[:MOST_SHOWN]]),
    )
    return (join_phrases(" ", (note, *_open(told, shown))),)


def _shown(channel: Unnamed) -> str:
    """Show a channel by its name, what it reads and in which unit."""
    there = channel.values[np.isfinite(channel.values)]
    if not there.size:
        return phrase("“{name}” (empty)", name=channel.name)
    unit = BASES.get(channel.quantity, ("",))[0]
    span = phrase("{low:.4g} to {high:.4g}", low=float(there.min()), high=float(there.max()))
    return phrase("“{name}” ({span})", name=channel.name, span=f"{span} {unit}".strip())
