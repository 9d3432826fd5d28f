"""Which channel plays which role, told from its name, its unit and its values, with the reason."""

import hashlib
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from workbench.errors import InputError
from workbench.files.vocabulary.name_aliases import alone
from workbench.files.vocabulary.scoring import (
    MIXTURES,
    Candidate,
    blank,
    fits_values,
    is_in_thousandths,
    scores,
    stands_still,
)
from workbench.files.vocabulary.units import BASES, Unit, base_unit, find_unit, to_base, unit_in_name
from workbench.files.vocabulary.vocabulary import ALIASES, RULES
from workbench.model.arrays import FloatArray
from workbench.model.log import ROLES, Log, Role
from workbench.phrases import phrase

_BY_ALIAS = {alias: role for role, aliases in ALIASES.items() for alias in aliases.split()} | {r: r for r in ROLES}

SLOWEST_HZ = 20.0  # no airflow sensor counts fewer pulses all through a drive (common practice, no source)
RIVAL = 0.9  # of the score; a better word in the name, or a unit, decides
STATED = "stated"
"""The reason of a role that the user stated."""
OFFERED = "by its unit and its course"
"""The reason of a role that was offered to a channel of an unknown name, as a question."""


def looks_cells_up(roles: Collection[Role]) -> bool:
    """Return whether channels of these roles tell in which cell of some table the ECU looked."""
    return "sensor_signal" in roles or ("engine_speed" in roles and bool({"manifold_pressure", "load"} & set(roles)))


def shape_key(log: Log) -> str:
    """Return a key that is equal for logs with the same channels in the same units, whatever their order."""
    channels = sorted(f"{channel.name}\t{channel.unit_read}" for channel in log.channels)
    return hashlib.sha256("\n".join(channels).encode()).hexdigest()[:16]


def read_role(text: str) -> Role:
    """Read a role by its name or a short word for it (rpm, map, maf, stft, ltft, lambda, commanded, coolant, …).

    Raises:
        InputError: listing the roles, when there is none of that name.
    """
    word = re.sub(r"[\s-]+", "_", text.strip().casefold())
    if word not in _BY_ALIAS:
        raise InputError(phrase("There is no role {text!r}.", text=text), "The roles are: " + ", ".join(ROLES) + ".")
    return _BY_ALIAS[word]


@dataclass(frozen=True)
class Cast:
    """Who plays which role, why, and which others could as well."""

    roles: Mapping[Role, str] = field(default_factory=dict)
    reasons: Mapping[Role, str] = field(default_factory=dict)
    rivals: Mapping[Role, tuple[str, ...]] = field(default_factory=dict)

    def without(self, cleared: Sequence[Role]) -> "Cast":
        """Give the cast with some roles played by nobody."""
        kept = {role: name for role, name in self.roles.items() if role not in cleared}
        return replace(self, roles=kept)


def cast_roles(candidates: Sequence[Candidate], stated: Mapping[Role, str]) -> Cast:
    """Return each role its likeliest channel; what the user stated stands.

    Raises:
        InputError: when a stated channel is not in the log.
    """
    names = [candidate.name for candidate in candidates]
    roles: dict[Role, str] = {}
    reasons: dict[Role, str] = {}
    for role, name in stated.items():
        if name not in names:
            raise InputError(
                phrase("The log has no channel {name!r} for {role}.", name=name, role=role),
                "It has: " + ", ".join(names) + ".",
            )
        roles[role], reasons[role] = name, STATED
    said = alone(names)
    scored = [
        (score, -place, role, candidate)
        for place, candidate in enumerate(candidates)
        for role, score in scores(replace(candidate, name=said.get(candidate.name, candidate.name)))
        if role not in roles and candidate.name not in roles.values()
    ]
    scored.sort(key=lambda entry: entry[:2], reverse=True)
    taken: set[str] = set()
    rivals: dict[Role, tuple[str, ...]] = {}
    for score, _, role, candidate in scored:
        if role in roles or candidate.name in taken:
            continue
        roles[role] = candidate.name
        taken.add(candidate.name)
        others = [
            phrase("{other} (stands still)", other=other.name) if stands_still(role, other.there) else other.name
            for _, _, asked, other in scored
            if asked == role and other is not candidate
        ]
        reasons[role] = _reason(role, candidate, others)
        rivals[role] = tuple(
            other.name
            for rated, _, asked, other in scored
            if asked == role
            and other is not candidate
            and rated > score - RIVAL
            and not stands_still(role, other.there)
        )
    order = {role: place for place, role in enumerate(ROLES)}
    keys = sorted(roles, key=order.__getitem__)
    return Cast({role: roles[role] for role in keys}, {role: reasons[role] for role in keys}, rivals)


_SAID = {"afr": "AFR", "phi": "phi"}


