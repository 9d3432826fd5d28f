"""The chapters of a report behind page one: the table, rounds and pulls."""

from collections.abc import Iterator

import numpy as np

from workbench.commands.declaring.telling import percent_text
from workbench.commands.evidence.evidence_report import pull_line
from workbench.commands.report.contents import Contents, Round
from workbench.commands.report.page_one import drives_words, grid_rows
from workbench.files.export.blocks import AFTER, BEFORE, SEVERAL, Block, Heading, Listing, Marker, NewPage, Rows, Text
from workbench.files.export.charts import ChartSeries, chart
from workbench.maths.table.comparing import compared
from workbench.maths.table.continuing import inferred_cells
from workbench.maths.verdict.prediction_check import VERDICTS, PredictionCheck
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.counting import counted
from workbench.model.evidence import Evidence
from workbench.model.table import Table
from workbench.phrases import phrase

MOST_ACTS = 8  # revisions side by side in the history of every cell
BINS = 40  # points a pull is drawn with
MARKERS: tuple[Marker | None, ...] = (None, "ring", "cross", "square", "dot")  # where pens are used again


def table_chapter(contents: Contents) -> Iterator[Block]:
    """Write every value of the table, with its change since it was imported and how well it is known."""
    table = contents.revision.table
    change = compared(contents.first.table, table)
    yield NewPage()
    yield Heading(phrase("The table, and its change since revision {id}", id=contents.first.id))
    if change.interpolated:
        yield Text(
            "The breakpoints changed since: the first table was read at those of today, as the ECU reads it.", "small"
        )
    known = contents.found if contents.found is not None and contents.found.table.shape == table.shape else None
    inferred = inferred_cells(contents.state.history.line(contents.revision.id))
    if table.kind == "curve":
        axis = table.axes[0]
        standing = [("" if known is None else _known(known, (i,), inferred)) for i in range(len(axis))]
        yield Rows(
            (axis.label, table.value_label, "change %", *(("evidence",) if known is not None else ())),
            tuple(
                (f"{x:.10g}", f"{v:.6g}", _signed(c), *((standing[i],) if known is not None else ()))
                for i, (x, v, c) in enumerate(zip(axis.breakpoints, table.values, change.percent, strict=True))
            ),
            flow=True,
        )
        drawn = chart(
            "Change of the table since it was imported",
            axis.label,
            "change, %",
            [
                ChartSeries(
                    phrase("revision {id} over revision {first}", id=contents.revision.id, first=contents.first.id),
                    axis.breakpoints,
                    change.percent,
                    AFTER,
                )
            ],
            size=(505.0, 130.0),
        )
        if drawn is not None:
            yield drawn
        return
    yield Text(_axes_words(table, table.value_label), "small")
    yield Rows(
        ("", *(f"{x:.6g}" for x in table.axes[1].breakpoints)),
        tuple(
            (f"{y:.6g}", *(f"{v:.5g}" for v in row))
            for y, row in zip(table.axes[0].breakpoints, table.values, strict=True)
        ),
    )
    yield Text(_axes_words(table, "change, %"), "small")
    finite = np.abs(change.percent[np.isfinite(change.percent)])
    yield grid_rows(table, change.percent, float(finite.max()) if finite.size else 0.0)
    if known is not None:
        yield from _letters(table, known, inferred)


def _letters(table: Table, known: Evidence, inferred: BoolArray) -> Iterator[Block]:
    """Write how well each cell of a grid is known, as letters."""
    mean = "evidence: P proven, T thin, a dot where undriven, I where undriven and inferred"
    yield Text(_axes_words(table, mean), "small")
    letters = np.where(inferred & ~known.driven, "I", np.array([".", "T", "P"])[known.standing])
    yield Rows(
        ("", *(f"{x:.6g}" for x in table.axes[1].breakpoints)),
        tuple((f"{y:.6g}", *row) for y, row in zip(table.axes[0].breakpoints, letters.tolist(), strict=True)),
        dense=True,
    )


def _known(known: Evidence, cell: tuple[int, ...], inferred: BoolArray) -> str:
    """Say how well a cell is known; one that was inferred from its neighbours with its wide interval."""
    if not inferred[cell] or known.driven[cell]:
        return known.standing_of(cell)
    half = known.inferred_half_width[cell] if known.inferred_half_width.size else np.nan
    return phrase("inferred, ±{half:.1f} %", half=100 * half) if np.isfinite(half) else "inferred"


def _axes_words(table: Table, what: str) -> str:
    return phrase(
        "{what}. Rows: {rows}; columns: {columns}.",
        what=what[:1].upper() + what[1:],
        rows=table.axes[0].label,
        columns=table.axes[1].label,
    )


def cells_chapter(contents: Contents) -> Iterator[Block]:
    """Write what became of every cell: by how much each revision on the way moved it, and all of them together."""
    table = contents.revision.table
    line = [each for each in contents.state.history.line(contents.revision.id)[1:] if each.table.same_axes(table)]
    shown = [each for each in line if not np.all(each.multipliers == 1)][-MOST_ACTS:]
    if not shown:
        return
    yield Heading("The history of every cell")
    yield Text(
        phrase(
            "By how many percent each of the last {count} revisions that changed values moved a cell; “set” where it "
            "was set outright; the last column is the change since revision {first}.",
            count=len(shown),
            first=contents.first.id,
        ),
        "small",
    )
    whole = compared(contents.first.table, table).percent
    yield Rows(
        ("cell", *(phrase("rev. {id}", id=each.id) for each in shown), "in all"),
        tuple(
            (table.cell_name(at), *(_moved(float(each.multipliers[at])) for each in shown), _signed(float(whole[at])))
            for at in np.ndindex(table.shape)
        ),
        flow=True,
    )


