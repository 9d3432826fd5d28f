"""Which channel plays which role, told from its name, its unit and its values, with the reason."""

import hashlib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from workbench.errors import InputError
from workbench.files.vocabulary.abbreviations import spelt_out
from workbench.files.vocabulary.file_words import BEHIND_CATALYST
from workbench.files.vocabulary.name_aliases import alone
from workbench.files.vocabulary.spelling import word_orders
from workbench.files.vocabulary.units import BASES, Unit, base_unit, find_unit, to_base, unit_in_name
from workbench.files.vocabulary.vocabulary import ALIASES, RULES, Rule
from workbench.model.arrays import FloatArray
from workbench.model.log import ROLES, Log, Role
from workbench.phrases import phrase

_SIGNAL = re.compile(r"\b(fre[qck]\w*|czestotliw\w*|f (?=lmm|maf)|mafhz|volt\w*|signal|hz|v)\b")
_SENSOR = re.compile(r"\b(sensor|meter|\w*me(ss|te)\w*|sonde|capteur|sonda)\b")
AROUND_1000 = (900.0, 1100.0)  # the middle of a mixture in thousandths
_FUEL_AIR = re.compile(r"\b(far|fuel air)\b")
_NEEDS_UNIT = re.compile(r"m ?l")  # also millilitres
_AIR_ALONE = re.compile(r"(intake|inlet) air")
# g/s and Hz: no car's engine draws so much air, and no sensor counts so slowly. Common practice, no source.
MOST_AIR = 800.0
FUEL_OVER_AIR = (0.03, 0.15)  # by mass, of an engine that burns (common practice, no source)
MIXTURES: tuple[Role, ...] = ("lambda_measured", "lambda_commanded")
_BY_ALIAS = {alias: role for role, aliases in ALIASES.items() for alias in aliases.split()} | {r: r for r in ROLES}

# A channel of these roles that never changes while the others do is dead; the rest may well stand still.
MUST_MOVE: tuple[Role, ...] = (
    "sensor_signal",
    "airflow",
    "engine_speed",
    "manifold_pressure",
    "load",
    "lambda_measured",
)
SLOWEST_HZ = 20.0  # no airflow sensor counts fewer pulses all through a drive (common practice, no source)
SPELT_OUT = 0.2  # of the score, by which a name counts less that had to be spelt out
RIVAL = 0.9  # of the score; a better word in the name, or a unit, decides
BEHIND = 2.0  # of the score, by which a sensor behind the catalyst counts less than one before it
FEWEST = 20  # values before a channel is called dead
_OF_A_SPAN = re.compile(r"\b(min|max|minimum|maximum|peak|lowest|highest)$")  # of the time since the row before
_LATER = re.compile(r"(?<!bank) [2-9]$")  # of several that are numbered the first is meant
STATED = "stated"
"""The reason of a role that the user stated."""


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


@dataclass(frozen=True, eq=False)
class Candidate:
    """A channel that asks for a role.

    Attributes:
        name: as the file spells it.
        quantity: of its unit; empty where unknown or none.
        has_unit: whether the file gave a unit that says something.
        there: its values in base units, without the missing ones; of very many an even choice.
    """

    name: str
    quantity: str
    has_unit: bool
    there: FloatArray


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
        for role, score in _scores(replace(candidate, name=said.get(candidate.name, candidate.name)))
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
        if _fits(role, channel) is False
    ]


def could_play_a_role(name: str, unit: str) -> bool:
    """Return whether name and unit of a channel fit any role."""
    return fits_a_role(name, unit, np.empty(0)) is True


def role_by_name(name: str, unit: str) -> Role | None:
    """Give the role that name and unit of a channel fit best, None where they fit none."""
    found = find_unit(unit or unit_in_name(name))
    candidate = Candidate(name, found.quantity if found else "", found is not None, np.empty(0))
    return max(_scores(candidate), key=lambda rated: rated[1], default=(None, 0.0))[0]


def fits_a_role(name: str, unit: str, values: FloatArray) -> bool | None:
    """Return whether values, in a unit as written, are such as a channel of that name reads; None if it has no role."""
    found = find_unit(unit or unit_in_name(name))
    known = values if found is None or not found.quantity else to_base(values, found)
    candidate = Candidate(name, found.quantity if found else "", found is not None, known)
    played = [role for role, _ in _scores(candidate)]
    if played:
        if "sensor_signal" in played and candidate.quantity == "frequency" and not known.max(initial=0) > SLOWEST_HZ:
            return False
        # Of two ways to read a mixture's cells, thousandths are never the likelier one.
        mixture = set(played) <= set(MIXTURES)
        return not (mixture and _is_in_thousandths(known))
    return None if next(iter(_scores(_blank(candidate))), None) is None else False


def unfit_for_roles(candidates: Sequence[Candidate], roles: Mapping[Role, str]) -> list[str]:
    """Name which channels have the name of a role that no other plays, but values that are nothing of the kind."""
    notes = []
    for channel in candidates:
        if (note := _in_another_unit(channel, roles)) is not None:
            notes.append(note)
            continue
        asked = None if channel.name in roles.values() else next((role for role, _ in _scores(_blank(channel))), None)
        if asked is None or asked in roles or not channel.there.size or _fits(asked, channel) is not False:
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
    named = replace(_blank(channel), quantity="", has_unit=False)
    role = next((role for role, _ in _scores(named)), None)
    if role not in _TOLD or role in roles or channel.quantity in RULES[role].quantities:
        return None
    return phrase(
        "{channel} has the name of {role}, but is in a unit that no such channel is in: it is left out.",
        channel=channel.name,
        role=role,
    )


