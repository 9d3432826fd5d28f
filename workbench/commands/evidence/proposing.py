"""What a correction may do without being asked: where little was read it leans high load only to avoid a cliff."""

from dataclasses import dataclass, replace

import numpy as np

from workbench.errors import InputError
from workbench.maths.drives.drive_fit import smoothing_baseline
from workbench.maths.table.continuing import set_by_hand
from workbench.maths.table.correction import Undriven, correction
from workbench.maths.table.full_throttle import FullThrottle, full_throttle
from workbench.maths.table.own_readings import borne_out
from workbench.maths.verdict.high_load import barometer, high_load, leans
from workbench.maths.verdict.objections import LEAN_STEP
from workbench.model.arrays import BoolArray
from workbench.model.cells import Cells
from workbench.model.correction import Correction
from workbench.model.counting import counted
from workbench.model.evidence import Evidence
from workbench.model.state import State
from workbench.phrases import flag, join_phrases, phrase, plural_phrase

COMMAND_STAYS = "The commanded mixture is never changed: only the airflow is corrected."
OF_HIGH_LOAD = (
    0.75  # of the pressure of high load, from which a thin cell is leaned no further than was read (no source)
)
OF_CLIFF = 0.9  # a correction's own steps stay under what counts as a cliff by this share


@dataclass(frozen=True)
class Asked:
    """What was asked of a correction: its words and numbers."""

    share: float
    limit: float
    cells: Cells
    thin: bool
    undriven: Undriven
    accept: tuple[str, ...]


def propose(state: State, found: Evidence, asked: Asked) -> tuple[Correction, FullThrottle | None]:
    """Propose a correction; where it would lean cells with little evidence at high load it fades there until accepted.

    Returns:
        The correction, and what the pulls say as a whole.

    Raises:
        InputError: when something else is accepted, a number is out of its range, or nothing is left to correct.
    """
    if unknown := [name for name in asked.accept if name != LEAN_STEP]:
        raise InputError(
            phrase("A correction has no objection {name!r}.", name=unknown[0]),
            phrase("The only one to accept here is {name}.", name=LEAN_STEP),
        )
    head = state.history.revision(found.revision)
    by_hand = set_by_hand(state.history, head)
    loaded, bounded = _loaded(state, found), _loaded(state, found, OF_HIGH_LOAD)
    full = full_throttle(found, {drive.id: drive.log.time.values for drive in state.drives})

    def made(held: BoolArray, fades: BoolArray | None = None) -> Correction:
        return correction(
            found,
            share=asked.share,
            limit=asked.limit,
            cells=asked.cells.mask(found.table),
            thin=asked.thin,
            undriven=asked.undriven,
            held=held,
            fades=fades,
            baseline=smoothing_baseline(state.history, head).values,
            step=OF_CLIFF * float(np.log1p(state.settings.limits.cliff)),
            full=full,
            loaded=bounded,
        )

    free, proposed = made(np.zeros_like(by_hand)), made(by_hand)
    notes = list(proposed.notes)
    if kept := int((free.inferred & ~proposed.inferred).sum()):
        keep = "was set by hand and keeps its" if kept == 1 else "were set by hand and keep their"
        notes.append(phrase("{kept} of them {keep} value.", kept=kept, keep=keep))
    notes += _of_full_throttle(found, full, asked.undriven)
    lean = _lean(found, proposed, full) & loaded
    if not lean.any() or LEAN_STEP in asked.accept:
        return mark_followers(found, replace(proposed, notes=tuple(notes)), full), full
    fading = made(by_hand, lean)
    fades = _fades(found, proposed, fading, lean)
    listed = (*fading.notes, *_of_full_throttle(found, full, asked.undriven), fades)
    return mark_followers(found, replace(fading, notes=listed, held_back=lean), full), full


def mark_followers(found: Evidence, made: Correction, full: FullThrottle | None) -> Correction:
    """Mark as inferred, too, the thin cells that no reading bears out: they follow the cells around."""
    follows = made.changed & ~borne_out(found, full)
    if not follows.any():
        return made
    said = plural_phrase(
        int(follows.sum()),
        "{n} of the thin cells has no readings of its own, nor cells with readings on both sides: it is marked as "
        "inferred.",
        "{n} of the thin cells have no readings of their own, nor cells with readings on both sides: they are marked "
        "as inferred.",
    )
    return replace(made, inferred=made.inferred | follows, notes=(*made.notes, said))


def _of_full_throttle(found: Evidence, full: FullThrottle | None, undriven: Undriven) -> list[str]:
    """Tell how full throttle is corrected, and that the commanded mixture stays."""
    if full is None:
        return []
    stands = full.known and undriven == "carry"
    cells = int((full.inside & ~found.driven).sum()) if stands else 0
    return [join_phrases(" ", (full.sentence(found.table, cells), COMMAND_STAYS))]


def _fades(found: Evidence, proposed: Correction, fading: Correction, lean: BoolArray) -> str:
    """Tell what the whole step would be at high load with little evidence, and what is left of it."""
    worst = tuple(int(i) for i in np.argwhere(lean)[np.argmax(np.abs(proposed.multipliers[lean] - 1))])
    would = phrase(
        "{cells} at high load with too few readings of their own ({few} of them thin) would become leaner like the "
        "cells around, by up to {step:+.1f} % at {at}.",
        cells=counted(int(lean.sum()), "cell"),
        few=int((lean & found.driven).sum()),
        step=100 * (proposed.multipliers[worst] - 1),
        at=found.table.cell_name(worst),
    )
    fades = phrase(
        "Instead the correction fades there within {steps}, from {left:+.1f} %.",
        steps=counted(int((fading.multipliers[lean] < 1).sum()), "cell"),
        left=100 * float(fading.multipliers[lean].min() - 1),
    )
    rest = phrase("Drive there first, or accept the whole step with {accept}.", accept=flag("accept", LEAN_STEP))
    return join_phrases(" ", (would, fades, rest))


def _lean(found: Evidence, proposed: Correction, full: FullThrottle | None) -> BoolArray:
    """Mark the cells that a correction would make leaner though they rest on other cells' readings.

    That is undriven ones, and thin ones that neither readings nor cells on both sides of them bear out.
    """
    few = proposed.changed & ~borne_out(found, full)
    return (proposed.inferred | few) & leans(found.table, proposed.multipliers - 1)


def _loaded(state: State, found: Evidence, share: float = 1.0) -> BoolArray:
    """Mark the cells at a share of high load or more, as the table says, and what any log touched at full throttle."""
    pressure = share * barometer(state.drives) if found.table.kind == "grid" else 0.0
    loaded = high_load(found.table, found.table.values, pressure)
    return loaded if found.at_full is None else loaded | found.at_full
