"""What else a solve tells: biases found and handled, doubts, and whether this table is the culprit at all."""

from dataclasses import replace

import numpy as np

from workbench.maths.drives.delay_estimation import COARSE_S
from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.pooling.open_trims import sentences as trims_in_open_loop
from workbench.maths.pooling.unseen_purge import USUALLY
from workbench.maths.signals.gating import CLIPPED
from workbench.maths.signals.resync import played
from workbench.maths.signals.series import blocks, joined, row_step
from workbench.maths.solve.solve import Solution
from workbench.maths.table.interpolation import nearest
from workbench.maths.verdict.residual_screening import screen
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.counting import counted
from workbench.model.evidence import Effect
from workbench.model.log import Role
from workbench.model.table import Table
from workbench.phrases import call, phrase

SCREENED: tuple[Role, ...] = (
    "intake_temperature",
    "coolant_temperature",
    "engine_speed",
    "battery_voltage",
    "purge",
    "manifold_pressure",
)
BLOCK_S = 20.0  # stretches over which what the solve leaves over is taken as independent
SHAPED = 0.8  # share of the ratios' variance that a simple fault must explain before it is named
WORTH_NAMING = 0.03
ALIKE = 0.01  # of the ratio, within which nine cells of ten have the same error
LARGEST_FILM = 0.4  # a larger share is no film, only what explains a coarse log best


def effects_of(known: list[DriveFit], table: Table, solution: Solution) -> tuple[Effect, ...]:
    """Set what the solve leaves over against the other channels that are logged."""
    columns: dict[str, list[FloatArray]] = {name: [] for name in (*SCREENED, "time")}
    cells, times, weights, first = [], [], [], 0
    for driven in known:
        kept, log = driven.readings.kept, driven.drive.log
        time = log.time.values
        for role in SCREENED:
            values = played(log, role)
            columns[role].append((np.full(time.size, np.nan) if values is None else values)[kept])
        columns["time"].append(time[kept] - time[0])
        cells.append(nearest(table.axes, driven.readings.position[kept]))
        number = blocks(time, BLOCK_S)
        times.append(number[kept] + first)
        first += int(number[-1]) + 1
        weights.append(driven.readings.weight[kept])
        driven.drive.let_go()
    fed = {axis.name.lower().replace(" ", "_") for axis in table.axes}
    channels = {name: joined(parts) for name, parts in columns.items() if name not in fed}
    found = screen(
        solution.residual,
        joined(weights) * solution.robust,
        joined(cells),
        joined(times),
        channels,
    )
    # What a model of the vapour leaves over is no fault that a channel tells of, however large: the budget counts it.
    modelled = any(np.any(driven.readings.purge != 0) for driven in known)
    return tuple(
        replace(each, half_width=max(each.half_width, abs(each.change)))
        if each.channel == "purge" and modelled
        else each
        for each in found
    )


def notes_of(known: list[DriveFit], effects: tuple[Effect, ...], table: Table, ratio: FloatArray) -> tuple[str, ...]:
    """Describe what was assumed, found and handled, one sentence each."""
    notes: list[str] = []
    for driven in known:
        notes += [*driven.seen.notes, *driven.notes, *_of_drive(driven)]
    notes += trims_in_open_loop(known)
    if any(effect.stands_out for effect in effects):
        notes += [effect.sentence for effect in effects if effect.stands_out]
        if not any(np.isfinite(driven.seen.purge).any() for driven in known):
            notes.append(
                "Purge, which is not logged, can look like any of these while a canister empties: drive with its valve "
                "unplugged before you look further."
            )
    notes += _shape(known, table, ratio)
    return tuple(dict.fromkeys(notes))


