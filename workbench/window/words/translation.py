"""Another language: which translator the window speaks by, and what the core says, put into it by its templates."""

from pathlib import Path

from PySide6.QtCore import QCoreApplication, QLocale, QTranslator

WORDS = Path(__file__).with_name("translations")
NAME = "workbench"
CORE = "core"


def install(application: QCoreApplication, folder: Path = WORDS, locale: QLocale | None = None) -> QTranslator | None:
    """Use the user's language where `workbench_<language>.qm` exists; give the translator, or None."""
    translator = QTranslator(application)
    if not translator.load(locale or QLocale(), NAME, "_", str(folder)):
        return None
    application.installTranslator(translator)
    return translator


def core_plural(many: str, number: int) -> str:
    """Translate a template of the core into the form that a language has for the number; empty where it has none."""
    form = QCoreApplication.translate(CORE, many, None, number)
    return "" if form == many else form


def core(text: str) -> str:
    """Translate a template or a whole sentence of the core; without a translation it stays as it is."""
    return QCoreApplication.translate(CORE, text) if text else text
