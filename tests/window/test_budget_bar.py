"""The bar of what an interval is made of: its parts are those of the evidence, and it is read out, not only seen."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtGui import QFontMetrics
from pytestqt.qtbot import QtBot

from workbench.demo.drive import drive
from workbench.demo.rounds import evidence_of_records
from workbench.demo.scenario import Scenario
from workbench.maths.uncertainty.sources import SOURCES
from workbench.model.evidence import Evidence
from workbench.window.kit.theme import LIGHT
from workbench.window.panels.budget_bar import BudgetBar, Part, parts_of
from workbench.window.words.wording import SOURCE_WORDS


@pytest.fixture(scope="module")
def evidence() -> Evidence:
    record = drive(Scenario(seed=1, minutes=4.0, pulls=1, start_coolant_c=80.0))
    return evidence_of_records((record.table,), (record,))


def test_parts_of_one_cell_add_up_squared_to_its_interval(evidence: Evidence) -> None:
    at = int(np.flatnonzero(evidence.stands("proven"))[0])
    chosen = np.arange(evidence.table.values.size) == at
    parts = parts_of(evidence, chosen)
    assert np.sqrt(sum(part.half**2 for part in parts)) == pytest.approx(100 * float(evidence.half_width[at]))
    assert [part.half for part in parts] == sorted((part.half for part in parts), reverse=True)
    assert all(part.reason and part.remedy for part in parts)


def test_cells_that_nobody_drove_have_no_parts(evidence: Evidence) -> None:
    assert parts_of(evidence, ~evidence.driven) == []
    assert parts_of(replace(evidence, budget=()), evidence.driven) == []


def test_the_bar_is_read_out_and_keeps_its_width(evidence: Evidence, qtbot: QtBot) -> None:
    bar = BudgetBar(None)  # type: ignore[arg-type] # it stands alone here
    qtbot.addWidget(bar)
    bar.show_parts([], LIGHT)
    wide = bar.sizeHint()
    assert not bar.isVisible()
    parts = parts_of(evidence, evidence.driven)
    bar.show_parts(parts, LIGHT)
    assert bar.sizeHint() == wide
    assert bar.accessibleDescription().startswith(f"{parts[0].name} ±{parts[0].half:.2f}")
    assert parts[0].remedy in bar.toolTip()
    painted = bar.grab().toImage()
    middle = {painted.pixelColor(x, painted.height() // 2).name() for x in range(painted.width())}
    assert len(middle) > 2  # parts differ


def test_every_source_of_uncertainty_has_its_words() -> None:
    assert set(SOURCE_WORDS) == set(SOURCES)


@pytest.mark.parametrize("points", [10, 24])
def test_no_name_of_a_source_is_cut(points: int, qtbot: QtBot) -> None:
    bar = BudgetBar(None)  # type: ignore[arg-type] # it stands alone here
    qtbot.addWidget(bar)
    font = bar.font()
    font.setPointSize(points)
    bar.setFont(font)
    letters = QFontMetrics(bar._small())
    for name in SOURCE_WORDS:
        bar.show_parts([Part(name, 0.53)], LIGHT)
        assert letters.horizontalAdvance(bar._largest()) <= bar.sizeHint().width()
