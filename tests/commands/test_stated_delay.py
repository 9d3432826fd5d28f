"""A stated delay: seconds alone, three numbers, or three named ones."""

import pytest

from workbench.commands.evidence.evidence import stated
from workbench.errors import InputError


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        ("1.1", (1.1, 0.0, 0.0)),
        ("0.1,1.0,0.08", (0.1, 1.0, 0.08)),
        ("fixed=0.1, volume=1.0, lag=0.08", (0.1, 1.0, 0.08)),
        ("volume=2", (0.0, 2.0, 0.0)),
    ],
)
def test_what_is_meant(words: str, meant: tuple[float, float, float]) -> None:
    delay = stated(words)
    assert delay is not None
    assert (delay.fixed_s, delay.volume_g, delay.lag_s) == meant


@pytest.mark.parametrize("words", ["x", "1,2", "late=1", "fixed=1,fixed=2", "9", "-1"])
def test_what_is_refused(words: str) -> None:
    with pytest.raises(InputError):
        stated(words)
