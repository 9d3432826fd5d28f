"""A report laid out on pages: every line of text, cell and stroke at its place, in points from the top left."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import takewhile

from workbench.files.export.blocks import (
    FRAME,
    MARGIN,
    PAGES,
    RULE,
    Anchor,
    Block,
    Drawing,
    Heading,
    Label,
    Line,
    Listing,
    Mark,
    NewPage,
    Pen,
    Report,
    Rows,
    Style,
    Text,
    shade_colour,
)
from workbench.files.export.ruling import GAP, PAD, Ruled, columns_in, ruled
from workbench.files.export.type_setting import broken
from workbench.phrases import harmless

LEADING = 1.32  # of the size, from line to line
FOOT = 22.0  # pt kept for the footer
SIZES: dict[Style, float] = {"plain": 9.0, "strong": 9.0, "small": 7.5, "large": 14.0, "caution": 9.0, "code": 7.0}
HEADINGS = {1: 14.0, 2: 10.5}
LABEL = 7.0  # size of the texts in drawings
CAPTIONS, CAPTION = 3, 22.0  # headings and texts that belong to the table under them; height of a text, pt
KEPT_BELOW = 40.0  # pt that a heading keeps with it


@dataclass(frozen=True)
class Words:
    """A text on one line; its baseline begins, is centred or ends at (x, y)."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    fixed: bool = False
    anchor: Anchor = "start"
    upright: bool = True


@dataclass(frozen=True)
class Box:
    """A filled ground."""

    x: float
    y: float
    width: float
    height: float
    colour: str


@dataclass
class Page:
    """What stands on one page, in the order it is drawn."""

    marks: list[Words | Box | Line | Mark] = field(default_factory=list)


def laid_out(report: Report) -> list[Page]:
    """Lay a report out on as many pages as it needs."""
    setter = _Setter(report)
    for number, block in enumerate(report.blocks):
        setter.keep_together(report.blocks[number:])
        setter.block(block)
    pages = [page for page in setter.pages if page.marks]
    width, height = PAGES[report.paper]
    for number, page in enumerate(pages, 1):
        foot = height - MARGIN + 4
        page.marks.append(Line(((MARGIN, foot - 10), (width - MARGIN, foot - 10)), FRAME))
        page.marks.append(Words(MARGIN, foot, _one_line(harmless(report.footer), width - 2 * MARGIN - 60), 7.0))
        page.marks.append(Words(width - MARGIN, foot, f"{number} / {len(pages)}", 7.0, anchor="end"))
    return pages


def _one_line(text: str, width: float) -> str:
    lines = broken(text, width, 7.0)
    return lines[0] if len(lines) == 1 else f"{lines[0]} …"


