"""How well a channel fits each role by its name, its unit and its values."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from workbench.files.vocabulary.abbreviations import spelt_out
from workbench.files.vocabulary.file_words import BEHIND_CATALYST
from workbench.files.vocabulary.spelling import word_orders
from workbench.files.vocabulary.vocabulary import RULES, Rule
from workbench.model.arrays import FloatArray
from workbench.model.log import Role

_SIGNAL = re.compile(r"\b(fre[qck]\w*|czestotliw\w*|f (?=lmm|maf)|mafhz|volt\w*|signal|hz|v)\b")
_SENSOR = re.compile(r"\b(sensor|meter|\w*me(ss|te)\w*|sonde|capteur|sonda)\b")
AROUND_1000 = (900.0, 1100.0)  # the middle of a mixture in thousandths
_FUEL_AIR = re.compile(r"\b(far|fuel air)\b")
_NEEDS_UNIT = re.compile(r"m ?l")  # also millilitres
_AIR_ALONE = re.compile(r"(intake|inlet) air")
# g/s and Hz: no car's engine draws so much air, and no sensor counts so slowly. Common practice, no source.
MOST_AIR = 800.0
FUEL_OVER_AIR = (0.03, 0.15)  # by mass, of an engine that burns (common practice, no source)
LEAST_COUNT = 10.0  # %: at which a trim wraps
MIXTURES: tuple[Role, ...] = ("lambda_measured", "lambda_commanded")
# A channel of these roles that never changes while the others do is dead; the rest may well stand still.
MUST_MOVE: tuple[Role, ...] = (
    "sensor_signal",
    "airflow",
    "engine_speed",
    "manifold_pressure",
    "load",
    "lambda_measured",
)
SPELT_OUT = 0.2  # of the score, by which a name counts less that had to be spelt out
BEHIND = 2.0  # of the score, by which a sensor behind the catalyst counts less than one before it
FEWEST = 20  # values before a channel is called dead
_OF_A_SPAN = re.compile(
    r"\b(min|max|minimum|maximum|peak|lowest|highest|avg|average)$"
)  # of the time since the row before
_LATER = re.compile(r"(?<!bank) [2-9]$")  # of several that are numbered the first is meant


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


def blank(candidate: Candidate) -> Candidate:
    """Return it without its values."""
    return replace(candidate, there=candidate.there[:0])


def scores(candidate: Candidate) -> Iterable[tuple[Role, float]]:
    """Rate how well it fits each role that it may play: the higher, the likelier."""
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
        fits = fits_values(role, candidate)
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


def fits_values(role: Role, candidate: Candidate) -> bool | None:
    """Return whether most values lie where the role's do; None where there are none."""
    known, rule = candidate.there, RULES[role]
    if role in MIXTURES:
        known = known[known != 0]  # SAE J1979: 0 where the car does not support it
    if not known.size:
        return None
    if role == "fuel_system":  # a state is a whole number; others are what the loop puts out
        known = np.where(known % 1 == 0, known, np.inf)
    spans = ((rule.low, rule.high), *_other_spans(role, candidate))
    return any(_most_within(known, *span) for span in spans) or (role in MIXTURES and is_in_thousandths(known))


def _other_spans(role: Role, candidate: Candidate) -> list[tuple[float, float]]:
    """Give between which values a role's lie where they are written in another way than in its base unit."""
    rule = RULES[role]
    if role in MIXTURES:  # an air-fuel ratio, percent of stoichiometric, or fuel over air
        by_mass = _FUEL_AIR.search(word_orders(candidate.name)[0]) is not None
        return [(5, 25), (40, 220), *([FUEL_OVER_AIR] if by_mass else [])]
    if role[1:4] == "tft":  # percent of 100
        return [(50, 170), *_wrapped(candidate.there)]
    if "temperature" in rule.quantities and not candidate.quantity:  # perhaps in K
        return [(230, 420)]
    if "pressure" in rule.quantities and not candidate.quantity:  # perhaps in hPa
        return [(rule.low, 10 * rule.high)]
    return []


def _wrapped(known: FloatArray) -> list[tuple[float, float]]:
    """Give the span of a trim that lies at both ends of a count and nowhere between, as without its sign."""
    most = float(known.max()) if known.size else 0.0
    if most < LEAST_COUNT or float(known.min()) < 0:
        return []
    between = (known > 0.4 * most) & (known < 0.6 * most)
    return [(0.0, most)] if not between.any() and bool(np.any(known < 0.4 * most)) else []


def is_in_thousandths(known: FloatArray) -> bool:
    """Tell whether a mixture is written in thousandths of stoichiometric."""
    return known.size > 0 and AROUND_1000[0] < float(np.median(known)) < AROUND_1000[1]


def _most_within(known: FloatArray, low: float, high: float) -> bool:
    return 2 * int(np.count_nonzero((known >= low) & (known <= high))) > known.size
