"""Pulls held against one another: outliers, how well they repeat, and what a round changed."""

import numpy as np
import pytest

from workbench.maths.verdict.pull_comparison import NamedPull, outlying, rounds_of, sentences
from workbench.maths.verdict.pulls import Pull


def pulls_of(*errors: float, revision: int = 1, drive: int = 1, lifted: int = 0) -> list[NamedPull]:
    return [
        NamedPull(drive, n, revision, Pull(10.0 * n, 10.0 * n + 7, 2000, 6000, error, 1.0, 50,
                                           lifted_at=10.0 * n + 3 if n == lifted else float("nan")))
        for n, error in enumerate(errors, 1)
    ]  # fmt: skip


def test_a_pull_far_from_the_others_is_named_and_no_other() -> None:
    assert outlying(pulls_of(0.050, 0.052, 0.010)) == ("1:3",)
    assert outlying(pulls_of(0.050, 0.052, 0.047)) == ()
    assert outlying(pulls_of(0.050, 0.010)) == ()  # of two nobody can tell which is wrong


def test_a_lifted_pull_is_named_even_alone() -> None:
    assert outlying(pulls_of(0.05, lifted=1)) == ("1:1",)


def test_rounds_have_mean_and_spread_of_the_pulls_that_count() -> None:
    pulls = pulls_of(0.050, 0.054) + pulls_of(0.010, 0.012, 0.014, revision=2, drive=2)
    pulls[0] = NamedPull(1, 1, 1, Pull(**{**pulls[0].pull.__dict__, "left_out": True}))
    first, second = rounds_of(pulls)
    assert (first.revision, first.pulls, first.error) == (1, ("1:2",), 0.054)
    assert np.isnan(first.spread)
    assert second.error == pytest.approx(0.012)
    assert second.spread == pytest.approx(0.002)


def test_a_change_between_rounds_is_held_against_the_scatter_of_their_pulls() -> None:
    steady = sentences(pulls_of(0.050, 0.053, 0.047) + pulls_of(0.049, 0.052, revision=2, drive=2))
    assert any("no more than pulls scatter" in line for line in steady)
    moved = sentences(pulls_of(0.050, 0.053, 0.047) + pulls_of(0.020, 0.022, revision=2, drive=2))
    assert any("-2.9 %: more than pulls scatter" in line for line in moved)
    assert any("repeat within ±0.3" in line for line in moved)


def test_nothing_repeats_within_zero_and_zero_bears_no_minus() -> None:
    told = " ".join(sentences(pulls_of(0.0102, 0.0104) + pulls_of(0.0101, 0.0103, revision=2, drive=2)))
    assert "within ±0.01 %" in told
    assert "moved by +0.0 %" in told
    assert "-0.0" not in told