def _moved(multiplier: float) -> str:
    if np.isnan(multiplier):
        return "set"
    return "" if multiplier == 1 else f"{100 * (multiplier - 1):+.2f}"


def rounds_chapter(contents: Contents) -> Iterator[Block]:
    """Write each correction: its multipliers, and what it expected beside what the next drives showed."""
    yield Heading("Rounds: corrections, and what came of them")
    if not contents.rounds:
        yield Text("No correction from evidence leads to this revision.")
    for number, each in enumerate(contents.rounds, 1):
        yield from _round(number, each)


def _round(number: int, each: Round) -> Iterator[Block]:
    revision = each.correction
    moved = revision.multipliers[np.isfinite(revision.multipliers) & (revision.multipliers != 1)]
    drives = revision.arguments.get("drives")
    yield Text(
        phrase(
            "Round {number}: revision {id} on {time}, from {drives}, {cells} {percent}.",
            number=number,
            id=revision.id,
            time=revision.time,
            drives=drives_words([each for each in drives if isinstance(each, int)])
            if isinstance(drives, list)
            else "?",
            cells=counted(moved.size, "cell"),
            percent=percent_text(moved) if moved.size else "",
        ),
        "strong",
    )
    percent = 100 * (revision.multipliers - 1)
    if revision.table.kind == "grid":
        yield Text(_axes_words(revision.table, "multipliers, % above 1"), "small")
        finite = np.abs(percent[np.isfinite(percent)])
        yield grid_rows(revision.table, percent, float(finite.max()) if finite.size else 0.0)
    else:
        axis = revision.table.axes[0]
        drawn = chart(
            "Multipliers of a correction",
            axis.label,
            "multiplier, % above 1",
            [
                ChartSeries(
                    phrase("multipliers of revision {id}", id=revision.id), axis.breakpoints, percent, AFTER, "dot"
                )
            ],
            size=(505.0, 115.0),
        )
        if drawn is not None:
            yield drawn
    if each.prediction is None or each.seen is None:
        yield Text("Not driven since: whether it did what it expected is not known.")
        return
    for sentence in each.prediction.sentences:
        yield Text(sentence)
    yield from _expected_and_came(each.prediction, each.seen)


def _expected_and_came(prediction: PredictionCheck, seen: Evidence) -> Iterator[Block]:
    """Draw for each cell driven since what was expected to remain, and what did."""
    table, expected = seen.table, prediction.expected
    known = np.argwhere(np.isfinite(expected) & np.isfinite(seen.ratio))
    if not known.size:
        return
    at = tuple(known.T)
    came, predicted, half = (100 * (seen.ratio[at] - 1), 100 * (expected[at] - 1), 100 * seen.half_width[at])
    if table.kind == "curve":
        x, label = table.axes[0].breakpoints[at], table.axes[0].label
        series = [
            ChartSeries("expected to remain", x, predicted, BEFORE, "ring"),
            ChartSeries("came", x, came, AFTER, "dot", half, joined=False),
        ]
        drawn = chart(
            "Expected and measured error after a correction", label, "remaining error, %", series, size=(505.0, 130.0)
        )
        if drawn is not None:
            yield drawn
        return
    verdicts = np.array(VERDICTS)[prediction.verdict[at]]
    yield Rows(
        ("cell", "expected to remain, %", "came, %", "± (95 %)", "prediction"),
        tuple(
            (table.cell_name(tuple(int(i) for i in place)), f"{s:+.2f}", f"{c:+.2f}", _plain(h), str(v))
            for place, s, c, h, v in zip(known, predicted, came, half, verdicts, strict=True)
        ),
        flow=True,
    )


def pulls_chapter(contents: Contents) -> Iterator[Block]:
    """Draw all pulls over one another, and list them."""
    yield Heading("Pulls at full throttle")
    if not contents.pulls:
        yield Text("No pull of a second or more.")
        return
    by_speed = all(each.by_speed for each in contents.pulls)
    series = []
    for number, each in enumerate(contents.pulls):
        if each.ratio.size and each.by_speed == by_speed:
            x, y = _binned(each.along, 100 * (each.ratio - 1))
            pen = SEVERAL[number % len(SEVERAL)]
            name = phrase(
                "{number}: {log}, {start:.0f} s", number=number + 1, log=each.drive.log.name, start=each.pull.start
            )
            series.append(ChartSeries(name, x, y, pen, MARKERS[number // len(SEVERAL) % len(MARKERS)]))
    drawn = chart(
        "Airflow error along each pull",
        "engine speed (rpm)" if by_speed else contents.revision.table.axes[0].label,
        "table off by, %",
        series,
        limits=(100 * contents.state.settings.full_throttle_target,),
    )
    if drawn is not None:
        yield drawn
    yield Listing(
        tuple(f"{n}: {pull_line(each.drive.log.name, each.pull)}" for n, each in enumerate(contents.pulls, 1))
    )
    yield Text("The commanded mixture is never changed: only the airflow is corrected.", "small")


def _binned(x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return means over even stretches of x, so that a pull is one clear line."""
    edges = np.linspace(x.min(), x.max(), BINS + 1)
    place = np.clip(np.searchsorted(edges, x, side="right") - 1, 0, BINS - 1)
    count = np.bincount(place, minlength=BINS)
    there = count > 0
    sums = [np.bincount(place, weights=each, minlength=BINS)[there] / count[there] for each in (x, y)]
    return sums[0], sums[1]


def _signed(value: float) -> str:
    return f"{value:+.2f}" if np.isfinite(value) else "–"


def _plain(value: float) -> str:
    return f"{value:.2f}" if np.isfinite(value) else "–"
