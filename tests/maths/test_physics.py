"""Laws behind the tables, against published and closed values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.errors import InputError
from workbench.maths.table.outliers import grain, outliers
from workbench.maths.table.physics import (
    air_density,
    charge,
    divider_ohm,
    engine_airflow,
    king,
    king_flow,
    plain,
    thermistor,
    volumetric_efficiency,
)

FLOW = np.array([1.0, 2, 5, 10, 20, 50, 100, 200])
SIGNAL = np.array([1.483240, 1.578871, 1.746580, 1.911729, 2.116606, 2.460053, 2.784713, 3.175008])

# NTC of a passenger car's service manual (coolant element), degC -> ohm.
CELSIUS = np.arange(-40.0, 141, 10)
COLD = [48805, 27414, 15971, 9620, 5975, 3816, 2502, 1679, 1152]
OHM = np.array([*COLD, 806.9, 575.8, 418.1, 308.6, 231.2, 175.7, 135.2, 105.4, 83.1, 66.2])


def test_a_hot_film_gives_its_constants_back() -> None:
    """Forward table of E^2 = 1.40 + 0.80 m^0.45, worked to six decimals."""
    fit = king(SIGNAL, FLOW)
    assert [fit.parameters[name] for name in "ABn"] == pytest.approx([1.40, 0.80, 0.45], abs=2e-4)
    assert np.abs(fit.residual).max() < 2e-5
    exact = np.sqrt(1.4 + 0.8 * FLOW**0.45)
    assert king_flow(exact, 1.4, 0.8, 0.45) == pytest.approx(FLOW, rel=1e-10)
    fit = king(exact, FLOW)
    assert [fit.parameters[name] for name in "ABn"] == pytest.approx([1.40, 0.80, 0.45], rel=1e-6)
    sensitivity = 2 * exact[5] ** 2 / (0.45 * (exact[5] ** 2 - 1.4))
    assert sensitivity == pytest.approx(5.782022, abs=1e-6)


def test_a_wire_after_collis_and_williams() -> None:
    """Nu = 0.24 + 0.56 Re^0.45 (Journal of Fluid Mechanics 6, 1959; quoted from memory) for a wire of 5 um."""
    speed = np.array([0.5, 1, 2, 3, 5, 8, 12, 18, 25, 35, 45])
    nusselt = 0.24 + 0.56 * (speed * 5e-6 / 15.62e-6) ** 0.45
    fit = king(np.sqrt(nusselt), speed)
    assert [fit.parameters[name] for name in "ABn"] == pytest.approx([0.24, 0.3354038672, 0.45], rel=1e-5)


def test_a_thermistor_by_its_manual() -> None:
    """Least squares by numpy over the manual's 19 points: A, B, C as below, no point off by more than 0.012 K."""
    fit = thermistor(OHM, CELSIUS + 273.15)
    assert fit.parameters["A"] == pytest.approx(1.33594435e-3, rel=1e-3)
    assert fit.parameters["B"] == pytest.approx(2.55999240e-4, rel=1e-3)
    assert fit.parameters["C"] == pytest.approx(1.50631752e-7, rel=1e-2)
    assert np.abs(fit.residual).max() < 0.0125
    volt = 5 * OHM / (OHM + 2490)
    assert divider_ohm(volt, 2490) == pytest.approx(OHM, rel=1e-12)
    with pytest.raises(InputError):
        divider_ohm(np.array([5.0]), 2490)


def test_a_published_thermistor_curve() -> None:
    """A meteorological probe's table of a generic 10 kOhm thermistor; the published constants meet it to 0.003 K."""
    ohm = np.array([336103.2, 314558, 176804.8, 97006.9, 55303.9, 42316.7, 32650.9, 31030.8])
    celsius = np.array([-40.0, -39, -30, -20, -10, -5, 0, 1])
    logs = np.log(ohm)
    told = 1 / (1.129241e-3 + 2.341077e-4 * logs + 8.775468e-8 * logs**3) - 273.15
    assert np.abs(told - celsius).max() < 0.003
    assert np.abs(thermistor(ohm, celsius + 273.15).residual).max() < 0.003


def test_air_and_efficiency() -> None:
    """Ideal gas with R of ISO 2533; efficiencies worked from airflow * 120 / (speed * displacement * density)."""
    assert air_density(101.325, 25) == pytest.approx(1.183913, abs=1e-6)
    assert air_density(101.325, 15) == pytest.approx(1.225000, abs=1e-6)
    for airflow, rpm, litres, pressure, kelvin, expected in (
        (50, 3000, 2.0, 101.325, 298.15, 0.8446564),
        (3, 750, 2.0, 35, 313.15, 0.6163927),
        (200, 6000, 5.0, 98, 303.15, 0.7103680),
    ):
        density = air_density(pressure, kelvin - 273.15)
        assert volumetric_efficiency(airflow, rpm, litres, density) == pytest.approx(expected, abs=1e-7)
        assert engine_airflow(expected, rpm, litres, density) == pytest.approx(airflow, rel=1e-6)


