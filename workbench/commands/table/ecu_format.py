"""How the ECU keeps a table: steps, range, and parts that share a boundary."""

from dataclasses import asdict, replace
from typing import Annotated

import numpy as np

from workbench.commands.declaring.kinds import FIRST, Between, Line, NoneOfIt, Note, TableName
from workbench.commands.declaring.making import airless, finite, revised
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import plain
from workbench.errors import InputError
from workbench.maths.table.storage import Stored, check_fits, stored, value_range
from workbench.model.cells import ALL, Cells
from workbench.model.counting import counted
from workbench.model.ecu_format import EcuFormat, Part, Rounding, Storage
from workbench.model.history import Json, Revision
from workbench.model.state import EcuFormatSet, State
from workbench.model.table import Table
from workbench.phrases import call, flag, phrase

Width = Annotated[int | None, Between(1, 64)]


@command("Storage in the ECU", menu="Table", icon="storage", button="Record")
def storage(
    state: State,
    *,
    step: float | None = None,
    offset: float | None = None,
    bits: Width = None,
    signed: bool | None = None,
    low: float | None = None,
    high: float | None = None,
    rounding: Rounding | None = None,
    none: NoneOfIt = False,
    table: TableName = FIRST,
) -> Answer[EcuFormat]:
    """Show or set how the ECU stores values: value = count * step + offset.

    Once a step is known, exports hold the stored values. A value out of range is refused, never wrapped.

    Args:
        step: what one count is worth, in the table's unit.
        offset: the value at count 0.
        bits: width of the count.
        signed: counts may be negative.
        low: lowest value allowed.
        high: highest value allowed.
        rounding: how values between two steps are rounded; half-even (IEEE 754) if not given.
        none: clear the storage settings; values are then exported unrounded.
        table: which table; the first one if not given.

    Example:
        storage car.session --step 0.01 --bits 16
    """
    name = state.table_name(table)
    ecu_format = state.ecu_format(name)
    given: dict[str, object] = {
        "step": step,
        "offset": offset,
        "bits": bits,
        "signed": signed,
        "low": low,
        "high": high,
        "rounding": rounding,
    }
    given = {key: value for key, value in given.items() if value is not None}
    after = ecu_format
    if none and given:
        raise InputError(
            "The storage settings cannot be cleared and set at once.",
            phrase("Leave out {none_flag}, or all other options.", none_flag=flag("none")),
        )
    if none:
        after = replace(ecu_format, storage=None)
    elif given:
        if ecu_format.storage is None and step is None:
            raise InputError(
                "The ECU's step is not set.",
                phrase("Give the value of one count, as in {step_flag} 0.01.", step_flag=flag("step")),
            )
        known = asdict(ecu_format.storage) if ecu_format.storage is not None else {}
        after = replace(ecu_format, storage=Storage(**{**known, **given}))
    return _answer(state.table(name), after, changed=after != ecu_format)


@command("Parts of a curve", menu="Table", icon="parts", button="Record")
def parts(
    state: State,
    *,
    at: tuple[float, ...] = (),
    name: tuple[Line, ...] = (),
    none: NoneOfIt = False,
    table: TableName = FIRST,
) -> Answer[EcuFormat]:
    """Show or set the parts in which the ECU keeps a curve; it is edited whole and also exported in parts.

    Neighbouring parts share the breakpoint at their boundary, so its cell is always equal in both.

    Args:
        at: axis value of the breakpoint at which a part ends and the next begins.
        name: name of a part, in rising order; one more than boundaries.
        none: the curve is kept whole.
        table: which table; the first one if not given.

    Example:
        parts car.session --at 4500 --name low_flow --name high_flow
    """
    of = state.table_name(table)
    ecu_format, now = state.ecu_format(of), state.table(of)
    after = ecu_format
    if none and (at or name):
        raise InputError(
            "Parts cannot be cleared and set at once.",
            phrase("Leave out {none_flag}, or all other options.", none_flag=flag("none")),
        )
    if none:
        after = replace(ecu_format, parts=())
    elif at or name:
        if len(name) != len(at) + 1:
            raise InputError(
                phrase(
                    "A curve cut at {boundaries} has {parts}, but {names_are} given.",
                    boundaries=counted(len(at), "boundary", "boundaries"),
                    parts=counted(len(at) + 1, "part"),
                    names_are=counted(len(name), "name is", "names are"),
                ),
                phrase(
                    "Give {at_flag} once for each boundary, and {name_flag} once for each part.",
                    at_flag=flag("at"),
                    name_flag=flag("name"),
                ),
            )
        if now.kind != "curve":
            raise InputError(
                phrase("The {kind} {now!r} cannot be kept in parts.", kind=now.kind, now=now.name),
                "Only a curve can be kept in parts.",
            )
        points = now.axes[0].breakpoints
        ends = [float(points[0]), *at, float(points[-1])]
        after = replace(ecu_format, parts=tuple(Part(*each) for each in zip(name, ends[:-1], ends[1:], strict=True)))
        after.check(now)
    return _answer(now, after, changed=after != ecu_format)


