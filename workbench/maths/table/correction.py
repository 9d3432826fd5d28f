"""From evidence to the multipliers that are proposed for a table."""

from typing import Literal

import numpy as np

from workbench.errors import InputError
from workbench.maths.table.continuing import fading
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.correction import Correction
from workbench.model.counting import counted
from workbench.model.evidence import Evidence
from workbench.phrases import phrase

Undriven = Literal["carry", "taper", "leave"]


def correction(
    evidence: Evidence,
    *,
    share: float = 1.0,
    limit: float = 0.25,
    cells: BoolArray | None = None,
    thin: bool = True,
    undriven: Undriven = "carry",
    held: BoolArray | None = None,
) -> Correction:
    """Propose multipliers: 1 + share * (ratio - 1), the step cut to the limit, continued into undriven cells.

    Args:
        evidence: what the logs say.
        share: part of the step to take, 0..1.
        limit: largest step allowed, as a ratio above 0.
        cells: cells that may change, shape of the table; all by default.
        thin: whether thin cells are corrected too.
        undriven: what becomes of cells without evidence: carry takes what the smooth surface says there, taper lets the
            step fade to nothing, leave keeps their value.
        held: undriven cells that keep their value all the same, shape of the table.

    Raises:
        InputError: when share or limit is out of its range, or nothing is left to correct.
    """
    if not 0 <= share <= 1:
        raise InputError(
            phrase("A share of {share:g} is not possible.", share=share),
            "Give a share from 0 (nothing) to 1 (the whole step).",
        )
    if not 0 < limit <= 1:
        raise InputError(
            phrase("A limit of {limit:g} is not possible.", limit=limit),
            "Give the largest step as a ratio, as in 0.25.",
        )
    allowed = np.ones(evidence.table.shape, dtype=np.bool_) if cells is None else cells
    known = evidence.driven if thin else evidence.stands("proven")
    changed = known & allowed
    if not changed.any():
        raise InputError(
            "None of the chosen cells was driven enough to be corrected.",
            "Choose other cells, or drive there first: the evidence says where samples are missing.",
        )
    wanted = _continued(evidence, undriven)
    follows = ~evidence.driven & allowed & (wanted != 1)
    if held is not None:
        follows &= ~held
    step = share * (np.where(changed | follows, wanted, 1.0) - 1)
    limited = (changed | follows) & (np.abs(step) > limit)
    multipliers = 1 + np.clip(step, -limit, limit)
    notes = [*_of_undriven(evidence, allowed, follows, undriven), *_notes(evidence, changed, limited, allowed, thin)]
    return Correction(multipliers, changed, limited, share, limit, tuple(notes), follows, np.zeros_like(follows))


def _continued(evidence: Evidence, undriven: Undriven) -> FloatArray:
    """Give the ratio that each cell is taken to, shape of the table; 1 where it keeps its value."""
    known = np.where(evidence.driven, evidence.ratio, 1.0)
    if undriven == "leave" or evidence.driven.all():
        return known
    if undriven == "taper":
        return fading(evidence.table, known, evidence.driven)
    there = np.isfinite(evidence.inferred) if evidence.inferred.size else np.zeros_like(evidence.driven)
    return np.where(evidence.driven | ~there, known, evidence.inferred if evidence.inferred.size else 1.0)


def _of_undriven(evidence: Evidence, allowed: BoolArray, follows: BoolArray, undriven: Undriven) -> list[str]:
    notes, many = [], int(follows.sum())
    if many and undriven == "carry":
        carry = "follows" if many == 1 else "follow"
        notes.append(
            phrase(
                "{cells} without evidence {carry} the driven cells around: inferred, not measured. Drive there when "
                "you can.",
                cells=counted(many, "cell"),
                carry=carry,
            )
        )
    elif many:
        cells = counted(many, "cell")
        notes.append(phrase("In {cells} without evidence the correction fades out.", cells=cells))
    kept = int((~evidence.driven & allowed & ~follows).sum())
    if kept:
        keep = "keeps its" if kept == 1 else "keep their"
        notes.append(phrase("{cells} without evidence {keep} value.", cells=counted(kept, "cell"), keep=keep))
    return notes


def _notes(
    evidence: Evidence, changed: BoolArray, limited: BoolArray, allowed: BoolArray, thin: bool
) -> tuple[str, ...]:
    notes = []
    weak = changed & evidence.stands("thin")
    if weak.any():
        notes.append(
            phrase(
                "{thin} corrected too; their intervals are wide: check them before approving.",
                thin=_thin(int(weak.sum()), "is", "are"),
            )
        )
    carried = int((weak & (evidence.visits == 0)).sum())
    if carried:
        were = "was only passed through: it follows" if carried == 1 else "were only passed through: they follow"
        notes.append(phrase("{carried} of them {were} the cells around.", carried=carried, were=were))
    if not thin and evidence.stands("thin").any():
        notes.append(
            phrase("{thin} value, as asked.", thin=_thin(int(evidence.stands("thin").sum()), "keeps its", "keep their"))
        )
    if not allowed.all():
        left = int((evidence.driven & ~allowed).sum())
        kept = "was not chosen and keeps its" if left == 1 else "were not chosen and keep their"
        notes.append(f"{counted(left, 'driven cell')} {kept} value.")
    if limited.any():
        where = evidence.table.cell_name(tuple(int(i) for i in np.argwhere(limited)[0]))
        many = counted(int(limited.sum()), "cell")
        notes.append(phrase("{many} reached the limit, the first at {where}: find out why.", many=many, where=where))
    return tuple(notes)


def _thin(number: int, singular: str, plural: str) -> str:
    return f"{counted(number, 'thin cell')} {singular if number == 1 else plural}"