def _blank(candidate: Candidate) -> Candidate:
    return replace(candidate, there=candidate.there[:0])


def _scores(candidate: Candidate) -> Iterable[tuple[Role, float]]:
    orders = word_orders(candidate.name)
    ways = [(orders, 0.0), *(((way,), SPELT_OUT) for way in spelt_out(candidate.name, candidate.quantity))]
    for role, rule in RULES.items():
        if candidate.quantity and candidate.quantity not in rule.quantities:
            continue
        if candidate.has_unit and not candidate.quantity:
            continue  # a unit that is known to be of no use for a role
        named = _named(rule, ways)
        if named is None:
            continue
        words, length, less = named
        fits = _fits(role, candidate)
        if fits is False:
            continue
        score = 2.0 + (candidate.quantity in rule.quantities) + (fits is True)
        score -= 3.0 * stands_still(role, candidate.there) + 1.5 * bool(_OF_A_SPAN.search(words))
        score -= 0.2 * bool(_LATER.search(words))
        score += bool(re.search(rf"\b(?:{rule.better})", words)) + 0.5 * length / max(len(words), 1) - less
        score -= BEHIND * (role == "lambda_measured" and BEHIND_CATALYST.search(words) is not None)
        if role == "sensor_signal" and not candidate.quantity and not _is_signal(words, candidate.there):
            continue
        if role == "airflow" and not candidate.quantity and _NEEDS_UNIT.fullmatch(words):
            continue
        if role == "intake_temperature" and not candidate.quantity and _may_be_airflow(words, candidate.there):
            continue
        yield role, score


def _named(rule: Rule, ways: Sequence[tuple[tuple[str, ...], float]]) -> tuple[str, int, float] | None:
    """Find the first way to write a name in which it is one of a role.

    Args:
        rule: of the role.
        ways: the orders of its words, and by how much less they count; first as the file spells it.

    Returns:
        The words, how many letters of them name the role, and by how much less that counts; None where none does.
    """
    for orders, less in ways:
        if any(re.search(rf"\b(?:{rule.but})", each) for each in orders):
            if not less:
                return None  # the name itself says that it is another thing
            continue
        match = next((found for each in orders if (found := re.search(rf"\b(?:{rule.name})", each))), None)
        if match is not None:
            return orders[0], len(match[0]), less
    return None


def _may_be_airflow(words: str, there: FloatArray) -> bool:
    """Tell whether a channel that is called intake air alone may be how much of it: not in whole numbers."""
    return _AIR_ALONE.fullmatch(words) is not None and (not there.size or bool(np.any(there % 1)))


def _is_signal(words: str, there: FloatArray) -> bool:
    """Tell a sensor's signal from the airflow where no unit does: by its name, or as more than any engine breathes."""
    if _SIGNAL.search(words):
        return True
    return _SENSOR.search(words) is not None and there.size > 0 and float(np.quantile(there, 0.5)) > MOST_AIR


def stands_still(role: Role, there: FloatArray) -> bool:
    """Return whether a channel that must move reads the same all the time."""
    return role in MUST_MOVE and there.size >= FEWEST and bool(np.all(there == there[0]))


def _fits(role: Role, candidate: Candidate) -> bool | None:
    """Return whether most values lie where the role's do; None where there are none."""
    known, rule = candidate.there, RULES[role]
    if role in MIXTURES:
        known = known[known != 0]  # SAE J1979: 0 where the car does not support it
    if not known.size:
        return None
    if role == "fuel_system":  # a state is a whole number; others are what the loop puts out
        known = np.where(known % 1 == 0, known, np.inf)
    spans = ((rule.low, rule.high), *_other_spans(role, candidate))
    return any(_most_within(known, *span) for span in spans) or (role in MIXTURES and _is_in_thousandths(known))


def _other_spans(role: Role, candidate: Candidate) -> list[tuple[float, float]]:
    """Give between which values a role's lie where they are written in another way than in its base unit."""
    rule = RULES[role]
    if role in MIXTURES:  # an air-fuel ratio, percent of stoichiometric, or fuel over air
        by_mass = _FUEL_AIR.search(word_orders(candidate.name)[0]) is not None
        return [(5, 25), (40, 220), *([FUEL_OVER_AIR] if by_mass else [])]
    if role[1:4] == "tft":  # percent of 100
        return [(50, 170)]
    if "temperature" in rule.quantities and not candidate.quantity:  # perhaps in K
        return [(230, 420)]
    if "pressure" in rule.quantities and not candidate.quantity:  # perhaps in hPa
        return [(rule.low, 10 * rule.high)]
    return []


def _is_in_thousandths(known: FloatArray) -> bool:
    return known.size > 0 and AROUND_1000[0] < float(np.median(known)) < AROUND_1000[1]


def _most_within(known: FloatArray, low: float, high: float) -> bool:
    return 2 * int(np.count_nonzero((known >= low) & (known <= high))) > known.size


def _reason(role: Role, candidate: Candidate, others: Sequence[str]) -> str:
    rule = RULES[role]
    parts = ["its name"]
    if candidate.quantity in rule.quantities:
        parts.append("its unit")
    if _fits(role, candidate):
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
