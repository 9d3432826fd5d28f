"""The air of each drive: what it weighed and how well the engine filled, so that other weather can be told apart."""

from dataclasses import asdict, dataclass
from typing import Annotated

import numpy as np

from workbench.commands.declaring.kinds import FIRST, Between, Called, Drives, TableName
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.evidence.evidence import drives_named
from workbench.errors import InputError
from workbench.maths.drives.drive_fit import driven_table
from workbench.maths.signals.air import (
    Factor,
    air_per_cylinder,
    density,
    iso_1585,
    sae_j1349,
    vapour_pressure,
    volumetric_efficiency,
)
from workbench.maths.signals.ratio import signals
from workbench.maths.signals.resync import played
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.history import Json
from workbench.model.log import Drive
from workbench.model.state import State
from workbench.phrases import flag, phrase

NOT_A_NUMBER = float("nan")


@dataclass(frozen=True)
class Breath:
    """The air of one drive; NaN where the log does not tell.

    Attributes:
        drive: its number.
        pressure_kpa, temperature_c: medians with the engine running, of barometer and intake air.
        density: of dry air, or with the stated humidity, g/l.
        airflow: largest at full throttle, or of the drive where it has none, g/s.
        at_rpm: engine speed there.
        full: whether that was at full throttle.
        revision: with which the ECU counted that air; None where not known.
        per_rev: that air per revolution over the density, l: the same in any weather while the engine is the same.
        per_cylinder: g a cycle, where the number of cylinders is stated.
        efficiency: volumetric, where the displacement is stated, as a ratio.
        factors: of the standards.
    """

    drive: int
    pressure_kpa: float
    temperature_c: float
    density: float
    airflow: float
    at_rpm: float
    full: bool
    revision: int | None
    per_rev: float
    per_cylinder: float
    efficiency: float
    factors: tuple[Factor, ...]


@command("Show the air of the drives", menu="Evidence", icon="evidence", opens="answer")
def air(
    state: State,
    *,
    displacement: Annotated[float | None, Between(0.01, 100)] = None,
    cylinders: Annotated[int | None, Between(1, 24), Called("Cylinders")] = None,
    barometer: Annotated[float | None, Between(40, 120), Called("Barometer, kPa")] = None,
    humidity: Annotated[float | None, Between(0, 100), Called("Relative humidity, %")] = None,
    table: TableName = FIRST,
    from_: Drives = "all",
) -> Answer[tuple[Breath, ...]]:
    """Show the air of each drive: density, filling at full throttle, and the factors of SAE J1349 and ISO 1585.

    Args:
        displacement: of the engine, in litres, for the volumetric efficiency.
        cylinders: how many, for the air a cylinder takes in.
        barometer: air pressure in kPa, where the log has none.
        humidity: relative humidity, in %; dry air if not given.
        table: the table that was driven; the first one if not given.
        from_: which drives to use: all, latest, or numbers joined by commas.

    Example:
        air car.session --displacement 2.0 --cylinders 4
    """
    drives = drives_named(state, from_)
    if not drives:
        raise InputError("The session has no drive.", "Add a log first.")
    name = state.table_name(table)
    found = tuple(
        _breath(state, drive, name, displacement, cylinders, barometer, 0.0 if humidity is None else humidity / 100)
        for drive in drives
    )
    lines = [line for each in found for line in _lines(state.drive(each.drive).log.name, each)]
    return Answer(found, lambda: {"drives": [_as_json(each) for each in found]}, (*lines, *_compared(found)))


