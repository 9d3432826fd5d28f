"""Rounding to the ECU's steps."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from workbench.errors import InputError
from workbench.maths.table.storage import as_stored, parts_of, stored, value_range
from workbench.model.ecu_format import EcuFormat, Part, Rounding, Storage
from workbench.model.table import Table

RULES: tuple[Rounding, ...] = ("half-even", "half-away", "half-up", "toward-zero")
VALUES = arrays(np.float64, 6, elements=st.floats(-600, 600))


@pytest.mark.parametrize(
    ("value", "expected"),
    [(0.5, (0, 1, 1, 0)), (1.5, (2, 2, 2, 1)), (2.5, (2, 3, 3, 2)), (-0.5, (0, -1, 0, 0)), (-1.5, (-2, -2, -1, -1))],
)
def test_ties_by_the_four_rules(value: float, expected: tuple[int, ...]) -> None:
    """Rounding attributes of IEEE 754-2019 (the standard itself was not seen; worked by hand)."""
    for rule, count in zip(RULES, expected, strict=True):
        assert stored(np.array([value]), Storage(1.0, signed=True, rounding=rule)).counts.tolist() == [count]


def test_decimal_ties_are_ties() -> None:
    """In doubles 0.285 / 0.01 is 28.499999999999996 and 1.005 / 0.01 is 100.49999999999999; exactly, both are ties."""
    values = np.array([0.015, 0.025, 0.035, 0.285, 1.005])
    assert stored(values, Storage(0.01)).counts.tolist() == [2, 2, 4, 28, 100]
    assert stored(values, Storage(0.01, rounding="half-away")).counts.tolist() == [2, 3, 4, 29, 101]


def test_worked_values() -> None:
    """Steps of SAE J1979: 2/65536 for lambda (PID 44), 0.01 g/s for airflow (PID 10)."""
    fine = stored(np.array([0.86, 0.81, 0.85]), Storage(2 / 65536))
    assert fine.counts.tolist() == [28180, 26542, 27853]
    assert fine.values.tolist() == [0.8599853515625, 0.80999755859375, 0.850006103515625]
    flow = stored(np.array([123.456, 655.35, 655.36]), Storage(0.01))
    assert flow.counts.tolist() == [12346, 65535, 65536]
    assert flow.values.tolist() == [123.46, 655.35, 655.36]
    assert flow.outside.tolist() == [False, False, True]


def test_what_is_stored_already_stays() -> None:
    """2104601 * 2/65536 is 64.227325439453125; its shortest decimal, 64.22732543945312, lies under it."""
    value = 2104601 * 2 / 65536
    held = stored(np.array([value]), Storage(2 / 65536, bits=32, rounding="toward-zero"))
    assert (held.counts[0], held.values[0]) == (2104601, value)


def test_there_is_no_negative_zero() -> None:
    held = stored(np.array([-0.004]), Storage(0.01, signed=True))
    assert str(held.values[0]) == "0.0"


@given(
    VALUES,
    st.sampled_from([0.01, 0.1, 2 / 65536, 0.3, 5.0]),
    st.sampled_from(RULES),
    st.sampled_from([0.0, -40.0, 0.05]),
)
def test_laws(values: np.ndarray, step: float, rule: Rounding, offset: float) -> None:
    storage = Storage(step, offset, bits=48, signed=True, rounding=rule)
    held = stored(values, storage)
    slack = np.spacing(np.abs(values)) + np.spacing(np.abs(held.values)) + 2 * np.spacing(abs(offset) + step)
    bound = step if rule == "toward-zero" else step / 2
    assert (np.abs(held.error) <= bound + slack).all()
    again = stored(held.values, storage)
    assert again.counts.tolist() == held.counts.tolist()
    assert again.values.tolist() == held.values.tolist()
    rising = stored(np.sort(values), storage).values
    assert (np.diff(rising) >= 0).all()


def test_what_does_not_fit_is_refused(curve: Table) -> None:
    table = curve.with_values([2, 6, 15.5, 48, 700])
    assert as_stored(table, EcuFormat()) is table
    for storage in (Storage(0.01), Storage(1, bits=8), Storage(1, low=3.0), Storage(1, high=500.0)):
        with pytest.raises(InputError, match="cannot be stored"):
            as_stored(table, EcuFormat(storage))
    assert as_stored(table, EcuFormat(Storage(0.4))).values.tolist() == [2, 6, 15.6, 48, 700]
    assert value_range(Storage(0.01)) == (0, 655.35)
    assert value_range(Storage(0.75, -48, 8)) == (-48, 143.25)
    assert value_range(Storage(1, bits=8, signed=True, high=100.0)) == (-128, 100)


@pytest.mark.parametrize(
    "wrong",
    [{"step": 0}, {"step": -1}, {"step": float("nan")}, {"bits": 0}, {"offset": float("inf")}, {"low": 3, "high": 3}],
)
def test_impossible_storages_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(InputError):
        Storage(**{"step": 0.1, **wrong})  # type: ignore[arg-type]


def test_a_curve_is_cut_into_parts_that_share_a_cell(curve: Table) -> None:
    ecu_format = EcuFormat(parts=(Part("low", 1000, 3000), Part("high", 3000, 6000)))
    low, high = parts_of(curve, ecu_format)
    assert (low.name, low.values.tolist()) == ("low", [2, 6, 15.5])
    assert (high.name, high.axes[0].breakpoints.tolist(), high.values.tolist()) == (
        "high",
        [3000, 4500, 6000],
        [15.5, 48, 110],
    )


@pytest.mark.parametrize(
    "parts",
    [
        (Part("low", 1000, 3000),),
        (Part("low", 1000, 3000), Part("high", 4500, 6000)),
        (Part("low", 1000, 2500), Part("high", 2500, 6000)),
        (Part("low", 1000, 3000), Part("low", 3000, 6000)),
        (Part("", 1000, 6000),),
        (Part("low", 2000, 6000),),
        (Part("a", 1000, 6000), Part("b", 6000, 6000)),
    ],
)
def test_parts_that_do_not_fit_are_refused(curve: Table, grid: Table, parts: tuple[Part, ...]) -> None:
    for table in (curve, grid):
        with pytest.raises(InputError):
            EcuFormat(parts=parts).check(table)