def check_dimension(source: str, role: Role, name: str, unit: Unit | None, unit_read: str) -> None:
    """Refuse a role that a channel cannot play, being measured in something else.

    Args:
        source: the file.
        role: as stated.
        name: of the channel.
        unit: what its unit was understood as; None where it has none.
        unit_read: as the file spells it, empty where it was taken from the end of the name.

    Raises:
        InputError: naming the channel, its unit, and the units that the role may have.
    """
    wanted = RULES[role].quantities
    if unit is None or not wanted or unit.quantity in wanted:
        return
    bases = dict.fromkeys(_SAID.get(quantity, BASES[quantity][0]) for quantity in wanted)
    unit_text = (
        repr(unit_read) if unit_read else phrase("{base_unit} (by the end of its name)", base_unit=base_unit(unit))
    )
    raise InputError(
        phrase(
            "{source}: the channel {name!r} is in {unit_text}, so it cannot be {role}, which is in {bases}.",
            source=source,
            name=name,
            unit_text=unit_text,
            role=role,
            bases=" or ".join(bases),
        ),
        "Name another channel for that role, or correct the unit in the file.",
    )


def doubtful_roles(candidates: Mapping[Role, Candidate]) -> list[str]:
    """Say of which stated roles the values are not what such a channel reads."""
    return [
        phrase(
            "Caution: {channel} was stated to be {role}, but most of its values, around "
            "{middle:.5g}, are impossible for such a channel ({low:g} to {high:g}).",
            channel=channel.name,
            role=role,
            middle=middle,
            low=RULES[role].low,
            high=RULES[role].high,
        )
        for role, channel in candidates.items()
        for middle in [float(np.median(channel.there)) if channel.there.size else 0.0]
        if fits_values(role, channel) is False
    ]


def could_play_a_role(name: str, unit: str) -> bool:
    """Return whether name and unit of a channel fit any role."""
    return fits_a_role(name, unit, np.empty(0)) is True


def role_by_name(name: str, unit: str) -> Role | None:
    """Give the role that name and unit of a channel fit best, None where they fit none."""
    found = find_unit(unit or unit_in_name(name))
    candidate = Candidate(name, found.quantity if found else "", found is not None, np.empty(0))
    return max(scores(candidate), key=lambda rated: rated[1], default=(None, 0.0))[0]


def fits_a_role(name: str, unit: str, values: FloatArray) -> bool | None:
    """Return whether values, in a unit as written, are such as a channel of that name reads; None if it has no role."""
    found = find_unit(unit or unit_in_name(name))
    known = values if found is None or not found.quantity else to_base(values, found)
    candidate = Candidate(name, found.quantity if found else "", found is not None, known)
    played = [role for role, _ in scores(candidate)]
    if played:
        if "sensor_signal" in played and candidate.quantity == "frequency" and not known.max(initial=0) > SLOWEST_HZ:
            return False
        # Of two ways to read a mixture's cells, thousandths are never the likelier one.
        mixture = set(played) <= set(MIXTURES)
        return not (mixture and is_in_thousandths(known))
    return None if next(iter(scores(blank(candidate))), None) is None else False


def unfit_for_roles(candidates: Sequence[Candidate], roles: Mapping[Role, str]) -> list[str]:
    """Name which channels have the name of a role that no other plays, but values that are nothing of the kind."""
    notes = []
    for channel in candidates:
        if (note := _in_another_unit(channel, roles)) is not None:
            notes.append(note)
            continue
        asked = None if channel.name in roles.values() else next((role for role, _ in scores(blank(channel))), None)
        if asked is None or asked in roles or not channel.there.size or fits_values(asked, channel) is not False:
            continue
        rule, middle = RULES[asked], float(np.median(channel.there))
        notes.append(
            phrase(
                "{channel} has the name of {asked}, but most of its values, around {middle:.5g}, are "
                "impossible for such a channel ({low:g} to {high:g}): it is left out.",
                channel=channel.name,
                asked=asked,
                middle=middle,
                low=rule.low,
                high=rule.high,
            )
        )
    return notes


_TOLD = set(RULES) - {"battery_voltage", "sensor_signal", "lambda_measured", "lambda_error", "vehicle_speed", "airflow"}


def _in_another_unit(channel: Candidate, roles: Mapping[Role, str]) -> str | None:
    """Say of a channel that has the name of a trim or a command that nothing else plays, but a unit that none is in."""
    if not channel.has_unit or channel.name in roles.values():
        return None
    named = replace(blank(channel), quantity="", has_unit=False)
    role = next((role for role, _ in scores(named)), None)
    if role not in _TOLD or role in roles or channel.quantity in RULES[role].quantities:
        return None
    return phrase(
        "{channel} has the name of {role}, but is in a unit that no such channel is in: it is left out.",
        channel=channel.name,
        role=role,
    )


def _reason(role: Role, candidate: Candidate, others: Sequence[str]) -> str:
    rule = RULES[role]
    parts = ["its name"]
    if candidate.quantity in rule.quantities:
        parts.append("its unit")
    if fits_values(role, candidate):
        parts.append("its values")
    reason = f"by {' and '.join(parts)}" if len(parts) < 3 else "by its name, its unit and its values"
    if not candidate.there.size:
        reason += "; it has no values"
    if others:
        reason += phrase("; runners-up: {others}", others=", ".join(list(others)[:3]))
    return reason


def role_range(role: Role) -> tuple[float, float]:
    """Return the lowest and highest value that a channel of a role reads, in its base unit."""
    return RULES[role].low, RULES[role].high
