"""What to drive next as a card for the one who drives: a page to print, as HTML or as blocks for PDF."""

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from workbench.files.export.blocks import Block, Heading, Report, Text
from workbench.phrases import phrase

STYLE = """
@page { size: A5; margin: 10mm; }
body { font: 17px/1.4 system-ui, sans-serif; color: #1d2426; background: #fff; max-width: 34rem; margin: 1rem auto;
  padding: 0 1rem; }
h1 { font-size: 1.35rem; margin: 0 0 .2rem; } p { margin: .3rem 0; }
.caution { border: 2px solid #a85d00; padding: .4rem .8rem; margin: .6rem 0; font-weight: 600; }
ol { padding: 0; margin: .6rem 0; list-style: none; counter-reset: step; }
li { counter-increment: step; border-top: 1px solid #b9b6ac; padding: .45rem 0 .5rem 2rem; position: relative;
  break-inside: avoid; }
li::before { content: counter(step); position: absolute; left: .3rem; font-weight: 700; }
.box { display: inline-block; width: 1em; height: 1em; border: 2px solid #1d2426; vertical-align: -.15em;
  margin: 0 .4em 0 0; }
.soft { color: #5a6763; font-size: .85rem; } .line { border-bottom: 1px solid #5a6763; height: 1.7rem; }
@media print { body { margin: 0; padding: 0; } }
"""
OCCASIONS = 2  # boxes to tick at each step
BOX = "\u25a1"
LINES, LINE = 3, 66  # to write on, and letters of one


@dataclass(frozen=True)
class Card:
    """What the card tells.

    Attributes:
        table: name of the table.
        revision: the one that is to be in the car.
        cautions: sentences that stand first.
        steps: what to drive, in order.
        written: ISO 8601 time, UTC.
    """

    table: str
    revision: int
    cautions: Sequence[str]
    steps: Sequence[str]
    written: str


def card_report(card: Card) -> Report:
    """Set the card as a page of paper, black on white: a box to tick for each occasion, and lines to write on."""
    name = phrase("{table}, revision {id}", table=card.table, id=card.revision)
    boxes = " ".join([BOX] * OCCASIONS)
    blocks: list[Block] = [
        Heading("Next drive", 1),
        Text(phrase("{name}. Check that it is in the car: {box}", name=name, box=BOX), "large"),
        *(Heading(line) for line in card.cautions),
        *(
            Text(phrase("{boxes}  {number}. {step}", boxes=boxes, number=number, step=step), "large")
            for number, step in enumerate(card.steps, 1)
        ),
        Text("File of the log, fuel, weather, and what was not as usual:"),
        *(Text("_" * LINE, "large") for _ in range(LINES)),
    ]
    footer = phrase("Next drive: {name}; written {time}", name=name, time=card.written)
    return Report(phrase("Next drive: {name}", name=name), footer, "a4", "black-and-white", tuple(blocks))


def card_html(card: Card) -> str:
    """Write the card as HTML, in which nothing that came from a file can be more than text."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("workbench.files.export", ""),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        keep_trailing_newline=True,
    )
    digest = base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
    return environment.get_template("card.html.jinja").render(
        card=card, style=STYLE, style_hash=f"sha256-{digest}", occasions=range(1, OCCASIONS + 1)
    )
