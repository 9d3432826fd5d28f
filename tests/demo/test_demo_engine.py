"""The virtual engine: physics with outside checks, and tables whose error is known."""

import numpy as np
import pytest

from workbench.demo import engine
from workbench.demo.scenario import Scenario
from workbench.errors import InputError

SEEDS = range(1, 21)


def test_breathing_gives_the_known_volumetric_efficiencies() -> None:
    """VE = airflow * 120 / (rpm * displacement * density), ideal gas; values computed with that formula (Heywood 1988,
    eq. 2.27 form, from memory): 50 g/s, 3000 rpm, 2.0 l, 101.325 kPa, 298.15 K -> 0.8446564, and two more."""
    for airflow, rpm, litres, kpa, kelvin, expected in (
        (50.0, 3000.0, 2.0, 101.325, 298.15, 0.8446564),
        (3.0, 750.0, 2.0, 35.0, 313.15, 0.6163927),
        (200.0, 6000.0, 5.0, 98.0, 303.15, 0.7103680),
    ):
        at_one = engine.breathing(np.array([rpm]), np.array([kpa]), kelvin) * litres / engine.DISPLACEMENT_L
        assert airflow / at_one[0] == pytest.approx(expected, rel=2e-5)


def test_the_engine_has_the_flows_of_its_size() -> None:
    rpm = np.array([750.0, 2000.0, 6200.0])
    assert engine.airflow_for(np.zeros(1), rpm[:1])[0] == pytest.approx(3.0, abs=0.5)
    full = engine.full_load_airflow(rpm)
    assert 40 < full[1] < 50
    assert 180 < full[2] < 195
    assert np.all(engine.closed_throttle_airflow(rpm) < full)


def test_pressure_and_airflow_belong_together() -> None:
    rpm = np.linspace(800.0, 6200.0, 20)
    pressure = engine.pressure_for(engine.full_load_airflow(rpm), rpm)
    assert np.all((pressure > 95) & (pressure < 150))
    assert engine.pressure_for(np.array([3.0]), np.array([750.0]))[0] == pytest.approx(30, abs=5)


def test_the_stale_curve_obeys_kings_law() -> None:
    """King 1914: E^2 = A + B m^n. The frequency is a straight line of E, so for the right n (0.44 to 0.46) m^n is a
    parabola of the frequency, and for n = 0.7 it is not."""
    table = engine.stale_table(Scenario())
    f = table.axes[0].breakpoints / 10000.0

    def misfit(n: float) -> float:
        power = table.values**n
        base = np.stack([np.ones_like(f), f, f * f], axis=1)
        return float(np.max(np.abs(base @ np.linalg.lstsq(base, power, rcond=None)[0] - power) / power))

    assert min(misfit(n) for n in np.linspace(0.44, 0.46, 21)) < 1e-3
    assert misfit(0.7) > 0.02


@pytest.mark.parametrize("seed", SEEDS)
def test_truth_rises_and_the_stale_table_reads_low(seed: int) -> None:
    scenario = Scenario(seed=seed)
    stale, truth = engine.stale_table(scenario), engine.true_table(scenario)
    assert stale.same_axes(truth)
    assert (len(stale.axes[0]), stale.axes[0].breakpoints[0], stale.axes[0].breakpoints[-1]) == (48, 1500, 11500)
    assert np.all(np.diff(stale.values) > 0)
    assert np.all(np.diff(truth.values) > 0)
    multipliers = engine.true_multipliers(scenario, stale)
    assert np.array_equal(multipliers, truth.values / stale.values)
    assert np.all((multipliers > 1.05) & (multipliers < 1.25))
    assert np.ptp(multipliers) > 0.03


@pytest.mark.parametrize("kind", ["curve", "grid"])
def test_cars_differ_by_seed_and_by_nothing_else(kind: str) -> None:
    first = engine.true_table(Scenario(seed=1, kind=kind))  # type: ignore[arg-type]
    again = engine.true_table(Scenario(seed=1, kind=kind, minutes=3.0, wideband="after", banks=2))  # type: ignore[arg-type]
    other = engine.true_table(Scenario(seed=2, kind=kind))  # type: ignore[arg-type]
    assert np.array_equal(first.values, again.values)
    assert not np.allclose(first.values, other.values, rtol=1e-3)


def test_the_error_can_be_scaled_and_turned_around() -> None:
    right, low, high = (
        engine.true_multipliers(s, engine.stale_table(s)) for s in (Scenario(error_scale=e) for e in (0.0, 1.0, -1.0))
    )
    assert right == pytest.approx(1.0, abs=1e-3)  # what rounding the stale table to 0.001 g/s leaves
    assert low * high == pytest.approx(1.0, abs=2e-3)


def test_a_smooth_truth_meets_the_table_on_its_breakpoints_only() -> None:
    scenario = Scenario(between="smooth")
    hertz, airflow = engine.true_curve(scenario)
    table = engine.true_table(scenario)
    points = table.axes[0].breakpoints
    assert np.interp(points, hertz, airflow) == pytest.approx(table.values, rel=1e-12)
    between = np.abs(np.interp(hertz, points, table.values) / airflow - 1)
    assert 1e-4 < between.max() < 0.01


def test_the_smooth_grid_meets_its_table_on_the_breakpoints() -> None:
    linear, smooth = Scenario(kind="grid"), Scenario(kind="grid", between="smooth")
    rpm, kpa = (axis.breakpoints for axis in engine.true_table(linear).axes)
    n, p = (a.ravel() for a in np.meshgrid(rpm, kpa, indexing="ij"))
    kelvin = np.full_like(n, 300.0)
    on = [engine.true_airflow_of_grid(s, n, p, kelvin) for s in (linear, smooth)]
    assert on[0] == pytest.approx(on[1], rel=1e-12)
    off = [engine.true_airflow_of_grid(s, n + 100.0, p + 4.0, kelvin) for s in (linear, smooth)]
    assert np.max(np.abs(off[0] / off[1] - 1)) > 1e-4


@pytest.mark.parametrize(
    "wrong",
    [{"rate_hz": 30.0}, {"rate_hz": 0.0}, {"minutes": -1.0}, {"minutes": 0.0, "pulls": 0}, {"banks": 3},
     {"wideband_bank": 2}, {"breakpoints": 3}],
)  # fmt: skip
def test_what_cannot_be_driven_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(InputError, match="demo"):
        Scenario(**wrong)  # type: ignore[arg-type]
