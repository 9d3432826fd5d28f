"""Page one of a report: what was asked, before and after, and who stands by it in spite of what."""

from collections.abc import Iterable, Iterator

import numpy as np

from workbench.commands.evidence.approval_grounds import fallen_grounds
from workbench.commands.evidence.verdict import judgement
from workbench.commands.report.contents import Contents
from workbench.files.export.blocks import AFTER, BEFORE, Block, Heading, Listing, Rows, Text
from workbench.files.export.charts import ChartSeries, chart
from workbench.model.arrays import FloatArray
from workbench.model.evidence import Evidence, Target
from workbench.model.history import Approval
from workbench.model.table import Table
from workbench.phrases import phrase

WORTH = 0.005  # errors under half a percent are none: common practice, no source
MOST, LONGEST = 5, 260  # sentences of a kind on page one, and characters of one; the rest stands in the whole list


def page_one(contents: Contents) -> Iterator[Block]:
    """Write page one."""
    table, state = contents.revision.table, contents.state
    yield Heading(phrase("{name}: {label}", name=table.name, label=table.value_label), 1)
    yield Text(
        phrase(
            "Revision {id} of the session {session}, reported on {time}.",
            id=contents.revision.id,
            session=contents.session,
            time=contents.written,
        ),
        "small",
    )
    yield from _standing(contents)
    yield Heading("What was asked")
    yield Text(
        phrase(
            "Bring the delivered mixture to the commanded one: within ±{part:g} % at part throttle and ±{full:g} % at "
            "full throttle. The table was imported as revision {first} on {time}.",
            part=100 * state.settings.part_throttle_target,
            full=100 * state.settings.full_throttle_target,
            first=contents.first.id,
            time=contents.first.time,
        )
    )
    if contents.first.note:
        yield Text(f"“{contents.first.note}”")
    yield Heading("Before and after")
    yield from before_and_after(contents)
    yield from _accepted(contents)
    yield from _cautions(contents)
    yield from error_pictures(contents)


def _standing(contents: Contents) -> Iterator[Block]:
    approval = contents.approval
    if approval is None:
        yield Text("Not approved: a draft.", "strong")
    else:
        yield Text(phrase("Approved by {by} on {time}.", by=approval.by, time=approval.time), "strong")
        if fallen := fallen_grounds(contents.state, contents.revision, contents.found):
            yield Text(fallen, "strong")
        signatures = contents.state.history.signatures.get(contents.revision.id, ())
        for signed in signatures:
            yield Text(
                phrase("Signed by {by} on {time} with the key {key}.", by=signed.by, time=signed.time, key=signed.key),
                "code",
            )
        if not signatures:
            yield Text("The approval is not signed: it shows the name that was typed, not who typed it.", "small")
    yield Text(phrase("Digest {digest}", digest=contents.revision.digest), "code")


def before_and_after(contents: Contents) -> Iterator[Block]:
    """Write how far the mixture was off with the first table, and how far it is with this one."""
    yield Rows(
        (
            "",
            phrase("before: revision {id}", id=contents.first.id),
            phrase("now: revision {id}", id=contents.revision.id),
        ),
        tuple(
            (
                regime,
                _measured(contents.before, full=full),
                _now(contents, full=full),
            )
            for regime, full in (("part throttle", False), ("full throttle", True))
        ),
        words=(0, 1, 2),
    )
    if contents.refusal:
        yield Text(contents.refusal, "caution")


def error_pictures(contents: Contents) -> Iterator[Block]:
    """Draw how far the table was off and is, cell by cell."""
    if contents.found is None:
        return
    drawn = tuple(_curve_errors(contents) if contents.revision.table.kind == "curve" else _grid_errors(contents))
    if drawn:
        yield Heading("Error before and now")
        yield from drawn


def _target(found: Evidence, *, full: bool) -> Target:
    return found.full_target if full else found.part_target


