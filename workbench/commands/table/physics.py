"""Tables held against the laws behind them."""

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np

from workbench.commands.declaring.kinds import FIRST, Between, TableName
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import plain as as_json
from workbench.errors import InputError
from workbench.maths.table.outliers import grain, outliers
from workbench.maths.table.physics import (
    ZERO_CELSIUS,
    LawFit,
    air_density,
    charge,
    divider_ohm,
    engine_airflow,
    king,
    plain,
    thermistor,
)
from workbench.model.arrays import FloatArray
from workbench.model.history import Json
from workbench.model.state import State
from workbench.model.table import Table
from workbench.phrases import flag, phrase

Law = Literal["auto", "hot-film", "thermistor", "charge", "none"]
_KELVIN = {"degc": (1.0, ZERO_CELSIUS), "c": (1.0, ZERO_CELSIUS), "k": (1.0, 0.0), "degf": (5 / 9, 459.67 * 5 / 9)}


@dataclass(frozen=True, eq=False)
class Held:
    """A table held against a law; `scale` turns the residual into what `unit` says."""

    law: str
    fit: LawFit
    scale: float
    unit: str


@command("Check against the sensor's law", menu="Table", icon="physics", button="Compare with the law")
def physics(
    state: State,
    *,
    law: Law = "auto",
    pull_up: Annotated[float | None, Between(1, 1e7)] = None,
    supply: Annotated[float, Between(0.1, 100)] = 5.0,
    displacement: Annotated[float | None, Between(0.01, 100)] = None,
    temperature: Annotated[float, Between(-60, 200)] = 25.0,
    table: TableName = FIRST,
) -> Answer[Held]:
    """Fit the sensor's physical law to the table and flag cells that look mistyped.

    Args:
        law: hot-film (King), thermistor (Steinhart and Hart), charge (ideal gas), or none; auto decides by the units.
        pull_up: resistor of the thermistor's divider, ohm, where the axis is in volts.
        supply: supply of that divider, V.
        displacement: engine displacement, litres; also shows the airflow of each cell of an efficiency table.
        temperature: charge temperature, degC.
        table: which table; the first one if not given.

    Example:
        physics car.session --law hot-film
    """
    of = state.table(table)
    held = _held(of, _law_for(of) if law == "auto" else law, pull_up, supply)
    positions = tuple(axis.breakpoints for axis in of.axes)
    odd = outliers(held.fit.course, positions, _slack(state, of, held) * held.fit.unit)
    residual = held.fit.residual * held.scale
    cells: list[Json] = []
    lines = [_law_line(of, held), *_unphysical(of, held)]
    for index in np.argwhere(odd.marked):
        at = tuple(int(i) for i in index)
        expected = _expected(of, held, odd.off / held.fit.unit, at)
        cells.append({"cell": list(at), "value": float(of.values[at]), "expected": as_json(expected)})
        lines.append(_odd_line(of, at, expected))
    lines += [] if cells else ["No cell stands out."]
    data: dict[str, Json] = {
        "table": of.name,
        "law": held.law,
        "parameters": as_json(held.fit.parameters),
        "expected": as_json(held.fit.expected),
        "residual": as_json(residual) if held.law != "none" else None,
        "residual_unit": held.unit,
        "suspects": cells,
    }
    if displacement is not None:
        flow = _airflow(of, displacement, temperature)
        data["airflow"] = as_json(flow)
        lines.append(
            phrase(
                "At {temperature:g} degC the cells correspond to {flow_min:.4g} to {flow_max:.4g} g/s.",
                temperature=temperature,
                flow_min=flow.min(),
                flow_max=flow.max(),
            )
        )
    return Answer(held, lambda: data, tuple(lines))


def _odd_line(of: Table, at: tuple[int, ...], expected: float) -> str:
    return phrase(
        "{cell}: {value} stands out; its neighbours suggest about {expected:.5g}.",
        cell=of.cell_name(at),
        value=f"{of.values[at]:.10g} {of.unit}".strip(),
        expected=expected,
    )


def _law_for(table: Table) -> Law:
    unit, name = table.unit.lower().replace("°", "deg"), table.value_name.lower()
    if table.kind == "grid":
        return "charge" if unit == "%" or "efficiency" in name else "none"
    if unit in _KELVIN and table.axes[0].unit.lower() in ("ohm", "v", "kohm", "Ω"):
        return "thermistor"
    return "hot-film" if "/" in unit and table.axes[0].unit.lower() in ("v", "mv", "hz", "khz") else "none"


