"""The chapters of a report behind page one: the table, rounds, pulls, evidence, logs and the whole history."""

from collections.abc import Iterator

import numpy as np

from workbench.commands.declaring.making import percent_text
from workbench.commands.evidence.evidence_report import pull_line
from workbench.commands.record.revisions import export_words
from workbench.commands.report.page_one import accepted_words, caution_words, drives_words, grid_rows
from workbench.commands.report.told import Round, Told
from workbench.files.export.blocks import AFTER, BEFORE, SEVERAL, Block, Heading, Listing, Marker, NewPage, Rows, Text
from workbench.files.export.charts import Series, chart
from workbench.maths.table.comparing import compared
from workbench.maths.verdict.prediction_check import VERDICTS, PredictionCheck
from workbench.model.arrays import FloatArray
from workbench.model.counting import counted
from workbench.model.evidence import Evidence
from workbench.model.history import Revision
from workbench.model.table import Table
from workbench.phrases import phrase

BINS = 40  # points a pull is drawn with
MARKERS: tuple[Marker | None, ...] = (None, "ring", "cross", "square", "dot")  # where pens are used again


def table_chapter(told: Told) -> Iterator[Block]:
    """Write every value of the table, with its change since it was imported and how well it is known."""
    table = told.revision.table
    change = compared(told.first.table, table)
    yield NewPage()
    yield Heading(phrase("The table, and its change since revision {id}", id=told.first.id))
    if change.interpolated:
        yield Text(
            "The breakpoints changed since: the first table was read at those of today, as the ECU reads it.", "small"
        )
    known = told.found if told.found is not None and told.found.table.shape == table.shape else None
    if table.kind == "curve":
        axis = table.axes[0]
        standing = [("" if known is None else known.standing_of((i,))) for i in range(len(axis))]
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
                Series(
                    phrase("revision {id} over revision {first}", id=told.revision.id, first=told.first.id),
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
        yield Text(_axes_words(table, "evidence: P proven, T thin, a dot where undriven"), "small")
        letters = np.array([".", "T", "P"])[known.standing]
        yield Rows(
            ("", *(f"{x:.6g}" for x in table.axes[1].breakpoints)),
            tuple((f"{y:.6g}", *row) for y, row in zip(table.axes[0].breakpoints, letters.tolist(), strict=True)),
            dense=True,
        )


def _axes_words(table: Table, what: str) -> str:
    return phrase(
        "{what}. Rows: {rows}; columns: {columns}.",
        what=what[:1].upper() + what[1:],
        rows=table.axes[0].label,
        columns=table.axes[1].label,
    )


def rounds_chapter(told: Told) -> Iterator[Block]:
    """Write each correction: its multipliers, and what it expected beside what the next drives showed."""
    yield Heading("Rounds: corrections, and what came of them")
    if not told.rounds:
        yield Text("No correction from evidence leads to this revision.")
    for number, each in enumerate(told.rounds, 1):
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
            [Series(phrase("multipliers of revision {id}", id=revision.id), axis.breakpoints, percent, AFTER, "dot")],
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
    came, said, half = (100 * (seen.ratio[at] - 1), 100 * (expected[at] - 1), 100 * seen.half_width[at])
    if table.kind == "curve":
        x, label = table.axes[0].breakpoints[at], table.axes[0].label
        series = [
            Series("expected to remain", x, said, BEFORE, "ring"),
            Series("came", x, came, AFTER, "dot", half, joined=False),
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
            for place, s, c, h, v in zip(known, said, came, half, verdicts, strict=True)
        ),
        flow=True,
    )


