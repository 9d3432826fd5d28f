"""What the logs say about a table, and the correction that follows from it."""

from collections.abc import Generator
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np

from workbench.commands.declaring.kinds import FIRST, Called, DelayParts, Drives, Note, Share, TableName
from workbench.commands.declaring.making import leaning, revise
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.evidence.evidence_report import (
    caution_json,
    delay_json,
    evidence_json,
    evidence_lines,
    nested,
    standing_names,
)
from workbench.commands.evidence.gathering import from_drives_with, gathered, own_drives
from workbench.commands.evidence.next_step import next_step
from workbench.commands.evidence.open_dangers import open_cautions
from workbench.commands.evidence.proposing import Asked, propose
from workbench.errors import InputError
from workbench.maths.questions import Looked, look_for_cautions
from workbench.maths.table.correction import Undriven
from workbench.maths.table.full_throttle import FullThrottle
from workbench.maths.verdict.prediction_check import PredictionCheck, check_prediction, drives_since, last_correction
from workbench.model.cells import ALL, Cells
from workbench.model.correction import Correction
from workbench.model.counting import counted
from workbench.model.evidence import Delay, Evidence, Source
from workbench.model.history import Json, Revision
from workbench.model.log import Drive
from workbench.model.state import Applied, State
from workbench.model.step import step as after_change
from workbench.phrases import join_phrases, phrase
from workbench.work import Progress

SourceName = Literal["both", "trims", "wideband"]
UNMOVED = 0.0005  # of a value, under which a correction is none: it is shown as 0.0 %


@command("Show the evidence", menu="Evidence", shortcut="Ctrl+E", icon="evidence", quiet=True)
def evidence(
    state: State,
    *,
    table: TableName = FIRST,
    from_: Drives = "all",
    source: SourceName = "both",
    delay: DelayParts = "",
) -> Job[Evidence]:
    """Show the measured airflow ratio of each cell, with its uncertainty.

    Args:
        table: the table to look at; the first one if not given.
        from_: which drives to use: all, latest, or numbers joined by commas.
        source: use trims and wideband, or only one of them.
        delay: state the wideband's delay instead of estimating it: FIXED_S,VOLUME_G,LAG_S.

    Example:
        evidence car.session --from latest
    """
    found = yield from gather_for(state, table, from_, source, delay)
    prediction = yield from prediction_of(state, table, source, delay)
    head = state.head(found.table.name)
    with_it = own_drives(state, head, found) if from_ == "all" else ()
    own = (yield from from_drives_with(state, head, with_it)) if with_it else None
    step = next_step(state, head, found, prediction, own)
    lean, warnings = leaning(state, head)
    dangers, doubts = open_cautions(state, found, "danger"), open_cautions(state, found, "doubt")
    told = [phrase("Caution: {why}", why=each) for each in doubts]
    told += [phrase("Danger: {why}", why=each) for each in dangers]
    lines = (*evidence_lines(found, prediction, own), *told, *warnings)
    return Answer(
        found,
        lambda: {
            **evidence_json(found, prediction, own),
            **lean,
            "dangers": list(dangers),
            "doubts": list(doubts),
            "next_step": None if step is None else step.json,
        },
        lines if step is None else (*lines, step.line),
    )


@dataclass(frozen=True, eq=False)
class Corrected:
    """What a correction did, and what there is to say of it besides."""

    correction: Correction
    remarks: tuple[str, ...]


