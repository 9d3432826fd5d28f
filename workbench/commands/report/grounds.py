"""The chapters of a report on what a revision rests on: evidence, cautions, logs and the whole history."""

from collections.abc import Iterator

import numpy as np

from workbench.commands.declaring.telling import percent_text
from workbench.commands.evidence.evidence_report import rejected_by_gates
from workbench.commands.record.history import export_words
from workbench.commands.report.contents import Contents
from workbench.commands.report.page_one import accepted_words, caution_words, drives_words
from workbench.files.export.blocks import Block, Heading, Listing, Rows, Text
from workbench.model.arrays import FloatArray
from workbench.model.counting import counted
from workbench.model.evidence import Evidence
from workbench.model.history import Revision
from workbench.phrases import join_phrases, phrase


def evidence_chapter(contents: Contents) -> Iterator[Block]:
    """Write the evidence cell by cell, where the wideband sat and how late it was, and what was rejected."""
    yield Heading(phrase("Evidence of all drives for revision {id}", id=contents.revision.id))
    found = contents.found
    if found is None:
        yield Text(contents.refusal or "There are no logs.")
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
    used = phrase("{used} used.", used=counted(found.samples_used, "sample"))
    yield Text(join_phrases(" ", (used, rejected_by_gates(found))))
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


def whole_lists(contents: Contents) -> Iterator[Block]:
    """Write all cautions and objections, of which page one may hold only the first."""
    yield Heading("All cautions and objections")
    approval = contents.approval
    accepted = () if approval is None else tuple(accepted_words(contents, approval))
    if accepted:
        yield Text("Accepted with the approval:", "strong")
        yield Listing(accepted)
    if approval is not None and approval.note:
        yield Text(phrase("In the words of {by}: “{note}”", by=approval.by, note=approval.note))
    looked_into = {} if approval is None else approval.acknowledged or {}
    if looked_into:
        yield Text("Cautions acknowledged by then, with their reasons:", "strong")
        yield Listing(tuple(f"{name}: {reason}" for name, reason in looked_into.items()))
    if contents.objections:
        yield Text("As the session stands now:", "strong")
        yield Listing(tuple(f"{each.name}: {each.sentence}" for each in contents.objections))
    sentences = tuple(caution_words(contents))
    for sentence in sentences:
        yield Text(sentence, "caution")
    if not accepted and not contents.objections and not sentences:
        yield Text("None.")


def logs_chapter(contents: Contents) -> Iterator[Block]:
    """Write which logs there are, on which revision they were driven, and what was assumed in reading them."""
    yield Heading("Logs, and what was assumed")
    if not contents.state.drives:
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
                _driven_on(contents, each.id),
                each.log.sha256,
            )
            for each in contents.state.drives
        ),
        words=(1, 2, 6),
    )
    for each in contents.state.drives:
        roles = [
            phrase("{role}: {channel}", role=role.replace("_", " "), channel=channel)
            for role, channel in each.log.roles.items()
        ]
        yield Text(phrase("Log {id}: {roles}.", id=each.id, roles="; ".join(roles) or "no channel has a role"), "small")
        if each.log.notes:
            yield Listing(each.log.notes)
        for question in each.log.questions:
            yield Text(phrase("Not answered: {question}", question=question.question), "caution")


def _driven_on(contents: Contents, number: int) -> str:
    revision = contents.state.history.driven(contents.state.drive(number), contents.name)
    return "–" if revision is None else str(revision.id)


def history_chapter(contents: Contents) -> Iterator[Block]:
    """Write every revision of the table, in whatever branch, with approvals and exports."""
    history = contents.state.history
    line = {each.id for each in history.line(contents.revision.id)}
    yield Heading("The whole history")
    yield Rows(
        ("revision", "from", "time, UTC", "by", "what was done", "note", "in the car, approved, exported"),
        tuple(
            (
                f"{each.id}{'' if each.id in line else ' (branch)'}{_branch(contents, each)}",
                "" if each.parent is None else str(each.parent),
                each.time,
                each.author,
                _done(history.moved(each), each),
                each.note,
                "; ".join(_handed(contents, each)),
            )
            for each in history.revisions
            if each.table.name == contents.name
        ),
        words=(0, 2, 3, 4, 5, 6),
    )
    for other in history.table_names:
        if other != contents.name:
            yield Text(
                phrase("The session also holds the table {other!r}, with a history of its own.", other=other), "small"
            )


def _done(factors: FloatArray, each: Revision) -> str:
    moved = factors[np.isfinite(factors) & (factors != 1)]
    extent = f", {counted(moved.size, 'cell')} {percent_text(moved)}" if moved.size else ""
    outright = int((~np.isfinite(factors)).sum()) if each.parent is not None else 0
    extent += phrase(", {cells} set outright", cells=counted(outright, "cell")) if outright else ""
    return f"{each.operation}{extent}"


def _branch(contents: Contents, each: Revision) -> str:
    name = contents.state.branches.get(each.id)
    return "" if name is None else f" “{name}”"


def _handed(contents: Contents, each: Revision) -> Iterator[str]:
    history = contents.state.history
    for mark in contents.state.in_car.get(each.table.name, ()):
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


def _plain(value: float) -> str:
    return f"{value:.2f}" if np.isfinite(value) else "–"
