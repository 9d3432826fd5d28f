"""What a correction may do without being asked: where nobody drove it leans high load only to avoid a cliff."""

from dataclasses import replace

import numpy as np

from workbench.errors import InputError
from workbench.maths.drives.drive_fit import smoothing_baseline
from workbench.maths.table.continuing import set_by_hand
from workbench.maths.table.correction import Undriven, correction
from workbench.maths.verdict.high_load import barometer, high_load, leans
from workbench.maths.verdict.objections import LEAN_STEP
from workbench.model.arrays import BoolArray
from workbench.model.cells import Cells
from workbench.model.correction import Correction
from workbench.model.counting import counted
from workbench.model.evidence import Evidence
from workbench.model.state import State
from workbench.phrases import flag, phrase

OF_CLIFF = 0.9  # a correction's own steps stay under what counts as a cliff by this share


def propose(
    state: State,
    found: Evidence,
    *,
    share: float,
    limit: float,
    cells: Cells,
    thin: bool,
    undriven: Undriven,
    accept: tuple[str, ...],
) -> Correction:
    """Propose a correction; where it would lean cells without evidence at high load it fades there until accepted.

    Raises:
        InputError: when something else is accepted, a number is out of its range, or nothing is left to correct.
    """
    if unknown := [name for name in accept if name != LEAN_STEP]:
        raise InputError(
            phrase("A correction has no objection {name!r}.", name=unknown[0]),
            phrase("The only one to accept here is {name}.", name=LEAN_STEP),
        )
    head = state.history.revision(found.revision)
    by_hand = set_by_hand(state.history, head)

    def made(held: BoolArray, fades: BoolArray | None = None) -> Correction:
        return correction(
            found,
            share=share,
            limit=limit,
            cells=cells.mask(found.table),
            thin=thin,
            undriven=undriven,
            held=held,
            fades=fades,
            baseline=smoothing_baseline(state.history, head).values,
            step=OF_CLIFF * float(np.log1p(state.settings.limits.cliff)),
        )

    free, proposed = made(np.zeros_like(by_hand)), made(by_hand)
    notes = list(proposed.notes)
    if kept := int((free.inferred & ~proposed.inferred).sum()):
        keep = "was set by hand and keeps its" if kept == 1 else "were set by hand and keep their"
        notes.append(phrase("{kept} of them {keep} value.", kept=kept, keep=keep))
    lean = _lean(state, found, proposed)
    if not lean.any() or LEAN_STEP in accept:
        return replace(proposed, notes=tuple(notes))
    fading = made(by_hand, lean)
    return replace(fading, notes=(*fading.notes, _fades(found, proposed, fading, lean)), held_back=lean)


def _fades(found: Evidence, proposed: Correction, fading: Correction, lean: BoolArray) -> str:
    """Tell what the whole step would be at high load without evidence, and what is left of it."""
    worst = tuple(int(i) for i in np.argwhere(lean)[np.argmax(np.abs(proposed.multipliers[lean] - 1))])
    return phrase(
        "{cells} without evidence at high load would become leaner like the driven cells around, by up to {step:+.1f} "
        "% at {at}. Instead the correction fades there within {steps}, from {left:+.1f} %. Drive there first, or "
        "accept the whole step with {accept}.",
        cells=counted(int(lean.sum()), "cell"),
        step=100 * (proposed.multipliers[worst] - 1),
        at=found.table.cell_name(worst),
        steps=counted(int((fading.multipliers[lean] < 1).sum()), "cell"),
        left=100 * float(fading.multipliers[lean].min() - 1),
        accept=flag("accept", LEAN_STEP),
    )


def _lean(state: State, found: Evidence, proposed: Correction) -> BoolArray:
    """Mark the cells without evidence at high load that a correction would make leaner."""
    table = found.table
    pressure = barometer(state.drives) if table.kind == "grid" else 0.0
    loaded = high_load(table, table.values, pressure)
    if found.at_full is not None:
        loaded = loaded | found.at_full
    return proposed.inferred & leans(table, proposed.multipliers - 1) & loaded
