"""What the samples of all drives state of a table, and all that moves them beside it."""

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.pooling.common_error import CommonError
from workbench.maths.pooling.unseen_purge import expected, unseen_vapour
from workbench.maths.pooling.visits import TRANSIENT, VAPOUR
from workbench.maths.signals.aside import put_aside
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.resync import played
from workbench.maths.signals.series import blocks, filled, joined, row_step
from workbench.maths.solve.design import Design, Equations, NuisanceEffect, Shifts
from workbench.maths.solve.trim_quantisation import levels_of
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import Delay
from workbench.model.table import Table

NONE = CommonError()
FEWEST_READINGS = 20  # of their own in a stretch of time, for telling how far readings depend on each other
# An ECU may make up for a film that fills and not for one that empties: share of the film, as standard deviation.
LOPSIDED = 0.03
LEFT_OF_FILM = 0.05  # share of the fuel by which the film found may be off, standard deviation
# Share of the fuel that a slow film takes up beyond what the ECU makes up for: usually, and by how much it varies from
# car to car. Common practice, no source.
USUAL_SLOW_FILM, SLOW_FILM = 0.010, 0.010
OWN_PART = 0.5  # of that variance which pulls and all other readings have for themselves, as far as they are not alike
# By how much trims are off while the loop answers a film that filled all along, standard deviation: up to 0.025 on
# virtual cars made by others.
ANSWERED = 0.02
LEFT_OF_LATENESS = 0.020  # s by which a pull may be later or earlier than usual, standard deviation
# Time constant of the manifold, s * 1000 rpm: what is left of it where it was found, and all of it where it was not.
LEFT_OF_MANIFOLD, MANIFOLD = 0.05, 0.15
# The same of the pipes ahead of a throttle that a charger fills, of which no ECU need know: five volumes of the engine.
CHARGE_PIPES, CHARGED, STANDARD_KPA = 0.5, 1.05, 100.0  # common practice, no source
DELAY = "delay"
FEWEST_KIND = 100  # samples that an effect must move, or a kind must have, before it is estimated by itself


@dataclass(frozen=True, eq=False)
class Stated:
    """What all samples state, and of what kind they are; arrays of shape (samples,) if not said otherwise.

    Attributes:
        equations: of the samples.
        by_trims: which of them rest on trims.
        drive: of each.
        nominal: what the head says over the driven table.
        purge: what vapour of each shape takes off the ratio, shape (samples, shapes).
        purged: which of them lie under purge or shortly after it.
        upset: part of the fuel that a film of share 1 was taking up or giving off, as far as it still tells.
    """

    equations: Equations
    by_trims: BoolArray
    drive: IntArray
    nominal: FloatArray
    purge: FloatArray
    purged: BoolArray
    upset: FloatArray


def stated(known: list[DriveFit], head: Table, base: Table, common: CommonError = NONE) -> Stated:
    """Give what the samples of all drives state of a table.

    Args:
        known: the drives.
        head: what the samples are held against.
        base: whose correction is what must be smooth.
        common: best estimate of what shifts all readings alike, taken out.
    """
    lists = _of_all(known, common)
    counted = [part.size for part in lists["film"]]

    def all_of(name: str) -> Any:
        return joined(lists.pop(name))

    position, then, by_trims = all_of("position"), all_of("then"), all_of("by_trims")
    full, ratio = all_of("full"), all_of("ratio")
    design = Design(head.axes, base.values.ravel(), position, then)
    # Effects act on what the table says, not on what was measured: a response among its own regressors would draw
    # all cells to it.
    nominal = put_aside(replace(design, values=head.values.ravel()).nominal())
    purge = put_aside(all_of("purge") * -nominal[:, None])
    manifold = all_of("manifold") * nominal
    tried = _film_effects(all_of("film") * nominal, manifold, by_trims)
    pipes = put_aside(np.where(all_of("charged") & ~by_trims, -manifold, 0.0))
    # Trims follow a slow film themselves: only what the wideband reads lacks it.
    slowly = np.where(by_trims, 0.0, all_of("slow_film") * nominal)
    ratio = ratio - USUAL_SLOW_FILM * slowly
    tried += _slow_film_effects(slowly, full)
    for name, size in (("pull_rate", LEFT_OF_LATENESS), ("answered", ANSWERED)):
        tried.append(NuisanceEffect(put_aside(all_of(name) * nominal), expected_size=size, name=TRANSIENT))
    # Each drive begins with its own load in the canister.
    for driven, stop, count in zip(known, np.cumsum(counted).tolist(), counted, strict=True):
        own = slice(stop - count, stop)
        tried += [NuisanceEffect(load, stop - count, name=VAPOUR) for load in purge[own].T]
        ratio[own] += expected(driven)[0] * unseen_vapour(driven) * nominal[own]
    effects = [effect for effect in tried if np.sum(np.abs(effect.moved) > 0.02) > FEWEST_KIND]
    if np.any(np.abs(pipes) > 0.02):  # it has a size of its own, so that few readings will do
        effects.append(NuisanceEffect(pipes, expected_size=CHARGE_PIPES, name=TRANSIENT))
    effects += _delay_effects(known)
    ratio = put_aside(ratio)
    weight, block, shifts = all_of("weight"), all_of("block"), _shifts(known, nominal)
    equations = Equations(design, ratio, weight, block, tuple(effects), shifts)
    drive = put_aside(np.repeat(np.arange(len(known)), counted))
    return Stated(equations, by_trims, drive, nominal, purge, all_of("purged"), all_of("upset"))