def _measured(found: Evidence | None, *, full: bool) -> str:
    if found is None:
        return "not driven"
    target = _target(found, full=full)
    if target.worst_cell is None:
        return "not driven"
    drives = drives_words(found.drives)
    return phrase("{figures} ({drives})", figures=target.figures(found.table), drives=drives)


def drives_words(numbers: Iterable[int]) -> str:
    """Name drives by their numbers."""
    listed = [str(number) for number in numbers]
    if len(listed) == 1:
        return phrase("drive {number}", number=listed[0])
    return phrase("drives {numbers}", numbers=", ".join(listed))


def _now(contents: Contents, *, full: bool) -> str:
    """Say what drives with this revision show; where there are none, that it is not driven, and what is expected."""
    after = contents.after
    if after is not None and _target(after, full=full).worst_cell is not None:
        target = _target(after, full=full)
        pooled = None if contents.found is None else _target(contents.found, full=full)
        return phrase("{said}.", said=judgement(target, pooled, after.table, drives_words(after.drives)))
    if contents.found is None or _target(contents.found, full=full).worst_cell is None:
        return "Not driven yet with this revision."
    return phrase(
        "Not driven yet with this revision. Expected from earlier drives: {worst}.",
        worst=_target(contents.found, full=full).worst_of(contents.found.table),
    )


def shown_after(contents: Contents) -> tuple[Evidence | None, str]:
    """Return the evidence that pictures show for the revision, and what to call it."""
    if contents.after is not None:
        return contents.after, phrase("revision {id}, driven", id=contents.revision.id)
    return contents.found, phrase("revision {id}, expected: not driven yet", id=contents.revision.id)


def _curve_errors(contents: Contents) -> Iterator[Block]:
    after, name = shown_after(contents)
    axis = contents.revision.table.axes[0]
    series = []
    if contents.before is not None and contents.first is not contents.revision:
        series.append(_errors(contents.before, phrase("revision {id}, driven", id=contents.first.id), before=True))
    if after is not None:
        series.append(_errors(after, name, before=False))
    settings = contents.state.settings
    limits = tuple(100 * each for each in (settings.part_throttle_target, settings.full_throttle_target))
    drawn = chart(
        "Error of the table over its axis, before and now, with 95 % intervals",
        axis.label,
        "table off by, %",
        series,
        limits=limits,
    )
    if drawn is not None:
        yield drawn
        yield Text(
            phrase(
                "True airflow over the table's, less 1, in driven cells, with the 95 % interval; the dotted lines are "
                "the targets, ±{part:g} and ±{full:g} %.",
                part=limits[0],
                full=limits[1],
            ),
            "small",
        )


def _errors(found: Evidence, name: str, *, before: bool) -> ChartSeries:
    y = np.where(found.driven, 100 * (found.ratio - 1), np.nan)
    half = np.where(found.driven, 100 * found.half_width, np.nan)
    pen = BEFORE if before else AFTER
    return ChartSeries(name, found.table.axes[0].breakpoints, y, pen, "ring" if before else "dot", half)


def _grid_errors(contents: Contents) -> Iterator[Block]:
    after, name = shown_after(contents)
    pictures = [(after, name)]
    if contents.before is not None and contents.first is not contents.revision:
        pictures.insert(0, (contents.before, phrase("revision {id}, driven", id=contents.first.id)))
    for found, title in pictures:
        if found is None or (found is contents.found and not _worth_showing(found)):
            continue
        yield Text(
            phrase(
                "Table off by, %, in driven cells: {title}. Rows: {rows}; columns: {columns}.",
                title=title,
                rows=found.table.axes[0].label,
                columns=found.table.axes[1].label,
            ),
            "small",
        )
        errors = np.where(found.driven, 100 * (found.ratio - 1), np.nan)
        yield grid_rows(found.table, errors, 100 * contents.state.settings.part_throttle_target)


def _worth_showing(expected: Evidence) -> bool:
    """Tell whether drives with earlier tables expect anything to be left: of a whole correction next to nothing is."""
    off = np.abs(expected.ratio[expected.driven] - 1)
    return bool(off.size and off.max() >= WORTH)