HOT_FILM = np.linspace(1.5, 4.6, 80)
TRUE_FLOW = king_flow(HOT_FILM, 1.4, 0.8, 0.45)


def found(values: np.ndarray) -> list[int]:
    slack = np.maximum(grain(values) / 2 / values, 5e-4)
    odd = outliers(king(HOT_FILM, values).course, (HOT_FILM,), slack)
    return np.flatnonzero(odd.marked).tolist()


@given(st.integers(0, 79), st.sampled_from([-0.005, 0.005, 0.02, -0.3, 9.0]))
def test_one_mistyped_cell_among_eighty_stands_out(cell: int, error: float) -> None:
    values = TRUE_FLOW * np.where(np.arange(80) == cell, 1 + error, 1)
    assert found(values) == [cell]


@given(st.lists(st.integers(1, 13).map(lambda n: 6 * n - 3), unique=True, min_size=2, max_size=3))
def test_several_stand_out(cells: list[int]) -> None:
    values = TRUE_FLOW * np.where(np.isin(np.arange(80), cells), 1.01, 1)
    assert found(values) == sorted(cells)


def test_a_clean_curve_is_left_in_peace() -> None:
    assert found(TRUE_FLOW) == []
    assert found(np.round(TRUE_FLOW, 3)) == []
    # A sensor in a duct follows the law only roughly.
    assert found(TRUE_FLOW * (1 + 0.03 * np.sin(HOT_FILM * 2))) == []


@given(st.integers(0, 18), st.sampled_from([-1.5, 1.5, 10.0]))
def test_a_mistyped_temperature_stands_out(cell: int, error: float) -> None:
    kelvin = CELSIUS + 273.15 + np.where(np.arange(19) == cell, error, 0)
    fit = thermistor(OHM, kelvin)
    odd = outliers(fit.course, (-np.log(OHM),), np.full(19, 0.02))
    assert np.flatnonzero(odd.marked).tolist() == [cell]
    assert odd.off[cell] == pytest.approx(error, rel=0.2)


@given(st.integers(0, 11), st.integers(0, 8), st.sampled_from([-0.01, 0.01, 0.05]))
def test_a_mistyped_efficiency_stands_out(row: int, column: int, error: float) -> None:
    speed, pressure = np.linspace(600, 6200, 12), np.linspace(20, 100, 9)
    efficiency = (0.8 + 0.1 * np.sin(speed / 3500))[:, None] * (1 - 6 / pressure)[None, :]
    efficiency[row, column] *= 1 + error
    fit = charge(efficiency, pressure)
    odd = outliers(fit.course, (speed, pressure), 5e-4 * fit.unit)
    assert np.argwhere(odd.marked).tolist() == [[row, column]]


def test_without_a_law_neighbours_tell() -> None:
    values = np.exp(np.linspace(0, 3, 40)) * np.where(np.arange(40) == 17, 1.005, 1)
    odd = outliers(plain(values).course, (np.arange(40.0),), np.full(40, 5e-4))
    assert np.flatnonzero(odd.marked).tolist() == [17]


def test_too_few_cells_tell_nothing() -> None:
    assert not outliers(np.array([1.0, 9, 1, 1]), (np.arange(4.0),), np.full(4, 1e-3)).marked.any()
    assert not outliers(np.full(9, np.nan), (np.arange(9.0),), np.full(9, 1e-3)).marked.any()


def test_the_grain_of_a_table() -> None:
    assert grain(np.array([1.0, 25, -3])) == 1
    assert grain(np.array([1.25, 3.5])) == 0.01
    assert grain(np.array([1 / 3])) == 0


def test_what_cannot_be_fitted_is_refused() -> None:
    with pytest.raises(InputError, match="four cells"):
        king(np.array([1.0, 2, 3]), np.array([1.0, 2, 3]))
    with pytest.raises(InputError, match="does not rise"):
        king(np.array([1.0, 2, 3, 4, 5]), np.array([50.0, 20, 10, 5, 1]))
    with pytest.raises(InputError, match="four cells"):
        thermistor(np.array([1.0, 2, 0, 4]), np.array([300.0, 290, 280, 270]))
    with pytest.raises(InputError, match="three pressures"):
        charge(np.ones((2, 2)), np.array([20.0, 40]))
