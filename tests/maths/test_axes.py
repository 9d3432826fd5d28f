"""What feeds an axis of a table, in the axis' own unit."""

from dataclasses import replace

import numpy as np
import pytest

from workbench.errors import InputError
from workbench.files.vocabulary.units import find_unit, to_base
from workbench.maths.signals.axes import _UNITS, axis_role, axis_signal, check_not_swapped, feeding
from workbench.model.log import Channel, Log, Role
from workbench.model.packing import Column
from workbench.model.table import Axis

PRESSURE = np.array([30.0, 60.0, 180.0])


def log_with(**channels: tuple[str, np.ndarray]) -> Log:
    made = tuple(Channel(role, unit, Column(values)) for role, (unit, values) in channels.items())
    return Log("drive.csv", "0" * 64, Column(np.arange(3.0)), made, {role: role for role in channels})  # type: ignore[misc]  # keys are roles


def axis(name: str, unit: str = "") -> Axis:
    return Axis(name, unit, np.array([1.0, 2.0]))


@pytest.mark.parametrize(
    ("name", "role"),
    [
        *[(name, "sensor_signal") for name in ("Hz", "kHz", "V", "mV", "Volt")],
        *[(name, "engine_speed") for name in ("rpm", "RPM", "1/min")],
        *[(name, "manifold_pressure") for name in ("kPa", "bar", "mbar", "hPa", "psi", "MAP", "Boost")],
        ("g/s", "airflow"),
        ("load", "load"),
        ("Roadmap", None),
    ],
)
def test_a_bare_unit_or_a_short_word_names_what_feeds_an_axis(name: str, role: Role | None) -> None:
    assert axis_role(axis(name)) == role
    assert (role.replace("_", " ") if role else "The quantity of") in feeding(axis(name))


def test_a_load_in_a_pressure_is_a_pressure() -> None:
    assert axis_role(axis("Load", "kPa")) == "manifold_pressure"


def test_units_of_axes_agree_with_the_units_library() -> None:
    for base, spellings in _UNITS.items():
        for spelling, factor in spellings.items():
            if spelling == "x1000":  # of engine speed on an axis of it; a log may hold lambda so, too
                continue
            unit = find_unit(spelling)
            assert unit is not None, spelling
            assert to_base(np.array([1.0]), unit)[0] == pytest.approx(factor, rel=1e-6), (base, spelling)


@pytest.mark.parametrize(("unit", "factor"), [("bar", 100), ("mbar", 0.1), ("hPa", 0.1), ("psi", 6.894757), ("kPa", 1)])
def test_a_pressure_is_looked_up_in_the_unit_of_the_axis(unit: str, factor: float) -> None:
    log = log_with(manifold_pressure=("kPa", PRESSURE))
    assert axis_signal(axis("Manifold pressure", unit), log) == pytest.approx(PRESSURE / factor)


def test_a_signal_is_looked_up_in_kilohertz() -> None:
    log = log_with(sensor_signal=("Hz", np.array([1000.0, 2000, 3000])))
    assert axis_signal(axis("Sensor", "kHz"), log).tolist() == [1, 2, 3]


@pytest.mark.parametrize(("name", "unit"), [("Manifold pressure", "cubits"), ("Airflow sensor", "V")])
def test_an_axis_in_another_unit_than_the_log_is_refused(name: str, unit: str) -> None:
    log = log_with(manifold_pressure=("kPa", PRESSURE), sensor_signal=("Hz", PRESSURE))
    with pytest.raises(InputError, match=f"counts in {unit}"):
        axis_signal(axis(name, unit), log)


@pytest.mark.parametrize(("name", "unit", "factor"), [("Boost", "kPa", 1), ("Pressure", "psig", 6.894757)])
def test_boost_counts_from_the_barometer(name: str, unit: str, factor: float) -> None:
    log = log_with(manifold_pressure=("kPa", PRESSURE), barometer=("kPa", np.array([98.0, np.nan, 98.0])))
    assert axis_signal(axis(name, unit), log) == pytest.approx((PRESSURE - 98) / factor)
    assert "barometer" in feeding(axis(name, unit))
    with pytest.raises(InputError, match="has no barometer") as refusal:
        axis_signal(axis(name, unit), log_with(manifold_pressure=("kPa", PRESSURE)))
    assert "absolute pressure" in refusal.value.hint


def test_the_remedy_names_the_role_of_the_axis_or_how_to_name_it() -> None:
    log = log_with(engine_speed=("rpm", PRESSURE))
    with pytest.raises(InputError, match="axis MAP") as refusal:
        axis_signal(axis("MAP"), log)
    assert "--role manifold_pressure=CHANNEL" in refusal.value.hint
    with pytest.raises(InputError, match="axis axis") as refusal:
        axis_signal(axis("axis"), log)
    assert "--role" not in refusal.value.hint
    assert "header" in refusal.value.hint


def test_the_remedy_says_how_many_channels_it_leaves_out() -> None:
    log = log_with(engine_speed=("rpm", PRESSURE))
    many = tuple(replace(log.channels[0], name=f"c{k}") for k in range(15))
    with pytest.raises(InputError) as refusal:
        axis_signal(axis("MAP"), replace(log, channels=many))
    assert "and 3 more" in refusal.value.hint


def test_a_grid_whose_axes_bear_each_other_s_names_is_refused() -> None:
    """20 to 100 is no engine speed and 600 to 4000 no manifold pressure, but each would be the other."""
    low, high = np.array([20.0, 60.0, 100.0]), np.array([600.0, 2000.0, 4000.0])
    right = (Axis("Engine speed", "rpm", high), Axis("Manifold pressure", "kPa", low))
    swapped = (Axis("Engine speed", "rpm", low), Axis("Manifold pressure", "kPa", high))
    check_not_swapped(right)
    check_not_swapped(right[:1])
    check_not_swapped((right[0], Axis("Manifold pressure", "hPa", 10 * low)))
    with pytest.raises(InputError, match="each would fit the other") as refused:
        check_not_swapped(swapped)
    assert "corner" in str(refused.value.hint)


@pytest.mark.parametrize("unit", ["counts", "0.1 Hz", "Hz x10", "raw"])
def test_readings_are_not_put_into_an_axis_of_an_unknown_unit(unit: str) -> None:
    log = log_with(sensor_signal=("Hz", np.array([2500.0, 4000.0, 8000.0])))
    with pytest.raises(InputError, match="cannot be converted") as told:
        axis_signal(axis("Airflow sensor", unit), log)
    assert "rename-axis" in told.value.hint


@pytest.mark.parametrize(("name", "unit", "base", "factor"), [
    ("Motordrehzahl rpm", "U/min", "rpm", 1.0), ("Engine speed", "x1000 rpm", "rpm", 1000.0),
    ("Manifold pressure", "kg/cm²", "kPa", 98.0665), ("Airflow", "lb/min", "g/s", 7.559873),
])  # fmt: skip
def test_further_units_of_axes(name: str, unit: str, base: str, factor: float) -> None:
    """1 kgf/cm² is 98.0665 kPa and 1 lb 453.59237 g (NIST SP 811, appendix B)."""
    role = axis_role(axis(name, unit))
    assert role is not None
    log = log_with(**{role: (base, PRESSURE)})
    np.testing.assert_allclose(axis_signal(axis(name, unit), log), PRESSURE / factor, rtol=1e-6)
