"""What a channel's name says beside those of its neighbours: what all begin with, one of a pair, a mean, or cut."""

import re
from collections.abc import Mapping, Sequence

from workbench.files.vocabulary.spelling import plain_words

FEWEST_SHARING = 5  # channels whose names begin alike, before that says nothing of any of them
_PAIRS = (("0", "1"), ("1", "2"), ("a", "b"), ("i", "ii"), ("l", "r"), ("left", "right"), ("links", "rechts"))
# SAE J1979, service 01, as `010C`, `0x0C` or `PID 0C`.
_PARAMETER = re.compile(r"(?:0x|01[ _.-]?|pid[ _.-]?(?:0x|01)?)([0-9a-f]{2})h?", re.IGNORECASE)
_PARAMETERS = {
    "03": "fuel system status", "04": "calculated engine load", "05": "coolant temperature",
    "06": "short term fuel trim bank 1", "07": "long term fuel trim bank 1", "08": "short term fuel trim bank 2",
    "09": "long term fuel trim bank 2", "0b": "manifold pressure", "0c": "engine speed", "0d": "vehicle speed",
    "0f": "intake air temperature", "10": "air mass flow", "11": "throttle", "2e": "evap purge", "33": "barometer",
    "34": "lambda measured", "42": "control module voltage", "44": "lambda commanded", "49": "pedal position",
}  # fmt: skip
_TRIM = re.compile(r"\b\w*ft\b|trim|kor+ek|correc|corre|\bkzt|\blzt|termijn|laufzeit|\bfr\b")
_MEAN = re.compile(r"\b(avg|average|mean|mittel|mittelwert|moy|moyenne|media|medio)$")
_OTHER_OF_SPAN = ("min", "max")
# A program may cut names to a length of its own, as `EngineSp` and `ShortTer`.
SHORTEST, LONGEST = 6, 16  # letters at which names are cut
FEWEST_CUT = 4  # names of that length that begin a known one
# Names spelt out, those that mean the same in one line; what begins two of them is left alone.
_KNOWN = (
    ("engine speed", "engine rpm"),
    ("vehicle speed",),
    ("throttle position", "throttle angle"),
    ("engine load", "calculated load", "absolute load"),
    ("maf frequency", "maf signal", "airflow sensor"),
    ("mass air flow", "mass airflow", "air flow rate"),
    ("short term fuel trim", "short term trim", "short fuel trim"),
    ("long term fuel trim", "long term trim", "long fuel trim"),
    ("lambda commanded", "lambda target", "commanded lambda", "target lambda", "lambda setpoint"),
    ("lambda measured", "lambda actual", "measured lambda", "actual lambda"),
    ("coolant temperature", "engine coolant temperature"),
    ("intake air temperature", "intake temperature"),
    ("manifold pressure", "manifold absolute pressure", "intake manifold pressure"),
    ("barometric pressure",),
    ("evap purge", "evaporative purge", "purge duty cycle"),
    ("fuel system status",),
    ("battery voltage", "control module voltage"),
    ("accelerator pedal position", "pedal position"),
)
# Both trims in one, as who adds them calls it.
_SUM = re.compile(r"(?:stft|short\b)[\w ]*\+ ?(?:ltft|long\b)[\w ]*", re.IGNORECASE)
_BANK = re.compile(r" #\d+$")


def alone(names: Sequence[str]) -> Mapping[str, str]:
    """Give name -> what it says where its neighbours are taken into account, for those that say something else so.

    Args:
        names: of all channels.
    """
    found: dict[str, str] = {}
    cut = _shared(names)
    for name in names:
        if cut and name.startswith(cut):
            found[name] = name[len(cut) :]
    found |= {**_numbered_parameters(names), **_spelt_whole(names)}
    words = {name: plain_words(found.get(name, name)).split() for name in names}
    found |= _second_banks(words)
    found |= _means(words)
    found |= {name: "total trim bank 2" if "2" in name else "total trim" for name in names if _SUM.fullmatch(name)}
    return found


def _numbered_parameters(names: Sequence[str]) -> dict[str, str]:
    """Find names that are numbers of parameters of SAE J1979, service 01, where several are, and what each means."""
    told = {name: _PARAMETERS.get(match[1].lower(), "") for name in names if (match := _PARAMETER.fullmatch(name))}
    known = {name: meaning for name, meaning in told.items() if meaning}
    return known if len(known) >= FEWEST_SHARING else {}


def _shared(names: Sequence[str]) -> str:
    """Give what all names begin with, up to a sign that parts words; empty where they do not or one is no more."""
    if len(names) < FEWEST_SHARING:
        return ""
    first, last = min(names), max(names)
    length = next(
        (at for at, (a, b) in enumerate(zip(first, last, strict=False)) if a != b), min(len(first), len(last))
    )
    cut = first[:length]
    cut = cut[: max((cut.rfind(sign) for sign in "./:\\>|_ "), default=-1) + 1]
    return cut if all(len(name) > len(cut) for name in names) else ""


def _second_banks(words: Mapping[str, list[str]]) -> dict[str, str]:
    """Find trims that differ from another by one word of a pair, and say that they are of the second bank."""
    trims = {name: each for name, each in words.items() if _TRIM.search(" ".join(each))}
    found = {}
    for name, mine in trims.items():
        for other in trims.values():
            if len(other) != len(mine) or other is mine:
                continue
            apart = [(theirs, own) for theirs, own in zip(other, mine, strict=True) if theirs != own]
            if len(apart) == 1 and apart[0] in _PAIRS and not _is_middle(apart[0], mine, trims):
                rest = [own for theirs, own in zip(other, mine, strict=True) if theirs == own]
                found[name] = f"{' '.join(rest)} bank 2"
    return found


def _is_middle(pair: tuple[str, str], mine: Sequence[str], trims: Mapping[str, list[str]]) -> bool:
    """Tell whether a further one is numbered before the pair, so that `1` and `2` are no pair beside `0`."""
    before = next((first for first, second in _PAIRS if second == pair[0]), None)
    if before is None:
        return False
    earlier = [before if word == pair[1] else word for word in mine]
    return earlier in trims.values()


def _means(words: Mapping[str, list[str]]) -> dict[str, str]:
    """Find means that stand beside the least and the greatest of the same, and leave off that they are means."""
    known = {" ".join(each) for each in words.values()}
    found = {}
    for name, each in words.items():
        whole = " ".join(each)
        bare = _MEAN.sub("", whole).strip()
        if bare != whole and all(f"{bare} {end}" in known for end in _OTHER_OF_SPAN):
            found[name] = bare
    return found


def _spelt_whole(names: Sequence[str]) -> dict[str, str]:
    """Give name -> what it was before it was cut, for those that are cut; nothing where none is.

    Args:
        names: of all channels.
    """
    bare = {name: _BANK.sub("", name) for name in names}
    longest = max(map(len, bare.values()), default=0)
    if not SHORTEST <= longest <= LONGEST:
        return {}
    found = {}
    for name, text in bare.items():
        letters = re.sub(r"[^a-z]", "", text.casefold())
        if len(text) != longest or len(letters) < SHORTEST - 1 or text != name:
            continue
        begun = [line for line in _KNOWN if any(_begins(letters, each) for each in line)]
        if len(begun) == 1:
            found[name] = begun[0][0]
    return found if len(found) >= FEWEST_CUT else {}


def _begins(letters: str, known: str) -> bool:
    whole = known.replace(" ", "")
    return whole.startswith(letters) and len(whole) > len(letters)
