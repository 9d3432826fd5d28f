"""The air-fuel ratio at lambda 1 of a stated fuel."""

import re

from workbench.errors import InputError
from workbench.phrases import phrase

# Air-fuel ratios by mass as the trade rounds them (common practice, no source); Heywood, Internal Combustion Engine
# Fundamentals (1988), eq. 3.6 gives 14.60 for CH1.87, 9.00 for ethanol, 6.47 for methanol, 15.68 for propane.
GASOLINE, ETHANOL = 14.7, 9.0
FUELS = {"gasoline": GASOLINE, "petrol": GASOLINE, "ethanol": ETHANOL, "methanol": 6.47, "propane": 15.7, "lpg": 15.7}
DENSITIES = {"ethanol": 789.0, "gasoline": 745.0}  # kg/m3 at about 20 degC, handbook values
LOWEST, HIGHEST = 2.0, 40.0


def blend(ethanol_percent: float, gasoline: float = GASOLINE, ethanol: float = ETHANOL) -> float:
    """Return the air-fuel ratio at lambda 1 of gasoline with ethanol: the mean of both, weighted by mass.

    Args:
        ethanol_percent: share of ethanol by volume, 0..100.
        gasoline: air-fuel ratio at lambda 1 of the gasoline.
        ethanol: the same of the ethanol.
    """
    share = ethanol_percent / 100
    masses = (share * DENSITIES["ethanol"], (1 - share) * DENSITIES["gasoline"])
    return (masses[0] * ethanol + masses[1] * gasoline) / sum(masses)


def read_fuel(text: str) -> float:
    """Read a fuel as its air-fuel ratio at lambda 1: a number, a name such as methanol, or a blend such as E10.

    Raises:
        InputError: when it is none of these.
    """
    word = text.strip().casefold()
    if word in FUELS:
        return FUELS[word]
    if (match := re.fullmatch(r"e(\d{1,3})", word)) and int(match[1]) <= 100:
        return blend(float(match[1]))
    try:
        ratio = float(word.replace(",", "."))
    except ValueError:
        ratio = float("nan")
    if not LOWEST <= ratio <= HIGHEST:
        known = ", ".join(FUELS)
        raise InputError(
            phrase("The fuel {text!r} is not known.", text=text),
            phrase("Give its air-fuel ratio, as in 14.7, or one of: {known}, E0 to E100.", known=known),
        )
    return ratio
