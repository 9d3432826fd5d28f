"""A channel whose values are impossible in its unit is asked about; each answer leads to the plain drive's evidence."""

import shlex
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.evidence.evidence import evidence
from workbench.commands.logs.logs import add_log, amend_log
from workbench.commands.table.tables import new
from workbench.model.arrays import FloatArray
from workbench.session import Session
from workbench.work import run


def with_channel(car: Path, path: Path, name: str, change: Callable[[float], float]) -> Path:
    """Write the drive with the numbers of one channel changed, and its header as it was."""
    head, *lines = (car / "efficiency_drive.csv").read_text().splitlines()
    at = next(place for place, cell in enumerate(head.split(",")) if cell.startswith(name))
    rows = [line.split(",") for line in lines]
    for row in rows:
        row[at] = f"{change(float(row[at])):.5f}" if row[at] else ""
    path.write_text("\n".join([head, *map(",".join, rows)]) + "\n")
    return path


def ratios(session: Session) -> FloatArray:
    return np.asarray(run(evidence(session.state)).value.ratio)


@pytest.mark.parametrize(
    ("unit", "factor"), [("psi", 1 / 6.894757), ("bar", 0.01), ("hPa", 10.0), ("mmHg", 7.500617)], ids=str
)
def test_a_pressure_in_another_unit_than_its_header_says(car: Path, tmp_path: Path, unit: str, factor: float) -> None:
    path = tmp_path / "car.session"
    new(path, car / "efficiency_stale.csv", name="efficiency")
    file = with_channel(car, tmp_path / "x.csv", "Manifold pressure", lambda value: value * factor)
    with Session.open(path) as session:
        session.record(run(add_log(session.state, (car / "efficiency_drive.csv",))).change)
        plain = ratios(session)
    path = tmp_path / "other.session"
    new(path, car / "efficiency_stale.csv", name="efficiency")
    with Session.open(path) as session:
        answer = run(add_log(session.state, (file,)))
        session.record(answer.change)
        flags = [a["flag"] for q in answer.data["questions"] for a in q["alternatives"] if f"={unit}'" in a["flag"]]
        words = shlex.split(flags[0])
        given = {"role": [], "unit": []}
        for option, value in zip(words[::2], words[1::2], strict=True):
            given[option.removeprefix("--")].append(value)
        session.record(amend_log(session.state, 1, role=tuple(given["role"]), unit=tuple(given["unit"])).change)
        assert not session.state.drives[0].log.questions
        found = ratios(session)
    # Rounded to a column of a coarse unit, a cell at the edge may be known a little closer or less.
    assert np.sum(np.isnan(found) != np.isnan(plain)) <= 1
    assert np.nanmax(np.abs(found - plain)) < 4e-3


def test_a_warm_coolant_in_degc_under_degf_is_asked_about(car: Path, tmp_path: Path) -> None:
    file = with_channel(car, tmp_path / "x.csv", "Coolant temperature", lambda value: value)
    file.write_text(file.read_text().replace("Coolant temperature (°C)", "Coolant temperature (°F)", 1))
    path = tmp_path / "car.session"
    new(path, car / "efficiency_stale.csv", name="efficiency")
    with Session.open(path) as session:
        answer = run(add_log(session.state, (file,)))
        session.record(answer.change)
        (asked,) = [each for each in answer.data["questions"] if each["channel"] == "Coolant temperature"]
        assert [a["flag"] for a in asked["alternatives"]] == [
            "--unit 'Coolant temperature=degF'",
            "--unit 'Coolant temperature=degC'",
        ]
        session.record(amend_log(session.state, 1, unit=("Coolant temperature=degC",)).change)
        coolant = session.state.drives[0].log.playing("coolant_temperature")
        assert coolant is not None
        assert np.nanmax(coolant) > 80


def test_a_unit_stated_again_counts_from_what_was_logged(car: Path, tmp_path: Path) -> None:
    path = tmp_path / "car.session"
    new(path, car / "efficiency_stale.csv", name="efficiency")
    with Session.open(path) as session:
        session.record(run(add_log(session.state, (car / "efficiency_drive.csv",))).change)
        plain = {each.name: each.values for each in session.state.drives[0].log.channels}
        for name, units in (
            ("Manifold pressure", ("psi", "bar", "kPa")),
            ("Coolant temperature", ("degF", "K", "degC")),
            ("Vehicle speed", ("mph", "km/h")),
        ):
            for unit in units:
                session.record(amend_log(session.state, 1, unit=(f"{name}={unit}",)).change)
            found = session.state.drives[0].log.channel(name)
            assert found is not None
            np.testing.assert_allclose(found.values, plain[name], rtol=1e-9)
        renamed = amend_log(session.state, 1, unit=("Vehicle speed=mph",), rename=("Vehicle speed=Speed",))
        session.record(renamed.change)
        session.record(amend_log(session.state, 1, unit=("Speed=km/h",)).change)
        found = session.state.drives[0].log.channel("Speed")
        assert found is not None
        np.testing.assert_allclose(found.values, plain["Vehicle speed"], rtol=1e-9)
