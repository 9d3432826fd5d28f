"""Parts of one curve put together."""

from dataclasses import replace

import numpy as np
import pytest

from workbench.errors import InputError
from workbench.maths.table.joining import joined
from workbench.maths.table.storage import parts_of
from workbench.model.table import Axis, Table


def part(name: str, points: list[float], values: list[float]) -> Table:
    return Table(name, "mass airflow", "g/s", (Axis("signal", "Hz", np.array(points)),), np.array(values))


LOW, MID, HIGH = part("low", [1, 2, 3], [1, 4, 9]), part("mid", [3, 5], [9, 25]), part("high", [5, 8], [25, 64])


def test_parts_are_joined_in_any_order_and_cut_again() -> None:
    whole, ecu_format, remarks = joined([HIGH, LOW, MID], "airflow")
    assert whole.axes[0].breakpoints.tolist() == [1, 2, 3, 5, 8]
    assert whole.values.tolist() == [1, 4, 9, 25, 64]
    assert remarks == ()
    again = parts_of(whole, ecu_format)
    assert [each.name for each in again] == ["low", "mid", "high"]
    for one, other in zip(again, (LOW, MID, HIGH), strict=True):
        assert one.same_axes(other)
        assert one.values.tolist() == other.values.tolist()


def test_a_disagreement_is_told_and_decided() -> None:
    odd = replace(MID, values=np.array([10.0, 25]))
    with pytest.raises(InputError, match=r"disagree at 3 Hz: 9 in 'low', 10 in 'mid' \(\+11.1 %\)") as caught:
        joined([LOW, odd], "airflow")
    assert "--boundary" in caught.value.hint
    for boundary, value in (("lower", 9), ("upper", 10), ("mean", 9.5)):
        whole, _, remarks = joined([LOW, odd], "airflow", boundary)  # type: ignore[arg-type]
        assert whole.values.tolist() == [1, 4, value, 25]
        assert f"{boundary} is used" in remarks[0]


def test_what_does_not_belong_together_is_refused(grid: Table) -> None:
    for other, told in (
        (HIGH, "ends at 3 and 'high' begins at 5"),
        (replace(MID, unit="kg/h"), "other units"),
        (grid, "is a grid"),
    ):
        with pytest.raises(InputError, match=told):
            joined([LOW, other], "airflow")
