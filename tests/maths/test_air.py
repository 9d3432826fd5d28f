"""Air against published figures and other programs; each value names its source."""

import pytest

from workbench.errors import InputError
from workbench.maths.signals.air import (
    air_per_cylinder,
    density,
    iso_1585,
    sae_j1349,
    vapour_pressure,
    volumetric_efficiency,
)


# ISO 2533 / USSA-1976 (ambiance 1.3.1 and fluids 1.3.1 agree), and dry air at the usual reference states.
@pytest.mark.parametrize(
    ("kpa", "celsius", "expected"),
    [
        (101.325, 15.0, 1.225000),
        (95.461285, 284.9003 - 273.15, 1.167273),
        (79.501411, 275.1541 - 273.15, 1.006554),
        (22.632040, 216.65 - 273.15, 0.363918),
        (101.325, 0.0, 1.292271),
        (101.325, 20.0, 1.204106),
        (101.325, 25.0, 1.183913),
        (99.0, 25.0 - 0.15, 1.157330),
    ],
)
def test_dry_air_weighs_what_the_standard_atmosphere_says(kpa: float, celsius: float, expected: float) -> None:
    assert float(density(kpa, celsius)) == pytest.approx(expected, rel=1e-5)


# PsychroLib, CoolProp HAPropsSI and CIPM-2007 agree within 0.05 %; here CoolProp's values.
@pytest.mark.parametrize(
    ("kpa", "celsius", "humidity", "expected"),
    [
        (101.325, 20.0, 0.5, 1.19936),
        (101.325, 25.0, 0.5, 1.17736),
        (101.325, 30.0, 1.0, 1.14640),
        (101.325, 35.0, 0.6, 1.13142),
        (83.4, 20.0, 0.3, 0.98829),
    ],
)
def test_humid_air_is_lighter(kpa: float, celsius: float, humidity: float, expected: float) -> None:
    assert float(density(kpa, celsius, vapour_pressure(celsius, humidity))) == pytest.approx(expected, rel=5e-4)


def test_vapour_pressure_is_that_of_the_rule() -> None:
    assert vapour_pressure(9.5, 1.0) == pytest.approx(1.186581, rel=1e-5)  # 40 CFR 1065.645, its own example
    assert vapour_pressure(25.0, 1.0) == pytest.approx(3.166823, rel=1e-5)  # by the same rule
    assert vapour_pressure(25.0, 0.5) == pytest.approx(3.166823 / 2, rel=1e-5)


@pytest.mark.parametrize(
    ("flow", "rpm", "cylinders", "expected"), [(50, 3000, 4, 0.5), (3.0, 750, 4, 0.12), (200, 6000, 8, 0.5)]
)
def test_air_per_cylinder(flow: float, rpm: float, cylinders: int, expected: float) -> None:
    assert float(air_per_cylinder(flow, rpm, cylinders)) == pytest.approx(expected, rel=1e-12)


# From the ideal-gas form, worked out apart; the first two in Heywood's equation 2.27.
@pytest.mark.parametrize(
    ("flow", "rpm", "litres", "kpa", "kelvin", "expected"),
    [
        (50, 3000, 2.0, 101.325, 298.15, 0.8446564),
        (3, 750, 2.0, 35.0, 313.15, 0.6163927),
        (200, 6000, 5.0, 98.0, 303.15, 0.7103680),
    ],
)
def test_volumetric_efficiency(
    flow: float, rpm: float, litres: float, kpa: float, kelvin: float, expected: float
) -> None:
    found = volumetric_efficiency(flow, rpm, litres, density(kpa, kelvin - 273.15))
    assert float(found) == pytest.approx(expected, rel=1e-6)


# Formulas as quoted in several places; ISO 1585 from memory. Outside the band there is no factor.
@pytest.mark.parametrize(
    ("kpa", "celsius", "sae", "iso", "inside"),
    [
        (99.0, 25.0, 1.000000, 1.000000, True),
        (101.325, 25.0, 0.972924, 0.972528, True),
        (101.325, 15.0, 0.953414, 0.952814, True),
        (95.0, 20.0, 1.039324, 1.040123, True),
        (98.0, 35.0, 1.031876, 1.032504, True),
        (90.0, 25.0, 1.118000, 1.121169, False),
    ],
)
def test_factors_of_the_standards(kpa: float, celsius: float, sae: float, iso: float, inside: bool) -> None:
    assert sae_j1349(kpa, celsius).value == pytest.approx(sae, abs=1e-6)
    found = iso_1585(kpa, celsius)
    assert found.value == pytest.approx(iso, abs=1e-6)
    assert found.valid is inside


def test_sae_has_a_range_of_weather() -> None:
    assert sae_j1349(99.0, 25.0).valid
    assert not sae_j1349(99.0, 40.0).valid
    assert not sae_j1349(80.0, 25.0).valid


def test_air_that_cannot_be_is_refused() -> None:
    with pytest.raises(InputError):
        density(0.0, 20.0)
    with pytest.raises(InputError):
        density(100.0, -300.0)
