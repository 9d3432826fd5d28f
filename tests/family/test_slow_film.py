"""A slow film on the walls lacks fuel all through a pull: full throttle comes out nearer when that is counted on."""

import numpy as np
import pytest

from family.judge import judged
from workbench.maths.pooling import equations
from workbench.maths.signals import sampling


def test_full_throttle_lies_nearer_where_a_slow_film_is_counted_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two cars with the wideband before the catalyst and films that the ECU makes up for to a part only."""

    monkeypatch.setenv("WORKBENCH_CACHE", "off")  # what is kept knows nothing of what is taken out here

    def worst() -> list[float]:
        return [judged(seed, "A")[0].full for seed in (4019, 4036)]

    counted_on = worst()
    monkeypatch.setattr(equations, "USUAL_SLOW_FILM", 0.0)
    monkeypatch.setattr(equations, "SLOW_FILM", 1e-5)
    without = worst()
    assert np.all(np.isfinite(counted_on))
    assert np.mean(counted_on) < np.mean(without) - 0.0005


def test_full_throttle_lies_nearer_where_a_pull_is_late_in_its_own_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """A car with the wideband far down the pipe: what was found in tip-ins beside its delay misleads in pulls."""

    monkeypatch.setenv("WORKBENCH_CACHE", "off")

    def worst() -> list[float]:
        return [judged(seed, "B", answers=True)[0].full for seed in (27,)]

    own = worst()
    monkeypatch.setattr(sampling, "PULL_LATE_S", 0.0)
    monkeypatch.setattr(equations, "LEFT_OF_LATENESS", 1e-5)
    monkeypatch.setattr(equations, "OWN_PART", 1e-5)
    without = worst()
    assert np.all(np.isfinite(own))
    assert np.mean(own) < np.mean(without) - 0.002
