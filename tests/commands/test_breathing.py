"""The air of drives: what is known of it is shown, what is not is said, and only what compares is compared."""

import json
from pathlib import Path
from typing import Any

import pytest

from workbench.cli import main

SAMPLES = Path(__file__).parents[2] / "sample_sessions"


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    main([*words, "--json"])
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    return answer


@pytest.fixture
def session(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """A session with both drives of the sample."""
    made = str(tmp_path / "car.session")
    asked(capsys, "new", made, str(SAMPLES / "airflow_stale.csv"))
    logs = (str(SAMPLES / f"{name}_drive.csv") for name in ("part_throttle", "pulls"))
    asked(capsys, "add-log", made, *logs)
    return made


def test_density_filling_and_factors_of_each_drive(session: str, capsys: pytest.CaptureFixture[str]) -> None:
    first, second = asked(capsys, "air", session, "--displacement", "2.5", "--cylinders", "4")["drives"]
    assert first["density"] == pytest.approx(
        1000 * first["pressure_kpa"] / 287.05287 / (first["temperature_c"] + 273.15)
    )
    assert (first["full"], second["full"]) == (False, True)
    assert second["per_cylinder"] == pytest.approx(second["airflow"] * 120 / second["at_rpm"] / 4)
    assert second["efficiency"] == pytest.approx(2 * second["per_rev"] / 2.5)
    assert [each["standard"] for each in second["factors"]] == ["SAE J1349", "ISO 1585"]
    assert all(0.93 < each["value"] < 1.07 for each in second["factors"])


def test_drives_at_part_and_full_throttle_are_not_compared(session: str, capsys: pytest.CaptureFixture[str]) -> None:
    main(["air", session])
    said = capsys.readouterr().out
    assert "weighed +3.4 % more than that of drive 1.\n" in said
    main(["air", session, "--from", "2", "--humidity", "80"])
    assert "weighed" not in capsys.readouterr().out


def test_without_pressure_nothing_is_made_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made, log = str(tmp_path / "car.session"), tmp_path / "drive.csv"
    lines = (SAMPLES / "pulls_drive.csv").read_text().splitlines()
    names = lines[0].split(",")
    keep = [i for i, name in enumerate(names) if "baro" not in name.lower()]
    assert len(keep) == len(names) - 1
    log.write_text("\n".join(",".join(line.split(",")[i] for i in keep) for line in lines) + "\n")
    asked(capsys, "new", made, str(SAMPLES / "airflow_stale.csv"))
    asked(capsys, "add-log", made, str(log))
    (drive,) = asked(capsys, "air", made)["drives"]
    assert drive["density"] is None
    assert drive["factors"] == []
    (stated,) = asked(capsys, "air", made, "--barometer", "80")["drives"]
    assert stated["pressure_kpa"] == 80
    assert [each["value"] for each in stated["factors"]] == [None, None]
