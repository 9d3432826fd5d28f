"""What the law's constants mean is said, and where they mean nothing, that too."""

import numpy as np
import pytest

from workbench.commands.declaring.registry import Answer
from workbench.commands.table.physics import physics
from workbench.model.history import History, brought_in
from workbench.model.state import State
from workbench.model.table import Axis, Table

FLOW = np.geomspace(2.0, 200.0, 24)
VOLTS = np.sqrt(1.40 + 0.80 * FLOW**0.45)  # King 1914, exponent 0.45 in practice


@pytest.mark.parametrize(("signal", "unit", "meant"), [(VOLTS, "V", True), (VOLTS * 5000 - 6000, "Hz", False)])
def test_constants_without_a_meaning_are_named(signal: np.ndarray, unit: str, meant: bool) -> None:
    table = Table("airflow", "Airflow", "g/s", (Axis("Airflow sensor", unit, signal),), FLOW)
    first = brought_in(1, table, "new", {}, "", "", "")
    answer = physics(State("", History((first,), {"airflow": 1}, {}, {})))
    assert isinstance(answer, Answer)
    said = [line for line in answer.lines if "impossible for a hot film" in line]
    assert bool(said) is not meant
    if meant:
        assert answer.data["parameters"]["A"] == pytest.approx(1.40, abs=0.01)  # type: ignore[index,call-overload]
