"""Cells that are empty for a reason, hold what was read long ago, or tell their sign by a word."""

from pathlib import Path

import numpy as np
import pytest

from workbench.files.gaps.blank_zeros import with_blank_zeros
from workbench.files.gaps.seldom_read import read_every
from workbench.files.logs import read_log
from workbench.files.text.sided import sided
from workbench.files.vocabulary.recording import Field
from workbench.model.arrays import FloatArray
from workbench.work import run

STEP = 0.78125
TIME = np.arange(6000) / 10


def wandering(seed: int) -> FloatArray:
    """Give a trim that goes up and down in steps of a byte, and stands at each for a while."""
    draw = np.random.default_rng(seed)
    return STEP * np.round(4 * np.sin(TIME / 3) + draw.normal(0, 0.6, TIME.size))


def columns(trim: FloatArray) -> list[Field]:
    return [Field("Time", "s", TIME), Field("Engine speed", "rpm", 900 + TIME), Field("STFT Bank 1", "%", trim)]


def test_empty_cells_of_a_trim_that_passes_0_and_never_reads_it_are_0() -> None:
    trim = wandering(1)
    fields, notes = with_blank_zeros(columns(np.where(trim == 0, np.nan, trim)))
    assert len(notes) == 1
    np.testing.assert_array_equal(fields[2].values, trim)


def test_cells_that_are_lost_are_not_filled() -> None:
    trim, lost = wandering(2), np.random.default_rng(3).random(TIME.size) < 0.2
    for values in (np.where(lost, np.nan, trim), np.where(lost | (trim == STEP), np.nan, trim), trim + STEP / 2):
        fields, notes = with_blank_zeros(columns(np.where(lost, np.nan, values)))
        assert not notes
        np.testing.assert_array_equal(fields[2].values, np.where(lost, np.nan, values))


def test_a_long_trim_that_is_read_once_a_minute_is_told_from_one_that_learns() -> None:
    learnt = STEP * np.round(np.random.default_rng(4).normal(0, 3, TIME.size).cumsum() / 20)
    held = learnt[(np.arange(TIME.size) // 600) * 600]
    assert read_every(TIME, held) == pytest.approx(60)
    assert read_every(TIME, learnt) is None
    assert read_every(TIME, np.where(np.arange(TIME.size) % 600, np.nan, held)) is None  # nobody holds it


@pytest.mark.parametrize("form", ["{size} {word}", "{word} {size}", "{size}% {word}"])
def test_words_for_signs_are_read(form: str) -> None:
    trim = np.round(wandering(5), 1)
    words = np.where(trim < 0, "rich", "lean")
    cells = [form.format(size=f"{abs(value):g}", word=word) for value, word in zip(trim, words, strict=True)]
    found = sided(Field("STFT", "%", np.full(trim.size, np.nan), np.array(cells)))
    assert found is not None
    assert found[1] == ("lean", "rich")
    np.testing.assert_array_equal(found[0].values, trim)
    cells[7] = "3.1"  # a size of no side
    assert sided(Field("STFT", "%", np.full(trim.size, np.nan), np.array(cells))) is None


def test_it_is_asked_which_word_adds_fuel(tmp_path: Path) -> None:
    path = tmp_path / "drive.csv"
    rows = [
        f"{t:.1f},{900 + 3 * t:.0f},{abs(v):.1f} {'L' if v > 0 else 'R'}"
        for t, v in zip(TIME, wandering(6), strict=True)
    ]
    path.write_text("\n".join(["Time (s),Engine speed (rpm),STFT Bank 1 (%)", *rows]))
    log = run(read_log(path))
    asked = next(each for each in log.questions if each.channel == "STFT Bank 1")
    assert [each.answer for each in asked.alternatives] == ["'L'", "'R'"]
    assert [each.factor for each in asked.alternatives] == [1.0, -1.0]