@command(
    "Correct from the evidence",
    menu="Evidence",
    shortcut="Ctrl+Return",
    icon="correct",
    preview=True,
    past="Corrected",
    origin="measured",
)
def correct(
    state: State,
    *,
    share: Share = 1.0,
    limit: Share = 0.25,
    table: TableName = FIRST,
    from_: Drives = "all",
    source: SourceName = "both",
    delay: DelayParts = "",
    cells: Cells = ALL,
    without_thin: bool = False,
    undriven: Annotated[Undriven, Called("Undriven cells")] = "carry",
    accept: Annotated[tuple[str, ...], Called("Accepted objections", "CHECK")] = (),
    note: Note = "",
) -> Job[Corrected]:
    """Multiply the driven cells by their measured airflow ratio, and continue the correction into undriven cells.

    In undriven cells it is inferred: it continues that of the driven cells around, never beyond their range, or takes
    one factor over the range of the pulls. Where that, or a thin cell beyond those that were read, would lean high load
    it fades, until you accept that by name. The commanded mixture is never changed.

    Args:
        share: part of the step to apply.
        limit: largest step allowed, as a ratio.
        table: the table to correct; the first one if not given.
        from_: which drives to use: all, latest, or numbers joined by commas.
        source: use trims and wideband, or only one of them.
        delay: state the wideband's delay instead of estimating it: FIXED_S,VOLUME_G,LAG_S.
        cells: cells that may change.
        without_thin: keep thin cells as well.
        undriven: what to do with undriven cells: carry continues the correction, taper fades it out, leave
            keeps their value.
        accept: lean-step-at-high-load, to take the whole step where it leans cells with little evidence at high load.
        note: kept with the revision.

    Example:
        correct car.session --share 0.5 --note "first round, half a step"
    """
    found = yield from gather_for(state, table, from_, source, delay)
    asked = Asked(share, limit, cells, not without_thin, undriven, accept)
    proposed, full = propose(state, found, asked)
    if float(np.abs(proposed.multipliers - 1).max()) < UNMOVED:
        return _nothing_to_correct(state, found, proposed)
    after = found.table.with_values(found.table.values * proposed.multipliers)
    arguments: dict[str, Json] = {
        "share": share,
        "limit": limit,
        "cells": str(cells),
        "without_thin": without_thin,
        "undriven": undriven,
        "accepted": list(accept),
        **grounds(found, proposed, full),
    }
    change = revise(state, state.table_name(table), after, proposed.multipliers, "correct", arguments, note)
    return corrected_answer(state, change, found, proposed, full)


def _nothing_to_correct(state: State, found: Evidence, proposed: Correction) -> Answer[Corrected]:
    """Say that the table holds already what the drives say: a revision of it would be a step of nothing."""
    head = state.head(found.table.name)
    line = phrase(
        "Nothing changes: revision {id} of {table!r} holds already what these drives say, to {part:g} % in every cell.",
        id=head.id,
        table=head.table.name,
        part=100 * UNMOVED,
    )
    data: dict[str, Json] = {"revision": head.id, "changed": 0, "notes": [line]}
    return Answer(Corrected(proposed, (line,)), lambda: data, (line,))


def grounds(found: Evidence, proposed: Correction, full: FullThrottle | None) -> dict[str, Json]:
    """Return what a correction rests on and what it expects of the next drive, to be kept with its revision."""
    return {
        "source": found.source,
        "drives": list(found.drives),
        "standing": standing_names(found),
        "full_throttle": found.full_throttle.tolist(),
        "expected": nested(found.ratio / proposed.multipliers),
        "half_width": nested(found.half_width),
        "inferred": nested(found.inferred) if found.inferred.size else None,
        "inferred_half_width": nested(found.inferred_half_width) if found.inferred_half_width.size else None,
        "continued": proposed.inferred.tolist(),
        "full_throttle_factor": _factor_json(found, full),
        "delay": {str(number): delay_json(each) for number, each in found.delay.items()},
        "gates": [{"name": gate.name, "rejected": gate.rejected} for gate in found.gates],
    }


def _factor_json(found: Evidence, full: FullThrottle | None) -> Json:
    """Return what the pulls say as a whole; None where they say too little."""
    if full is None:
        return None
    stands = full.inside & ~found.driven if full.known else np.zeros_like(full.inside)
    return {
        "factor": full.factor,
        "half_width": full.half_width,
        "half_width_of_a_cell": full.of_a_cell,
        "low": list(full.low),
        "high": list(full.high),
        "pulls": full.pulls,
        "samples": full.samples,
        "cells": [[int(i) for i in at] for at in np.argwhere(stands)],
    }