def pulls_chapter(told: Told) -> Iterator[Block]:
    """Draw all pulls over one another, and list them."""
    yield Heading("Pulls at full throttle")
    if not told.pulls:
        yield Text("No pull of a second or more.")
        return
    by_speed = all(each.by_speed for each in told.pulls)
    series = []
    for number, each in enumerate(told.pulls):
        if each.ratio.size and each.by_speed == by_speed:
            x, y = _binned(each.along, 100 * (each.ratio - 1))
            pen = SEVERAL[number % len(SEVERAL)]
            name = phrase(
                "{number}: {log}, {start:.0f} s", number=number + 1, log=each.drive.log.name, start=each.pull.start
            )
            series.append(Series(name, x, y, pen, MARKERS[number // len(SEVERAL) % len(MARKERS)]))
    drawn = chart(
        "Airflow error along each pull",
        "engine speed (rpm)" if by_speed else told.revision.table.axes[0].label,
        "table off by, %",
        series,
        limits=(100 * told.state.settings.full_throttle_target,),
    )
    if drawn is not None:
        yield drawn
    yield Listing(tuple(f"{n}: {pull_line(each.drive.log.name, each.pull)}" for n, each in enumerate(told.pulls, 1)))
    yield Text("The commanded mixture is never changed: only the airflow is corrected.", "small")


def _binned(x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return means over even stretches of x, so that a pull is one clear line."""
    edges = np.linspace(x.min(), x.max(), BINS + 1)
    place = np.clip(np.searchsorted(edges, x, side="right") - 1, 0, BINS - 1)
    count = np.bincount(place, minlength=BINS)
    there = count > 0
    sums = [np.bincount(place, weights=each, minlength=BINS)[there] / count[there] for each in (x, y)]
    return sums[0], sums[1]


def evidence_chapter(told: Told) -> Iterator[Block]:
    """Write the evidence cell by cell, where the wideband sat and how late it was, and what was rejected."""
    yield Heading(phrase("Evidence of all drives for revision {id}", id=told.revision.id))
    found = told.found
    if found is None:
        yield Text(told.refusal or "There are no logs.")
        return
    places: dict[str, list[int]] = {}
    for number, delay in found.delay.items():
        sentence = phrase(
            "wideband {place}; delay {fixed:.2f} s + {volume:.1f} g / airflow, lag {lag:.2f} s "
            "({source}{interval}). {carried}",
            place="none"
            if (where := found.wideband[number]) == "none"
            else phrase("{where} the catalyst", where=where),
            fixed=delay.fixed_s,
            volume=delay.volume_g,
            lag=delay.lag_s,
            source=delay.source,
            interval=phrase(", ± {half:.2f} s", half=delay.interval_s) if np.isfinite(delay.interval_s) else "",
            carried=_begun(delay.carried_by),
        ).rstrip()
        places.setdefault(sentence, []).append(number)
    yield Listing(tuple(f"{drives_words(numbers).capitalize()}: {sentence}" for sentence, numbers in places.items()))
    gates = ", ".join(f"{gate.name} {gate.rejected}" for gate in found.gates if gate.rejected) or "nothing"
    yield Text(
        phrase("{used} used. Rejected by gates: {gates}.", used=counted(found.samples_used, "sample"), gates=gates)
    )
    if found.notes:
        yield Listing(found.notes)
    yield from _budget(found)
    yield Rows(
        ("cell", "airflow ratio", "± (95 %)", "samples", "visits", "plain mean", "standing"),
        tuple(
            (
                found.table.cell_name(at),
                f"{found.ratio[at]:.4f}",
                f"{found.half_width[at]:.4f}" if np.isfinite(found.half_width[at]) else "–",
                f"{found.samples[at]:.0f}",
                f"{found.visits[at]}",
                f"{found.mean[at]:.4f}" if np.isfinite(found.mean[at]) else "–",
                found.standing_of(at),
            )
            for at in (tuple(int(i) for i in index) for index in np.argwhere(found.driven))
        ),
        flow=True,
    )


def _budget(found: Evidence) -> Iterator[Block]:
    """Write what the intervals are made of, source by source, as the GUM asks for (JCGM 100:2008)."""
    driven = found.driven
    if not found.budget or not driven.any():
        return
    yield Text("What the 95 % intervals are made of (the parts add up squared):", "strong")
    sized = sorted(((item, 196 * item.size[driven]) for item in found.budget), key=lambda each: -np.median(each[1]))
    yield Rows(
        ("source", "type", "median, ± %", "largest, ± %", "why so large", "what lessens it"),
        tuple(
            (
                f"{item.name}{' (whole table)' if item.common else ''}",
                item.kind,
                _plain(float(np.median(size))),
                _plain(float(size.max())),
                item.reason,
                item.remedy,
            )
            for item, size in sized
            if size.max() > 0
        ),
        words=(0, 4, 5),
    )


def whole_lists(told: Told) -> Iterator[Block]:
    """Write all cautions and objections, of which page one may hold only the first."""
    yield Heading("All cautions and objections")
    approval = told.approval
    accepted = () if approval is None else tuple(accepted_words(told, approval))
    if accepted:
        yield Text("Accepted with the approval:", "strong")
        yield Listing(accepted)
    looked_into = {} if approval is None else approval.acknowledged or {}
    if looked_into:
        yield Text("Cautions acknowledged by then, with their reasons:", "strong")
        yield Listing(tuple(f"{name}: {reason}" for name, reason in looked_into.items()))
    if told.objections:
        yield Text("As the session stands now:", "strong")
        yield Listing(tuple(f"{each.name}: {each.sentence}" for each in told.objections))
    sentences = tuple(caution_words(told))
    for sentence in sentences:
        yield Text(sentence, "caution")
    if not accepted and not told.objections and not sentences:
        yield Text("None.")


def logs_chapter(told: Told) -> Iterator[Block]:
    """Write which logs there are, on which revision they were driven, and what was assumed in reading them."""
    yield Heading("Logs, and what was assumed")
    if not told.state.drives:
        yield Text("No logs.")
        return
    yield Rows(
        ("log", "file", "added, UTC", "rows", "minutes", "driven on", "SHA-256"),
        tuple(
            (
                str(each.id),
                each.log.name,
                each.added,
                str(each.log.rows),
                f"{np.ptp(each.log.time.values) / 60:.1f}" if each.log.rows else "0",
                _driven_on(told, each.id),
                each.log.sha256,
            )
            for each in told.state.drives
        ),
        words=(1, 2, 6),
    )
    for each in told.state.drives:
        said = [
            phrase("{role}: {channel}", role=role.replace("_", " "), channel=channel)
            for role, channel in each.log.roles.items()
        ]
        yield Text(phrase("Log {id}: {roles}.", id=each.id, roles="; ".join(said) or "no channel has a role"), "small")
        if each.log.notes:
            yield Listing(each.log.notes)
        for question in each.log.questions:
            yield Text(phrase("Not answered: {question}", question=question.question), "caution")


def _driven_on(told: Told, number: int) -> str:
    revision = told.state.history.driven(told.state.drive(number), told.name)
    return "–" if revision is None else str(revision.id)


def history_chapter(told: Told) -> Iterator[Block]:
    """Write every revision of the table, in whatever branch, with approvals and exports."""
    history = told.state.history
    line = {each.id for each in history.line(told.revision.id)}
    yield Heading("The whole history")
    yield Rows(
        ("revision", "from", "time, UTC", "by", "what was done", "note", "in the car, approved, exported"),
        tuple(
            (
                f"{each.id}{'' if each.id in line else ' (branch)'}{_branch(told, each)}",
                "" if each.parent is None else str(each.parent),
                each.time,
                each.author,
                _done(each),
                each.note,
                "; ".join(_handed(told, each)),
            )
            for each in history.revisions
            if each.table.name == told.name
        ),
        words=(0, 2, 3, 4, 5, 6),
    )
    for other in history.table_names:
        if other != told.name:
            yield Text(
                phrase("The session also holds the table {other!r}, with a history of its own.", other=other), "small"
            )


def _done(each: Revision) -> str:
    moved = each.multipliers[np.isfinite(each.multipliers) & (each.multipliers != 1)]
    extent = f", {counted(moved.size, 'cell')} {percent_text(moved)}" if moved.size else ""
    outright = int((~np.isfinite(each.multipliers)).sum()) if each.parent is not None else 0
    extent += phrase(", {cells} set outright", cells=counted(outright, "cell")) if outright else ""
    return f"{each.operation}{extent}"


def _branch(told: Told, each: Revision) -> str:
    name = told.state.branches.get(each.id)
    return "" if name is None else f" “{name}”"


def _handed(told: Told, each: Revision) -> Iterator[str]:
    history = told.state.history
    for mark in told.state.in_car.get(each.table.name, ()):
        if mark.revision == each.id:
            yield phrase("in the car since {since}", since=mark.since)
    approval = history.approvals.get(each.id)
    if approval is not None:
        yield phrase("approved by {by} on {time}", by=approval.by, time=approval.time)
    for made in history.exports:
        if made.revision == each.id:
            yield f"{export_words(made)} by {made.by}"


def _begun(text: str) -> str:
    """Write a remark as a sentence of its own."""
    return text and f"{text[:1].upper()}{text[1:].rstrip('.')}."


def _signed(value: float) -> str:
    return f"{value:+.2f}" if np.isfinite(value) else "–"


def _plain(value: float) -> str:
    return f"{value:.2f}" if np.isfinite(value) else "–"