@command(
    "Round to the ECU's step", menu="Table", word="round", icon="round", preview=True, past="Rounded", rounds_off=True
)
def round_cells(
    state: State,
    *,
    step: float | None = None,
    cells: Cells = ALL,
    table: TableName = FIRST,
    note: Note = "",
) -> Answer[Revision]:
    """Round the chosen cells to values the ECU can store.

    Args:
        step: round to this step instead.
        cells: which cells; all if not given.
        table: which table; the first one if not given.
        note: kept with the revision.

    Example:
        round car.session --cells 3:7
    """
    before = state.table(table)
    rule = state.ecu_format(table).storage if step is None else Storage(step, bits=64, signed=True)
    if rule is None:
        raise InputError(
            "The ECU's step is not set.",
            phrase(
                "Set it with: {storage_command}, or give it here: {round_command}.",
                storage_command=call("storage", "SESSION", flag("step"), "0.01"),
                round_command=call("round", "SESSION", flag("step"), "0.01"),
            ),
        )
    chosen = cells.mask(before)
    held = stored(before.values, rule)
    check_fits(before, replace(held, outside=held.outside & chosen), rule)
    after = finite(before, np.where(chosen, held.values, before.values))
    if (at := airless(before, after)) is not None:
        raise InputError(
            phrase(
                "Steps of {step:g} {unit} are too coarse for {cell}: {before:g} {unit} would be "
                "rounded to {after:g}, and the ECU would meter no fuel there.",
                step=rule.step,
                unit=before.unit,
                cell=before.cell_name(at),
                before=before.values[at],
                after=after.values[at],
            ),
            "Raise that cell first, or leave it out of the chosen cells.",
        )
    worst = float(np.abs(held.error[chosen]).max())
    arguments = {"step": rule.step, "offset": rule.offset, "rounding": rule.rounding, "cells": str(cells)}
    return revised(
        state, after, "round", arguments, note, remarks=(phrase("The largest rounding is {worst:.3g}.", worst=worst),)
    )


def keeping_json(ecu_format: EcuFormat) -> dict[str, Json]:
    """Return an ECU format as JSON."""
    kept: dict[str, Json] = {"storage": None, "parts": [plain(asdict(part)) for part in ecu_format.parts]}
    if ecu_format.storage is not None:
        low, high = value_range(ecu_format.storage)
        kept["storage"] = {
            **{k: plain(v) for k, v in asdict(ecu_format.storage).items()},
            "lowest": low,
            "highest": high,
        }
    return kept


def _answer(table: Table, ecu_format: EcuFormat, *, changed: bool) -> Answer[EcuFormat]:
    held = None if ecu_format.storage is None else stored(table.values, ecu_format.storage)
    data: dict[str, Json] = {"table": table.name, **keeping_json(ecu_format), "values": plain(table.values)}
    if held is not None:
        data |= {
            "stored": plain(held.values),
            "counts": plain(held.counts),
            "error": plain(held.error),
            "outside": plain(held.outside),
        }
    lines = (*_storage_lines(table, ecu_format.storage, held), *_part_lines(table, ecu_format))
    return Answer(ecu_format, lambda: data, lines, EcuFormatSet(table.name, ecu_format) if changed else None)


def _storage_lines(table: Table, rule: Storage | None, held: Stored | None) -> tuple[str, ...]:
    if rule is None or held is None:
        return (phrase("{table!r}: no step is set; values are exported unrounded.", table=table.name),)
    low, high = value_range(rule)
    width = f"{rule.bits} bits, {'signed' if rule.signed else 'unsigned'}"
    extent = phrase(
        "steps of {step:.10g} {unit} from {low:.10g} to {high:.10g} ({width})",
        step=rule.step,
        unit=table.unit,
        low=low,
        high=high,
        width=width,
    )
    worst = phrase("the largest rounding error is {error_max:.3g}", error_max=np.abs(held.error).max())
    lines = [f"{table.name!r}: {extent}, rounded {rule.rounding}; {worst}."]
    for index in np.ndindex(table.shape):
        mark = "  OUT OF RANGE" if held.outside[index] else ""
        lines.append(
            phrase(
                "{cell:>28}  {table:14.8g} -> {held:14.8g}  count {counts:.0f}  error {error:+.3g}{mark}",
                cell=table.cell_name(index),
                table=table.values[index],
                held=held.values[index],
                counts=held.counts[index],
                error=held.error[index],
                mark=mark,
            )
        )
    return tuple(lines)


def _part_lines(table: Table, ecu_format: EcuFormat) -> tuple[str, ...]:
    if not ecu_format.parts:
        return ()
    unit = table.axes[0].unit
    return tuple(
        phrase("Part {part!r}: {low:g} to {high:g} {unit}.", part=part.name, low=part.low, high=part.high, unit=unit)
        for part in ecu_format.parts
    )
