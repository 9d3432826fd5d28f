"""Reads what is typed for chosen cells: a value, a change in percent, a factor or an amount."""

import re
from dataclasses import dataclass, replace

from workbench.errors import InputError
from workbench.window.words.wording import MINUS, percent, plain, read_number, tr

_ENTRY = re.compile(r"^\s*([=+*/×xX-]?)\s*(.+?)\s*(%?)\s*$")


@dataclass(frozen=True)
class Entry:
    """What an entry asks for.

    Attributes:
        word: the command: set, scale or add.
        amount: its number.
        meaning: the same as a phrase.
        note: what was written after a semicolon.
    """

    word: str
    amount: float
    meaning: str
    note: str = ""


def read_entry(text: str) -> Entry:
    """Read `12.5` or `=12.5`, `+3%`, `*0.97` or `/1.03`, `+0.4`; what follows a semicolon is a note.

    Raises:
        InputError: when it is none of these.
    """
    entry, _, note = text.partition(";")
    return replace(_read(entry), note=note.strip())


def _read(text: str) -> Entry:
    match = _ENTRY.match(text.replace(MINUS, "-"))
    value = read_number(match[2]) if match else None
    if match is None or value is None:
        raise InputError(
            tr("“{text}” is not a valid entry.").format(text=text.strip()),
            tr("Type 12.5 to set, +3 % or -3 % to change, *0.97 to scale, +0.4 or -0.4 to add."),
        )
    sign, is_percent = match[1], bool(match[3])
    if sign in ("*", "×", "x", "X", "/"):
        return _factor(sign, value, is_percent=is_percent)
    if is_percent:
        step = -value if sign == "-" else value
        if sign == "=":
            return Entry("scale", value / 100, tr("scaled to {percent} %").format(percent=plain(value)))
        return Entry("scale", 1 + step / 100, tr("changed by {percent}").format(percent=percent(1 + step / 100, 2)))
    if sign in ("+", "-"):
        step = -value if sign == "-" else value
        words = tr("lowered by {value}") if step < 0 else tr("raised by {value}")
        return Entry("add", step, words.format(value=plain(abs(step))))
    return Entry("set", value, tr("set to {value}").format(value=plain(value)))


def _factor(sign: str, value: float, *, is_percent: bool) -> Entry:
    factor = value / 100 if is_percent else value
    if sign == "/":
        if factor == 0:
            raise InputError(tr("Division by 0 is not possible."), tr("Type a divisor such as /1.03."))
        factor = 1 / factor
    words = tr("multiplied by {factor} ({percent})")
    return Entry("scale", factor, words.format(factor=plain(factor), percent=percent(factor, 2)))


def from_to(before: float, after: float, unit: str) -> str:
    """Write from what to what a cell goes, with its unit and the change in percent: `95.6 → 97.5 %, +2.0 %`."""
    old, new = (plain(float(f"{value:.4g}")) for value in (before, after))
    step = f", {percent(after / before)}" if before else ""
    return f"{old} → {new} {unit}".rstrip() + step
