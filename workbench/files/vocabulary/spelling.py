"""Names as people and programs write them, brought to one form that patterns can be held against."""

import re
import unicodedata
from collections import Counter

from workbench.files.vocabulary.glossary import in_english

_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z]{2})")
# Abbreviations in capitals that small letters follow, as in `AFRcmd`.
_ACRONYM = re.compile(
    r"(?<![A-Za-z])(AFR|MAF|MAP|RPM|IAT|MAT|ECT|CLT|TPS|APP|STFT|LTFT|VSS|LAM|EQR|LMM|HFM|BAP)(?=[a-z]{2})"
)
_PARTS = re.compile(r"[\[\](){}.,:/|>\\]+")
LONGEST_LABEL = 200
_MOJIBAKE = re.compile("[\u00c2\u00c3\u00ce\u00e2]")


def mended(text: str) -> str:
    """Undo a double encoding (UTF-8 bytes once read as Windows-1252), as in `Â°C`; other text stays as it is."""
    for _ in range(2):
        if not _MOJIBAKE.search(text):
            return text
        for codec in ("cp1252", "latin-1"):
            try:
                text = text.encode(codec).decode("utf-8")
                break
            except UnicodeError:
                continue
        else:
            return text
    return text


def plain_words(name: str) -> str:
    """Return a name in lower case, without accents, its words parted by single blanks."""
    name = _CAMEL.sub(" ", _ACRONYM.sub(r"\1 ", in_english(mended(name))))
    name = "".join(c for c in unicodedata.normalize("NFKD", name) if not unicodedata.combining(c))
    name = (
        name.casefold()
        .replace("λ", " lambda ")
        .replace("β", "ss")
        .replace("ł", "l")
        .replace("ø", "o")
        .replace("ı", "i")
    )
    name = name.replace("φ", " phi ").replace("\u03bc", "u")  # of microseconds; without it they would be seconds
    return " ".join(re.sub(r"[^a-z0-9]+", " ", name).split())


def word_orders(name: str) -> tuple[str, ...]:
    """Return the plain words of a name, and those of its parts from the last to the first.

    What tells a channel from others stands in front in one program and behind in another, as in `Pressure (manifold)`
    or `trim.short.bank1`.
    """
    plain = plain_words(name)
    parts = [part for part in _PARTS.split(mended(name)) if part.strip()]
    turned = plain_words(" ".join(parts[::-1]))
    return (plain,) if len(parts) < 2 or turned == plain else (plain, turned)


def label_parts(label: str) -> tuple[str, str]:
    """Split a column's label into name and the text in its last brackets, as in `MAP [kPa]` or `RPM ()`."""
    label = " ".join(mended(label[:LONGEST_LABEL]).strip("\ufeff \t\"'").split())
    for opening, closing in ("()", "[]", "{}"):
        if label.endswith(closing) and opening in label:
            at = label.rindex(opening)
            if not label[:at].strip():
                return label[at + 1 : -1].strip(" -"), ""  # all of it is the name
            return label[:at].strip(), label[at + 1 : -1].strip(" -")
    return label, ""


def unique_names(names: list[str]) -> tuple[str, ...]:
    """Tell names apart that occur more than once: the second is called `name #2`."""
    seen: Counter[str] = Counter()
    found = []
    for name in names:
        seen[name] += 1
        found.append(name if seen[name] == 1 else f"{name} #{seen[name]}")
    return tuple(found)