class _Setter:
    """Sets one block after the other, and begins a new page where one does not fit."""

    def __init__(self, report: Report) -> None:
        self.report = report
        self.pages = [Page()]
        width, height = PAGES[report.paper]
        self.left, self.wide, self.top, self.end = MARGIN, width - 2 * MARGIN, MARGIN, height - MARGIN - FOOT
        self.y = self.top

    def block(self, block: Block) -> None:
        match block:
            case Heading():
                self.heading(block)
            case Text():
                self.text(block)
            case Listing():
                for item in block.items:
                    self.lines(harmless(item), SIZES["plain"], indent=10.0, bullet=True)
            case Rows():
                self.rows(block)
            case Drawing():
                self.drawing(block)
            case NewPage():
                self.new_page()

    def keep_together(self, blocks: Sequence[Block]) -> None:
        """Begin a new page where a heading or a caption would be parted from the table under it that fits on one."""
        over = list(takewhile(lambda each: isinstance(each, Text | Heading), blocks))
        following = blocks[len(over)] if over and len(over) < len(blocks) else None
        if not isinstance(following, Rows) or len(over) > CAPTIONS:
            return
        whole = sum(CAPTION if isinstance(each, Text) else KEPT_BELOW for each in over)
        for part in ruled(following, self.wide):
            beside = columns_in(self.wide, part.width) if part.flow else 1
            kept = part.heights if following.flow or following.dense else part.heights[:2]
            whole += part.head_height + sum(kept) / beside + max(part.heights, default=0.0)
        if whole < self.end - self.top:
            self.need(whole)

    def new_page(self) -> None:
        if self.pages[-1].marks:
            self.pages.append(Page())
        self.y = self.top

    def need(self, height: float) -> None:
        if self.y + height > self.end and self.y > self.top:
            self.new_page()

    def put(self, *marks: Words | Box | Line | Mark) -> None:
        self.pages[-1].marks += marks

    def heading(self, block: Heading) -> None:
        size = HEADINGS[block.level]
        self.y += 0 if self.y == self.top else 8.0
        lines = broken(harmless(block.text), self.wide, size, bold=True)
        self.need(len(lines) * size * LEADING + KEPT_BELOW)
        for line in lines:
            self.y += size * LEADING
            self.put(Words(self.left, self.y - 0.3 * size, line, size, bold=True))
        if block.level > 1:
            self.put(Line(((self.left, self.y), (self.left + self.wide, self.y)), FRAME))
        self.y += 3.0

    def text(self, block: Text) -> None:
        size = SIZES[block.style]
        if block.style == "strong":  # it heads what follows
            self.need(2 * size * LEADING + KEPT_BELOW)
        first, page = self.y, len(self.pages)
        self.lines(
            harmless(block.text),
            size,
            indent=8.0 if block.style == "caution" else 0.0,
            bold=block.style == "strong",
            fixed=block.style == "code",
        )
        if block.style == "caution":
            top = first if page == len(self.pages) else self.top
            bar = Pen("#a85d00", "#000000", 2.5)
            self.put(Line(((self.left + 2, top + 2), (self.left + 2, self.y - 1)), bar))

    def lines(
        self,
        text: str,
        size: float,
        *,
        indent: float = 0.0,
        bold: bool = False,
        fixed: bool = False,
        bullet: bool = False,
    ) -> None:
        for number, line in enumerate(broken(text, self.wide - indent, size, bold=bold, fixed=fixed)):
            self.need(size * LEADING)
            self.y += size * LEADING
            if bullet and number == 0:
                self.put(Words(self.left + 1, self.y - 0.25 * size, "–", size))
            self.put(Words(self.left + indent, self.y - 0.25 * size, line, size, bold, fixed))
        self.y += 2.0

    def drawing(self, block: Drawing) -> None:
        scale = min(1.0, self.wide / block.width)
        self.need(block.height * scale + 4)
        x0, y0 = self.left, self.y
        for mark in block.marks:
            match mark:
                case Line():
                    self.put(Line(tuple((x0 + x * scale, y0 + y * scale) for x, y in mark.points), mark.pen))
                case Mark():
                    self.put(Mark(x0 + mark.x * scale, y0 + mark.y * scale, mark.shape, mark.pen))
                case Label():
                    self.put(
                        Words(
                            x0 + mark.x * scale,
                            y0 + mark.y * scale,
                            harmless(mark.text),
                            LABEL * scale,
                            anchor=mark.anchor,
                            upright=mark.upright,
                        )
                    )
        self.y += block.height * scale + 4

    def rows(self, block: Rows) -> None:
        for part in ruled(block, self.wide):
            if part.flow:
                self.flowing(part)
            else:
                self.falling(part)
            self.y += 5.0

    def falling(self, part: Ruled) -> None:
        """Set rows one below the other; the head stands again on every page."""
        whole = part.head_height + sum(part.heights)
        self.need(
            whole
            if part.source.dense and whole < (self.end - self.top) / 2
            else part.head_height + sum(part.heights[:2])
        )
        self.row(part, -1, self.left)
        for number in range(len(part.heights)):
            if self.y + part.heights[number] > self.end and self.y > self.top:
                self.new_page()
                self.row(part, -1, self.left)
            self.row(part, number, self.left)

    def flowing(self, part: Ruled) -> None:
        """Set rows in columns side by side, as few pages as hold them."""
        columns = columns_in(self.wide, part.width)
        waiting = list(range(len(part.heights)))
        while waiting:
            room = int((self.end - self.y - part.head_height) // part.heights[0])
            whole_page = int((self.end - self.top - part.head_height) // part.heights[0])
            if room * columns < len(waiting) <= whole_page * columns or room < 3:
                self.new_page()
                room = whole_page
            each = max(1, min(room, -(-len(waiting) // columns)))
            self.y = max(self._columns_of(part, waiting[: each * columns], each))
            waiting = waiting[each * columns :]
            if waiting:
                self.new_page()

    def _columns_of(self, part: Ruled, numbers: list[int], each: int) -> Iterator[float]:
        top = self.y
        for column, first in enumerate(range(0, len(numbers), each)):
            self.y = top
            x = self.left + column * (part.width + GAP)
            self.row(part, -1, x)
            for number in numbers[first : first + each]:
                self.row(part, number, x)
            yield self.y

    def row(self, part: Ruled, number: int, x: float) -> None:
        """Set one row of a table, or its head (-1), at the present height."""
        head = number < 0
        height = part.head_height if head else part.heights[number]
        cells = part.head if head else part.rows[number]
        for column, (lines, wide) in enumerate(zip(cells, part.widths, strict=True)):
            shade = None if head else part.shade(number, column)
            if shade is not None:
                self.put(Box(x, self.y, wide, height, shade_colour(shade, self.report.ink)))
            for at, line in enumerate(lines):
                y = self.y + (0.3 if part.source.dense else 1.0) * PAD + part.size * (at * LEADING + 0.95)
                left = column in part.words
                self.put(
                    Words(
                        x + PAD if left else x + wide - PAD,
                        y,
                        line,
                        part.size,
                        bold=head,
                        anchor="start" if left else "end",
                    )
                )
            x += wide
        self.y += height
        self.put(Line(((x - part.width, self.y), (x, self.y)), FRAME if head else RULE))
