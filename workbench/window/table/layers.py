"""What the numbers and the picture can show of a table, with their colours and a sign besides the colour."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QLocale

from workbench.maths.questions import stored_over_wanted
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import STANDINGS
from workbench.model.table import Table
from workbench.window.kit.theme import Theme, amount_ramp, as_bytes, change_ramp, rgb
from workbench.window.scene.last_drawn import LastMade
from workbench.window.scene.scene import Layer, Scene
from workbench.window.table.inferred_marks import cell_marks
from workbench.window.words.wording import MINUS, STANDING_SIGNS, THIN_SPACE, count, decimals_for, number, percent, tr

NAMES: Mapping[Layer, str] = {
    "value": "value",
    "change": "change, %",
    "ratio": "airflow ratio",
    "half_width": "± of the ratio, %",
    "samples": "samples",
    "standing": "standing",
    "storage": "storage error, %",
}
TIPS: Mapping[Layer, str] = {
    "value": "What the ECU looks up.",
    "change": "Change of each cell from the compared revision, in percent.",
    "ratio": "Measured over table airflow. Above 1 the table reads low and runs lean without trims.",
    "half_width": "Half the ratio's 95 % interval, its uncertainty.",
    "samples": "Accepted samples per cell, shared between cells as the ECU interpolates.",
    "standing": "proven ●, thin ◐ or undriven ○.",
    "storage": "Difference between the stored and the table value, where the ECU's step is set.",
}
HALF = 0.5
PALE = 0.35  # of the colour, where a cell only follows its neighbours
MOST_KEPT = 8  # pictures: those of one curve's columns
LEAST_GROUPED = 999.0  # from about here on a locale may set signs between the digits


@dataclass(frozen=True, eq=False)
class LayerPicture:
    """One layer, ready to be drawn; all arrays have the shape of the table.

    Attributes:
        numbers: what is shown; NaN where there is nothing to show.
        texts: the same in words.
        colours: fill of each cell, (…, 3), uint8.
        bars: second sign: -1..1, how far to the left or right a mark reaches; 0 draws none.
        ramp: the colours from the lowest to the highest number, shape (n, 3).
        ends: what the first and the last of them stand for, in words.
    """

    numbers: FloatArray
    texts: np.ndarray
    colours: np.ndarray
    bars: FloatArray
    ramp: FloatArray
    ends: tuple[str, str]


def layer_numbers(scene: Scene, layer: Layer) -> FloatArray:
    """Return the numbers of a layer, NaN where there is nothing; shape of the table."""
    table, evidence = scene.shown_table, scene.fitting_evidence
    if table is None:
        return np.zeros((0,))
    numbers: FloatArray = np.full(table.shape, np.nan)
    if layer == "value":
        numbers = table.values
    elif layer == "change":
        reference = scene.reference
        if reference is not None and reference.table.shape == table.shape and reference.table is not table:
            before = reference.table.values
            same = np.where(table.values == before, 1.0, np.nan)
            numbers = np.divide(table.values, before, out=same, where=before != 0)
    elif layer == "storage":
        numbers = _storage_ratio(scene, table)
    elif evidence is not None and not scene.looks_back and not (layer == "ratio" and scene.silent):
        numbers = np.asarray(getattr(evidence, layer), dtype=np.float64)
    return numbers


def _storage_ratio(scene: Scene, table: Table) -> FloatArray:
    """Return how far the kept value is from each cell's, as a ratio; NaN where no step was stated."""
    storage = None if scene.state is None else scene.state.ecu_format(scene.focus.table).storage
    return np.full(table.shape, np.nan) if storage is None else stored_over_wanted(table, storage)


def has_storage(scene: Scene) -> bool:
    """Return whether it was stated in which steps the ECU keeps the table."""
    if scene.state is None:
        return False
    return scene.state.ecu_format(scene.focus.table).storage is not None


_LAST_MADE = LastMade[LayerPicture](MOST_KEPT)  # numbers and picture show the same; both ask


def layer_picture(scene: Scene, layer: Layer, theme: Theme) -> LayerPicture:
    """Compute texts, fills and second signs of a layer, or give those that were computed of the same last."""
    storage = None if scene.state is None else scene.state.ecu_format(scene.focus.table).storage
    marks = cell_marks(scene)
    about = (
        scene.shown_table,
        scene.table,
        scene.fitting_evidence,
        scene.silent,
        scene.reference,
        storage,
        theme,
        marks,
    )
    return _LAST_MADE.get(layer, QLocale().name(), about, make=lambda: _made_picture(scene, layer, theme))


