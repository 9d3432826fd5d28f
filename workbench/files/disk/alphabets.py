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
    "hebrew": ("אבגדהוזחטיךכלםמןנסעףפץצקרשת",),
    "arabic": ("".join(map(chr, (*range(0x621, 0x63B), *range(0x641, 0x64B), 0x67E, 0x686, 0x698, 0x6AF))),),
    "thai": ("".join(map(chr, (*range(0xE01, 0xE31), 0xE32, 0xE33, *range(0xE40, 0xE47)))),),
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
    ("iso8859-5", "cyrillic"),
    ("cp1255", "hebrew"),
    ("cp1256", "arabic"),
    ("cp874", "thai"),
)
# Code pages of two bytes a sign, and signs of the trade that tell the language (from memory).
_WIDE_PAGES = (
    ("cp932", "回転数車速度開吸気圧力空量短期長燃料補正目標実測冷却水温負荷時間秒状態電"),
    ("euc_jp", "回転数車速度開吸気圧力空量短期長燃料補正目標実測冷却水温負荷時間秒状態電"),
    ("gb18030", "发动机转速车节气门负荷空流量传感器短期长燃油修正目标实测冷却液水温度进压力时间秒状态歧管开"),
    ("big5", "發動機引擎轉速車節氣門負荷空流量感測器短期長燃油修正目標實冷卻液水溫度進壓力時間秒狀態歧管開"),
    ("cp949", ""),
)
_KANA, _HANGUL = ("\u3040", "\u30ff"), ("\uac00", "\ud7a3")
_THAI_MARKS = "".join(map(chr, (0xE31, *range(0xE34, 0xE3B), *range(0xE47, 0xE4F))))
AT_HOME = 0.5  # of the signs beyond ASCII, that are of the language of a code page
_SIGNS = frozenset(_THAI_MARKS) | frozenset(
    "°ºµ²³·–—±×€£§«»…‘’“”„\u00a0\u2026λΛωΩΔ"
)  # beside letters: of units and punctuation
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
    best = min(_PAGES, key=lambda page: _oddity(content, *page))
    return _wide_page(content) or best[0] if _oddity(content, *best) else best[0]


def _wide_page(content: bytes) -> str:
    """Give the code page of two bytes a sign in which most signs are of its language; empty where none is."""
    rated = [(_at_home(content, page, known), page) for page, known in _WIDE_PAGES]
    share, page = max(rated, key=lambda each: each[0])
    return page if share >= AT_HOME else ""


def _at_home(content: bytes, page: str, known: str) -> float:
    try:
        text = codecs.getincrementaldecoder(page)().decode(content)  # which may end inside a sign
    except UnicodeDecodeError:
        return 0.0
    beyond = [sign for sign in text if ord(sign) > 127 and sign not in _SIGNS]
    span = _HANGUL if not known else _KANA if page in ("cp932", "euc_jp") else ("", "")
    home = sum(sign in known or span[0] <= sign <= span[1] for sign in beyond)
    return home / len(beyond) if beyond else 0.0


def _oddity(content: bytes, page: str, script: str) -> int:
    """Count what is out of place in a text read in a code page; of equals the first page is taken."""
    text = codecs.decode(content, page, "replace")
    beyond = [letter for letter in text if ord(letter) > 127]
    letters = {letter.lower() for letter in beyond if letter.isalpha() and letter not in _SIGNS}
    strange = min(len(letters - frozenset(language)) for language in _LETTERS[script])
    signs = sum(not letter.isalpha() and letter not in _SIGNS for letter in beyond)
    words = list(_words(text))
    latin = script in ("western", "central", "turkish", "baltic")
    mixed = 0 if latin else sum(re.search("[a-zA-Z]", word) is not None for word in words)
    unsaid = sum(_is_unsayable(word) for word in words) if latin else 0
    # Some letters are written otherwise at the end of a word.
    misplaced = {"hebrew": "[ךםןףץ](?=.)|[כמנפצ]$", "greek": "ς(?=.)|σ$"}.get(script)
    mixed += sum(re.search(misplaced, word) is not None for word in words) if misplaced else 0
    if script in ("cyrillic", "greek"):  # names begin with capitals; where none does, it may be another script
        unsaid += not any(word[0].isupper() and word[1:].islower() for word in words)
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
