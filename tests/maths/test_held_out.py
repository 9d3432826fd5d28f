"""Real drives: what a solve of some drives predicts of others. The drives are no part of this repository."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from workbench.files.logs import read_log
from workbench.work import run

BENCHMARK = Path(__file__).parent.parent / "benchmarks" / "held_out.py"


@pytest.fixture(scope="module")
def held_out() -> ModuleType:
    spec = importlib.util.spec_from_file_location("held_out", BENCHMARK)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_solve_predicts_other_drives_better_than_the_mean_of_the_nearest_cell(held_out: ModuleType) -> None:
    if not held_out.FOLDER.is_dir():
        pytest.skip(f"the real drives are not here: they are looked for in {held_out.FOLDER}")
    logs = {name: run(read_log(held_out.FOLDER / f"{name}.csv")) for name in held_out.NAMES}
    solve = hand = 0.0
    for fitted, held in held_out.splits(4):
        left, left_by_hand, _ = held_out.compare([logs[n] for n in fitted], [logs[n] for n in held])
        solve, hand = solve + left**2, hand + left_by_hand**2
    assert solve < hand