def _made_picture(scene: Scene, layer: Layer, theme: Theme) -> LayerPicture:
    numbers = layer_numbers(scene, layer)
    if layer in ("change", "ratio", "storage"):
        reach = _reach(numbers)
        lean = np.nan_to_num((numbers - 1) / reach)
        ramp, ends = change_ramp(theme), (percent(1 - reach, 0), percent(1 + reach, 0))
        texts = _texts(numbers, layer)
        # In a curve's row the value beside it bears the sign.
        texts = _signed(texts, scene) if layer == "change" and numbers.ndim > 1 else texts
        evidence, shade = scene.fitting_evidence, lean
        if layer == "ratio" and evidence is not None:  # what only follows its neighbours does not count on top either
            shade = np.where(evidence.followed, PALE * lean, lean)
        return LayerPicture(numbers, texts, _look_up(ramp, (shade + 1) / 2), lean, ramp, ends)
    part, ramp = _part(numbers, layer), amount_ramp(theme)
    # A standing is its own sign, and a value its own number.
    bars = 0 * part if layer in ("value", "standing") else part
    low, high = _ends(numbers, layer)
    if layer == "value" and scene.table is not None and high:
        high = f"{high} {scene.table.unit}".strip()
    texts = _texts(numbers, layer)
    texts = _signed(texts, scene) if layer == "value" else texts
    return LayerPicture(numbers, texts, _look_up(ramp, part), bars, ramp, (low, high))


def _signed(texts: np.ndarray, scene: Scene) -> np.ndarray:
    """Put a sign before what was inferred, and before what stands beside a cliff."""
    marks = cell_marks(scene)
    if marks.inferred.shape == texts.shape:
        for place in np.argwhere(marks.inferred | marks.cliffs):
            cell = tuple(int(i) for i in place)
            texts[cell] = f"{marks.sign(cell)}{THIN_SPACE}{texts[cell]}" if texts[cell] else ""
    return texts


def _ends(numbers: FloatArray, layer: Layer) -> tuple[str, str]:
    finite = numbers[np.isfinite(numbers)]
    if not finite.size or layer == "standing":
        return ("", "")
    low = float(finite.min()) if layer == "value" else 0.0
    decimals = decimals_for(numbers) if layer == "value" else 1
    return cell_text(low, layer, decimals) or "0", cell_text(float(finite.max()), layer, decimals)


def _reach(numbers: FloatArray) -> float:
    """Choose what counts as a full step: 2, 5, 10, 20, 50 or 100 %, whichever holds nearly all."""
    sizes = np.abs(numbers[np.isfinite(numbers)] - 1)
    widest = float(np.quantile(sizes, 0.98)) if sizes.size else 0.0
    return next((step for step in (0.02, 0.05, 0.1, 0.2, 0.5) if widest <= step * (1 + 1e-9)), 1.0)


def _part(numbers: FloatArray, layer: Layer) -> FloatArray:
    if layer == "standing":
        return np.nan_to_num(numbers) / (len(STANDINGS) - 1)
    finite = numbers[np.isfinite(numbers)]
    low, high = (float(finite.min()), float(finite.max())) if finite.size else (0.0, 0.0)
    if layer in ("samples", "half_width"):
        low = 0.0
    if high <= low:
        return np.zeros(numbers.shape)
    part = np.nan_to_num((numbers - low) / (high - low))
    return np.sqrt(part) if layer == "samples" else part


def _look_up(ramp: FloatArray, part: FloatArray) -> np.ndarray:
    steps = as_bytes(ramp)
    return np.asarray(steps[np.clip(np.round(part * (len(steps) - 1)), 0, len(steps) - 1).astype(int)])


def _texts(numbers: FloatArray, layer: Layer) -> np.ndarray:
    decimals = decimals_for(numbers) if layer == "value" else 1
    # A grid has no room for the unit in every cell; the name of the layer says it.
    write = cell_writer(layer, decimals, bare=numbers.ndim > 1)
    texts = np.empty(numbers.shape, dtype=object)
    texts.ravel()[:] = [write(value) if math.isfinite(value) else "" for value in numbers.ravel().tolist()]
    return texts


