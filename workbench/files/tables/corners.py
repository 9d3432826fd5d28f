"""The corner of a grid: what rows, columns and values are called, and which of the first two is which."""

import re

import numpy as np

from workbench.files.vocabulary.roles import role_by_name
from workbench.files.vocabulary.units import find_unit
from workbench.model.arrays import FloatArray

CORNER = " / "
_ARROWS = {"→": "across", "⇒": "across", "►": "across", "↓": "down", "⇓": "down", "▼": "down"}
_ARROW = f"[{''.join(_ARROWS)}]"
_EDGES = " \t/\\|,;"
_POINTS = re.compile(r"\s*(?:->|=>|→|⇒)\s*")
_WORDS = (" by ", " x ", " × ", " vs ", " vs. ", " versus ", " over ", " against ")
SLOWEST_TOP, LARGEST_FILLING = 900.0, 800.0  # rpm that every speed axis passes; kPa or % that no other one reaches


def corner_parts(corner: str) -> list[str]:
    """Part the labels of a corner, three or two of them; else the corner whole.

    They stand apart by a stroke with blanks around, a backslash, a bar, a word or an arrow; by bare strokes outside
    brackets. A value may go before the two that name the axes, up to a colon. Arrows tell which one goes across.
    """
    if (pointed := _by_arrows(corner)) is not None:
        return pointed
    text = corner.replace("→", " ").strip()
    before, colon, behind = text.rpartition(": ")
    for sign in (CORNER, "\\", "|", "↓", *_WORDS):
        parts = [part.strip().strip("".join(_ARROWS)).strip() for part in (behind if colon else text).split(sign)]
        if len(parts) in (2, 3) and all(parts):
            return _with_value(parts, before)
    if "/" not in text or find_unit(text) is not None:
        return [corner]
    parts, depth = [""], 0
    for sign in behind if colon else text:
        depth += (sign in "([") - (sign in ")]")
        if sign == "/" and depth == 0:
            parts.append("")
        else:
            parts[-1] += sign
    parts = [part.strip() for part in parts]
    return _with_value(parts, before) if len(parts) in (2, 3) and all(parts) else [corner]


def _with_value(parts: list[str], before: str) -> list[str]:
    """Put a value that goes before the names of the axes behind them."""
    if len(parts) == 2 and not before and re.search(r"[)\]] \S+$", parts[0]):
        before, _, parts[0] = parts[0].rpartition(" ")
    return [*parts, before.strip()] if before and len(parts) == 2 else parts


def _by_arrows(corner: str) -> list[str] | None:
    """Name rows, columns and value by an arrow down and one across, before their names or behind; None without both."""
    signs = [_ARROWS[sign] for sign in re.findall(_ARROW, corner)]
    if sorted(signs) != ["across", "down"]:
        return None
    parts = [part.strip(_EDGES) for part in re.split(_ARROW, corner)]
    names, rest = (parts[1:], "") if not parts[0] else (parts[:2], parts[2])
    if not all(names):
        return None
    named = dict(zip(signs, names, strict=True))
    return [named["down"], named["across"], *([rest] if rest else [])]


def pointed(labels: tuple[str, str]) -> tuple[str, str]:
    """Part a header that stands in one cell with an arrow from the axis of a curve to its values."""
    parts = _POINTS.split(labels[0].strip())
    return (parts[0], parts[1]) if len(parts) == 2 and all(parts) and not labels[1] else labels


def is_turned(row: tuple[str, str], column: tuple[str, str], down: FloatArray, across: FloatArray) -> bool:
    """Tell whether a corner names the columns before the rows: an engine speed stands where no engine turns.

    Args:
        row: name and unit that it gives to the rows.
        column: and to the columns.
        down: the breakpoints of the rows, shape (rows,).
        across: and of the columns, shape (columns,).
    """
    speeds = [role_by_name(*label) == "engine_speed" or label[1] == "rpm" for label in (row, column)]
    if speeds[0] == speeds[1]:
        return False
    name, unit = column if speeds[0] else row
    told = find_unit(unit)
    if role_by_name(name, unit) not in ("manifold_pressure", "load") and (
        told is None or told.quantity not in ("pressure", "percent")
    ):
        return False
    speed, other = (down, across) if speeds[0] else (across, down)
    return float(np.max(speed)) < SLOWEST_TOP and float(np.max(other)) > LARGEST_FILLING