def corrected_answer(
    state: State, change: Applied, found: Evidence, proposed: Correction, full: FullThrottle | None
) -> Answer[Corrected]:
    """Return what a correction did, and what comes next."""
    revision = change.revision
    after = after_change(state, change)
    step = next_step(after, revision, found)
    lean, warnings = leaning(after, revision)
    doubts = doubts_of(state, found)

    def as_json() -> dict[str, Json]:
        return {
            "revision": revision.id,
            "multipliers": nested(proposed.multipliers),
            "values": nested(revision.table.values),
            "changed": int(proposed.changed.sum()),
            "inferred": int(proposed.inferred.sum()),
            "held_back": int(proposed.held_back.sum()),
            "full_throttle": _factor_json(found, full),
            "limited": int(proposed.limited.sum()),
            "notes": list(proposed.notes),
            **lean,
            "doubts": list(doubts),
            "next_step": None if step is None else step.json,
        }

    moved = proposed.multipliers[proposed.changed if proposed.changed.any() else proposed.inferred | proposed.held_back]
    line = phrase(
        "Revision {revision}: {moved} of {multipliers} cells corrected, by {moved_min:+.1f} "
        "% to {moved_max:+.1f} %, from {samples}.",
        revision=revision.id,
        moved=moved.size,
        multipliers=proposed.multipliers.size,
        moved_min=100 * (moved.min() - 1),
        moved_max=100 * (moved.max() - 1),
        samples=counted(found.samples_used, "sample"),
    )
    thin = int(((proposed.multipliers != 1) & ~proposed.changed & found.driven).sum())  # notes tell of undriven ones
    if proposed.changed.any() and thin:
        line = join_phrases(" ", (line, phrase("{cells} inferred from them.", cells=counted(thin, "more thin cell"))))
    remarks = (*warnings, *proposed.notes, *doubts)
    lines = (line, *remarks, *(() if step is None else (step.line,)))
    return Answer(Corrected(proposed, remarks), as_json, lines, change, warnings=warnings)


def doubts_of(state: State, found: Evidence) -> tuple[str, ...]:
    """Return what makes evidence doubtful, as sentences: what calls for care in its drives, then its own notes.

    The notes say also which drives were left out, and which were named although they contradict themselves.
    """
    cautions = tuple(
        phrase("{log}: {caution}", log=state.drive(number).log.name, caution=caution.sentence)
        for number, caution in found.cautions
    )
    return tuple(dict.fromkeys((*cautions, *found.notes)))


@command("Show the cautions", menu="Evidence", icon="cautions", opens="answer")
def cautions(state: State, *, table: TableName = FIRST, from_: Drives = "all") -> Answer[tuple[Looked, ...]]:
    """Show what in the logs could harm the engine or weakens the evidence.

    Args:
        table: the table that was driven; the first one if not given.
        from_: which drives to use: all, latest, or numbers joined by commas.

    Example:
        cautions car.session
    """
    name = state.table_name(table)
    lines = []
    looks = tuple(look_for_cautions(state.history, drives_named(state, from_), name, state.settings))
    for looked in looks:
        drive = looked.drive
        if looked.refusal:
            lines.append(phrase("{log} was not checked: {refusal}", log=drive.log.name, refusal=looked.refusal))
        for caution in looked.cautions:
            known = state.acknowledgement(drive.id, caution)
            settled = (
                "" if known is None else phrase(" Acknowledged by {by}: {reason}", by=known.by, reason=known.reason)
            )
            lines.append(f"{drive.id}:{caution.name}  {drive.log.name}: {caution.sentence}{settled}")

    def as_json() -> dict[str, Json]:
        listed = [(each.drive.id, caution) for each in looks for caution in each.cautions]
        return {"cautions": [caution_json(*each, state.acknowledgement(*each)) for each in listed]}

    return Answer(looks, as_json, tuple(lines) or ("No cautions in the logs.",))


