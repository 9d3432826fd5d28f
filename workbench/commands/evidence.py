"""What the logs say about a table, and the correction that follows from it."""

from collections.abc import Generator
from typing import Annotated, Literal

import numpy as np

from workbench.commands.making import revise
from workbench.commands.registry import Answer, Between, Job, TableName, command
from workbench.errors import InputError
from workbench.maths.correction import correction
from workbench.maths.gather import gather
from workbench.model.arrays import FloatArray
from workbench.model.cells import ALL, Cells
from workbench.model.evidence import STANDINGS, Delay, Evidence, Source, Target
from workbench.model.history import Json
from workbench.model.log import Drive
from workbench.model.state import State
from workbench.work import Progress

SourceName = Literal["both", "trims", "wideband"]


@command("Show the evidence", menu="Evidence", shortcut="Ctrl+E", icon="evidence")
def evidence(
    state: State,
    *,
    table: TableName = TableName(""),
    from_: str = "all",
    source: SourceName = "both",
    delay: str = "",
) -> Job:
    """Show per cell what the logs say about the table, and how sure that is.

    Args:
        table: the table to look at; the first one if not given.
        from_: which drives count: all, latest, or numbers joined by commas.
        source: use trims and wideband, or only one of them.
        delay: state the wideband's delay instead of estimating it: FIXED_S,VOLUME_G,LAG_S.

    Example:
        evidence car.session --from latest
    """
    found = yield from gather_for(state, table, from_, source, delay)
    return Answer(evidence_json(found), evidence_lines(found), value=found)


@command("Correct from the evidence", menu="Evidence", shortcut="Ctrl+Return", icon="correct")
def correct(
    state: State,
    *,
    share: Annotated[float, Between(0, 1)] = 1.0,
    limit: Annotated[float, Between(0, 1)] = 0.25,
    table: TableName = TableName(""),
    from_: str = "all",
    source: SourceName = "both",
    delay: str = "",
    cells: Cells = ALL,
    without_thin: bool = False,
    note: str = "",
) -> Job:
    """Multiply the driven cells by the airflow ratio that the logs show; undriven cells are left alone.

    Args:
        share: part of the step to take, 0 to 1.
        limit: largest step allowed, as a ratio.
        table: the table to correct; the first one if not given.
        from_: which drives count: all, latest, or numbers joined by commas.
        source: use trims and wideband, or only one of them.
        delay: state the wideband's delay instead of estimating it: FIXED_S,VOLUME_G,LAG_S.
        cells: cells that may change.
        without_thin: leave thin cells alone as well.
        note: kept with the revision.

    Example:
        correct car.session --share 0.5 --note "first round, half a step"
    """
    found = yield from gather_for(state, table, from_, source, delay)
    name = state.table_name(table)
    proposed = correction(found, share=share, limit=limit, cells=cells.mask(found.table), thin=not without_thin)
    after = found.table.with_values(found.table.values * proposed.multipliers)
    arguments: dict[str, Json] = {
        "share": share,
        "limit": limit,
        "source": source,
        "drives": list(found.drives),
        "cells": str(cells),
        "without_thin": without_thin,
        "standing": standing_names(found),
        "expected": nested(found.ratio / proposed.multipliers),
        "half_width": nested(found.half_width),
        "delay": {str(number): delay_json(each) for number, each in found.delay.items()},
        "gates": [{"name": gate.name, "rejected": gate.rejected} for gate in found.gates],
    }
    change = revise(state, name, after, proposed.multipliers, "correct", arguments, note)
    data: dict[str, Json] = {
        "revision": change.revision.id,
        "multipliers": nested(proposed.multipliers),
        "values": nested(after.values),
        "changed": int(proposed.changed.sum()),
        "limited": int(proposed.limited.sum()),
        "notes": list(proposed.notes),
    }
    moved = proposed.multipliers[proposed.changed]
    lines = (
        f"Revision {change.revision.id}: {moved.size} of {after.values.size} cells corrected, "
        f"by {100 * (moved.min() - 1):+.1f} % to {100 * (moved.max() - 1):+.1f} %, from {found.samples_used} samples.",
        *proposed.notes,
    )
    return Answer(data, lines, change, proposed)


def gather_for(state: State, table: str, from_: str, source: Source, delay: str) -> Generator[Progress, None, Evidence]:
    """Gather evidence for a table of a session from the drives that were named."""
    return (
        yield from gather(
            state.history, state.head(table), drives_named(state, from_), state.settings, source, stated(delay)
        )
    )


def drives_named(state: State, words: str) -> tuple[Drive, ...]:
    """Choose drives: all, latest, or numbers joined by commas.

    Raises:
        InputError: when the words are none of these, or there is no such drive.
    """
    if words == "all":
        return state.drives
    if words == "latest":
        return state.drives[-1:]
    try:
        numbers = [int(word) for word in words.split(",")]
    except ValueError:
        raise InputError(f"Drives {words!r} cannot be read.", "Write all, latest, or numbers as in 1,3.") from None
    return tuple(state.drive(number) for number in dict.fromkeys(numbers))


def stated(words: str) -> Delay | None:
    """Read a delay stated as FIXED_S,VOLUME_G,LAG_S; empty means it is to be estimated.

    Raises:
        InputError: when the words are not three numbers in their ranges.
    """
    if not words.strip():
        return None
    try:
        fixed, volume, lag = (float(word) for word in words.split(","))
    except ValueError:
        raise InputError(
            f"The delay {words!r} cannot be read.", "Write FIXED_S,VOLUME_G,LAG_S as in 0.1,1.0,0.08."
        ) from None
    if not (0 <= fixed <= 5 and 0 <= volume <= 50 and 0 <= lag <= 2):
        raise InputError(f"The delay {words!r} is out of range.", "Give 0..5 s, 0..50 g and 0..2 s.")
    return Delay(fixed, volume, lag, "stated")


