"""Transport and lag against physics and the step response of a first-order lag with dead time."""

import numpy as np
import pytest

from workbench.maths.signals.delay import seen_by_sensor, source_times


def test_steady_flow_delays_by_fixed_part_plus_volume_over_flow() -> None:
    time = np.arange(0, 20, 0.05)
    for flow in (3.0, 20.0, 150.0):
        source = source_times(time, np.full(time.size, flow), 0.1, 1.5)
        np.testing.assert_allclose(time[200:] - source[200:], 0.1 + 1.5 / flow, atol=1e-6)


@pytest.mark.parametrize(
    ("litres", "kelvin", "kpa", "flow", "seconds"),
    [(1.5, 800, 101.325, 3, 0.220617), (1.5, 800, 101.325, 5, 0.132370), (1.5, 900, 101.325, 20, 0.029416)],
)
def test_plug_flow_of_an_ideal_gas(litres: float, kelvin: float, kpa: float, flow: float, seconds: float) -> None:
    """tau = V p / (R T mdot), R 287.05 J/(kg K): plug flow of an ideal gas, recomputed."""
    grams = litres * 1e-3 * kpa * 1e3 / (287.05 * kelvin) * 1e3
    time = np.arange(0, 10, 0.05)
    source = source_times(time, np.full(time.size, float(flow)), 0.0, grams)
    assert time[-1] - source[-1] == pytest.approx(seconds, abs=1e-5)


def test_a_parcel_arrives_when_the_pipe_has_been_filled_behind_it() -> None:
    time = np.arange(0, 10, 0.01)
    flow = np.where(time < 5, 5.0, 50.0)
    source = source_times(time, flow, 0.0, 5.0)
    # Gas that left at 4.5 s has 2.5 g behind it at 5 s; the other 2.5 g take 0.05 s more.
    assert np.interp(4.5, source, time) == pytest.approx(5.05, abs=0.01)


def test_a_hole_in_the_log_moves_no_gas_beyond_a_second() -> None:
    time = np.concatenate([np.arange(0, 5, 0.05), np.arange(65, 70, 0.05)])
    source = source_times(time, np.full(time.size, 5.0), 0.1, 10.0)
    assert np.all(np.diff(source) >= -1e-9)


def test_the_lag_is_first_order() -> None:
    """First-order lag with dead time, y = 1 - exp(-(t - theta) / tau), theta 0.15 s, tau 0.10 s."""
    step = 0.01
    time = np.arange(0, 3, step)
    values = (time > 0.5).astype(float)
    source = source_times(time, np.full(time.size, 10.0), 0.15, 0.0)
    seen = seen_by_sensor(values, time, source, 0.10, step)
    # The step lies half a row before its first sample when values run straight between rows.
    expected = np.where(time > 0.655, 1 - np.exp(-(time - 0.655) / 0.10), 0.0)
    np.testing.assert_allclose(seen, expected, atol=0.03)
    crossings = [float(np.interp(level, seen[60:120], time[60:120])) for level in (1 - np.exp(-1 / 3), 1 - np.exp(-1))]
    lag = 1.5 * (crossings[1] - crossings[0])
    assert lag == pytest.approx(0.10, abs=0.003)
    assert crossings[1] - lag - 0.505 == pytest.approx(0.15, abs=0.003)


def test_a_constant_passes_unchanged() -> None:
    time = np.arange(0, 5, 0.05)
    source = source_times(time, np.full(time.size, 10.0), 0.2, 1.0)
    np.testing.assert_allclose(seen_by_sensor(np.full(time.size, 0.87), time, source, 0.08, 0.05), 0.87, rtol=1e-12)
