"""A session on paper: one HTML file that needs nothing else, for handing over and for defending later."""

import base64
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from workbench.model.arrays import FloatArray
from workbench.model.counting import counted
from workbench.model.evidence import Evidence
from workbench.model.harmless import harmless
from workbench.model.history import History, Revision
from workbench.model.log import Drive
from workbench.model.table import Table

STYLE = """
body { font: 15px/1.45 system-ui, sans-serif; color: #1d2426; background: #fff; max-width: 62rem; margin: 2rem auto;
  padding: 0 1rem; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.15rem; margin-top: 2rem; border-bottom: 1px solid #dedcd4; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; }
td, th { padding: .15rem .6rem; text-align: right; border-bottom: 1px solid #eceae4; }
th { color: #5a6763; font-weight: 600; } td.text, th.text { text-align: left; }
.caution { border-left: 4px solid #a85d00; padding: .3rem .8rem; background: #fbf6ee; }
code { font-size: .85em; overflow-wrap: anywhere; }
@media print { body { margin: 0; } h2 { break-after: avoid; } tr { break-inside: avoid; } }
"""
WIDTH, HEIGHT, MARGIN = 640, 220, 44


@dataclass(frozen=True, eq=False)
class Paper:
    """What a report tells.

    Attributes:
        session: path of the session file.
        history: all revisions.
        revision: the one the report is about.
        first: the table's first revision.
        drives: all logs.
        evidence: what the logs say about the revision; None where they say nothing.
        cautions: from the logs.
        written: ISO 8601 time, UTC.
    """

    session: str
    history: History
    revision: Revision
    first: Revision
    drives: tuple[Drive, ...]
    evidence: Evidence | None
    cautions: tuple[str, ...]
    written: str


def report_html(paper: Paper) -> str:
    """Write the report as HTML, in which nothing that came from a file can be more than text."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("workbench.files.export", ""),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=_shown,
        trim_blocks=False,
        keep_trailing_newline=True,
    )
    revision, history = paper.revision, paper.history
    table = revision.table
    values_head, values_rows, picture = _values(table, paper.first.table)
    return environment.get_template("report.html.jinja").render(
        paper=paper,
        revision=revision,
        name=table.name,
        value_label=table.value_label,
        approval=history.approvals.get(revision.id),
        signatures=history.signatures.get(revision.id, ()),
        grid=table.kind == "grid",
        values_head=values_head,
        values_rows=values_rows,
        picture=picture,
        evidence=_evidence(paper.evidence),
        history_head=("revision", "from", "time, UTC", "by", "what", "note", "approved by", "exported"),
        history_rows=_history(history, revision),
        style=_markup(STYLE),
        style_hash=_source_hash(STYLE),
    )


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


def _values(table: Table, first: Table) -> tuple[Sequence[str], Sequence[object], Mapping[str, object] | None]:
    """Return the head and the rows of the table of values, and for a curve the picture of its change."""
    same = table.same_axes(first)
    with np.errstate(divide="ignore", invalid="ignore"):
        change = 100 * (table.values / first.values - 1) if same else np.full(table.shape, np.nan)
    if table.kind == "curve":
        axis = table.axes[0]
        rows = [
            (f"{x:.10g}", f"{v:.6g}", _signed(c))
            for x, v, c in zip(axis.breakpoints, table.values, change, strict=True)
        ]
        picture = _curve_picture(axis.breakpoints, change, axis.label) if same else None
        return (axis.label, table.value_label, "change, %"), rows, picture
    rows_axis, columns_axis = table.axes
    head = (f"{rows_axis.label} / {columns_axis.label}", *(f"{x:.10g}" for x in columns_axis.breakpoints))
    both = [
        (f"{y:.10g}", [(f"{v:.5g}", _signed(c)) for v, c in zip(vs, cs, strict=True)])
        for y, vs, cs in zip(rows_axis.breakpoints, table.values, change, strict=True)
    ]
    return head, both, None


def _evidence(found: Evidence | None) -> Mapping[str, object] | None:
    if found is None:
        return None
    targets = [
        target.told(name, found.table)
        for name, target in (("Part throttle", found.part_target), ("Full throttle", found.full_target))
    ]
    rows = [
        (
            found.table.cell_name(at),
            f"{found.ratio[at]:.4f}",
            f"{found.half_width[at]:.4f}" if np.isfinite(found.half_width[at]) else "–",
            f"{found.samples[at]:.0f}",
            f"{found.visits[at]}",
            found.standing_of(at),
        )
        for at in (tuple(int(i) for i in index) for index in np.argwhere(found.driven))
    ]
    return {
        "targets": targets,
        "head": ("cell", "airflow ratio", "± (95 %)", "samples", "visits", "standing"),
        "rows": rows,
        "notes": found.notes,
        "gates": ", ".join(f"{gate.name} {gate.rejected}" for gate in found.gates if gate.rejected) or "nothing",
        "used": counted(found.samples_used, "sample"),
    }


def _history(history: History, revision: Revision) -> Sequence[Sequence[str]]:
    rows = []
    for each in history.revisions:
        if each.table.name != revision.table.name:
            continue
        approval = history.approvals.get(each.id)
        rows.append(
            (
                str(each.id),
                "" if each.parent is None else str(each.parent),
                each.time,
                each.author,
                each.operation,
                each.note,
                approval.by if approval else "",
                "; ".join(
                    f"{next(iter(made.files), '')}{'' if made.approved else ' (draft)'} on {made.time} by {made.by}"
                    for made in history.exports
                    if made.revision == each.id
                ),
            )
        )
    return rows


def _curve_picture(x: FloatArray, change: FloatArray, label: str) -> Mapping[str, object] | None:
    """Describe where to draw the change over the axis, %."""
    finite = np.isfinite(change)
    if finite.sum() < 2:
        return None
    low, high = min(0.0, float(change[finite].min())), max(0.0, float(change[finite].max()))
    span = (high - low) or 1.0
    left = MARGIN + (WIDTH - 2 * MARGIN) * (x - x[0]) / ((x[-1] - x[0]) or 1.0)
    top = MARGIN / 2 + (HEIGHT - 1.5 * MARGIN) * (high - change) / span
    return {
        "width": WIDTH,
        "height": HEIGHT,
        "left": MARGIN,
        "right": WIDTH - MARGIN,
        "zero": f"{MARGIN / 2 + (HEIGHT - 1.5 * MARGIN) * high / span:.1f}",
        "points": " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(left[finite], top[finite], strict=True)),
        "top_text": round(MARGIN / 2 + 4),
        "bottom_text": HEIGHT - MARGIN,
        "high": _signed(high),
        "low": _signed(low),
        "label": label,
    }


def _signed(value: float) -> str:
    return f"{value:+.2f}" if np.isfinite(value) else "–"
