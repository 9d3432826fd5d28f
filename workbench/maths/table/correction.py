"""From evidence to the multipliers that are proposed for a table."""

from collections.abc import Callable
from typing import Literal

import numpy as np

from workbench.errors import InputError
from workbench.maths.table.continuing import fading
from workbench.maths.table.easing import STEP, eased, without_unproven_steps
from workbench.maths.table.full_throttle import COVERAGE, FullThrottle
from workbench.maths.table.own_readings import as_read
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.correction import Correction
from workbench.model.counting import counted
from workbench.model.evidence import Evidence
from workbench.phrases import flag, phrase, plural_phrase

Undriven = Literal["carry", "taper", "leave"]
SAID = 0.001  # of a ratio, from which a move is told
# Half-width to which pulls must know the factor of a single cell, and samples in it, that it stands as measured: as for
# a proven cell. Common practice, no source.
PULLS_KNOW, FELT = 0.02, 1.0
LOOSE = 0.15  # half-width of a cell that gives way to all that were read; thin ones stay under it
# Sources of uncertainty that have one sign all along a pull: fuel that runs onto the walls as it rises, oxygen that a
# catalyst gives off late, the one step of a long trim. Common practice, no source.
ALONG_A_PULL = ("transients", "oxygen store", "trim rounding")
UNMOVED = 1e-9  # difference of logarithms under which a cell is where it was wanted


def correction(
    evidence: Evidence,
    *,
    share: float = 1.0,
    limit: float = 0.25,
    cells: BoolArray | None = None,
    thin: bool = True,
    undriven: Undriven = "carry",
    held: BoolArray | None = None,
    fades: BoolArray | None = None,
    baseline: FloatArray | None = None,
    step: float = STEP,
    full: FullThrottle | None = None,
    loaded: BoolArray | None = None,
) -> Correction:
    """Propose multipliers: 1 + share * (ratio - 1), the step cut to the limit, continued into undriven cells.

    No step between an undriven cell and its neighbours becomes a cliff, unless `undriven` says leave.

    Args:
        evidence: what the logs say.
        share: part of the step to take, 0..1.
        limit: largest step allowed, as a ratio above 0.
        cells: cells that may change, shape of the table; all by default.
        thin: whether thin cells are corrected too.
        undriven: what becomes of cells without evidence: carry takes what the smooth surface says there, taper lets the
            step fade to nothing, leave keeps their value.
        held: undriven cells that keep their value all the same, shape of the table.
        fades: undriven or thin cells in which the correction fades instead of being continued, shape of the table.
        baseline: values from which multipliers are counted where their steps are judged, shape of the table; the table
            as it is if not given.
        step: largest step between an undriven cell and its neighbours, as difference of logarithms.
        full: what the pulls say as a whole, which stands where full throttle has no evidence of its own.
        loaded: cells under load, in which thin ones are leaned no further than was read; none by default.

    Raises:
        InputError: when share or limit is out of its range, or nothing is left to correct.
    """
    _check(share, limit)
    nowhere = np.zeros(evidence.table.shape, dtype=np.bool_)
    allowed = ~nowhere if cells is None else cells
    held, fades = (nowhere if each is None else each for each in (held, fades))
    changed, free = _which(evidence, allowed, thin, held, fades)
    begun = np.where(changed | free, _continued(evidence, undriven, full), 1.0)
    sought = begun if loaded is None else np.where(loaded, as_read(evidence, begun, full), begun)
    before = _counted_from(evidence, baseline)
    fixed = ~free | (_by_pulls(evidence, full) & ~fades)
    wanted = _drawn_together(evidence, changed, ~fixed & ~fades & (undriven != "leave"), sought, before, step)
    drawn = changed & (np.abs(wanted - sought) > SAID)
    if undriven != "leave" and free.any():
        wanted = _moved(np.where(fades, 1.0, wanted), before, lambda each: eased(evidence.table, each, fixed, step))
    follows = free & (wanted != 1)
    limited = (changed | follows) & (np.abs(share * (wanted - 1)) > limit)
    notes = (
        *_of_undriven(evidence, allowed, follows & ~evidence.driven, undriven),
        *_of_steps(begun, sought, drawn),
        *_notes(evidence, changed, limited, allowed, thin),
    )
    multipliers = 1 + np.clip(share * (wanted - 1), -limit, limit)
    return Correction(multipliers, changed, limited, share, limit, notes, follows, nowhere)


