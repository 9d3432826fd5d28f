"""Names spelt out: abbreviated words, units at the end, and what a unit says that the name leaves unsaid.

`Geschw. [km/h]` is short for a word of the vocabulary, `Eng Spd` uses abbreviations of the trade, and `Intake air [°C]`
needs no word for temperature. What is spelt out only proposes names; unit and values must fit the role as ever.
"""

import re
from functools import cache
from itertools import islice, product

from workbench.files.vocabulary.spelling import mended, plain_words
from workbench.files.vocabulary.units import unit_tail
from workbench.files.vocabulary.vocabulary import RULES

# Abbreviations of SAE J1930 and of loggers (common practice, no source).
_SHORT = {
    "eng": "engine", "veh": "vehicle", "spd": "speed", "thr": "throttle", "thrtl": "throttle", "pos": "position",
    "man": "manifold", "mnf": "manifold", "abs": "absolute", "prs": "pressure", "pres": "pressure", "tmp": "temp",
    "clnt": "coolant", "clg": "coolant", "meas": "measured", "act": "actual", "tgt": "target", "trgt": "target",
    "dmd": "demand", "frq": "frequency", "freq": "frequency", "volt": "voltage", "batt": "battery", "bat": "battery",
    "mtr": "meter", "trm": "trim", "amb": "ambient", "lam": "lambda", "mot": "motor", "ch": "charge",
}  # fmt: skip
# Quantity -> words that a name with such a unit may leave out.
_IMPLIED = {
    "temperature": ("temp",),
    "pressure": ("pressure", "pression", "presion"),
    "speed": ("speed",),
    "turning": ("speed",),
    "mass flow": ("mass flow",),
}
# Short names put together by structure: a letter for the quantity, as its unit confirms, and where it is measured.
_LETTERS = {
    "temperature": ("t", "temp"),
    "pressure": ("p", "pressure"),
    "turning": ("n", "speed"),
    "speed": ("v", "speed"),
}
_PLACES = {
    "mot": "motor", "eng": "engine", "km": "coolant", "kw": "coolant", "clt": "coolant", "cool": "coolant",
    "ans": "ansaug", "int": "intake", "adm": "admission", "air": "intake air", "sr": "saugrohr", "man": "manifold",
    "im": "intake manifold", "fzg": "vehicle", "veh": "vehicle",
}  # fmt: skip
_WIDTH = re.compile(r" [wlu]$")  # of a variable in the ECU: a word, a long one
# Compounds that the patterns of the vocabulary hold in parts.
_COMPOUNDS = (
    "kuhlmitteltemperatur kuhlwassertemperatur ansauglufttemperatur saugrohrdruck luftmassenmesser luftmassenstrom "
    "fahrzeuggeschwindigkeit drosselklappenwinkel motordrehzahl motortemperatur kurzzeittrimm langzeittrimm "
    "temperatur temperatura temperature frequenz frecuencia frequence frequenza pressure velocity vehicle vehiculo "
    "veicolo motor moteur motore liquido liquide"
)
_DEGREES = re.compile(r" [cfk]$")
_LITERAL = re.compile(r"[a-z]{4,}(?:\\w\+)?")
_DOTTED = re.compile(r"[^\W\d_]{2,}\.")
SHORTEST, LONGEST_UNDOTTED = 2, 5  # letters: of a word with a full stop, and of one without that may yet be cut
MOST_WORDS, MOST_WAYS = 10, 40


@cache
def _words() -> tuple[str, ...]:
    """All words of the vocabulary, in the order of the alphabet."""
    found = set(_COMPOUNDS.split())
    for rule in RULES.values():
        found |= {word.replace(r"\w+", "a") for word in _LITERAL.findall(f"{rule.name} {rule.better}")}
    return tuple(sorted(found))


@cache
def spelt_out(name: str, quantity: str) -> tuple[str, ...]:
    """Return other ways to write the name of a channel, as plain words, the likeliest first.

    Args:
        name: as the file spells it.
        quantity: of its unit; empty where that is unknown.
    """
    bare = name[: len(name) - len(tail)].rstrip(" _-/,") if (tail := unit_tail(name)) else name
    plain, whole = plain_words(bare), [plain_words(name)]
    if quantity == "temperature":
        plain = _DEGREES.sub("", plain)
    whole += [plain, " ".join(_SHORT.get(word, word) for word in plain.split())]
    whole += [_WIDTH.sub("", plain), *_by_structure(plain, quantity)]
    whole += _of_the_vocabulary(bare, plain, measured=quantity != "")
    ways = dict.fromkeys(whole)
    for way in whole:
        for word in _IMPLIED.get(quantity, ()):
            ways |= dict.fromkeys((f"{way} {word}", f"{word} {way}"))
    return tuple(islice((way for way in ways if way != whole[0]), MOST_WAYS * 3))


def _by_structure(plain: str, quantity: str) -> list[str]:
    """Spell out a short name of a letter for its quantity and a place, as `tmot` in degrees; nothing for another."""
    short = _WIDTH.sub("", plain).replace(" ", "")
    letter, word = _LETTERS.get(quantity, ("", ""))
    place = _PLACES.get(short.removeprefix(letter)) if letter and short.startswith(letter) else None
    return [] if place is None else [f"{place} {word}", f"{word} {place}"]


def _of_the_vocabulary(bare: str, plain: str, *, measured: bool) -> list[str]:
    """Put words of the vocabulary for those that are cut: behind a full stop, or long ones of a channel with a unit."""
    dotted = {plain_words(word) for word in _DOTTED.findall(mended(bare))}
    choices: list[list[str]] = []
    for word in plain.split():
        cut = word in dotted or (measured and len(word) >= LONGEST_UNDOTTED)
        longer = [each for each in _words() if each.startswith(word) and each != word] if cut else []
        choices.append([word, *longer[:MOST_WORDS]])
    if all(len(each) == 1 for each in choices):
        return []
    return [" ".join(chosen) for chosen in islice(product(*(each[::-1] for each in choices)), MOST_WAYS)]
