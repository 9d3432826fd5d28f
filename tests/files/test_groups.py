"""Sheets and tables of one file: groups of one drive, one log among notes, or logs to choose from."""

from pathlib import Path

import numpy as np
import pytest
from field.shape import Col, rows, std
from field.writers import Cell, grid, sqlite, xlsx

from workbench.errors import InputError
from workbench.files.logs import read_log
from workbench.model.log import Log
from workbench.work import run

FAST = [each for each in rows(std(), range(800)) if each.key in ("time", "rpm", "hz", "lam", "cmd", "stft", "ltft")]
SLOW = [each for each in rows(std(), range(0, 800, 10)) if each.key in ("time", "coolant", "throttle")]


def read(place: Path, name: str, content: bytes) -> Log:
    (place / name).write_bytes(content)
    return run(read_log(place / name))


def table(columns: list[Col]) -> tuple[list[str], list[list[Cell]]]:
    head, *body = grid(columns)
    return [str(each) for each in head], body


@pytest.mark.parametrize("kind", ["xlsx", "sqlite"])
def test_parts_at_rates_of_their_own_are_one_log(tmp_path: Path, kind: str) -> None:
    if kind == "xlsx":
        log = read(tmp_path, "a.xlsx", xlsx({"Fast": grid(FAST), "Slow": grid(SLOW), "Notes": [["Car", "red"]]}))
    else:
        log = read(tmp_path, "a.db", sqlite({"fast": table(FAST), "slow": table(SLOW)}))
    assert log.rows == 800
    assert {"engine_speed", "coolant_temperature", "throttle"} <= set(log.roles)
    coolant = log.playing("coolant_temperature")
    assert coolant is not None
    assert np.count_nonzero(np.isfinite(coolant)) >= 80
    assert any("groups of one log" in note for note in log.notes)


def test_the_one_log_among_notes_and_settings_is_read(tmp_path: Path) -> None:
    sheets = {"Info": [["Car", "red"], ["Fuel", "E5"]], "Data": grid(FAST), "More": [["a", "b"], [1.0, 2.0]]}
    log = read(tmp_path, "a.xlsx", xlsx(sheets))
    assert log.rows == 800
    assert any("'Data'" in note for note in log.notes)


@pytest.mark.parametrize("other", ["again", "shorter"])
def test_logs_of_their_own_are_asked_about(tmp_path: Path, other: str) -> None:
    second = grid(FAST) if other == "again" else grid(rows(SLOW, range(30)))
    with pytest.raises(InputError) as refused:
        read(tmp_path, "a.xlsx", xlsx({"One": grid(FAST), "Two": second}))
    assert "2 sheets" in refused.value.message
    assert "One, Two" in str(refused.value.hint)