def _which(
    evidence: Evidence, allowed: BoolArray, thin: bool, held: BoolArray, fades: BoolArray
) -> tuple[BoolArray, BoolArray]:
    """Mark the cells that take what their evidence says, and those that may move to follow them."""
    known = evidence.correctable & (thin | evidence.stands("proven")) & allowed
    _refuse_nothing(known, evidence.driven & ~evidence.correctable & allowed)
    rests = known & evidence.stands("thin") & fades
    return known & ~rests, (~evidence.driven & allowed & ~held) | rests


def _refuse_nothing(changed: BoolArray, disputed: BoolArray) -> None:
    if not changed.any():
        if disputed.any():
            raise InputError(
                "The drives disagree too far in every chosen cell that was driven.",
                phrase("Choose the drives that apply now with {from_flag}.", from_flag=flag("from")),
            )
        raise InputError(
            "None of the chosen cells was driven enough to be corrected.",
            "Choose other cells, or drive there first: the evidence says where samples are missing.",
        )


def _continued(evidence: Evidence, undriven: Undriven, full: FullThrottle | None) -> FloatArray:
    """Give the ratio that each cell is taken to, shape of the table; 1 where it keeps its value."""
    known = np.where(evidence.correctable, evidence.ratio, 1.0)
    if undriven == "leave" or evidence.driven.all():
        return known
    if undriven == "taper":
        return fading(evidence.table, known, evidence.driven)
    there = np.isfinite(evidence.inferred) if evidence.inferred.size else np.zeros_like(evidence.driven)
    surface = np.where(evidence.driven | ~there, known, evidence.inferred if evidence.inferred.size else 1.0)
    if full is None or not full.known:
        return surface
    return np.where(full.inside & ~evidence.driven, full.factor * full.shaped, surface)


def _by_pulls(evidence: Evidence, full: FullThrottle | None) -> BoolArray:
    """Mark cells without evidence of their own that pulls went through and whose factor is known like a proven cell.

    What is only carried on gives way to them, and not they to it.
    """
    if full is None or full.of_a_cell > PULLS_KNOW:
        return np.zeros(evidence.table.shape, dtype=np.bool_)
    return np.asarray(full.inside & ~evidence.driven & (full.felt >= FELT))


def _check(share: float, limit: float) -> None:
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


def _drawn_together(
    evidence: Evidence, changed: BoolArray, loose: BoolArray, wanted: FloatArray, before: FloatArray, step: float
) -> FloatArray:
    """Take out of thin cells the steps to their neighbours that no interval proves, across loose cells too."""
    known_to = np.where(loose, LOOSE, np.where(changed, evidence.half_width, np.nan))
    steady = evidence.stands("proven") & changed
    alike = _alike(evidence)
    return _moved(wanted, before, lambda sought: without_unproven_steps(sought, known_to, steady, step, alike))


def _alike(evidence: Evidence) -> tuple[FloatArray, ...]:
    """Give what moves neighbouring cells alike, as half-widths: common errors, and what lasts all along a pull."""
    pulled = np.asarray(evidence.full_throttle, dtype=np.float64)
    return tuple(
        COVERAGE * item.size * (1.0 if item.common else pulled)
        for item in evidence.budget
        if item.common or item.name in ALONG_A_PULL
    )