def _of_all(known: list[DriveFit], common: CommonError) -> dict[str, list[Any]]:
    """Give what the kept rows of each drive say, by name: a list of arrays, one of each drive, to be joined."""
    lists: dict[str, list[Any]] = defaultdict(list)
    first_block = 0
    for driven in known:
        kept, read = driven.readings.kept, driven.readings
        by_trims, position = read.by_trims[kept], read.position[kept]
        lists["position"].append(position)
        lists["then"].append(look_up(driven.table, position))
        lists["by_trims"].append(by_trims)
        # What the wideband reads is off by its own error; trims alone hold the loop's centre instead of 1.
        lists["ratio"].append(read.ratio[kept] * np.where(by_trims, 1 + common.centre, 1 / (1 + common.wideband)))
        number = blocks(driven.seen.time, max(10.0, FEWEST_READINGS * seconds_per_reading(driven.seen)))
        lists["block"].append(number[kept] + first_block)
        first_block += int(number[-1]) + 1
        # Held values blur transients: what looks like a film there is the holding.
        held = driven.seen.held
        for name in ("film", "manifold"):
            lists[name].append(np.zeros(by_trims.size) if held else getattr(read, name)[kept])
        for name in ("weight", "upset", "answered", "slow_film", "pull_rate", "purge", "purged"):
            lists[name].append(getattr(read, name)[kept])
        lists["charged"].append(_charged(driven)[kept])
        lists["full"].append(driven.seen.full[kept])
    return lists


def seconds_per_reading(seen: Signals) -> float:
    """Return the time between readings of their own, s: more than a row's where values are held."""
    return row_step(seen.time) / max(float(np.mean(seen.weight)), 1e-3)


def _charged(driven: DriveFit) -> BoolArray:
    """Mark the rows in which a charger raises the pressure, shape (rows,); none where no pressure is logged."""
    log = driven.drive.log
    pressure, barometer = played(log, "manifold_pressure"), played(log, "barometer")
    if pressure is None:
        return np.zeros(log.rows, dtype=np.bool_)
    around = STANDARD_KPA if barometer is None else float(np.nanmedian(barometer))
    return np.asarray(filled(pressure) > CHARGED * around)


def _film_effects(felt: FloatArray, manifold: FloatArray, by_trims: BoolArray) -> list[NuisanceEffect]:
    """Estimate in the solve what the assumed film leaves over, for wideband and trims apart: trims follow late.

    No wall takes up a negative share, and no ECU makes up for it many times over: what is left over has a size.
    """
    effects = [
        NuisanceEffect(put_aside(np.where(by_trims == kind, felt, 0.0)), expected_size=LEFT_OF_FILM, name=TRANSIENT)
        for kind in (False, True)
    ]
    opening = put_aside(np.where(by_trims, 0.0, np.maximum(felt, 0.0)))
    effects.append(NuisanceEffect(opening, expected_size=LOPSIDED, name=TRANSIENT))
    left = [put_aside(np.where(by_trims == kind, -manifold, 0.0)) for kind in (False, True)]
    sizes = (LEFT_OF_MANIFOLD, MANIFOLD)
    return effects + [
        NuisanceEffect(each, expected_size=size, name=TRANSIENT) for each, size in zip(left, sizes, strict=True)
    ]


def _slow_film_effects(slowly: FloatArray, full: BoolArray) -> list[NuisanceEffect]:
    """Let the slow film be off: on the same walls alike, but what tip-ins imitate of it says nothing of pulls."""
    size = SLOW_FILM * float(np.sqrt(OWN_PART))
    alike = NuisanceEffect(put_aside(slowly), expected_size=SLOW_FILM * float(np.sqrt(1 - OWN_PART)), name=TRANSIENT)
    return [alike] + [
        NuisanceEffect(put_aside(np.where(rows, slowly, 0.0)), expected_size=size, name=TRANSIENT)
        for rows in (full, ~full)
    ]


def _delay_effects(known: list[DriveFit]) -> list[NuisanceEffect]:
    """Let each part of the delay be off; drives that share an exhaust share the error.

    Pulls have it for themselves: what tip-ins imitate of a delay says nothing of them.
    """
    effects, start = [], 0
    shared: dict[Delay, list[tuple[int, FloatArray, BoolArray]]] = {}
    for driven in known:
        kept = driven.readings.kept
        if driven.delay_sensitivity is not None:
            shared.setdefault(driven.delay, []).append((start, driven.delay_sensitivity[kept], driven.seen.full[kept]))
        start += int(kept.sum())
    for parts in shared.values():
        first, stop = parts[0][0], parts[-1][0] + parts[-1][1].shape[0]
        moved = np.zeros((stop - first, parts[0][1].shape[1]))
        pulls = np.zeros(stop - first, dtype=bool)
        for begin, columns, full in parts:
            own = slice(begin - first, begin - first + columns.shape[0])
            moved[own], pulls[own] = columns, full
        for rows in (pulls, ~pulls):
            moves = put_aside(np.where(rows[:, None], moved, 0.0))
            effects += [NuisanceEffect(column, first, 1.0, DELAY) for column in moves.T]
    return effects


def _shifts(known: list[DriveFit], nominal: FloatArray) -> Shifts | None:
    """Let all samples of one level of a drive's long-term trim be off together by what its rounding hides."""
    found = [levels_of(driven.seen.long_trim, driven.readings.kept) for driven in known]
    count = sum(each.size.size for each in found)
    group: list[IntArray] = []
    size: list[FloatArray] = []
    for each in found:
        first = sum(part.size for part in size)
        group.append(np.where(each.number >= 0, each.number + first, count))
        size.append(each.size)
    return Shifts(joined(group), nominal, np.concatenate(size)) if count else None
