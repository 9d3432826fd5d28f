"""Numbers of one table in the units of another."""

import numpy as np
import pytest

from workbench.errors import InputError
from workbench.files.tables.conversion import in_unit


@pytest.mark.parametrize(
    ("unit", "wanted", "value", "expected"),
    [
        ("kg/h", "g/s", 3.6, 1.0),
        ("g/s", "kg/h", 1.0, 3.6),
        ("lb/min", "g/s", 1.0, 453.59237 / 60),
        ("kHz", "Hz", 1.5, 1500),
        ("mV", "V", 1200, 1.2),
        ("hPa", "kPa", 1013.25, 101.325),
        ("psi", "bar", 14.503773773, 1.0),
        ("degF", "degC", 212, 100),
        ("degC", "degF", -40, -40),
        ("K", "°C", 273.15, 0),
    ],
)
def test_numbers_are_turned(unit: str, wanted: str, value: float, expected: float) -> None:
    """Definitions of the units: 1 lb = 453.59237 g, 1 psi = 6894.757293168 Pa (from memory)."""
    turned, note = in_unit(np.array([value]), unit, wanted, "It")
    assert turned[0] == pytest.approx(expected, rel=1e-9, abs=1e-9)
    assert note == f"It was converted from {unit} to {wanted}."


def test_what_is_the_same_stays_to_the_last_bit() -> None:
    values = np.array([0.1, 1 / 3])
    for unit, wanted, note in (("g/s", "g/s", ""), ("g/s", "g/sec", ""), ("", "g/s", "a unit is missing")):
        turned, told = in_unit(values, unit, wanted, "It")
        assert turned.tobytes() == values.tobytes()
        assert note in told


@pytest.mark.parametrize(("unit", "wanted"), [("V", "g/s"), ("furlong", "g/s"), ("psig", "psi"), ("nm", "kg")])
def test_other_quantities_are_refused(unit: str, wanted: str) -> None:
    with pytest.raises(InputError) as caught:
        in_unit(np.ones(2), unit, wanted, "It")
    assert caught.value.hint
