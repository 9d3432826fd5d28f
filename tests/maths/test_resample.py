"""Tables read at other breakpoints."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from workbench.errors import InputError
from workbench.maths.table.interpolation import look_up
from workbench.maths.table.resample import beyond, deviation, read_at, with_axis, with_breakpoint
from workbench.model.table import Axis, Table

# NTC of a passenger car's service manual (coolant element), degC -> ohm, with a divider of 2490 ohm on 5 V.
CELSIUS = np.arange(-40.0, 141, 10)
OHM = np.array(
    [
        48805,
        27414,
        15971,
        9620,
        5975,
        3816,
        2502,
        1679,
        1152,
        806.9,
        575.8,
        418.1,
        308.6,
        231.2,
        175.7,
        135.2,
        105.4,
        83.1,
        66.2,
    ]
)
VOLT = 5 * OHM / (OHM + 2490)
TARGETS = np.array([0.15, 0.25, 0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 4.7])


def axis(points: object) -> Axis:
    return Axis("voltage", "V", np.asarray(points, dtype=float))


def curve(points: np.ndarray, values: np.ndarray) -> Table:
    return Table("t", "temperature", "degC", (axis(points),), values)


def test_a_thermistor_is_resampled_within_its_limits() -> None:
    """Values by numpy and scipy 1.16.3 from the manual's table; the truth by Steinhart and Hart's equation."""
    donor = curve(VOLT[::-1], CELSIUS[::-1])
    truth = [
        133.2982,
        111.2338,
        83.7141,
        57.6327,
        42.1015,
        30.2926,
        20.1096,
        10.4944,
        0.6056,
        -10.7053,
        -26.3449,
        -36.1953,
    ]
    linear = read_at(donor, (axis(TARGETS),))
    shape = read_at(donor, (axis(TARGETS),), "shape")
    assert linear == pytest.approx(
        [
            133.5882,
            111.3781,
            84.0580,
            57.8595,
            42.2790,
            30.3164,
            20.1221,
            10.4943,
            0.5806,
            -10.7938,
            -26.7578,
            -36.7005,
        ],
        abs=1e-4,
    )
    assert shape == pytest.approx(
        [
            133.3205,
            111.2182,
            83.7209,
            57.6430,
            42.1073,
            30.2965,
            20.1188,
            10.5008,
            0.6150,
            -10.7115,
            -26.3392,
            -36.3704,
        ],
        abs=1e-4,
    )
    assert np.abs(linear - truth).max() < 0.51
    assert np.abs(shape - truth).max() < 0.18
    assert np.abs(shape - truth)[:-1].max() < 0.023
    for way in ("linear", "shape"):
        assert read_at(donor, (axis(VOLT[::-1]),), way).tolist() == CELSIUS[::-1].tolist()
        assert read_at(donor, (axis([0.1, 4.8]),), way).tolist() == [140, -40]
        fine = read_at(donor, (axis(np.linspace(0.13, 4.75, 500)),), way)
        assert (np.diff(fine) < 0).all()
    assert beyond(donor, (axis([0.1, 0.2, 4.8]),)).tolist() == [True, False, True]


def test_shape_preserving_cubics() -> None:
    """Data RPN 14 of Fritsch and Carlson, SIAM Journal on Numerical Analysis 17 (1980); values by scipy 1.16.3."""
    x = np.array([7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20])
    y = np.array([0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994])
    at = np.array([8.04, 8.5, 9.0, 9.5, 11, 13, 17])
    expected = [6.915e-6, 0.116632577, 0.337534327, 0.685217945, 0.986043363, 0.999361822, 0.999968026]
    read = read_at(curve(x, y), (axis(at),), "shape")
    assert read == pytest.approx(expected, abs=1e-8)
    fine = read_at(curve(x, y), (axis(np.linspace(7.99, 20, 999)),), "shape")
    assert (np.diff(fine) >= 0).all()
    assert fine.max() <= 0.999994
    hand = read_at(curve(np.arange(4.0), np.array([0, 1, 1.5, 4])), (axis([0.5, 1.5, 2.5]),), "shape")
    assert hand == pytest.approx([0.57291667, 1.22916667, 2.41666667], abs=1e-8)


GRID = Table(
    "t",
    "v",
    "",
    (Axis("r", "", np.array([0.0, 1, 3])), Axis("c", "", np.array([0.0, 2, 3, 7]))),
    np.array([[1.0, 2, 4, 3], [5, 3, 8, 2], [0.1, 0.7, 0.3, 9]]),
)


@given(st.integers(-200, 900).map(lambda n: n / 100), st.integers(0, 1))
def test_one_breakpoint_more_changes_nothing_that_is_read(at: float, number: int) -> None:
    if at in GRID.axes[number].breakpoints:
        with pytest.raises(InputError, match="already"):
            with_breakpoint(GRID, number, at)
        return
    wider = with_breakpoint(GRID, number, at)
    places = np.random.default_rng(1).uniform(-1, 10, (50, 2))
    assert look_up(wider, places) == pytest.approx(look_up(GRID, places), abs=1e-9)
    assert abs(deviation(GRID, wider).largest) < 1e-12
    kept = np.isin(wider.axes[number].breakpoints, GRID.axes[number].breakpoints)
    assert np.compress(kept, wider.values, axis=number).tolist() == GRID.values.tolist()


@given(arrays(np.float64, 4, elements=st.integers(-100, 900).map(lambda n: n / 100), unique=True))
def test_the_largest_difference_is_found(points: np.ndarray) -> None:
    other = with_axis(GRID, 1, np.sort(points))
    told = deviation(GRID, other)
    places = np.random.default_rng(2).uniform(-1, 10, (400, 2))
    assert np.abs(look_up(other, places) - look_up(GRID, places)).max() <= abs(told.largest) + 1e-9


def test_a_grid_is_read_shape_preserving_in_both_directions() -> None:
    rows, columns = np.linspace(0, 3, 4), np.linspace(0, 7, 5)
    axes = (Axis("r", "", rows), Axis("c", "", columns))
    rising = Table("t", "v", "", GRID.axes, np.sort(np.sort(GRID.values, axis=0), axis=1))
    read = read_at(rising, axes, "shape")
    assert (np.diff(read, axis=1) >= -1e-12).all()
    assert (np.diff(read, axis=0) >= -1e-12).all()
    assert read_at(rising, rising.axes, "shape").tolist() == rising.values.tolist()


def test_a_table_of_one_breakpoint_is_the_same_everywhere() -> None:
    one = curve(np.array([2.0]), np.array([5.0]))
    for way in ("linear", "shape"):
        assert read_at(one, (axis([1, 2, 3]),), way).tolist() == [5, 5, 5]