def value_texts(values: FloatArray, like: FloatArray) -> np.ndarray:
    """Write values with as many decimals as others are written with; both of the same shape."""
    texts = np.empty(values.shape, dtype=object)
    write = cell_writer("value", decimals_for(like))
    texts.ravel()[:] = [write(value) if math.isfinite(value) else "" for value in values.ravel().tolist()]
    return texts


def change_texts(values: FloatArray, reference: Table) -> tuple[FloatArray, np.ndarray]:
    """Return how far values are from those of a revision, as ratios and in words; both of the table's shape."""
    numbers = np.full(values.shape, np.nan)
    if reference.shape == values.shape:
        same = np.where(values == reference.values, 1.0, np.nan)
        numbers = np.divide(values, reference.values, out=same, where=reference.values != 0)
    return numbers, _texts(numbers, "change")


def drafted_cells(scene: Scene) -> BoolArray | None:
    """Mark the cells that the draft changes, shape of the table; None without one, or where it has other cells."""
    table, head = scene.shown_table, scene.head
    if scene.draft is None or table is None or head is None or not table.same_axes(head.table):
        return None
    return np.asarray(table.values != head.table.values)


def leans(scene: Scene) -> bool:
    """Tell whether a draft itself leans cells at high load; what leant them before is named on top."""
    drafted, head, table = drafted_cells(scene), scene.head, scene.shown_table
    if scene.draft is None or not scene.draft.answer.warnings or drafted is None or head is None or table is None:
        return False
    lean = scene.draft.answer.data.get("lean_step")
    cells = lean.get("cells") if isinstance(lean, dict) else None
    lowered = drafted & (table.values < head.table.values)
    places = np.argwhere(lowered).tolist()
    return any(at in cells for at in places) if isinstance(cells, list) else bool(places)


def cell_text(value: float, layer: Layer, decimals: int) -> str:
    """Write one cell of a layer."""
    return cell_writer(layer, decimals)(value) if np.isfinite(value) else ""


def cell_writer(layer: Layer, decimals: int, *, bare: bool = False) -> Callable[[float], str]:
    """Make what writes the cells of a layer; bare leaves their unit out."""
    unit = "" if bare else THIN_SPACE + "%"
    of_value, of_ratio, of_part = writer(decimals), writer(3), writer(1)
    one_decimal, two_decimals = writer(1, sign=True), writer(2, sign=True)
    writers: Mapping[Layer, Callable[[float], str]] = {
        "value": of_value,
        "change": lambda ratio: one_decimal((ratio - 1) * 100) + unit,
        "ratio": of_ratio,
        "half_width": lambda part: of_part(part * 100) + unit,
        "samples": lambda amount: count(amount) if amount >= 0.5 else "",
        "storage": lambda ratio: two_decimals((ratio - 1) * 100) + unit,
        "standing": lambda place: STANDING_SIGNS[STANDINGS[int(place)]],
    }
    return writers[layer]


def writer(decimals: int, *, sign: bool = False) -> Callable[[float], str]:
    """Make what writes numbers as `number` does; quicker where the locale has nothing to add but its decimal sign."""
    locale = QLocale()
    point, latin = locale.decimalPoint(), locale.zeroDigit() == "0"
    nothing, scale = number(0.0, decimals), 10.0**decimals

    def write(value: float) -> str:
        # Numbers just between two are left to the locale too, which rounds them its own way.
        if not latin or not -LEAST_GROUPED < value < LEAST_GROUPED or abs(value * scale % 1.0) == HALF:
            return number(value, decimals, sign=sign)
        text = f"{value:.{decimals}f}"
        text = text if point == "." else text.replace(".", point)
        if text.lstrip("-") == nothing:
            return nothing
        return MINUS + text[1:] if value < 0 else "+" + text if sign else text

    return write


def layer_name(layer: Layer) -> str:
    """Name a layer for people."""
    return tr(NAMES[layer])


def text_colours(colours: np.ndarray, theme: Theme) -> np.ndarray:
    """Mark the fills, shape (…, 3) uint8, on which the card's colour reads better than ink."""
    weights = np.array([0.2126, 0.7152, 0.0722])
    light = (colours / 255.0) ** 2.2 @ weights
    ink, card = (float((rgb(colour) ** 2.2) @ weights) for colour in (theme.ink, theme.card))
    ratio = [np.maximum(light + 0.05, own + 0.05) / np.minimum(light + 0.05, own + 0.05) for own in (ink, card)]
    return np.asarray(ratio[1] > ratio[0])
