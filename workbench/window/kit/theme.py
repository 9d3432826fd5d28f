"""Colours of the three themes, and how they are told apart by eye: contrast, even steps, a second sign."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from workbench.model.arrays import FloatArray

ThemeName = Literal["light", "dark", "sun"]


@dataclass(frozen=True)
class Theme:
    """The few colours that everything is drawn in, as #rrggbb.

    Attributes:
        name: what the settings call it.
        dark: whether ink is lighter than ground.
        ground: behind the cards.
        card: what things stand on.
        field: inside of what can be typed into.
        ink: text and curves.
        soft: labels and what matters less.
        line: borders and grid lines.
        edge: borders of controls, seen without hovering.
        accent: settled, chosen, measured.
        on_accent: text on the accent.
        attention: wants to be looked at.
        on_attention: text on it.
        wash: behind rejected samples.
        above: deepest fill of a cell that rose.
        below: deepest fill of a cell that fell.
        stroke: width of curves, px.
    """

    name: ThemeName
    dark: bool
    ground: str
    card: str
    field: str
    ink: str
    soft: str
    line: str
    edge: str
    accent: str
    on_accent: str
    attention: str
    on_attention: str
    wash: str
    above: str
    below: str
    stroke: float


LIGHT = Theme(
    name="light",
    dark=False,
    ground="#f3f2ee",
    card="#ffffff",
    field="#fbfaf8",
    ink="#1d2426",
    soft="#5a6563",
    line="#dedcd4",
    edge="#878c85",
    accent="#0f766e",
    on_accent="#ffffff",
    attention="#a05400",
    on_attention="#ffffff",
    wash="#ebeae5",
    above="#7cc4ba",
    below="#d9ab74",
    stroke=1.6,
)
DARK = Theme(
    name="dark",
    dark=True,
    ground="#14181b",
    card="#1c2226",
    field="#161b1e",
    ink="#e8ecea",
    soft="#9aa8a4",
    line="#2f393e",
    edge="#697880",
    accent="#4fb3a5",
    on_accent="#0d1413",
    attention="#e0a458",
    on_attention="#191207",
    wash="#313b41",
    above="#1d6c63",
    below="#7a4f1d",
    stroke=1.6,
)
SUN = Theme(
    name="sun",
    dark=False,
    ground="#ffffff",
    card="#ffffff",
    field="#ffffff",
    ink="#000000",
    soft="#303634",
    line="#9c9c98",
    edge="#000000",
    accent="#004f49",
    on_accent="#ffffff",
    attention="#6e3600",
    on_attention="#ffffff",
    wash="#dfded9",
    above="#8fd6cb",
    below="#ecba80",
    stroke=2.4,
)
THEMES: dict[str, Theme] = {theme.name: theme for theme in (LIGHT, DARK, SUN)}

# Björn Ottosson, "A perceptual color space for image processing", 2020 (public domain matrices, OKLab).
_RGB_TO_LMS = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_LMS_TO_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)


def linear(colours: FloatArray) -> FloatArray:
    """Undo the transfer curve of sRGB (IEC 61966-2-1); any shape, 0..1."""
    return np.asarray(np.where(colours <= 0.04045, colours / 12.92, ((colours + 0.055) / 1.055) ** 2.4))


def companded(light: FloatArray) -> FloatArray:
    """Apply the transfer curve of sRGB (IEC 61966-2-1); any shape, 0..1."""
    light = np.clip(light, 0, 1)
    return np.asarray(np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055))


def rgb(colour: str) -> FloatArray:
    """Read #rrggbb, shape (3,), 0..1."""
    return np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])


def lab(colours: FloatArray) -> FloatArray:
    """Turn sRGB, shape (…, 3), into OKLab, in which equal steps look equal."""
    return np.asarray(np.cbrt(linear(colours) @ _RGB_TO_LMS.T) @ _LMS_TO_LAB.T)


def from_lab(colours: FloatArray) -> FloatArray:
    """Turn OKLab, shape (…, 3), into sRGB, 0..1."""
    return companded((colours @ np.linalg.inv(_LMS_TO_LAB).T) ** 3 @ np.linalg.inv(_RGB_TO_LMS).T)


def contrast(first: str, other: str) -> float:
    """Compute the contrast ratio of two colours, 1..21 (WCAG 2.1, relative luminance)."""
    weights = np.array([0.2126, 0.7152, 0.0722])
    light = sorted(float(linear(rgb(colour)) @ weights) + 0.05 for colour in (first, other))
    return light[1] / light[0]


def laid_over(colour: str, ground: str, alpha: int) -> str:
    """Return what a colour that lets its ground through looks like, as #rrggbb; alpha runs 0..255."""
    mixed = as_bytes(rgb(ground) + (rgb(colour) - rgb(ground)) * alpha / 255)
    return "#" + "".join(f"{part:02x}" for part in mixed.tolist())


def even_ramp(stops: list[str], steps: int = 256) -> FloatArray:
    """Lay colours between stops so that neighbouring steps look equally far apart, shape (steps, 3), 0..1."""
    corners = lab(np.array([rgb(stop) for stop in stops]))
    along = np.linspace(0, len(stops) - 1, 40 * len(stops))
    path = np.stack([np.interp(along, np.arange(len(stops)), corners[:, i]) for i in range(3)], axis=1)
    length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    where = np.linspace(0, length[-1], steps)
    return from_lab(np.stack([np.interp(where, length, path[:, i]) for i in range(3)], axis=1))


def change_ramp(theme: Theme) -> FloatArray:
    """Brown below, the card's own colour at 0, teal above, shape (257, 3); the ends are as far as text allows."""
    below = even_ramp([theme.below, theme.card], 129)
    above = even_ramp([theme.card, theme.above], 129)
    return np.concatenate([below, above[1:]])


def amount_ramp(theme: Theme) -> FloatArray:
    """From the card's colour to the accent's pale shade, for cells with text on them, shape (256, 3)."""
    return even_ramp([theme.card, theme.above])


def as_bytes(colours: FloatArray) -> np.ndarray:
    """Round 0..1 to 0..255, uint8."""
    return np.asarray(np.round(np.clip(colours, 0, 1) * 255), dtype=np.uint8)
