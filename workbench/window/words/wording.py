"""How numbers, revisions and standings are put into words; by the user's locale, never the file's."""

import math
import re
from collections.abc import Mapping
from string import Formatter

import numpy as np
from PySide6.QtCore import QCoreApplication, QLocale

from workbench.commands.declaring.registry import COMMANDS
from workbench.model.arrays import FloatArray
from workbench.model.evidence import Delay
from workbench.model.history import Json, Revision
from workbench.model.log import Role
from workbench.model.state import State

MINUS = "\N{MINUS SIGN}"
THIN_SPACE = "\N{NARROW NO-BREAK SPACE}"
NO_BREAK = "\N{NO-BREAK SPACE}"
_LONG = re.compile(r"\S{16,}")
_BREAKS = re.compile(r"[_./\\-](?=\w{2})")
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:s|ms|min|h|Hz|rpm|kPa|g/s|kg/h|km/h|V|°C|degC|degF)(?![\w/]))")
_DEGREES = re.compile(r"\bdeg(?=[CF]\b)")
_NEGATIVE = re.compile(r"(?<![^\s(\[“,;:=])-(?=\d)")  # no part of a word, a range, or the name of a file


def tr(text: str) -> str:
    """Translate a text of the window, where a translation is installed."""
    return QCoreApplication.translate("window", text)


def number(value: float, decimals: int = 2, *, sign: bool = False) -> str:
    """Write a number for reading; an absent one becomes a dash."""
    if not math.isfinite(value):
        return "–"
    text = QLocale().toString(abs(value), "f", decimals)
    if value < 0 and float(f"{abs(value):.{decimals}f}") != 0:
        return MINUS + text
    return "+" + text if sign and float(f"{abs(value):.{decimals}f}") != 0 else text


def plain(value: float) -> str:
    """Write a number with as few digits as it needs, at most six."""
    if not math.isfinite(value):
        return "–"
    text = QLocale().toString(abs(value), "g", 6)
    return MINUS + text if value < 0 else text


def count(value: float) -> str:
    """Write a whole number with the locale's grouping."""
    return QLocale().toString(round(value))


def plural(n: float, singular: str, several: str) -> str:
    """Translate a text into the form that the language has for a number; in English one for 1 and one for others."""
    form = QCoreApplication.translate("window", several, None, round(float(n)))
    if form != several:
        return form
    return singular if n == 1 else several


def percent(ratio: float, decimals: int = 1, *, sign: bool = True) -> str:
    """Write how far a ratio is from 1, in percent."""
    return "–" if not math.isfinite(ratio) else number((ratio - 1) * 100, decimals, sign=sign) + THIN_SPACE + "%"


def share(part: float) -> str:
    """Write 0.94 as 94 %; never 100 % unless it is all."""
    if not math.isfinite(part):
        return "–"
    return count(math.floor(part * 100 + 1e-9)) + THIN_SPACE + "%"


def read_number(text: str) -> float | None:
    """Read a number typed in the user's locale, or with a decimal point; None where it is none."""
    cleaned = text.strip().replace(MINUS, "-").replace(THIN_SPACE, "").replace("\N{NO-BREAK SPACE}", "")
    value, good = QLocale().toDouble(cleaned)
    if not good:
        value, good = QLocale.c().toDouble(cleaned)
    return value if good and math.isfinite(value) else None


def decimals_for(values: FloatArray) -> int:
    """Choose decimals so that nearly every value keeps three digits."""
    sizes = np.abs(values[np.isfinite(values) & (values != 0)])
    if not sizes.size:
        return 2
    return int(np.clip(2 - math.floor(math.log10(float(np.quantile(sizes, 0.1)))), 0, 4))


def operation(revision: Revision) -> str:
    """Say in few words how a revision came about, as its command declares."""
    command = COMMANDS.get(revision.operation)
    if command is None:  # of a session that a newer version wrote
        return revision.operation.replace("-", " ").capitalize()
    values = {name: _plain_value(value) for name, value in revision.arguments.items()}
    whole = values.keys() >= _named(command.past)
    # A session of old may lack what is named now: then only what was done is said.
    words = tr(command.past).format_map(values) if whole else tr(command.past).partition("{")[0].rstrip(" ×")
    share = revision.arguments.get("share")
    if isinstance(share, int | float) and share != 1:
        words += " " + tr("share {share}").format(share=plain(float(share) * 100) + THIN_SPACE + "%")
    return words


def revision_words(state: State, revision: Revision) -> str:
    """Name a revision in a list: its number, what made it, and the branch that begins with it."""
    words = f"{revision.id}  {operation(revision)}"
    branch = state.branches.get(revision.id, "")
    return tr("{words}, branch “{name}”").format(words=words, name=branch) if branch else words


def _named(template: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(template) if name}


