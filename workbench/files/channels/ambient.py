"""Pressures that count from the ambient, turned into absolute ones: by the barometer, or by how high the road lies."""

import re

import numpy as np

from workbench.files.channels.measured import Measured
from workbench.files.vocabulary.asking import Reading, ask
from workbench.files.vocabulary.spelling import plain_words
from workbench.model.arrays import FloatArray
from workbench.model.log import Question, Role
from workbench.phrases import phrase

SEA_LEVEL = 101.325  # kPa; ISO 2533
HEIGHTS = (0, 250, 500, 750, 1000, 1500, 2000)  # m
_BELOW = re.compile(
    r"\b(vacuum|vakuum|vacio|vuoto|vide|depression|unterdruck|onderdruk|undertryck|undertrykk|podcisnienie|podtlak)\b"
)
LEAST = -5.0  # kPa; no absolute pressure is less


def standard_pressure(height: float) -> float:
    """Return the pressure of the standard atmosphere at a height in m up to 11 km, kPa (ISO 2533, equation 12)."""
    return SEA_LEVEL * float((1 - 0.0065 * height / 288.15) ** 5.25588)


def absolute(channel: Measured, role: Role, barometer: FloatArray | None) -> tuple[Measured, str, Question | None]:
    """Turn a gauge pressure into an absolute one; say how, and ask for the height where no barometer is logged.

    Args:
        channel: the channel.
        role: that it plays.
        barometer: kPa, shape (rows,), NaN where missing.
    """
    gauge = channel.unit is not None and channel.unit.gauge
    boost = channel.there.size and float(channel.there.min()) < LEAST
    # A vacuum counts downwards from the ambient; below 0 it is a pressure that counts upwards, whatever it is called.
    below = bool(_BELOW.search(plain_words(channel.name))) and not boost and channel.quantity == "pressure"
    if role != "manifold_pressure" or not (gauge or boost or below):
        return channel, "", None
    if below:
        channel = channel.becoming("pressure", -channel.values)
    if barometer is not None and np.isfinite(barometer).any():
        ambient = np.where(np.isfinite(barometer), barometer, np.nanmedian(barometer))
        made = channel.becoming("pressure", channel.values + ambient)
        note = phrase("{channel} counts from the ambient; the barometer was added.", channel=channel.name)
        if below:
            note = phrase("{channel} is a vacuum; it was taken from the barometer.", channel=channel.name)
        return made, note, None
    made = channel.becoming("pressure", channel.values + SEA_LEVEL)
    note = phrase("{channel} counts from the ambient; 101.325 kPa was added.", channel=channel.name)
    if below:
        note = phrase("{channel} is a vacuum; it was taken from 101.325 kPa.", channel=channel.name)
    return made, note, _question(channel.name)


def _question(name: str) -> Question:
    why = phrase(
        "{name} counts from the ambient, and no barometer is logged. How high above the sea was it driven?", name=name
    )
    readings = [
        Reading(
            f"{height} m",
            phrase("The ambient is {ambient:.1f} kPa.", ambient=standard_pressure(height)),
            offset=standard_pressure(height),
        )
        for height in HEIGHTS
    ]
    return ask(name, why, readings, "kPa")


def is_of_ambient(question: Question) -> bool:
    """Tell whether a question asks how high a drive lay; it matters to tables over manifold pressure only."""
    return [each.answer for each in question.alternatives] == [f"{height} m" for height in HEIGHTS]
