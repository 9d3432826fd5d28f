"""Numbers as logs write them: with a decimal point or comma, thousands separators, or their unit glued on."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from workbench.files.vocabulary.units import find_unit
from workbench.model.arrays import FloatArray

LONGEST_NUMBER = 64
FEWEST_WHOLE = 10  # cells without a sign, before they tell what the others hold
JOINED, APART = 1.5, 5.0  # times, from where one kind of cells ends to where the other begins
NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?")
_GLUED = re.compile(r"([+-]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s.,:;+-].{0,11}|:\s*1)")
_COMMA = re.compile(r"[+-]?\d*,\d+")
_COMMA_GROUPS = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+(\.\d*)?")
_POINT_GROUPS = re.compile(r"[+-]?[1-9]\d{0,2}(\.\d{3})+(,\d*)?")
_SPACE_GROUPS = re.compile(r"[+-]?[1-9]\d{0,2}([ '’\u00a0\u2009\u202f]\d{3})+([.,]\d*)?")
_GROUPS = {",": _COMMA_GROUPS, ".": _POINT_GROUPS, " ": _SPACE_GROUPS}
_SAME = str.maketrans(
    {"\u2212": "-", "\u2013": "-", "\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u066b": ".", "\u00b7": "."}
    | {"\uff0e": ".", "\uff0c": ",", "\uff0d": "-", "\uff0b": "+"}  # as wide as a letter of Chinese or Japanese
)
_THOUSANDS = re.compile(r"([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s?k")  # as in 2.35k; a capital letter is kelvin
MISSING = frozenset({"", "-", "--", "---", "nan", "na", "n/a", "null", "none", "nil", "?", "inf", "-inf", "#n/a", "."})


LONGEST_GLUED = 200  # characters of a number with its unit
_FORTRAN = re.compile(r"^([+-]?(?:\d+\.?\d*|\.\d+))[dD]([+-]?\d{1,3})$")
_APART = re.compile(r"^([+-]) +(?=[\d.,])")  # a sign that stands apart
_ACCOUNTED = re.compile(r"\(([\d.,' ]*\d[.,]?)\)|([\d.,' ]*\d[.,]?)-")


def _signed(text: str) -> str:
    """Write the sign in front that accounting writes as brackets around a number or as a minus behind it.

    And the exponent as others write it, which Fortran writes behind a `D`.
    """
    if len(text) > LONGEST_GLUED:  # the search takes the square of the digits
        return text
    text = _FORTRAN.sub(r"\1e\2", _APART.sub(r"\1", text) if " " in text else text)
    match = _ACCOUNTED.fullmatch(text)
    return text if match is None else f"-{match[1] or match[2]}"


@dataclass(frozen=True)
class Style:
    """How numbers are written in a file.

    Attributes:
        decimal: the decimal sign.
        thousands: what stands between thousands, or empty; a blank stands for apostrophes too.
        doubtful: a cell that could be meant otherwise, or empty.
    """

    decimal: str = "."
    thousands: str = ""
    doubtful: str = ""

    def number(self, text: str) -> float | None:
        """Read a cell that holds nothing but a number; None where it does not."""
        if len(text) > LONGEST_NUMBER:
            return None
        if not NUMBER.fullmatch(text):
            text = text.translate(_SAME)
            text = _signed(text)
        if thousands := _THOUSANDS.fullmatch(text):
            value = self.number(thousands[1])
            return None if value is None else float(f"{1000 * value:.15g}")
        if self.thousands and _GROUPS[self.thousands].fullmatch(text):
            text = re.sub("[ '’]" if self.thousands == " " else re.escape(self.thousands), "", text)
        if not NUMBER.fullmatch(text) or ("." if self.decimal == "," else ",") in text:
            return None  # also a point among decimal commas that parts no thousands
        text = text.replace(",", ".")
        value = float(text)
        return value if np.isfinite(value) else None


@dataclass(frozen=True, eq=False)
class Numbers:
    """A column turned into numbers.

    Attributes:
        values: shape (rows,), NaN where missing.
        unit: the unit glued to its cells, or empty.
        odd: (row, text) of cells that hold something that is no number.
        commas: the first row that is written with a decimal comma in a column of decimal points; -1 without one.
    """

    values: FloatArray
    unit: str
    odd: tuple[tuple[int, str], ...]
    commas: int = -1


def is_glued(text: str) -> bool:
    """Return whether a cell is a number with a known unit glued on."""
    match = _GLUED.fullmatch(text)
    return match is not None and find_unit(match[2]) is not None


def looks_numeric(text: str) -> bool:
    """Return whether a cell is a number in any style, with or without a known unit glued on."""
    if len(text) > LONGEST_NUMBER:
        return False
    text = _signed(text.translate(_SAME))
    return NUMBER.fullmatch(text) is not None or _GROUPED.fullmatch(text) is not None or is_glued(text)


_GROUPED = re.compile(r"[+-]?\d{1,3}([., '’\u00a0\u2009\u202f]\d{3})+([.,]\d*)?")


def _bare(cells: Sequence[str]) -> list[str]:
    """Return the numbers among cells, without the units glued to them."""
    bare = [
        match[1] if not _GROUPED.fullmatch(cell) and (match := _GLUED.fullmatch(cell)) else cell
        for cell in (_signed(cell.translate(_SAME)) for cell in cells if len(cell) <= LONGEST_GLUED)
    ]
    return [cell for cell in bare if NUMBER.fullmatch(cell) or _GROUPED.fullmatch(cell)]


def find_style(cells: Sequence[str], delimiter: str) -> Style:
    """Find out how the numbers among the cells are written."""
    bare = _bare(cells)
    commas = [cell for cell in bare if "," in cell]
    points = [cell for cell in bare if "." in cell]
    if any(_SPACE_GROUPS.fullmatch(cell) for cell in bare):
        return Style("," if commas else ".", " ")
    both = next((cell for cell in commas if "." in cell), "")
    if both:
        return Style(".", ",") if both.index(",") < both.index(".") else Style(",", ".")
    if not commas:  # two points in one number part thousands
        doubtful = points[0] if points and all(map(_POINT_GROUPS.fullmatch, points)) else ""
        return Style(",", ".") if any(cell.count(".") > 1 for cell in points) else Style(doubtful=doubtful)
    if any(not _COMMA_GROUPS.fullmatch(cell) for cell in commas):
        return Style(",", "") if len(commas) >= len(points) or delimiter != "," else Style()
    if points:
        return Style(".", ",")
    return Style(",", "", commas[0])


def column_style(cells: Sequence[str], style: Style, fits: Callable[[FloatArray], bool | None]) -> Style:
    """Find out how one column is written, where it speaks for itself; else it is written as the file is.

    Where `1.000` or `1,000` may be one or a thousand, the values decide, and the style says that it is in doubt.

    Args:
        cells: of the column.
        style: of the file.
        fits: tells whether values are such as the channel reads; None where nothing is known of it.
    """
    known, style = not style.doubtful, replace(style, doubtful="")
    bare = _bare(cells)
    signed = {sign: [cell for cell in bare if sign in cell] for sign in ",."}
    if not signed[","] and not signed["."]:
        return style
    if style.thousands == " ":
        return Style(".", " ") if style.decimal == "," and not signed[","] else style
    if signed[","] and signed["."]:
        return _mixed_style(signed, style, fits)
    sign, other = (",", ".") if signed[","] else (".", ",")
    grouped, pointed = Style(other, sign), style if sign == style.decimal else Style(sign)
    sure = any(cell.count(sign) > 1 for cell in signed[sign])
    whole = [cell.lstrip("+-") for cell in bare if sign not in cell and cell.strip("+-0")]
    if not all(_GROUPS[sign].fullmatch(cell) for cell in signed[sign]) or (
        not sure and any(len(cell) > 3 for cell in whole)
    ):
        return pointed
    if sure:
        return grouped
    thousands, decimals = (fits(to_numbers(signed[sign], each).values) for each in (grouped, pointed))
    if thousands is not decimals and (thousands is False or decimals is False):
        chosen = pointed if thousands is False else grouped
    elif (joins := _joining(whole, signed[sign], (grouped, pointed))) is not None:
        chosen = joins
    else:
        chosen = pointed if sign == style.decimal and (known or not whole) else grouped
    return chosen if chosen is style and known else replace(chosen, doubtful=signed[sign][0])


def _joining(whole: Sequence[str], signed: Sequence[str], styles: tuple[Style, Style]) -> Style | None:
    """Tell by the cells without a sign which reading of those with one goes on from them; None where neither does.

    Of thousands such cells hold what is below 1,000, up to three digits long; of decimals, what is about as much.
    """
    plain = np.abs([float(cell) for cell in whole if cell.isdigit()])
    if plain.size < FEWEST_WHOLE:
        return None
    gaps = []
    for style in styles:
        values = np.abs(to_numbers(signed, style).values)
        low, high = sorted([(float(plain.min()), float(plain.max())), (float(values.min()), float(values.max()))])
        gaps.append(high[0] / max(low[1], 1e-9))
    nearer, farther = sorted((0, 1), key=lambda at: gaps[at])
    return styles[nearer] if gaps[nearer] < JOINED and gaps[farther] > APART else None


def _mixed_style(signed: Mapping[str, list[str]], style: Style, fits: Callable[[FloatArray], bool | None]) -> Style:
    """Find out how a column is written whose cells hold both signs: only where it is sure do they part thousands."""
    sign = style.thousands
    if not sign or any(style.decimal in cell or cell.count(sign) > 1 for cell in signed[sign]):
        return style
    parted = [cell for cell in signed[sign] if style.number(cell) is not None]
    if parted and fits(to_numbers(parted, style).values):
        return replace(style, doubtful=parted[0])
    return Style(style.decimal)


def to_numbers(cells: Sequence[str], style: Style) -> Numbers:
    """Turn a column of cells into numbers, taking off units that are glued on."""
    unit = _common_unit(cells)
    bare = [cell[: len(cell) - len(unit)].rstrip() for cell in cells] if unit else cells
    quick = _plain_column(bare, style)
    if quick is not None:
        return Numbers(quick, unit, ())
    joined = [_APART.sub(r"\1", cell) for cell in cells]
    if any(one is not other for one, other in zip(joined, cells, strict=True)):
        return to_numbers(joined, style)
    values = np.full(len(cells), np.nan)
    odd: list[tuple[int, str]] = []
    units: dict[str, int] = {}
    for row, cell in enumerate(cells):
        text = cell.strip(" \t\r\"'\u00a0")
        value = style.number(text)
        if value is None and text.casefold() not in MISSING:
            match = _GLUED.fullmatch(text)
            if match is not None and (match[2] in units or find_unit(match[2]) is not None):
                value = style.number(match[1])
                units[match[2]] = units.get(match[2], 0) + 1
            if value is None:
                odd.append((row, text))
        if value is not None:
            values[row] = value
    unit = max(units, key=units.__getitem__) if units else ""
    if len(units) > 1:  # a column speaks one unit: what differs from the most common one is odd
        odd = _strip_other_units(cells, values, unit, odd)
    first = _with_commas(values, odd) if style.decimal == "." and not style.thousands else -1
    return Numbers(values, unit, tuple(odd), first)


def _with_commas(values: FloatArray, odd: list[tuple[int, str]]) -> int:
    """Read cells with a decimal comma among such with a point, and take them off the odd ones; give the first row.

    Nothing is read where all of them could be meant as thousands: one that cannot speaks for its column.
    """
    commas = [(row, text) for row, text in odd if _COMMA.fullmatch(text)]
    if not commas or all(_COMMA_GROUPS.fullmatch(text) for _, text in commas):
        return -1
    for row, text in commas:
        values[row] = float(text.replace(",", "."))
    odd[:] = [each for each in odd if each not in commas]
    return commas[0][0]


def _common_unit(cells: Sequence[str]) -> str:
    """Return the unit that is glued to every cell with something in it; empty where there is none."""
    first = next((cell for cell in cells if cell), "")
    match = _GLUED.fullmatch(first)
    if match is None or find_unit(match[2]) is None:
        return ""
    unit = match[2]
    if unit == "k":  # a thousand
        return ""
    return unit if all(cell.endswith(unit) or not cell for cell in cells) else ""


def _plain_column(cells: Sequence[str], style: Style) -> FloatArray | None:
    """Read a column of nothing but numbers and empty cells; None where there is anything else."""
    if style.thousands or not cells:
        return None
    text = "\n".join(cells)
    foreign = "." if style.decimal == "," else ","
    if "_" in text or foreign in text:
        return None
    words = text.replace(",", ".").split("\n")
    if len(words) != len(cells):
        return None
    try:
        values = np.array([word or "nan" for word in words], dtype=np.float64)
    except ValueError:
        return None
    empty = words.count("")
    return values if np.count_nonzero(np.isfinite(values)) == len(words) - empty else None


def _strip_other_units(
    cells: Sequence[str], values: FloatArray, unit: str, odd: list[tuple[int, str]]
) -> list[tuple[int, str]]:
    kept = find_unit(unit)
    for row, cell in enumerate(cells):
        match = _GLUED.fullmatch(cell.strip(" \t\r\"'\u00a0"))
        if match is not None and match[2] != unit and find_unit(match[2]) != kept and np.isfinite(values[row]):
            values[row] = np.nan
            odd.append((row, cell))
    return odd