def _breath(
    state: State, drive: Drive, table: str, displacement: float | None, cylinders: int | None, barometer: float | None,
    humidity: float,
) -> Breath:  # fmt: skip
    seen = signals(drive, driven_table(state.history, drive, table), state.settings.gates)
    running = seen.speed >= state.settings.gates.running_rpm
    logged = _median(played(drive.log, "barometer"), running)
    pressure = logged if np.isfinite(logged) or barometer is None else barometer
    temperature = _median(played(drive.log, "intake_temperature"), running)
    known = bool(np.isfinite(pressure) and np.isfinite(temperature))
    vapour = vapour_pressure(temperature, humidity) if known and humidity else 0.0
    weight = float(density(pressure, temperature, vapour)) if known else NOT_A_NUMBER
    rows = running & np.isfinite(seen.airflow)
    full = bool((rows & seen.full).any())
    rows = rows & seen.full if full else rows
    carried = state.history.driven(drive, table)
    at = int(np.argmax(np.where(rows, seen.airflow, -np.inf))) if rows.any() else -1
    flow, speed = (float(seen.airflow[at]), float(seen.speed[at])) if at >= 0 else (NOT_A_NUMBER, NOT_A_NUMBER)
    dry = pressure - vapour
    return Breath(
        drive=drive.id,
        pressure_kpa=pressure,
        temperature_c=temperature,
        density=weight,
        airflow=flow,
        at_rpm=speed,
        full=full,
        revision=None if carried is None else carried.id,
        per_rev=flow * 60 / speed / weight,
        per_cylinder=NOT_A_NUMBER if cylinders is None else float(air_per_cylinder(flow, speed, cylinders)),
        efficiency=(
            NOT_A_NUMBER if displacement is None else float(volumetric_efficiency(flow, speed, displacement, weight))
        ),
        factors=(sae_j1349(dry, temperature), iso_1585(dry, temperature)) if known else (),
    )


def _median(values: FloatArray | None, rows: BoolArray) -> float:
    there = np.zeros(0) if values is None else values[rows & np.isfinite(values)]
    return float(np.median(there)) if there.size else NOT_A_NUMBER


def _lines(log: str, air: Breath) -> list[str]:
    if not np.isfinite(air.density):
        missing = "the intake temperature" if np.isfinite(air.pressure_kpa) else "the air pressure"
        return [
            phrase("{log}: {missing} is not known, so the density is not. {advice}", log=log, missing=missing,
                   advice=phrase("Log it, or state it with {flag}.", flag=flag("barometer")))
        ]  # fmt: skip
    lines = [
        phrase(
            "{log}: {pressure:.1f} kPa, intake air {temperature:.0f} °C: {density:.3f} g/l.",
            log=log,
            pressure=air.pressure_kpa,
            temperature=air.temperature_c,
            density=air.density,
        ),
        phrase(
            "  Most air, as the ECU counted it: {flow:.1f} g/s at {rpm:.0f} rpm, {per_rev:.3f} l a revolution at that "
            "density.",
            flow=air.airflow,
            rpm=air.at_rpm,
            per_rev=air.per_rev,
        ),
    ]
    if np.isfinite(air.per_cylinder):
        lines.append(phrase("  {grams:.3f} g per cylinder and cycle.", grams=air.per_cylinder))
    if np.isfinite(air.efficiency):
        lines.append(phrase("  Volumetric efficiency {share:.1f} %.", share=100 * air.efficiency))
    lines += [
        phrase("  {standard}: factor {value:.4f}.", standard=each.standard, value=each.value)
        if each.valid
        else phrase(
            "  {standard}: outside its valid range ({range}), no factor.", standard=each.standard, range=each.range
        )
        for each in air.factors
    ]
    return lines


def _compared(found: tuple[Breath, ...]) -> tuple[str, ...]:
    """Hold the air of the later drives against that of the first one."""
    known = [each for each in found if np.isfinite(each.density)]
    return tuple(
        phrase(
            "The air of drive {later} weighed {change:+.1f} % more than that of drive {first}{filling}.",
            later=each.drive,
            first=known[0].drive,
            change=100 * (each.density / known[0].density - 1),
            filling=_filling(known[0], each),
        )
        for each in known[1:]
    )


def _filling(first: Breath, later: Breath) -> str:
    """Tell how filling changed between two drives; only full throttle on one table compares."""
    if not (first.full and later.full and first.revision == later.revision):
        return ""
    return phrase("; filling at that density changed by {by:+.1f} %", by=100 * (later.per_rev / first.per_rev - 1))


def _as_json(air: Breath) -> dict[str, Json]:
    figures: dict[str, Json] = {
        key: (None if isinstance(value, float) and not np.isfinite(value) else value)
        for key, value in asdict(air).items()
        if key != "factors"
    }
    factors: list[Json] = [
        {
            "standard": each.standard,
            "value": each.value if each.valid else None,
            "range": each.range,
        }
        for each in air.factors
    ]
    return {**figures, "factors": factors}
