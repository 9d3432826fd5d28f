"""Another language: its file is looked for beside this one, and sentences of the core are known by their pattern."""

import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from xml.etree import ElementTree as ET

from PySide6.QtCore import QCoreApplication, QLocale, QTranslator

WORDS = Path(__file__).with_name("translations")
NAME = "workbench"
CORE = "core"
TRANSLATED = "speaks another language"
_SENTENCE_END = re.compile(r"(?<=[.!?:]) (?=[A-Z“])")


def install(application: QCoreApplication, folder: Path = WORDS, locale: QLocale | None = None) -> QTranslator | None:
    """Have the window speak the user's language, where `workbench_<language>.qm` is there; tell by which translator."""
    translator = QTranslator(application)
    if not translator.load(locale or QLocale(), NAME, "_", str(folder)):
        return None
    speak(application, translator)
    return translator


def speak(application: QCoreApplication, translator: QTranslator | None) -> None:
    """Speak by a translator from now on; None speaks English again."""
    if translator is not None:
        application.installTranslator(translator)
    application.setProperty(TRANSLATED, translator is not None)
    core.cache_clear()
    _patterns.cache_clear()


@lru_cache(maxsize=2000)
def core(text: str) -> str:
    """Translate what the core says, line by line and sentence by sentence; what no pattern knows stays as it is."""
    return "\n".join(_whole(line) for line in text.split("\n")) if _patterns() else text


def _whole(line: str) -> str:
    pieces = _SENTENCE_END.split(line)
    known = [_matched(piece) for piece in pieces]
    if all(each is not None for each in known):
        return " ".join(each for each in known if each is not None)
    whole = _matched(line)
    return whole or " ".join(each or piece for each, piece in zip(known, pieces, strict=True))


def _matched(text: str) -> str | None:
    for pattern, translation in _patterns():
        if match := pattern.fullmatch(text):
            values = (_matched(part) or part if part else "" for part in match.groups())
            return translation.format(*values)
    return None


@lru_cache(maxsize=1)
def _patterns() -> tuple[tuple[re.Pattern[str], str], ...]:
    """Give what is translated of the core's sentences, the most telling first."""
    application = QCoreApplication.instance()
    if application is None or not application.property(TRANSLATED):
        return ()
    listed = []
    for source in sources(CORE):
        translation = QCoreApplication.translate(CORE, source)
        if translation != source:
            listed.append((re.compile(pattern_of(source), re.DOTALL), translation, len(source)))
    return tuple((pattern, translation) for pattern, translation, _ in sorted(listed, key=lambda each: -each[2]))


def pattern_of(source: str) -> str:
    """Turn a template with {0}, {1} … into a pattern that takes what stands there."""
    literals = [part.replace("{{", "{").replace("}}", "}") for part in re.split(r"\{\d+\}", source)]
    return "(.*?)".join(re.escape(part) for part in literals)


def sources(context: str) -> Iterator[str]:
    """Give all English texts of a context, from the file that translations begin from."""
    file = WORDS / f"{NAME}.ts"
    for found in ET.parse(file).getroot().iter("context"):  # noqa: S314 - the file comes with the program
        if found.findtext("name") == context:
            yield from (message.findtext("source") or "" for message in found.iter("message"))
