"""What happened to a cell, with whether each prediction was met by the drives that followed."""

import json
import shutil
from pathlib import Path

import pytest

from workbench.cli import main

SHIPPED = Path(__file__).parents[2] / "sample_sessions" / "enlarged_intake.session"


def test_a_cell_tells_what_touched_it_and_whether_each_prediction_was_met(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    session = shutil.copy(SHIPPED, tmp_path / "car.session")
    assert main(["cell-history", str(session), "--cells", "20", "--json"]) == 0
    acts = json.loads(capsys.readouterr().out)["acts"]
    assert [act["operation"] for act in acts] == ["new", "correct", "correct"]
    assert [act["prediction"] for act in acts] == [None, "kept", "kept"]
    assert acts[1]["drives"] == [1, 2]
    assert acts[1]["driven_since"] == [3]
    for act, before in zip(acts[1:], acts, strict=False):
        assert act["value"] == pytest.approx(before["value"] * act["factor"])
        assert act["cumulative"] == pytest.approx(before["cumulative"] * act["factor"])
    assert main(["cell-history", str(session), "--cells", "20"]) == 0
    assert capsys.readouterr().out.count("prediction met") == 2


def test_a_cell_that_nobody_drove_was_predicted_for_and_not_seen(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    session = shutil.copy(SHIPPED, tmp_path / "car.session")
    assert main(["cell-history", str(session), "--cells", "0", "--json"]) == 0
    assert all(act["prediction"] not in ("kept", "not kept") for act in json.loads(capsys.readouterr().out)["acts"])
