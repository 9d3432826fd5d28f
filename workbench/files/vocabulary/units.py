"""Units in all their spellings, brought to the base units of a log."""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from workbench.files.vocabulary.spelling import mended, plain_words
from workbench.files.vocabulary.unit_words import in_known_spelling
from workbench.model.arrays import FloatArray

# Quantity -> (base unit, what the units library calls it).
BASES: Mapping[str, tuple[str, str]] = {
    "time": ("s", "second"),
    "turning": ("rpm", "revolution/minute"),
    "pressure": ("kPa", "kilopascal"),
    "frequency": ("Hz", "hertz"),
    "voltage": ("V", "volt"),
    "mass flow": ("g/s", "gram/second"),
    "percent": ("%", ""),
    "lambda": ("lambda", ""),
    "afr": ("lambda", ""),
    "phi": ("lambda", ""),
    "temperature": ("degC", "degC"),
    "speed": ("km/h", "kilometer/hour"),
}

# Quantity -> {what the units library calls it: spellings, parted by blanks, lower case}.
_SPELLINGS: Mapping[str, Mapping[str, str]] = {
    "time": {
        "second": "s sec secs second seconds sek sekunden segundos secondes sekunde",
        "millisecond": "ms msec msecs millisecond milliseconds millis",
        "microsecond": "us µs usec microsecond microseconds",
        "minute": "min mins minute minutes minuten minutos",
        "hour": "h hr hrs hour hours std",
        "nanosecond": "ns nsec nanosecond nanoseconds",
        "centisecond": "cs csec",
        "decisecond": "ds dsec",
        "day": "d day days tag tage jour jours dia dias giorno giorni dag dagen dagar",
    },
    "turning": {
        "revolution/minute": "rpm revolutions/minute revs/min "
        "r/min rev/min 1/min min-1 min^-1 u/min upm tr/min tr/mn giri/min /min rpm/min tpm "
        "obr/min ot/min varv/min omw/min toeren/min v/min",
        "radian/second": "rad/s rad/sec",
        "degree/second": "deg/s °/s deg/sec",
        "revolution/second": "rps r/s rev/s u/s 1/sec",
        "kilorevolution/minute": "krpm rpm/1000 x1000rpm 1000rpm rpmx1000 k/min 1000/min x1000_r/min rpm*1000",
    },
    "pressure": {
        "kilopascal": "kpa kpaa kpa(a) kpa_abs",
        "pascal": "pa",
        "hectopascal": "hpa mbar mbara millibar",
        "megapascal": "mpa",
        "bar": "bar bara",
        "psi": "psi psia lb/in2 lbf/in2 lb/in^2",
        "inHg": 'inhg in.hg in_hg "hg in-hg',
        "mmHg": "mmhg torr mm_hg",
        "centimeter_H2O": "cmh2o cm_h2o cmwc cm_ws cmws",
        "atmosphere": "atm",
        "kilogram_force/centimeter**2": "kg/cm2 kgf/cm2 kg/cm^2 kgf/cm^2 kp/cm2 kg/sqcm ksc",
    },
    "frequency": {"hertz": "hz hertz 1/s s-1", "kilohertz": "khz"},
    "voltage": {"volt": "v volt volts", "millivolt": "mv mvolt"},
    "mass flow": {
        "gram/second": "g/s grams/second gram/second grammes/second "
        "g/sec gr/s gps gm/s gm/sec grams/s grams/sec g/sek g.s-1",
        "kilogram/second": "kg/s kg/sec",
        "milligram/second": "mg/s",
        "kilogram/hour": "kg/h kilograms/hour kilogram/hour kg/hr kg/hour kg/std kgph",
        "pound/minute": "lb/min pounds/minute lbs/min lbm/min lb/mn lb./min lbs./min",
        "pound/hour": "lb/h lb/hr lbs/h lbs/hr lb/hour lbs/hour",
        "gram/minute": "g/min",
        "kilogram/minute": "kg/min",
    },
    "percent": {
        "": "% pct percent prozent pourcent porcento per_cent procent",
        "factor": "factor faktor facteur fattore multiplier",
        "fraction": "fraction frac fraktion anteil",
        "permille": "‰ permille promille",
        "hundred": "100-based",
    },
    "lambda": {"": "lambda λ lam la"},
    "afr": {"": "afr a/f :1 to_1 zu_1 x:1 air/fuel kg/kg g/g"},
    "phi": {"": "phi φ eqr eq.ratio"},
    "temperature": {
        "degC": "°c oc degc c celsius deg_c grad_c gradc ºc ˚c °celsius",
        "degF": "°f of degf f fahrenheit deg_f ºf ˚f",
        "kelvin": "k kelvin °k",
    },
    "speed": {
        "kilometer/hour": "km/h kmh kph kmph km/hr kilometers/hour kilometres/hour kilometer/hour kilometre/hour",
        "mile/hour": "mph mi/h mile/h miles/hour",
        "meter/second": "m/s m/sec meters/second metres/second",
        "knot": "kn kt kts knot knots",
    },
}