def gather_for(
    state: State, table: str, from_: str, source: Source, delay: str, against: Revision | None = None
) -> Generator[Progress, None, Evidence]:
    """Gather evidence for a table of a session from the drives that were named, against its head if not said."""
    drives = drives_named(state, from_)
    trusted = frozenset(drive.id for drive in drives) if from_ not in ("all", "latest") else frozenset[int]()
    return (yield from gathered(state, against or state.head(table), drives, source, stated(delay), trusted))


def prediction_of(
    state: State, table: str, source: Source, delay: str, revision: Revision | None = None
) -> Generator[Progress, None, PredictionCheck | None]:
    """Compare the last correction with the drives made with it in the car; None where there is neither.

    It is the last one on the way to the table's head, if no other revision is given.
    """
    correction_made = last_correction(state.history, revision or state.head(table))
    if correction_made is None:
        return None
    since = drives_since(state.history, state.drives, correction_made)
    if not since:
        return None
    trusted = frozenset(drive.id for drive in since)
    try:
        seen = yield from gathered(state, correction_made, since, source, stated(delay), trusted)
    except InputError:  # nothing in those drives passes the gates: there is nothing to hold it against
        return None
    return check_prediction(state.history, correction_made, seen, state.drives)


def drives_named(state: State, words: str) -> tuple[Drive, ...]:
    """Choose drives: all, latest, or numbers joined by commas.

    Raises:
        InputError: when the words are none of these, or there is no such drive.
    """
    if words == "all":
        return state.drives
    if words == "latest":
        return state.drives[-1:]
    if not words.strip():
        raise InputError("No drive is named.", "Name at least one, or give all or latest.")
    try:
        numbers = [int(word) for word in words.split(",")]
    except ValueError:
        raise InputError(
            phrase("Drives {words!r} cannot be read.", words=words), "Write all, latest, or numbers as in 1,3."
        ) from None
    return tuple(state.drive(number) for number in dict.fromkeys(numbers))


def _delay_parts(words: str) -> tuple[float, float, float]:
    """Read the parts of a stated delay.

    Raises:
        ValueError: when they cannot be read.
    """
    parts = [part.strip() for part in words.split(",")]
    if any("=" in part for part in parts):
        named = {name.strip(): float(value) for name, _, value in (part.partition("=") for part in parts)}
        if not set(named) <= {"fixed", "volume", "lag"} or len(named) < len(parts):
            raise ValueError(words)
        return named.get("fixed", 0.0), named.get("volume", 0.0), named.get("lag", 0.0)
    if len(parts) == 1:
        return float(parts[0]), 0.0, 0.0
    fixed, volume, lag = (float(part) for part in parts)
    return fixed, volume, lag


def stated(words: str) -> Delay | None:
    """Read a delay stated as seconds, or as FIXED_S,VOLUME_G,LAG_S; empty means it is to be estimated.

    The three may be named, as in fixed=0.1,volume=1.0,lag=0.08; what is left out is 0.

    Raises:
        InputError: when the words are not three numbers in their ranges.
    """
    if not words.strip():
        return None
    try:
        fixed, volume, lag = _delay_parts(words)
    except ValueError:
        raise InputError(
            phrase("The delay {words!r} cannot be read.", words=words),
            "Write seconds as in 1.1, FIXED_S,VOLUME_G,LAG_S as in 0.1,1.0,0.08, or fixed=0.1,volume=1.0,lag=0.08.",
        ) from None
    if not (0 <= fixed <= 5 and 0 <= volume <= 50 and 0 <= lag <= 2):
        raise InputError(
            phrase("The delay {words!r} is out of range.", words=words), "Give 0..5 s, 0..50 g and 0..2 s."
        )
    return Delay(fixed, volume, lag, "stated")
