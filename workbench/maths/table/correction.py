"""From evidence to the multipliers that are proposed for a table."""

import numpy as np

from workbench.errors import InputError
from workbench.model.arrays import BoolArray
from workbench.model.correction import Correction
from workbench.model.counting import counted
from workbench.model.evidence import Evidence
from workbench.phrases import phrase


def correction(
    evidence: Evidence, *, share: float = 1.0, limit: float = 0.25, cells: BoolArray | None = None, thin: bool = True
) -> Correction:
    """Propose multipliers: 1 + share * (ratio - 1), the step cut to the limit; undriven cells are left alone.

    Args:
        evidence: what the logs say.
        share: part of the step to take, 0..1.
        limit: largest step allowed, as a ratio above 0.
        cells: cells that may change, shape of the table; all by default.
        thin: whether thin cells are corrected too.

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
    step = share * (np.where(changed, evidence.ratio, 1.0) - 1)
    limited = changed & (np.abs(step) > limit)
    multipliers = 1 + np.clip(step, -limit, limit)
    return Correction(multipliers, changed, limited, share, limit, _notes(evidence, changed, limited, allowed, thin))


def _notes(
    evidence: Evidence, changed: BoolArray, limited: BoolArray, allowed: BoolArray, thin: bool
) -> tuple[str, ...]:
    notes = []
    undriven = int((~evidence.driven & allowed).sum())
    if undriven:
        keep = "keeps its" if undriven == 1 else "keep their"
        notes.append(phrase("{cells} without evidence {keep} value.", cells=counted(undriven, "cell"), keep=keep))
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