# Known units that no role needs: they keep their values as read.
_OTHERS = """
    a ma ua µa ° deg grad °ca degca °btdc deg_btdc nm ft-lb lb-ft l/h l/hr gal/h gph l/100km km/l km/l. mpg km mi m mm
    m/s2 m/s^2 m_sec2 g mg kg l gal hp kw ps cv ch w ohm kohm mg/str mg/stk mg/stroke mg/hub mg/cyl g/rev g/cyl kj j
    kg/m3 g/km nm/s % /s €
"""


@dataclass(frozen=True)
class Unit:
    """A unit that was recognised.

    Attributes:
        quantity: key of BASES, or empty for one that no role needs.
        name: what the units library calls it.
        gauge: whether a pressure counts from the ambient.
        counts: how much of the unit one count is, as in `0.1 Hz`.
    """

    quantity: str
    name: str
    gauge: bool = False
    counts: float = 1.0


def _index() -> dict[str, Unit]:
    found = {}
    for quantity, spellings in _SPELLINGS.items():
        for name, words in spellings.items():
            found.update({word: Unit(quantity, name) for word in words.split()})
    for word in ("psig", "psi_g", "psi(g)", "barg", "bar_g", "kpag", "kpa_g", "kpa(g)"):
        found[word] = Unit("pressure", {"p": "psi", "b": "bar", "k": "kilopascal"}[word[0]], gauge=True)
    found["rpm/4"] = Unit("turning", "revolution/minute", counts=0.25)
    return found


_INDEX = _index()
LONGEST_UNIT = 100  # characters; the search for blanks takes the square of them


def find_unit(text: str) -> Unit | None:
    """Recognise a unit in any of its spellings; None where it is empty or unknown."""
    if len(text) > LONGEST_UNIT:
        return None
    text = unicodedata.normalize("NFKC", mended(text)).replace("\u03bc", "µ").replace("*", "").strip(" \t\"'")
    if text[:1] in "[({" and text[-1:] in "])}":
        text = text[1:-1]
    text = re.sub(r"\s*/\s*|\s+per\s+", "/", text.casefold().replace("²", "2").replace("\u2212", "-"))
    text = text.removesuffix(".").replace("\u03bc", "µ")  # folding makes a Greek letter of the sign
    for spelling in (text, text.replace(" ", "_"), text.replace(" ", "")):
        if spelling in _INDEX:
            return _INDEX[spelling]
        if spelling and spelling in _OTHERS.split():
            return Unit("", spelling)
    return _INDEX.get(in_known_spelling(text)) or _counted(text)


_COUNTED = re.compile(r"(0[.,]0*1|1/10+|10\^?-[1-6])[ x*·]*([^\d\s].*)")
_IN_MANY = re.compile(r"[x×]?\s*(10+)[ x×·]*([^\d\s^].*)|([^\d\s].*?)[ x×·]+(10+)")
_COUNTABLE = ("turning", "pressure", "frequency", "voltage", "mass flow", "temperature", "speed", "percent")


def _counted(text: str) -> Unit | None:
    """Recognise a unit behind the part of it that one count is, as in `0.1 Hz`, `1/10 °C` or `rpm x100`."""
    if match := _IN_MANY.fullmatch(text):
        many, unit = match[1] or match[4], find_unit(match[2] or match[3])
        # Elsewhere 'x10' may as well say that the numbers were multiplied; no engine turns ten times in a minute.
        return replace(unit, counts=float(many)) if unit is not None and unit.quantity == "turning" else None
    match = _COUNTED.fullmatch(text)
    unit = find_unit(match[2]) if match else None
    if match is None or unit is None or unit.quantity not in _COUNTABLE or unit.counts != 1:
        return None
    part = match[1].replace(",", ".").replace("^", "")
    if part.startswith("10"):
        return replace(unit, counts=float(f"1e{part[2:]}"))
    return replace(unit, counts=1 / float(part[2:]) if "/" in part else float(part))


