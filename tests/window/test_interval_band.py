"""The interval about a curve is filled where it is known, and nowhere else."""

import numpy as np
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor

from workbench.window.table.interval_band import IntervalBand, runs

XS = np.arange(8.0)
HALF = np.array([np.nan, 0.5, np.nan, 0.5, 0.5, 0.5, np.nan, np.nan])


def shown(band: IntervalBand, x: float, y: float) -> bool:
    return band.path().contains(QPointF(x, y))


def test_each_stretch_is_filled_by_itself_and_a_gap_stays_open() -> None:
    band = IntervalBand()
    band.show_interval(XS, np.ones(8), HALF, QColor("red"))
    assert band.isVisible()
    assert shown(band, 1.05, 1.4)
    assert shown(band, 1.05, 0.6)
    assert shown(band, 4.5, 1.4)
    assert not any(shown(band, 2.2, y) for y in (0.6, 1.0, 1.4))
    assert not any(shown(band, x, 1.0) for x in (0.5, 5.5, 6.5))
    assert not shown(band, 4.0, 1.6)


def test_a_curve_without_evidence_has_no_band() -> None:
    band = IntervalBand()
    band.show_interval(XS, np.ones(8), np.full(8, np.nan), QColor("red"))
    assert not band.isVisible()
    assert runs(np.zeros(3, dtype=np.bool_)) == []
    assert runs(np.array([True, True, False, True])) == [slice(0, 2), slice(3, 4)]