def _of_drive(driven: DriveFit) -> list[str]:
    seen, name = driven.seen, driven.drive.log.name
    notes = []
    if np.isfinite(seen.imbalance) and abs(seen.imbalance) > 0.02:
        notes.append(
            phrase(
                "{name}: bank {richer} takes {more:.1f} % more fuel than bank {other}; their mean is used. "
                "The airflow table cannot cause a difference between banks.",
                name=name,
                **seen.banks_apart,
            )
        )
    if 0.01 < driven.film.share < LARGEST_FILM and row_step(seen.time) <= COARSE_S:
        notes.append(
            phrase(
                "{name}: wall wetting compensated: film {share:.0f} % of the fuel, time constant {constant_s:g} s.",
                name=name,
                share=100 * driven.film.share,
                constant_s=driven.film.constant_s,
            )
        )
    if driven.vapour is not None:
        notes.append(
            phrase(
                "{name}: purge is not logged, but {stretches} times the mixture steps richer by "
                "{apart:.1f} %, as canister purge does: those {rows} are weighted 0.1 and corrected "
                "for purge fuel. Drive with purge off to be sure.",
                name=name,
                stretches=driven.vapour.stretches,
                apart=100 * driven.vapour.apart,
                rows=counted(int(driven.vapour.low.sum()), "row"),
            )
        )
    elif driven.readings.purge.any():
        rows = int((seen.purge > 0).sum())
        notes.append(
            phrase(
                "{name}: {rows} logged during purge are weighted 0.1 and corrected for purge fuel.",
                name=name,
                rows=counted(rows, "row"),
            )
        )
    elif not np.isfinite(seen.purge).any():
        notes.append(
            phrase(
                "{name}: purge is not logged: {share:.1f} % at usual airflow is counted for what it usually adds "
                "in closed loop. If its valve was unplugged, say so with {command}.",
                name=name,
                share=100 * USUALLY,
                command=call("compute", "SESSION", "'Purge off'", "'0 * throttle'", "--unit", "%", "--plays", "purge"),
            )
        )
    clipped = driven.readings.rejected.get(CLIPPED)
    if clipped is not None and clipped.sum() > 20:
        many = counted(int(clipped.sum()), "row")
        notes.append(
            phrase("{name}: a trim stood at its limit in {many}: the true error there is larger.", name=name, many=many)
        )
    return notes


def _shape(known: list[DriveFit], table: Table, ratio: FloatArray) -> list[str]:
    """Name a fault whose error has a simple shape over airflow; common practice, no source."""
    position = np.concatenate([d.readings.position[d.readings.kept] for d in known])
    flow = np.concatenate([d.seen.airflow[d.readings.kept] for d in known])
    cell = nearest(table.axes, position)
    count = np.bincount(cell, minlength=ratio.size)
    there: BoolArray = (count > 20) & np.isfinite(ratio.ravel())
    if there.sum() < 8:
        return []
    mean_flow = np.bincount(cell, flow, ratio.size)[there] / count[there]
    error = ratio.ravel()[there] - 1
    common = float(np.median(error))
    if abs(common) > WORTH_NAMING and float(np.quantile(np.abs(error - common), 0.9)) < ALIKE:
        return [
            phrase(
                "The error is the same at all airflows, {error:+.1f} %. A sensor housing of another size does that, "
                "and so do injectors of another size, a wrong fuel pressure or another fuel: be sure which of them was "
                "changed before correcting the table.",
                error=100 * common,
            )
        ]
    leak = _explained(1 / mean_flow, error)
    if leak[0] > SHAPED and leak[1] > WORTH_NAMING and _ends_lean(1 / mean_flow, error):
        return [
            (
                "The error is largest at low airflow and shrinks as airflow grows, like that of a leak behind the "
                "sensor: look for one before correcting the table."
            )
        ]
    load = _explained(mean_flow, error)
    if load[0] > SHAPED and load[1] > WORTH_NAMING and _ends_lean(mean_flow, error):
        return [
            (
                "The error grows evenly with airflow, like that of low fuel pressure or small injectors, or the table "
                "is wrong that way: check the fuel before correcting the table."
            )
        ]
    return []


def _ends_lean(shape: FloatArray, error: FloatArray) -> bool:
    """Tell whether an error ends lean, by more than it starts: a rich car lacks neither fuel nor air."""
    slope, start = np.polyfit(shape, error, 1)
    low, high = (float(start + slope * end) for end in (shape.min(), shape.max()))
    return high > max(WORTH_NAMING / 2, abs(low))


def _explained(shape: FloatArray, error: FloatArray) -> tuple[float, float]:
    """Return the share of the error's variance that a straight line over a shape explains, and its rise over it."""
    x = shape - shape.mean()
    slope = float(x @ (error - error.mean()) / (x @ x))
    rest = error - error.mean() - slope * x
    total = float(np.sum((error - error.mean()) ** 2))
    return (1 - float(rest @ rest) / total if total > 0 else 0.0), slope * float(shape.max() - shape.min())
