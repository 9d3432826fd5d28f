"""Columns that begin without a number, and sheets whose cells are shown as percent below a grid's breakpoints."""

import numpy as np
import pytest

from workbench.files.formats.sheet_reader import _as_shown
from workbench.files.text.late_numbers import late_numbers, shown_text
from workbench.files.vocabulary.recording import Field


def column(*cells: str) -> Field:
    return Field("Lambda", "", np.full(len(cells), np.nan), np.array(cells, dtype=object))


@pytest.mark.parametrize("number", [1, 3, 400])
def test_few_numbers_behind_blanks_are_numbers(number: int) -> None:
    found, said = late_numbers(column(*[""] * 500, *[f"{80 + k}" for k in range(number)]))
    assert found is not None
    assert np.isfinite(found.values).sum() == number
    assert said == ""


def test_a_word_that_stands_for_no_value_is_told() -> None:
    found, said = late_numbers(column(*["Warmup"] * 40, *[f"{0.9 + k / 1000}" for k in range(60)]))
    assert found is not None
    assert np.isnan(found.values[:40]).all()
    assert "'Warmup'" in said


@pytest.mark.parametrize("cells", [["a", "b", "c"] * 20, ["~1.0"] * 30, [""] * 9, ["off", "7"] * 9])
def test_text_stays_text(cells: list[str]) -> None:
    assert late_numbers(column(*cells)) == (None, "")
    assert shown_text(column(*cells)) == next((cell for cell in cells if cell), "")


def test_breakpoints_above_percent_cells_stay_as_they_are() -> None:
    rows = [["rpm", 20.0, 40.0], [800.0, 0.5, 0.625], [1500.0, 0.75, 0.8]]
    shown = list(_as_shown(rows, {1, 2}))
    assert shown == [["rpm", 20.0, 40.0], [800.0, 50.0, 62.5], [1500.0, 75.0, 80.0]]


def test_what_stands_before_every_number_is_taken_off() -> None:
    cells = np.array([f"λ={0.9 + at / 1000:.3f}" for at in range(60)] + ["", "n/a"], dtype=object)
    found, said = late_numbers(Field("Lambda", "", np.full(cells.size, np.nan), cells))
    assert found is not None
    assert found.values[10] == 0.91
    assert np.isnan(found.values[-2:]).all()
    assert not said
    cells[3] = "phi=1.02"  # another quantity in one cell: the column is text
    assert late_numbers(Field("Lambda", "", np.full(cells.size, np.nan), cells))[0] is None
