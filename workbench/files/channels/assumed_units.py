"""Units that a file does not give, assumed from what a channel is for and from its values."""

import numpy as np

from workbench.files.channels.measured import Measured
from workbench.files.vocabulary.units import BASES, find_unit, to_base
from workbench.files.vocabulary.vocabulary import RULES
from workbench.model.arrays import FloatArray
from workbench.model.log import Role
from workbench.phrases import phrase

# Pressures: unit -> (least, most) of the highest value that a drive reaches in it. Common practice, no source.
_PRESSURES = (("bar", 0.5, 4.0), ("psi", 8.0, 19.0), ("inHg", 19.0, 45.0), ("kPa", 45.0, 450.0), ("hPa", 450.0, 4500.0))


def assume_unit(channel: Measured, role: Role) -> tuple[Measured, str]:
    """Return a channel without unit the likeliest unit of its role, and say which."""
    quantities = RULES[role].quantities
    if channel.unit is not None or not quantities:
        return channel, ""
    quantity = quantities[0]
    if role == "sensor_signal":
        quantity = "voltage" if channel.there.size and float(channel.there.max()) < 6 else "frequency"
    name = BASES[quantity][0]
    if channel.there.size:
        name = _by_values(quantity, channel.there) or name
    unit = find_unit(name)
    if unit is None:
        return channel, ""
    values = to_base(channel.values, unit)
    return channel.becoming(quantity, values), f"{channel.name} in {name}"


def _by_values(quantity: str, there: FloatArray) -> str:
    if quantity == "pressure":
        highest = float(np.quantile(there, 0.99))
        return next((unit for unit, least, most in _PRESSURES if least <= highest < most), "")
    if quantity == "temperature":
        return "degF" if float(np.median(there)) > 135 else ""
    return ""


def absolute(channel: Measured, role: Role, barometer: FloatArray | None) -> tuple[Measured, str]:
    """Turn a gauge pressure into an absolute one."""
    gauge = channel.unit is not None and channel.unit.gauge
    boost = channel.there.size and float(channel.there.min()) < -5  # no absolute pressure is
    if role != "manifold_pressure" or not (gauge or boost):
        return channel, ""
    ambient = 101.325 if barometer is None else np.where(np.isfinite(barometer), barometer, 101.325)
    what = "101.325 kPa was" if barometer is None else "the barometer was"
    return channel.becoming("pressure", channel.values + ambient), phrase(
        "{channel} counts from the ambient; {what} added.", channel=channel.name, what=what
    )
