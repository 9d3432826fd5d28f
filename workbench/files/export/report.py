"""A report as one HTML file that needs nothing else, for handing over and for defending later."""

import base64
import hashlib
import math
from collections.abc import Mapping
from typing import Any

from workbench.files.export.blocks import MARGIN, PAGES, Block, Drawing, Heading, Line, Mark, Report, Rows, shade_colour
from workbench.phrases import harmless

SHADES = 12  # steps of shading; a policy that allows no style in the text asks for named ones
CHARACTER = 5.2  # pt a figure takes in a narrow table, with its share of the space between columns
LONG_WORD = 40
GAP = 14.0  # between columns of a table that stands in several
STYLE = """
body { font: 10pt/1.4 system-ui, "DejaVu Sans", sans-serif; color: #1d2426; background: #fff;
  max-width: @WIDEpt; margin: 1.5rem auto; padding: 0 1rem; }
h1 { font-size: 15pt; margin: 0 0 .3rem; } h2 { font-size: 11.5pt; margin: 1.1rem 0 .3rem;
  border-bottom: 1px solid #999; break-after: avoid; }
p { margin: .25rem 0; } ul { margin: .25rem 0; padding-left: 1.2rem; }
.small { font-size: 8.5pt; } .strong { font-weight: 700; }
.caution { border-left: 4px solid @CAUTION; padding: .2rem .6rem; background: @GROUND; }
.code { font: 8pt/1.3 ui-monospace, monospace; overflow-wrap: anywhere; }
.flow { display: flex; gap: @GAPpt; align-items: flex-start; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; font-size: 8.5pt; font-variant-numeric: tabular-nums; margin: .3rem 0; }
td, th { padding: .04rem .35rem; text-align: right; border-bottom: 1px solid #ddd; vertical-align: top; }
th { color: #333; font-weight: 600; border-bottom-color: #777; } td.w, th.w { text-align: left; }
td.long { overflow-wrap: anywhere; }
svg { display: block; max-width: 100%; height: auto; margin: .3rem 0; break-inside: avoid; }
svg text { font: 7px system-ui, "DejaVu Sans", sans-serif; fill: #1d2426; }
footer { margin-top: 2rem; font-size: 8pt; color: #444; border-top: 1px solid #999; }
.new { break-before: page; }
@page { size: @PAPER; margin: 15mm; }
@media print { body { margin: 0; padding: 0; max-width: none; } tr { break-inside: avoid; }
  .scroll { overflow: visible; }
  thead { display: table-header-group; } .shade { print-color-adjust: exact; } }
"""


def report_html(report: Report) -> str:
    """Write a report as HTML, in which nothing that came from a file can be more than text."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("workbench.files.export", ""),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    style = _style(report)
    return environment.get_template("report.html.jinja").render(
        report=report,
        blocks=[_prepared(block, report) for block in report.blocks],
        style=_markup(style),
        style_hash=_source_hash(style),
    )


def _style(report: Report) -> str:
    colour = report.ink == "colour"
    shades = [
        f"td.{_shade_name(step / SHADES).split()[-1]} {{ background: {shade_colour(step / SHADES, report.ink)}; }}"
        for step in range(-SHADES, SHADES + 1)
        if step
    ]
    wide = PAGES[report.paper][0] - 2 * MARGIN
    text = STYLE.replace("@CAUTION", "#a85d00" if colour else "#000").replace(
        "@GROUND", "#fbf6ee" if colour else "#fff"
    )
    text = text.replace("@PAPER", "A4" if report.paper == "a4" else "letter")
    return text.replace("@WIDE", f"{wide:.0f}").replace("@GAP", f"{GAP:.0f}") + "\n".join(shades) + "\n"


def _prepared(block: Block, report: Report) -> Mapping[str, Any]:
    """Say of a block what the template needs to know of it."""
    match block:
        case Heading():
            return {"kind": "heading", "block": block}
        case Rows():
            return {"kind": "rows", "block": block, "columns": _columns(block, report), "words": set(block.words)}
        case Drawing():
            return {"kind": "drawing", "block": block, "marks": [_prepared_mark(each, report) for each in block.marks]}
        case _:
            return {"kind": type(block).__name__.lower(), "block": block}


def _columns(rows: Rows, report: Report) -> list[list[tuple[tuple[str, ...], list[str]]]]:
    """Part the rows over as many columns as the paper holds; each row with the names of its shades."""
    shaded = [(row, [_class_of(rows, r, c, text) for c, text in enumerate(row)]) for r, row in enumerate(rows.rows)]
    if not rows.flow or not shaded:
        return [shaded]
    each = math.ceil(len(shaded) / columns_that_fit(rows, PAGES[report.paper][0] - 2 * MARGIN))
    return [shaded[first : first + each] for first in range(0, len(shaded), each)]


def columns_that_fit(rows: Rows, width: float) -> int:
    """Estimate how many times a table stands side by side in a width, pt."""
    wide = sum(max(len(text) for text in (*head.split(), *cells)) + 1.5 for head, cells in _by_column(rows))
    return max(1, int((width + GAP) // (CHARACTER * wide + GAP)))


def _by_column(rows: Rows) -> list[tuple[str, list[str]]]:
    return [(head, [row[column] for row in rows.rows]) for column, head in enumerate(rows.head)]


def _class_of(rows: Rows, row: int, column: int, text: str) -> str:
    """Name the class of a cell: words, one long word such as a digest, or its shade."""
    if column in rows.words:
        return "w long" if max(map(len, text.split()), default=0) > LONG_WORD else "w"
    return _shade_name(rows.shade(row, column))


def _shade_name(shade: float | None) -> str:
    step = 0 if shade is None else round(SHADES * min(max(shade, -1.0), 1.0))
    return "" if step == 0 else f"shade {'m' if step > 0 else 'l'}{abs(step)}"


def _prepared_mark(mark: object, report: Report) -> Mapping[str, Any]:
    if isinstance(mark, Line):
        points = " ".join(f"{x:g},{y:g}" for x, y in mark.points)
        dashes = " ".join(f"{each:g}" for each in mark.pen.dashes)
        pen = mark.pen
        return {"kind": "line", "points": points, "ink": pen.ink(report.ink), "width": pen.width, "dashes": dashes}
    if isinstance(mark, Mark):
        return {"kind": mark.shape, "x": mark.x, "y": mark.y, "ink": mark.pen.ink(report.ink)}
    return {"kind": "label", "block": mark}


def _markup(text: str) -> Any:
    """Mark a text of our own as HTML already; the template engine escapes every other."""
    import markupsafe

    return markupsafe.Markup(text)  # noqa: S704 - only our own style sheet


def _shown(value: object) -> object:
    """Write out what would turn the reading direction; what is escaped already stays."""
    return harmless(value) if isinstance(value, str) and not hasattr(value, "__html__") else value


def _source_hash(text: str) -> str:
    """Return the source expression that allows one inline style sheet (W3C Content Security Policy 3, 2.3.1)."""
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"
