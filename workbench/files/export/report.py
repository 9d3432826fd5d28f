"""A session on paper: one HTML file that needs nothing else, for handing over and for defending later."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np

from workbench.model.arrays import FloatArray
from workbench.model.counting import counted
from workbench.model.evidence import Evidence
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
    """Write the report as HTML."""
    table = paper.revision.table
    approval = paper.history.approvals.get(paper.revision.id)
    stand = (
        f"Approved by {escape(approval.by)} on {escape(approval.time)}. {escape(approval.note)}"
        if approval
        else "Not approved: a draft."
    )
    accepted = (
        f"<p>Accepted objections: {escape(', '.join(approval.accepted))}.</p>" if approval and approval.accepted else ""
    )
    parts = [
        f"<h1>{escape(table.name)}: {escape(table.value_label)}</h1>",
        f"<p>Revision {paper.revision.id} of {escape(paper.session)}, written {escape(paper.written)}.</p>",
        f"<p><strong>{stand}</strong></p>{accepted}",
        f"<p>Digest <code>{paper.revision.digest}</code></p>",
        "<h2>Values, and their change since the table was imported</h2>",
        _values(table, paper.first.table),
        *_evidence(paper.evidence),
        *_cautions(paper.cautions),
        "<h2>Logs</h2>",
        _drives(paper.drives),
        "<h2>History</h2>",
        _history(paper.history, paper.revision),
    ]
    title = escape(f"{table.name}, revision {paper.revision.id}")
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<title>{title}</title>\n'
        f"<style>{STYLE}</style>\n</head>\n<body>\n" + "\n".join(parts) + "\n</body>\n</html>\n"
    )


def _values(table: Table, first: Table) -> str:
    same = table.same_axes(first)
    with np.errstate(divide="ignore", invalid="ignore"):
        change = 100 * (table.values / first.values - 1) if same else np.full(table.shape, np.nan)
    if table.kind == "curve":
        axis = table.axes[0]
        head = (axis.label, table.value_label, "change, %")
        rows = [
            (f"{x:.10g}", f"{v:.6g}", _signed(c))
            for x, v, c in zip(axis.breakpoints, table.values, change, strict=True)
        ]
        return (_curve_picture(axis.breakpoints, change, axis.label) if same else "") + _table(head, rows)
    rows_axis, columns_axis = table.axes
    corner = f"{rows_axis.label} / {columns_axis.label}"
    columns = (corner, *(f"{x:.10g}" for x in columns_axis.breakpoints))
    both = [
        (f"{y:.10g}", *(f"{v:.5g}<br><small>{_signed(c)}</small>" for v, c in zip(vs, cs, strict=True)))
        for y, vs, cs in zip(rows_axis.breakpoints, table.values, change, strict=True)
    ]
    return _table(columns, both, marked_up=True)


def _evidence(found: Evidence | None) -> list[str]:
    if found is None:
        return ["<h2>Evidence</h2><p>The logs give no evidence for this table.</p>"]
    lines = []
    for name, target in (("Part throttle", found.part_target), ("Full throttle", found.full_target)):
        if target.worst_cell is not None:
            lines.append(f"<p>{name}: {target.shares}, {escape(target.worst_of(found.table))}.</p>")
    head = ("cell", "airflow ratio", "± (95 %)", "samples", "visits", "standing")
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
    notes = "".join(f"<li>{escape(note)}</li>" for note in found.notes)
    gates = ", ".join(f"{escape(gate.name)} {gate.rejected}" for gate in found.gates if gate.rejected) or "nothing"
    return [
        "<h2>Evidence for this revision, by drives made with it</h2>",
        *lines,
        f"<p>{counted(found.samples_used, 'sample')} used. Rejected by gates: {gates}.</p>",
        _table(head, rows),
        f"<ul>{notes}</ul>" if notes else "",
    ]


def _cautions(cautions: Sequence[str]) -> list[str]:
    return [f'<p class="caution">{escape(caution)}</p>' for caution in cautions]


def _drives(drives: Sequence[Drive]) -> str:
    head = ("log", "file", "rows", "driven on revision", "SHA-256")
    rows = [
        (str(each.id), escape(each.log.name), str(each.log.rows), str(each.revision), f"<code>{each.log.sha256}</code>")
        for each in drives
    ]
    return _table(head, rows, marked_up=True)


def _history(history: History, revision: Revision) -> str:
    head = ("revision", "from", "time, UTC", "by", "what", "note", "approved by", "exported")
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
    return _table(head, rows)


def _table(head: Sequence[str], rows: Sequence[Sequence[str]], *, marked_up: bool = False) -> str:
    def cell(text: str) -> str:
        return text if marked_up else escape(text)

    top = "".join(f"<th>{escape(text)}</th>" for text in head)
    body = "".join("<tr>" + "".join(f"<td>{cell(text)}</td>" for text in row) + "</tr>\n" for row in rows)
    return f"<table><thead><tr>{top}</tr></thead><tbody>\n{body}</tbody></table>"


def _curve_picture(x: FloatArray, change: FloatArray, label: str) -> str:
    """Draw the change over the axis, %."""
    finite = np.isfinite(change)
    if finite.sum() < 2:
        return ""
    low, high = min(0.0, float(change[finite].min())), max(0.0, float(change[finite].max()))
    span = (high - low) or 1.0
    left = MARGIN + (WIDTH - 2 * MARGIN) * (x - x[0]) / ((x[-1] - x[0]) or 1.0)
    top = MARGIN / 2 + (HEIGHT - 1.5 * MARGIN) * (high - change) / span
    zero = MARGIN / 2 + (HEIGHT - 1.5 * MARGIN) * high / span
    points = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(left[finite], top[finite], strict=True))
    return (
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" role="img" aria-label="change over {escape(label)}">'
        f'<line x1="{MARGIN}" x2="{WIDTH - MARGIN}" y1="{zero:.1f}" y2="{zero:.1f}" stroke="#b9b6ac"/>'
        f'<polyline points="{points}" fill="none" stroke="#0f766e" stroke-width="2"/>'
        f'<text x="4" y="{MARGIN / 2 + 4:.0f}" font-size="12">{_signed(high)} %</text>'
        f'<text x="4" y="{HEIGHT - MARGIN:.0f}" font-size="12">{_signed(low)} %</text>'
        f'<text x="{WIDTH / 2:.0f}" y="{HEIGHT - 6}" font-size="12" text-anchor="middle">{escape(label)}</text></svg>'
    )


def _signed(value: float) -> str:
    return f"{value:+.2f}" if np.isfinite(value) else "–"
