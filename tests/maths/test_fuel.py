import pytest

from workbench.errors import InputError
from workbench.maths.signals.fuel import blend, read_fuel


@pytest.mark.parametrize(("percent", "ratio"), [(0, 14.7), (10, 14.0999), (85, 9.8141), (100, 9.0)])
def test_blends_by_volume(percent: float, ratio: float) -> None:
    """Worked out apart from this program with 789 and 745 kg/m3, and with 14.7 and 9.0."""
    assert blend(percent) == pytest.approx(ratio, abs=5e-5)


@pytest.mark.parametrize(("percent", "ratio"), [(10, 14.0114), (20, 13.4289), (50, 11.7217), (85, 9.8027)])
def test_blends_with_the_ratios_of_a_textbook(percent: float, ratio: float) -> None:
    """The same with Heywood (1988), eq. 3.6: gasoline CH1.87 14.6007, ethanol 9.0032."""
    assert blend(percent, 14.6007, 9.0032) == pytest.approx(ratio, abs=5e-5)


def test_fuels_are_read() -> None:
    assert read_fuel("14,1") == 14.1
    assert read_fuel("E85") == pytest.approx(9.8141, abs=5e-5)
    assert read_fuel("Methanol") == 6.47
    for wrong in ("e101", "diesel?", "1", "nan", ""):
        with pytest.raises(InputError, match="is not known"):
            read_fuel(wrong)
