"""What the drives themselves say against a revision: where it is off, what nobody drove, and what to be wary of."""

from collections.abc import Iterator

import numpy as np

from workbench.maths.verdict.approval_case import Case, Objection, indices
from workbench.maths.verdict.high_load import lean_at_full_throttle
from workbench.model.evidence import Evidence, Target
from workbench.phrases import join_phrases, phrase

ENOUGH_PROVEN = 0.5  # of what was driven at a throttle: common practice, no source
UNKNOWN = 2.0  # limits, from which a cell is known too little to call full throttle proven: common practice, no source
PULL_AGAIN = "Make pulls that lead through it, or see to it that its neighbours bear it out."
PART, FULL = "part-throttle", "full-throttle"
OUTSIDE, NOT_DRIVEN, UNPROVEN = "-outside", "-not-driven", "-unproven"
WORD_NOT_KEPT, CAUTIONS = "word-not-kept", "open-cautions"


def from_drives(case: Case) -> Iterator[Objection]:
    """List what speaks against a revision by what its evidence says; nothing where none was gathered for it."""
    evidence = case.relevant_evidence
    if evidence is None:
        return
    speaking = case.with_it or frozenset(evidence.drives)
    for name, target, full in ((PART, evidence.part_target, False), (FULL, evidence.full_target, True)):
        driven = any(np.any(each.full_throttle == full) for each in evidence.kept if each.drive in speaking)
        yield from _of_regime(case, name, target, driven=driven, evidence=evidence)
    yield from _word_not_kept(case)
    yield from _open_cautions(case, evidence)


def _of_regime(case: Case, name: str, target: Target, *, driven: bool, evidence: Evidence) -> Iterator[Objection]:
    words = name.replace("-", " ").capitalize()
    if target.worst_cell is not None and abs(target.worst) > target.limit:
        yield Objection(
            name + OUTSIDE,
            phrase(
                "{words} is outside its target: {shares}, {worst_of}. Correct, then drive again.",
                words=words,
                shares=target.shares,
                worst_of=target.worst_of(evidence.table),
            ),
            (target.worst_cell,),
        )
    if not driven:
        which = phrase("revision {revision} in the car", revision=case.revision.id) if case.with_it else "any revision"
        how = "make pulls with a wideband" if name == FULL else "drive on part throttle"
        yield Objection(
            name + NOT_DRIVEN,
            phrase(
                "{words} was not driven with {which}, so nothing confirms it; {how}.", words=words, which=which, how=how
            ),
        )
    elif not target.proven >= ENOUGH_PROVEN:
        yield Objection(
            name + UNPROVEN,
            phrase(
                "{words} is uncertain: {proven:.0f} % of what was driven there lies in proven cells. "
                "Drive there again, twice at least.",
                words=words,
                proven=100 * np.nan_to_num(target.proven),
            ),
        )
    elif name == FULL and target.widest > UNKNOWN * target.limit and target.widest_cell is not None:
        yield Objection(
            name + UNPROVEN,
            phrase(
                "{words} is uncertain at {where}: known to ±{half:.1f} %, wanted within ±{limit:g} %. {advice}",
                words=words,
                where=evidence.table.cell_name(target.widest_cell),
                half=100 * target.widest,
                limit=100 * target.limit,
                advice=PULL_AGAIN,
            ),
            (target.widest_cell,),
        )


def _word_not_kept(case: Case) -> Iterator[Objection]:
    """Object where a correction was not right and its values still stand."""
    prediction = case.prediction
    made = next((each for each in case.line if prediction is not None and each.id == prediction.revision), None)
    if prediction is None or made is None or not made.table.same_axes(case.table):
        return
    cells = indices(prediction.left_outside & (made.table.values == case.table.values))
    if cells:
        yield Objection(WORD_NOT_KEPT, join_phrases(" ", prediction.sentences), cells)


def _open_cautions(case: Case, evidence: Evidence) -> Iterator[Objection]:
    """Object to what calls for care; what came of an earlier table is settled by driving without it.

    A danger of an earlier table counts on while full throttle is expected as lean with this one; one in a log that
    does not count until somebody looked into it, since no evidence tells whether this table mends it.
    """
    as_lean = lean_at_full_throttle(evidence, case.settings.limits.lean)
    names = {drive.id: drive.log.name for drive in case.drives}
    found = [
        phrase("{log}: {caution}", log=names.get(number, number), caution=caution.sentence)
        for number, caution in evidence.cautions
        if not caution.passes
        or number in case.with_it
        or (caution.kind == "danger" and (as_lean or number not in evidence.drives))
    ]
    if found:
        told_of = join_phrases(" ", dict.fromkeys(found))
        yield Objection(CAUTIONS, phrase("Cautions in the logs: {told_of}", told_of=told_of))