def nested(values: FloatArray) -> Json:
    """Give an array as nested lists, with None where it holds no number."""
    if values.ndim > 1:
        return [nested(row) for row in values]
    return [float(value) if np.isfinite(value) else None for value in values]


def standing_names(found: Evidence) -> Json:
    """Give the standing of every cell as nested lists of words."""
    names = np.array(STANDINGS)[found.standing]
    listed: Json = names.tolist()
    return listed


def delay_json(delay: Delay) -> dict[str, Json]:
    """Give a delay as JSON."""
    return {
        "fixed_s": delay.fixed_s,
        "volume_g": delay.volume_g,
        "lag_s": delay.lag_s,
        "source": delay.source,
        "interval_s": _number(delay.interval_s),
        "carried_by": delay.carried_by,
    }


def evidence_json(found: Evidence) -> dict[str, Json]:
    """Give evidence as the JSON object of the command-line contract."""
    delays = {str(number): delay_json(delay) for number, delay in found.delay.items()}
    last = found.delay[found.drives[-1]]
    return {
        "table": found.table.name,
        "revision": found.revision,
        "drives": list(found.drives),
        "source": found.source,
        "cells": [_cell_json(found, index) for index in np.ndindex(found.table.shape)],
        "delay": {**delay_json(last), "per_drive": dict(delays)},
        "wideband": {str(number): place for number, place in found.wideband.items()},
        "gates": [{"name": g.name, "rejected": g.rejected, "alone": g.alone} for g in found.gates],
        "samples_used": found.samples_used,
        "target": {"part_throttle": _target_json(found.part_target), "full_throttle": _target_json(found.full_target)},
        "notes": list(found.notes),
        "plan": list(found.plan),
    }


def evidence_lines(found: Evidence) -> tuple[str, ...]:
    """Give evidence for people, line by line."""
    lines = [f"{found.table.name}, revision {found.revision}: {found.samples_used} samples used."]
    for number, delay in found.delay.items():
        place = found.wideband[number]
        if place != "none":
            lines.append(
                f"Drive {number}: wideband {place} the catalyst, delay {delay.fixed_s:.2f} s + {delay.volume_g:.1f} g / "
                f"airflow, lag {delay.lag_s:.2f} s ({delay.source})."
            )
    taken = [f"{gate.name} {gate.rejected}" for gate in found.gates if gate.rejected]
    lines.append("Gates took: " + (", ".join(taken) if taken else "nothing") + ".")
    lines += [
        _target_line("Part throttle", found.part_target, found),
        _target_line("Full throttle", found.full_target, found),
    ]
    head = " ".join(f"{axis.label:>18}" for axis in found.table.axes)
    lines.append(f"{head}    ratio    ±95 %  samples visits     mean   median  standing")
    for index in np.argwhere(found.driven):
        at = tuple(int(i) for i in index)
        place = " ".join(f"{axis.breakpoints[i]:18.6g}" for axis, i in zip(found.table.axes, at, strict=True))
        lines.append(
            f"{place}  {found.ratio[at]:7.4f}  {found.half_width[at]:7.4f}  {found.samples[at]:7.0f} {found.visits[at]:6d}"
            f"  {found.mean[at]:7.4f}  {found.median[at]:7.4f}  {found.standing_of(at)}"
        )
    lines.append(f"{int((~found.driven).sum())} cells are undriven.")
    return (*lines, *found.notes, *found.plan)


def _cell_json(found: Evidence, at: tuple[int, ...]) -> Json:
    place: dict[str, Json] = {"index": at[0]} if len(at) == 1 else {"row": at[0], "column": at[1]}
    values: Json = [float(axis.breakpoints[i]) for axis, i in zip(found.table.axes, at, strict=True)]
    return {
        **place,
        "axis": values,
        "value": float(found.table.values[at]),
        "samples": float(found.samples[at]),
        "visits": int(found.visits[at]),
        "ratio": _number(found.ratio[at]),
        "half_width": _number(found.half_width[at]),
        "standing": found.standing_of(at),
        "mean": _number(found.mean[at]),
        "median": _number(found.median[at]),
        "spread": _number(found.spread[at]),
        "count": int(found.count[at]),
        "full_throttle": bool(found.full_throttle[at]),
    }


def _target_json(target: Target) -> Json:
    return {
        "limit": target.limit,
        "inside_cells": _number(target.inside_cells),
        "inside_time": _number(target.inside_time),
        "worst": _number(target.worst),
        "worst_cell": None if target.worst_cell is None else list(target.worst_cell),
        "worst_half_width": _number(target.worst_half_width),
    }


def _target_line(regime: str, target: Target, found: Evidence) -> str:
    if target.worst_cell is None:
        return f"{regime}: not driven."
    return (
        f"{regime}: {100 * target.inside_cells:.0f} % of driven cells within ±{100 * target.limit:g} %, "
        f"worst {100 * target.worst:+.1f} % (±{100 * target.worst_half_width:.1f}) at "
        f"{found.table.cell_name(target.worst_cell)}."
    )


def _number(value: float) -> Json:
    return float(value) if np.isfinite(value) else None
