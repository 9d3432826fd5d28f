"""Which code page a text without a mark is in: the one in which all its letters belong to one language.

Programs write names of channels and units in the code page of their country and do not say which. Read in another one,
a name still looks like letters, but like those of no language: `Prùtok` for Czech `Průtok`, `Ciœnienie` for Polish
`Ciśnienie`.
"""

import codecs
import re
import unicodedata
from collections.abc import Iterator
from itertools import pairwise

# Language -> letters beyond a to z, lower case (from memory; the encodings are those of Python's standard library).
_LETTERS = {
    "western": ("äöüß", "àâçéèêëîïôùûüœ", "áéíóúüñ¿¡ºª", "áâãàçéêíóôõúü", "àèéìòù", "åäö", "æøå", "æøåéòôü", "ëïéèö"),
    "central": ("ąćęłńóśźż", "áčďéěíňóřšťúůýž", "áäčďéíĺľňóôŕšťúýž", "áéíóöőúüű", "čšžćđ", "ăâîșțşţ"),
    "turkish": ("çğıöşüi̇âî",),
    "baltic": ("ąčęėįšųūž", "āčēģīķļņšūž", "äöõüšž"),
    "cyrillic": ("абвгдеёжзийклмнопрстуфхцчшщъыьэюяіїєґ",),
    "greek": ("αβγδεζηθικλμνξοπρστυφχψωάέήίόύώϊϋΐΰς",),
}
_PAGES = (
    ("cp1252", "western"),
    ("cp1250", "central"),
    ("cp1254", "turkish"),
    ("cp1257", "baltic"),
    ("cp1251", "cyrillic"),
    ("cp1253", "greek"),
    ("iso8859-2", "central"),
    ("cp850", "western"),
    ("cp852", "central"),
    ("cp437", "western"),
    ("mac-roman", "western"),
    ("koi8-r", "cyrillic"),
    ("cp866", "cyrillic"),
)
_SIGNS = frozenset("°ºµ²³·–—±×€£§«»…‘’“”„\u00a0\u2026λΛωΩΔ")  # beside letters: of units and punctuation
_WORD = re.compile(r"[^\W\d_]+")
_VOWELS = "aeiouyæøœı"
MOST_CONSONANTS = 4
LONGEST = 20_000  # bytes that tell: names stand at the top


def code_page(content: bytes) -> str:
    """Give the code page of bytes that are no UTF-8: the first one in which no letter and no sign is out of place.

    Args:
        content: the beginning of a text.
    """
    content = content[:LONGEST]
    content = b"\n".join(line for line in content.split(b"\n") if not line.isascii()) or content
    return min(_PAGES, key=lambda page: _oddity(content, *page))[0]


def _oddity(content: bytes, page: str, script: str) -> int:
    """Count what is out of place in a text read in a code page; of equals the first page is taken."""
    text = codecs.decode(content, page, "replace")
    beyond = [letter for letter in text if ord(letter) > 127]
    letters = {letter.lower() for letter in beyond if letter.isalpha() and letter not in _SIGNS}
    strange = min(len(letters - frozenset(language)) for language in _LETTERS[script])
    signs = sum(not letter.isalpha() and letter not in _SIGNS for letter in beyond)
    words = list(_words(text))
    latin = script not in ("cyrillic", "greek")
    mixed = 0 if latin else sum(re.search("[a-zA-Z]", word) is not None for word in words)
    unsaid = sum(_is_unsayable(word) for word in words) if latin else 0
    return 6 * (strange + mixed + _torn(text)) + 2 * signs + unsaid


def _torn(text: str) -> int:
    """Count signs between letters, capitals behind small letters, and what stands where a degree sign should."""
    inside = len(re.findall(r"(?<=[^\W\d_])[^\x00-\x7f\w](?=[^\W\d_])", text))
    degrees = len(re.findall(r"(?<!\w)[^\x00-\x7f°º](?=[CF]\b)", text))
    return inside + degrees + sum(_is_torn(word) for word in _words(text))


def _words(text: str) -> Iterator[str]:
    return (match.group() for match in _WORD.finditer(text) if not match.group().isascii())


def _is_torn(word: str) -> bool:
    """Tell whether a capital that is no plain letter stands behind small letters."""
    return any(ord(letter) > 127 and letter.isupper() and before.islower() for before, letter in pairwise(word))


def _is_unsayable(word: str) -> bool:
    """Tell whether more consonants follow each other than a tongue takes."""
    plain = "".join(letter for letter in unicodedata.normalize("NFKD", word.lower()) if letter.isalpha())
    return re.search(rf"[^{_VOWELS}]{{{MOST_CONSONANTS + 1}}}", plain) is not None