def _plain_value(value: Json) -> str:
    return plain(float(value)) if isinstance(value, int | float) else str(value)


# Words of the core that stand alone.
PLAIN_WORDS: Mapping[str, str] = {
    word: word for word in ("before", "after", "none", "estimated", "default", "stated", "curve", "grid")
}
STANDING_WORDS: Mapping[str, str] = {"proven": "proven", "thin": "thin", "undriven": "undriven"}
STANDING_SIGNS: Mapping[str, str] = {"proven": "●", "thin": "◐", "undriven": "○"}

CHOICE_WORDS: Mapping[str, str] = {  # where a choice reads otherwise than it is typed on a command line
    "a4": "A4",
    "letter": "Letter",
    "black-and-white": "black and white",
    "toward-zero": "toward zero",
}
ROLE_WORDS: Mapping[Role, str] = {
    "sensor_signal": "sensor signal",
    "airflow": "airflow",
    "engine_speed": "engine speed",
    "manifold_pressure": "manifold pressure",
    "load": "load",
    "stft_1": "short trim, bank 1",
    "ltft_1": "long trim, bank 1",
    "stft_2": "short trim, bank 2",
    "ltft_2": "long trim, bank 2",
    "total_trim_1": "total trim, bank 1",
    "total_trim_2": "total trim, bank 2",
    "lambda_measured": "measured lambda",
    "lambda_error": "lambda error",
    "lambda_commanded": "commanded lambda",
    "fuel_system": "loop state",
    "coolant_temperature": "coolant temperature",
    "intake_temperature": "intake temperature",
    "throttle": "throttle",
    "pedal": "pedal",
    "purge": "purge",
    "battery_voltage": "battery voltage",
    "vehicle_speed": "vehicle speed",
    "barometer": "barometer",
}


def delay_words(delay: Delay, *, source: bool = True) -> str:
    """Describe how late the wideband is, and what told it."""
    parts = [f"{number(delay.fixed_s, 2)} s"]
    if delay.volume_g:
        parts.append(tr("{grams} g / airflow").format(grams=number(delay.volume_g, 1)))
    return " + ".join(parts) + (f" ({tr(delay.source)})" if source else "")


def spoken(name: str) -> str:
    """Say the name of an objection, or several, as words."""
    words = {
        "falling-curve": tr("falling curve"),
        "step-over-limit": tr("large step"),
        "thin-changed": tr("thin changed"),
        "undriven-changed": tr("undriven changed"),
        "lean-step-at-high-load": tr("lean step at high load"),
        "not-driven-since": tr("not driven since"),
        "storage-range": tr("storage range"),
        "no-evidence": tr("no evidence"),
        "part-throttle-outside": tr("part throttle outside"),
        "full-throttle-outside": tr("full throttle outside"),
        "part-throttle-not-driven": tr("part throttle not driven"),
        "full-throttle-not-driven": tr("full throttle not driven"),
        "part-throttle-unproven": tr("part throttle unproven"),
        "full-throttle-unproven": tr("full throttle unproven"),
        "word-not-kept": tr("prediction not met"),
        "open-cautions": tr("open cautions"),
    }
    return ", ".join(words.get(each, each.replace("-", " ")) for each in name.split(", "))


def duration(seconds: float) -> str:
    """Write a length of time in minutes and seconds."""
    minutes, rest = divmod(round(seconds), 60)
    return held(f"{minutes} min {rest:02d} s" if minutes else f"{rest} s")


def breakable(text: str) -> str:
    """Let what is too long for a line, as the name of a file, go on in the next one behind its dots and strokes."""
    return _LONG.sub(lambda word: _BREAKS.sub("\\g<0>\N{ZERO WIDTH SPACE}", word[0]), text)


def held(text: str) -> str:
    """Hold numbers and their units together in one line, and write degrees and negative numbers with their signs."""
    whole = text.replace(" %", f"{THIN_SPACE}%").replace(" ± ", f"{NO_BREAK}±{NO_BREAK}")
    return _NEGATIVE.sub(MINUS, _DEGREES.sub("°", _BEFORE_UNIT.sub(NO_BREAK, whole)))


def clock(iso: str) -> str:
    """Return day and time of an ISO 8601 text, as short as it reads well."""
    return iso[:16].replace("T", " ")


# What sources of uncertainty are called.
SOURCE_WORDS: Mapping[str, str] = {
    word: word
    for word in (
        "scatter", "transients", "vapour", "purge unseen", "delay", "trim rounding",
        "open-loop trims", "which bank", "between drives",
        "instrument and loop", "oxygen store", "smoothing", "few passes", "gap", "contradiction",
    )
}  # fmt: skip


def source_name(name: str) -> str:
    """Name a source of uncertainty."""
    return tr(SOURCE_WORDS.get(name, name))
