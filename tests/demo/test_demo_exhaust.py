"""Gas on its way to the sensor: delays that add up, oxygen that is neither lost nor made."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.demo import exhaust
from workbench.demo.scenario import STEP_S


@pytest.mark.parametrize("plug", [True, False])
def test_steady_flow_delays_by_volume_over_flow(plug: bool) -> None:
    """Plug flow tau = V p / (R T mdot), R 287.05 J/(kg K): 1.5 l at 800 K and 101.325 kPa and 3 g/s -> 0.220617 s,
    2 l at 1000 K and 110 kPa and 100 g/s -> 0.007664 s (computed with that formula)."""
    for litres, kelvin, kpa, flow, tau in ((1.5, 800, 101.325, 3.0, 0.220617), (2.0, 1000, 110.0, 100.0, 0.007664)):
        volume_g = litres * kpa / (0.28705 * kelvin)
        air, rpm = np.full(400, flow), np.full(400, 3000.0)
        leaving = exhaust.leaving_time(air, rpm, 0.08, 0.5, volume_g, plug)
        delay = (np.arange(400) - leaving) * STEP_S
        assert delay[-1] == pytest.approx(tau + 0.08 + 0.5 * 120 / 3000, abs=2e-6)


@given(st.integers(0, 2**32 - 1), st.floats(0.1, 2.0))
@settings(max_examples=30, deadline=None)
def test_in_plug_flow_the_volume_lies_between_engine_and_sensor(seed: int, volume_g: float) -> None:
    flow = np.interp(np.arange(600), np.arange(0, 601, 60), np.random.default_rng(seed).uniform(3.0, 150.0, 11))
    leaving = exhaust.leaving_time(flow, np.full(600, 2000.0), 0.1, 0.0, volume_g, plug=True)
    assert np.all(np.diff(leaving) >= 0)
    left = np.concatenate([[0.0], np.cumsum(0.5 * (flow[1:] + flow[:-1]) * STEP_S)])
    steps = np.arange(600.0)
    arrived = np.interp(steps - 0.1 / STEP_S, steps, left) - np.interp(leaving, steps, left)
    assert arrived[leaving > 0][1:] == pytest.approx(volume_g, abs=1e-9)


def test_the_sensor_follows_as_a_first_order_lag() -> None:
    """A ramp is followed exactly: y(t) = t - lag (1 - exp(-t / lag)); in the end it is late by the lag."""
    time = STEP_S * np.arange(200)
    ramp = exhaust.lagged(time, 0.1)
    assert ramp == pytest.approx(time - 0.1 * (1 - np.exp(-time / 0.1)), abs=1e-12)
    assert np.array_equal(exhaust.lagged(ramp, 0.0), ramp)


def test_the_catalyst_reads_1_until_it_is_full() -> None:
    """level' = 0.2314 * airflow * (1 - 1/lambda): half a gram of room at 10 g/s and lambda 1.1 lasts 2.377 s."""
    steps = 200
    out = exhaust.after_catalyst(np.full(steps, 1.1), np.full(steps, 10.0), 1.0)
    full_at = 0.5 / (0.2314 * 10.0 * (1 - 1 / 1.1))
    time = (np.arange(steps) + 1) * STEP_S
    assert full_at == pytest.approx(2.377, abs=1e-3)
    assert np.all(out[time < full_at] == 1.0)
    assert out[time > full_at + STEP_S] == pytest.approx(1.1, rel=1e-12)


def test_the_catalyst_lets_rich_gas_through_when_it_is_empty() -> None:
    out = exhaust.after_catalyst(np.full(400, 0.86), np.full(400, 50.0), 1.0)
    assert out[0] == 1.0
    assert out[-1] == pytest.approx(0.86, rel=1e-12)


@given(st.integers(0, 2**32 - 1), st.floats(0.3, 3.0))
@settings(max_examples=30, deadline=None)
def test_the_catalyst_neither_makes_nor_loses_oxygen(seed: int, capacity: float) -> None:
    random = np.random.default_rng(seed)
    mixture = np.repeat(random.uniform(0.8, 1.3, 40), 20)
    airflow = np.repeat(random.uniform(3.0, 150.0, 40), 20)
    out = exhaust.after_catalyst(mixture, airflow, capacity)
    held = np.cumsum(0.2314 * airflow * STEP_S * (1 / out - 1 / mixture)) + 0.5 * capacity
    assert held.min() > -1e-9
    assert held.max() < capacity + 1e-9
    assert np.all((out - 1) * (mixture - 1) >= -1e-12)
    assert np.all(np.abs(1 - 1 / out) <= np.abs(1 - 1 / mixture) + 1e-12)
