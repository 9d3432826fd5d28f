"""Text measured and broken into lines, in points; only the process that draws pages uses it."""

from functools import cache

from PySide6.QtGui import QFont, QFontMetricsF, QTextLayout, QTextOption

FAMILY = "Calibration workbench"
SCALE = 10.0  # pixels a point: whole pixel sizes of fonts then stand for tenths of a point


@cache
def font(size: float, *, bold: bool = False, fixed: bool = False) -> QFont:
    """Return the font of a size, pt."""
    made = QFont()
    made.setFamilies(["DejaVu Sans Mono", "monospace"] if fixed else ["DejaVu Sans", "Segoe UI", "Helvetica", "Arial"])
    made.setStyleHint(QFont.StyleHint.Monospace if fixed else QFont.StyleHint.SansSerif)
    made.setPixelSize(round(size * SCALE))
    made.setBold(bold)
    made.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return made


@cache
def _metrics(size: float, *, bold: bool, fixed: bool) -> QFontMetricsF:
    return QFontMetricsF(font(size, bold=bold, fixed=fixed))


def width_of(text: str, size: float, *, bold: bool = False, fixed: bool = False) -> float:
    """Return how wide a text is on one line, pt."""
    return _metrics(size, bold=bold, fixed=fixed).horizontalAdvance(text) / SCALE


def broken(text: str, width: float, size: float, *, bold: bool = False, fixed: bool = False) -> list[str]:
    """Break a text into lines of a width, pt: between words, or where a word is wider than a line inside it."""
    found: list[str] = []
    for part in text.split("\n"):
        layout = QTextLayout(part, font(size, bold=bold, fixed=fixed))
        option = QTextOption()
        option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        layout.setTextOption(option)
        layout.beginLayout()
        raw = part.encode("utf-16-le")  # Qt counts in units of UTF-16
        while (line := layout.createLine()).isValid():
            line.setLineWidth(max(width, 8.0) * SCALE)
            first, count = line.textStart(), line.textLength()
            found.append(raw[2 * first : 2 * (first + count)].decode("utf-16-le", "replace").rstrip())
        layout.endLayout()
    return found