def _held(table: Table, law: Law, pull_up: float | None, supply: float) -> Held:
    points, values = table.axes[0].breakpoints, table.values
    if law in ("hot-film", "thermistor") and table.kind != "curve":
        raise InputError(
            phrase("The law {law} is for a curve; {table!r} is a grid.", law=law, table=table.name),
            "Choose another law.",
        )
    if law == "hot-film":
        return Held(law, king(points, values), 100.0, "%")
    if law == "thermistor":
        factor, zero = _KELVIN.get(table.unit.lower().replace("°", "deg"), (1.0, ZERO_CELSIUS))
        fit = thermistor(_ohm(table, pull_up, supply), values * factor + zero)
        residual = fit.residual / factor
        fit = LawFit(fit.parameters, (fit.expected - zero) / factor, residual, residual, fit.unit)
        return Held(law, fit, 1.0, table.unit or "degC")
    if law == "charge":
        if table.kind != "grid":
            raise InputError(
                phrase("The charge law is for a grid; {table!r} is a curve.", table=table.name), "Choose another law."
            )
        number = _pressure_axis(table)
        fit = charge(values if number == 1 else values.T, table.axes[number].breakpoints)
        if number == 0:
            fit = LawFit(fit.parameters, fit.expected.T, fit.residual.T, fit.course.T, fit.unit.T)
        return Held(law, fit, 100.0, "%")
    return Held("none", plain(values), 100.0, "%")


def _ohm(table: Table, pull_up: float | None, supply: float) -> FloatArray:
    points, unit = table.axes[0].breakpoints, table.axes[0].unit.lower()
    if unit in ("v", "volt"):
        if pull_up is None:
            raise InputError(
                "The axis is in volts.",
                phrase("Give the divider's resistor in ohms, as in {pull_up_flag} 2490.", pull_up_flag=flag("pull-up")),
            )
        return divider_ohm(points, pull_up, supply)
    return points * (1000.0 if unit in ("kohm", "kω") else 1.0)


def _pressure_axis(table: Table) -> int:
    units = [axis.unit.lower() for axis in table.axes]
    return next((i for i, unit in enumerate(units) if unit in ("kpa", "hpa", "mbar", "bar", "psi")), 1)


def _slack(state: State, table: Table, held: Held) -> FloatArray:
    """Half a step of storage, or of the decimals written, in the measure of the residual: 0.05 % or 0.02 K at least."""
    rule = state.ecu_format(table.name).storage
    step = (grain(table.values) if rule is None else rule.step) / 2
    if held.law == "thermistor":
        return np.full(table.shape, max(step, 0.02))
    with np.errstate(divide="ignore"):
        relative = np.where(table.values != 0, step / np.abs(table.values), 0.0)
    return np.maximum(relative, 5e-4)


def _expected(table: Table, held: Held, off: FloatArray, at: tuple[int, ...]) -> float:
    value = float(table.values[at])
    if held.law == "thermistor":
        return value - float(off[at])
    if held.law == "none" and not (table.values > 0).all():
        return value - float(off[at]) * float(np.ptp(table.values))
    return value * float(np.exp(-off[at])) if held.law in ("hot-film", "none") else value / (1 + float(off[at]))


def _law_line(table: Table, held: Held) -> str:
    known = held.fit.residual[np.isfinite(held.fit.residual)] * held.scale
    if held.law == "none":
        return phrase("{table!r}: no law is fitted; cells are compared with their neighbours.", table=table.name)
    constants = ", ".join(f"{name} = {value:.6g}" for name, value in held.fit.parameters.items())
    rms = float(np.sqrt(np.mean(known**2)))
    law = f"{held.law}: {constants}" if constants else held.law
    return phrase(
        "{table!r} against the law {law}; off by {rms:.3g} {unit} (rms).",
        table=table.name,
        law=law,
        rms=rms,
        unit=held.unit,
    )


def _unphysical(table: Table, held: Held) -> tuple[str, ...]:
    """Describe where constants were found that no hot film has: the axis is then no measure of its bridge voltage."""
    if held.law != "hot-film" or held.fit.parameters["A"] >= 0:
        return ()
    axis = table.axes[0]
    sentence = phrase(
        "A is below zero, which is impossible for a hot film: {axis} does not rise in "
        "proportion to the film's voltage. The fit can still flag odd cells; its constants "
        "mean nothing.",
        axis=axis.label,
    )
    return (sentence,)


def _airflow(table: Table, litres: float, celsius: float) -> FloatArray:
    if table.kind != "grid":
        raise InputError(
            "The airflow can only be computed for a grid over speed and pressure.",
            phrase("Leave {displacement_flag} out.", displacement_flag=flag("displacement")),
        )
    number = _pressure_axis(table)
    density = np.array([air_density(float(each), celsius) for each in table.axes[number].breakpoints])
    speed = table.axes[1 - number].breakpoints
    share = table.values / 100 if table.unit == "%" else table.values
    if number == 1:
        return engine_airflow(share, speed[:, None], litres, density[None, :])
    return engine_airflow(share, speed[None, :], litres, density[:, None])
