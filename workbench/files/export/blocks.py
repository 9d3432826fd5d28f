"""What a report is made of: blocks that one writer turns into HTML and another into the pages of a PDF.

They are plain values that travel as JSON to the process that draws the pages. Lengths are points (1/72 inch).
"""

from typing import Literal

import msgspec

PaperSize = Literal["a4", "letter"]
Ink = Literal["colour", "black-and-white"]
Style = Literal["plain", "strong", "small", "large", "caution", "code"]
Anchor = Literal["start", "middle", "end"]
Marker = Literal["dot", "ring", "square", "cross"]

# Width and height, pt: ISO 216 (210 x 297 mm) and ANSI/ASME Y14.1 size A (8.5 x 11 in).
PAGES: dict[PaperSize, tuple[float, float]] = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
MARGIN = 42.5  # 15 mm on every side, which every office printer can print on (common practice, no source)


class Pen(msgspec.Struct, frozen=True):
    """How a line is drawn: told apart by dashes and shade where there is no colour.

    Attributes:
        colour: with colour, as #rrggbb.
        grey: without.
        width: pt.
        dashes: lengths of stroke and gap, pt; empty for a whole line.
    """

    colour: str
    grey: str
    width: float
    dashes: tuple[float, ...] = ()

    def ink(self, ink: Ink) -> str:
        """Return the colour to draw with."""
        return self.colour if ink == "colour" else self.grey


FRAME = Pen("#4b5563", "#333333", 0.7)
RULE = Pen("#d9dbd6", "#cccccc", 0.4)
LIMIT = Pen("#a85d00", "#555555", 0.8, (1.5, 2.0))
BEFORE = Pen("#b4470b", "#777777", 1.2, (4.0, 2.5))
AFTER = Pen("#0f766e", "#000000", 1.6)
SEVERAL = (
    AFTER,
    Pen("#b4470b", "#000000", 1.3, (5.0, 2.5)),
    Pen("#2f5bb7", "#777777", 1.6),
    Pen("#8a2c8f", "#000000", 1.3, (1.5, 1.8)),
    Pen("#5f6b1a", "#777777", 1.3, (7.0, 2.0, 1.5, 2.0)),
    Pen("#7a4a2a", "#aaaaaa", 1.8, (3.0, 1.5)),
)


class Line(msgspec.Struct, frozen=True, tag="line"):
    """A line through points (x, y)."""

    points: tuple[tuple[float, float], ...]
    pen: Pen


class Mark(msgspec.Struct, frozen=True, tag="mark"):
    """A measured point."""

    x: float
    y: float
    shape: Marker
    pen: Pen


class Label(msgspec.Struct, frozen=True, tag="label"):
    """A text whose baseline begins, is centred or ends at (x, y); turned a quarter to the left if so said."""

    x: float
    y: float
    text: str
    anchor: Anchor = "start"
    upright: bool = True


class Heading(msgspec.Struct, frozen=True, tag="heading"):
    """The title of a chapter (level 2), or of the whole (level 1)."""

    text: str
    level: int = 2


class Text(msgspec.Struct, frozen=True, tag="text"):
    """A paragraph."""

    text: str
    style: Style = "plain"


class Listing(msgspec.Struct, frozen=True, tag="listing"):
    """Several sentences, one below the other."""

    items: tuple[str, ...]


class Rows(msgspec.Struct, frozen=True, tag="rows"):
    """A table.

    Attributes:
        head: a text for each column.
        rows: a text for each of its cells.
        words: columns that hold sentences: set to the left, wrapped.
        flow: whether its rows may stand in several columns side by side.
        dense: whether it is a picture made of figures, set as close as can be read.
        shades: how far a cell is from where it should be, -1..1, by rows and columns; None where it is not shaded.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: tuple[int, ...] = ()
    flow: bool = False
    dense: bool = False
    shades: tuple[tuple[float | None, ...], ...] = ()

    def shade(self, row: int, column: int) -> float | None:
        """Return the shade of a cell."""
        if row >= len(self.shades) or column >= len(self.shades[row]):
            return None
        return self.shades[row][column]


class Drawing(msgspec.Struct, frozen=True, tag="drawing"):
    """A picture with its size, and what it shows in words."""

    width: float
    height: float
    marks: tuple[Line | Mark | Label, ...]
    words: str


class NewPage(msgspec.Struct, frozen=True, tag="new-page"):
    """What follows begins on a new page."""


Block = Heading | Text | Listing | Rows | Drawing | NewPage


class Report(msgspec.Struct, frozen=True):
    """A whole report.

    Attributes:
        title: of the file.
        footer: stands at the foot of every page, before its number.
        paper: the size it is printed on.
        ink: whether there is colour.
        blocks: in order.
    """

    title: str
    footer: str
    paper: PaperSize
    ink: Ink
    blocks: tuple[Block, ...]


def shade_colour(shade: float, ink: Ink) -> str:
    """Return the ground of a shaded cell, light enough for black figures; without colour the sign stands in them."""
    far = min(abs(shade), 1.0)
    end = (0xC9, 0xC9, 0xC9) if ink != "colour" else (0xF3, 0xB9, 0x8C) if shade > 0 else (0x9C, 0xC3, 0xE6)
    return "#" + "".join(f"{round(255 + (part - 255) * far):02x}" for part in end)