def _of_steps(begun: FloatArray, sought: FloatArray, drawn_in: BoolArray) -> list[str]:
    """Tell where thin cells take another step than the evidence has it, and why."""
    notes = []
    if many := int((np.abs(begun - sought) > SAID).sum()):
        notes.append(
            plural_phrase(
                many,
                "{n} thin cell under load is leaned no further than its own few readings say.",
                "{n} thin cells under load are leaned no further than their own few readings say.",
            )
        )
    if many := int(drawn_in.sum()):
        notes.append(
            plural_phrase(
                many,
                "{n} thin cell was moved towards its neighbour: the intervals do not prove the step between them.",
                "{n} thin cells were moved towards their neighbours: the intervals do not prove the step between them.",
            )
        )
    return notes


def _counted_from(evidence: Evidence, baseline: FloatArray | None) -> FloatArray:
    """Give the logarithm of what the table is multiplied by already, shape of the table."""
    values = evidence.table.values
    if baseline is None or not ((values > 0).all() and (baseline > 0).all()):
        return np.zeros(values.shape)
    return np.log(values / baseline)


def _moved(wanted: FloatArray, before: FloatArray, move: Callable[[FloatArray], FloatArray]) -> FloatArray:
    """Move ratios as their sums with what is there already, in logarithms; bit for bit where nothing moves."""
    sought = before + np.log(wanted)
    found = move(sought)
    return np.where(np.abs(found - sought) < UNMOVED, wanted, np.exp(found - before))


def _of_undriven(evidence: Evidence, allowed: BoolArray, follows: BoolArray, undriven: Undriven) -> list[str]:
    notes, many = [], int(follows.sum())
    if many and undriven == "carry":
        notes.append(
            plural_phrase(
                many,
                "{n} cell without evidence follows the driven cells around: inferred, not measured. Drive there when "
                "you can.",
                "{n} cells without evidence follow the driven cells around: inferred, not measured. Drive there when "
                "you can.",
            )
        )
    elif many:
        cells = counted(many, "cell")
        notes.append(phrase("In {cells} without evidence the correction fades out.", cells=cells))
    kept = int((~evidence.driven & allowed & ~follows).sum())
    if kept:
        notes.append(
            plural_phrase(
                kept, "{n} cell without evidence keeps its value.", "{n} cells without evidence keep their value."
            )
        )
    return notes


def _notes(
    evidence: Evidence, changed: BoolArray, limited: BoolArray, allowed: BoolArray, thin: bool
) -> tuple[str, ...]:
    notes = []
    weak = changed & evidence.stands("thin")
    if weak.any():
        notes.append(
            plural_phrase(
                int(weak.sum()),
                "{n} thin cell is corrected too; its interval is wide: check it before approving.",
                "{n} thin cells are corrected too; their intervals are wide: check them before approving.",
            )
        )
    apart = int((evidence.driven & ~evidence.correctable & allowed).sum())
    if apart:
        notes.append(
            plural_phrase(
                apart,
                "{n} driven cell keeps its value: the drives disagree there too far. Choose the drives that apply now "
                "with {from_flag}.",
                "{n} driven cells keep their value: the drives disagree there too far. Choose the drives that apply "
                "now with {from_flag}.",
                from_flag=flag("from"),
            )
        )
    carried = int((weak & (evidence.visits == 0)).sum())
    if carried:
        notes.append(
            plural_phrase(
                carried,
                "{n} of them was only passed through: it follows the cells around.",
                "{n} of them were only passed through: they follow the cells around.",
            )
        )
    if not thin and evidence.stands("thin").any():
        notes.append(
            plural_phrase(
                int(evidence.stands("thin").sum()),
                "{n} thin cell keeps its value, as asked.",
                "{n} thin cells keep their value, as asked.",
            )
        )
    if not allowed.all():
        left = int((evidence.driven & ~allowed).sum())
        notes.append(
            plural_phrase(
                left,
                "{n} driven cell was not chosen and keeps its value.",
                "{n} driven cells were not chosen and keep their value.",
            )
        )
    if limited.any():
        where = evidence.table.cell_name(tuple(int(i) for i in np.argwhere(limited)[0]))
        many = counted(int(limited.sum()), "cell")
        notes.append(phrase("{many} reached the limit, the first at {where}: find out why.", many=many, where=where))
    return tuple(notes)