def grid_rows(table: Table, values: FloatArray, full_shade: float) -> Rows:
    """Write a number for each cell of a grid, shaded by its size up to a full shade."""
    rows_axis, columns_axis = table.axes
    shades = tuple(
        (None, *(float(v) / full_shade if np.isfinite(v) and full_shade else None for v in row)) for row in values
    )
    return Rows(
        ("", *(f"{x:.6g}" for x in columns_axis.breakpoints)),
        tuple(
            (f"{y:.6g}", *(_off(float(v)) for v in row)) for y, row in zip(rows_axis.breakpoints, values, strict=True)
        ),
        dense=True,
        shades=shades,
    )


def _off(value: float) -> str:
    text = f"{value:+.1f}" if np.isfinite(value) else ""
    return "0.0" if text in ("+0.0", "-0.0") else text


def _accepted(contents: Contents) -> Iterator[Block]:
    approval = contents.approval
    if approval is None:
        if contents.objections:
            yield Heading("Objections to this draft")
            yield Listing(_first(tuple(f"{each.name}: {each.sentence}" for each in contents.objections)))
        return
    yield Heading("Objections that were accepted")
    if not approval.accepted:
        yield Text("There were none.")
    else:
        yield Listing(_first(tuple(accepted_words(contents, approval))))
    if approval.note:
        yield Text(phrase("In the words of {by}: “{note}”", by=approval.by, note=_cut(approval.note)))
    elif approval.accepted:
        yield Text("No reason was written down.")


def accepted_words(contents: Contents, approval: Approval) -> Iterator[str]:
    """Say what each accepted objection said: as it was kept, or else as it reads now."""
    now = {each.name: each.sentence for each in contents.objections}
    for name in approval.accepted:
        kept = (approval.objections or {}).get(name)
        if kept is not None:
            yield f"{name}: {kept}"
        elif name in now:
            yield phrase("{name}; as it reads now: {sentence}", name=name, sentence=now[name])
        else:
            yield phrase("{name} (its words were not kept, and it no longer stands)", name=name)


def _cautions(contents: Contents) -> Iterator[Block]:
    sentences = tuple(caution_words(contents))
    yield Heading("Cautions from the logs")
    if not sentences:
        yield Text("None." if contents.state.drives else "No logs, so none were looked for.")
    for sentence in _first(sentences):
        yield Text(sentence, "caution")


def caution_words(contents: Contents) -> Iterator[str]:
    """Say every caution, and why it may stand where somebody said so; what was not checked is said first."""
    for looked in contents.looks:
        if looked.refusal:
            yield phrase("{log} was not checked: {refusal}", log=looked.drive.log.name, refusal=looked.refusal)
        for caution in looked.cautions:
            known = contents.state.acknowledgement(looked.drive.id, caution)
            driven = contents.state.history.driven(looked.drive, contents.name)
            settled = "" if contents.approval is None else phrase(" Not acknowledged.")
            if known is not None:
                settled = phrase(" Acknowledged by {by}: {reason}", by=known.by, reason=known.reason)
            elif caution.passes and driven is not None and driven is not contents.revision:
                settled = phrase(" That was with revision {driven} in the car.", driven=driven.id)
            yield phrase(
                "{log}: {caution}{settled}", log=looked.drive.log.name, caution=caution.sentence, settled=settled
            )


def _first(sentences: tuple[str, ...]) -> tuple[str, ...]:
    """Return what page one has room for; the rest, and all of what was cut, stands where the whole lists do."""
    shown = tuple(_cut(each) for each in sentences[:MOST])
    left = len(sentences) - MOST
    if left > 0:
        return (*shown, phrase("{left} more stand under “All cautions and objections”.", left=left))
    return shown


def _cut(text: str) -> str:
    if len(text) <= LONGEST:
        return text
    return phrase("{begins} … (see “All cautions and objections”)", begins=text[:LONGEST].rsplit(" ", 1)[0])