def is_physical(text: str) -> bool:
    """Return whether a text is a unit of a quantity that is no time and no mixture."""
    unit = find_unit(text)
    return unit is not None and unit.quantity not in ("", "time", "lambda", "afr", "phi")


SHORTEST_TAIL = 3  # letters; shorter ones are known in `_TAILS` where they are units
_WORDS = ("atmosphere",)
# Units that names end in, as in `MAF_Hz` or `airflow_g_s`; which mixture a number is, is told from its values instead.
_TAILS = {
    "g/s": "g s|gs",
    "kg/h": "kg h",
    "lb/min": "lb min",
    "km/h": "km h|kmh|kph",
    "mph": "mph",
    "Hz": "hz",
    "kHz": "khz",
    "V": "v|volt|volts",
    "mV": "mv",
    "rpm": "rpm",
    "kPa": "kpa",
    "psi": "psi",
    "hPa": "hpa|mbar",
    "inHg": "inhg",
    "mmHg": "mmhg",
    "degC": "degc|deg c",
    "degF": "degf|deg f",
    "%": "pct|percent|proc|procent",
    "phi": "phi",
}
_TAIL = {tail: unit for unit, tails in _TAILS.items() for tail in tails.split("|")}


def unit_in_name(name: str) -> str:
    """Return the unit that a name of several words ends in; empty where there is none."""
    words = plain_words(name).split()
    for length in (2, 1):
        tail = " ".join(words[-length:])
        if len(words) > length and tail in _TAIL:
            return _TAIL[tail]
    return unit_tail(name)


_LAST = re.compile(r"(?<=[^\s_.\-/,])[\s_.\-,]+([^\s_,]{1,12})$")


def unit_tail(name: str) -> str:
    """Return the unit that a name ends in, as it is spelt there, as in `MAP_kPa` or `Lambda_λ`; empty without one."""
    match = _LAST.search(name.strip())
    unit = None if match is None else find_unit(match[1])
    if match is None or unit is None or unit.quantity in ("", "time", "afr", "phi"):
        return ""
    text = match[1]
    if text in ("λ", "%", "‰"):
        return text
    letters = text.isascii() and text.isalpha()
    # Letters may as well be a word or a short name; of an atmosphere's pressure they mostly are.
    is_word = letters and (len(text) < SHORTEST_TAIL or unit.quantity in ("percent", "lambda") or unit.name in _WORDS)
    return "" if is_word else text


def base_unit(unit: Unit) -> str:
    """Return the base unit that values of this unit are turned into."""
    return BASES[unit.quantity][0] if unit.quantity else unit.name


def to_base(values: FloatArray, unit: Unit, *, stoichiometric_afr: float = 14.7) -> FloatArray:
    """Turn values into the base unit of their quantity; the same array where they are in it already."""
    values = values if unit.counts == 1 else values * unit.counts
    match unit.quantity:
        case "percent":
            return _percent(values, unit.name)
        case "afr":
            return values / stoichiometric_afr
        case "phi":
            return 1 / values
    target = BASES[unit.quantity][1] if unit.quantity not in ("", "lambda") else unit.name
    if unit.name == target:
        return values
    factor, offset = _conversion(unit.name, target)
    turned = values * factor
    return turned + offset if offset else turned


def _percent(values: FloatArray, form: str) -> FloatArray:
    """Turn what is written as a part or as a factor into percent; a factor counts from 1, as trims do."""
    match form:
        case "factor":
            return 100 * (values - 1)
        case "fraction":
            return 100 * values
        case "permille":
            return values / 10
        case "hundred":
            return values - 100
    return values


@cache
def _conversion(source: str, target: str) -> tuple[float, float]:
    library = registry()
    offset = float(library.convert(0.0, source, target))
    if offset == 0:
        return float(library.convert(1.0, source, target)), 0.0
    return float(library.convert(1.0, f"delta_{source}" if source != "kelvin" else source, f"delta_{target}")), offset


@cache
def registry() -> Any:
    """Return the units library, loaded once: 0.3 s, and needed only for a unit that is no base unit."""
    from pint import UnitRegistry

    return UnitRegistry(on_redefinition="ignore")
