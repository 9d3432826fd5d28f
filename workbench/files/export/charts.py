"""Charts as drawings: axes with round numbers, lines told apart by more than colour, points with their intervals."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.files.export.blocks import FRAME, LIMIT, RULE, Drawing, Label, Line, Mark, Marker, Pen
from workbench.model.arrays import FloatArray

LEFT, RIGHT, BELOW, LINE = 42.0, 8.0, 30.0, 11.0
TEXT_WIDTH = 4.6  # pt a character takes in the mean at the size of labels
CAP = 1.5  # half the width of the cap of an interval


@dataclass(frozen=True, eq=False)
class ChartSeries:
    """One line or set of points of a chart.

    Attributes:
        name: in the legend.
        x, y: shape (n,); NaN where there is nothing.
        pen: how it is drawn.
        marker: at every point; None for none.
        half: half-width of the interval of each point, NaN where not known; None for none.
        joined: whether the points are joined by a line.
    """

    name: str
    x: FloatArray
    y: FloatArray
    pen: Pen
    marker: Marker | None = None
    half: FloatArray | None = None
    joined: bool = True


def chart(
    words: str,
    x_label: str,
    y_label: str,
    series: Sequence[ChartSeries],
    *,
    limits: tuple[float, ...] = (),
    size: tuple[float, float] = (505.0, 165.0),
) -> Drawing | None:
    """Draw series over a common axis; None where nothing can be drawn.

    Args:
        words: what the picture shows, for who cannot see it.
        x_label: name of the axis across, with its unit.
        y_label: the same of the axis upwards.
        series: what is drawn.
        limits: sizes of targets, drawn above and below zero, in the unit of y.
        size: width and height, pt.
    """
    drawn = [each for each in series if np.isfinite(each.x + each.y).any()]
    if not drawn:
        return None
    width, height = size
    legend, top = _legend(drawn, width)
    x_range, y_range = _x_range(drawn), _y_range(drawn, limits)
    scale = _Scale(x_range, y_range, (LEFT, width - RIGHT), (height - BELOW, top + 4))
    marks: list[Line | Mark | Label] = [*legend, *_frame(scale, x_label, y_label, height)]
    marks += [
        Line(scale.points(np.array(x_range), np.array([level, level])), LIMIT)
        for limit in limits
        for level in (limit, -limit)
        if y_range[0] <= level <= y_range[1]
    ]
    for each in drawn:
        marks += _drawn(each, scale)
    return Drawing(width, height, tuple(marks), words)


def ticks(low: float, high: float, wanted: int = 6) -> list[float]:
    """Choose round numbers in a range, 1, 2 or 5 times a power of ten apart."""
    span = high - low
    if not span > 0:
        return [low]
    raw = span / wanted
    power = 10.0 ** np.floor(np.log10(raw))
    step = next(each * power for each in (1.0, 2.0, 5.0, 10.0) if raw <= each * power * (1 + 1e-9))
    first = np.ceil(low / step - 1e-9)
    return [float(step * number) + 0.0 for number in np.arange(first, np.floor(high / step + 1e-9) + 1)]


@dataclass(frozen=True)
class _Scale:
    x_range: tuple[float, float]
    y_range: tuple[float, float]
    across: tuple[float, float]
    down: tuple[float, float]  # foot and top, pt from above

    def x(self, value: float) -> float:
        share = (value - self.x_range[0]) / (self.x_range[1] - self.x_range[0])
        return round(self.across[0] + share * (self.across[1] - self.across[0]), 2)

    def y(self, value: float) -> float:
        inside = min(max(value, self.y_range[0]), self.y_range[1])
        share = (inside - self.y_range[0]) / (self.y_range[1] - self.y_range[0])
        return round(self.down[0] + share * (self.down[1] - self.down[0]), 2)

    def points(self, x: FloatArray, y: FloatArray) -> tuple[tuple[float, float], ...]:
        return tuple((self.x(float(a)), self.y(float(b))) for a, b in zip(x, y, strict=True))


def _legend(drawn: Sequence[ChartSeries], width: float) -> tuple[list[Line | Mark | Label], float]:
    marks: list[Line | Mark | Label] = []
    x, y = LEFT, LINE
    for each in drawn:
        needed = 30 + TEXT_WIDTH * len(each.name)
        if x > LEFT and x + needed > width:
            x, y = LEFT, y + LINE
        if each.joined:
            marks.append(Line(((x, y - 3), (x + 20, y - 3)), each.pen))
        if each.marker is not None:
            marks.append(Mark(x + 10, y - 3, each.marker, each.pen))
        marks.append(Label(x + 24, y, each.name))
        x += needed + 10
    return marks, y


def _x_range(drawn: Sequence[ChartSeries]) -> tuple[float, float]:
    every = np.concatenate([each.x[np.isfinite(each.x + each.y)] for each in drawn])
    low, high = float(every.min()), float(every.max())
    return (low, high) if high > low else (low - 0.5, high + 0.5)


def _y_range(drawn: Sequence[ChartSeries], limits: tuple[float, ...]) -> tuple[float, float]:
    """Hold all points and the smallest target; intervals that are far longer than the points reach are cut."""
    every = np.concatenate([each.y[np.isfinite(each.y)] for each in drawn])
    low, high = min(0.0, float(every.min())), max(0.0, float(every.max()))
    if limits:
        low, high = min(low, -min(limits)), max(high, min(limits))
    span = (high - low) or 1.0
    ends = [
        (each.y[known] - each.half[known], each.y[known] + each.half[known])
        for each in drawn
        if each.half is not None and (known := np.isfinite(each.y + each.half)).any()
    ]
    least = min((float(below.min()) for below, _ in ends), default=low)
    most = max((float(above.max()) for _, above in ends), default=high)
    low, high = max(min(low, least), low - span / 3), min(max(high, most), high + span / 3)
    return low - 0.04 * span, high + 0.04 * span


def _frame(scale: _Scale, x_label: str, y_label: str, height: float) -> list[Line | Mark | Label]:
    (left, right), (foot, top) = scale.across, scale.down
    marks: list[Line | Mark | Label] = []
    for value in ticks(*scale.y_range):
        y = scale.y(value)
        marks.append(Line(((left, y), (right, y)), FRAME if value == 0 else RULE))
        marks.append(Label(left - 4, y + 2.8, f"{value:.6g}", "end"))
    for value in ticks(*scale.x_range, wanted=8):
        x = scale.x(value)
        marks.append(Line(((x, foot), (x, foot + 3)), FRAME))
        marks.append(Label(x, foot + 11.5, f"{value:.6g}", "middle"))
    marks.append(Line(((left, top), (left, foot), (right, foot)), FRAME))
    marks.append(Label((left + right) / 2, height - 4, x_label, "middle"))
    marks.append(Label(9, (top + foot) / 2, y_label, "middle", upright=False))
    return marks


def _drawn(series: ChartSeries, scale: _Scale) -> list[Line | Mark | Label]:
    marks: list[Line | Mark | Label] = []
    known = np.isfinite(series.x + series.y)
    if series.joined:
        edges = np.flatnonzero(np.diff(known.astype(np.int8), prepend=0, append=0))
        for first, after in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
            if after - first > 1:
                marks.append(Line(scale.points(series.x[first:after], series.y[first:after]), series.pen))
    thin = Pen(series.pen.colour, series.pen.grey, 0.7)
    for i in np.flatnonzero(known).tolist():
        x, y = scale.x(float(series.x[i])), float(series.y[i])
        half = float("nan") if series.half is None else float(series.half[i])
        if np.isfinite(half):
            low, high = scale.y(y - half), scale.y(y + half)
            marks.append(Line(((x, low), (x, high)), thin))
            marks += [Line(((x - CAP, end), (x + CAP, end)), thin) for end in (low, high)]
        if series.marker is not None:
            marks.append(Mark(x, scale.y(y), series.marker, series.pen))
    return marks
