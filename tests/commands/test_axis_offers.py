"""A channel that no name tells feeds an axis where the airflow shows it, and is offered where only its range does."""

from pathlib import Path

import numpy as np
import pytest

from workbench.commands.evidence.evidence import evidence
from workbench.commands.logs.logs import add_log, amend_log
from workbench.commands.table.tables import new
from workbench.errors import InputError
from workbench.session import Session
from workbench.work import run


def log_of(car: Path, path: Path, headers: dict[str, str], rows: int | None = None) -> Path:
    """Write the drive with some columns under other headers, or without them where that is empty."""
    lines = [line.split(",") for line in (car / "part_throttle_drive.csv").read_text().splitlines()][:rows]
    head = [next((new for old, new in headers.items() if cell.startswith(old)), cell) for cell in lines[0]]
    kept = [at for at, cell in enumerate(head) if cell]
    path.write_text("\n".join(",".join(line[at] for at in kept) for line in (head, *lines[1:])) + "\n")
    return path


@pytest.fixture
def session_file(car: Path, tmp_path: Path) -> Path:
    path = tmp_path / "car.session"
    new(path, car / "airflow_stale.csv", name="airflow")
    return path


def test_the_channel_that_airflow_follows_through_the_table_is_taken_and_told(
    car: Path, tmp_path: Path, session_file: Path
) -> None:
    path = log_of(car, tmp_path / "x.csv", {"Airflow sensor": "Canal 7 (Hz)"}, 4000)
    with Session.open(session_file) as session:
        answer = run(add_log(session.state, (path,)))
        (drive,) = answer.value
        assert drive.log.roles["sensor_signal"] == "Canal 7"
        assert any("Canal 7 was taken for the axis Airflow sensor (Hz): airflow over it" in n for n in drive.log.notes)
        assert answer.data["questions"] == []
        cleared = run(add_log(session.state, (path,), role=("sensor_signal=",)))
        assert "sensor_signal" not in cleared.value[0].log.roles
        assert cleared.data["questions"] == []


def test_a_channel_that_fits_by_unit_and_range_is_offered_with_its_answer(
    car: Path, tmp_path: Path, session_file: Path
) -> None:
    path = log_of(car, tmp_path / "x.csv", {"Airflow sensor": "Canal 7 (Hz)", "Airflow (g/s)": ""})
    with Session.open(session_file) as session:
        answer = run(add_log(session.state, (path,)))
        session.record(answer.change)
        (question,) = answer.data["questions"]
        assert "it may be Canal 7" in question["question"]
        flags = [each["flag"] for each in question["alternatives"]]
        assert flags == ["--role 'sensor_signal='", "--role 'sensor_signal=Canal 7'"]
        with pytest.raises(InputError, match=r"sensor_signal=Canal 7"):
            run(evidence(session.state))
        session.record(amend_log(session.state, 1, role=("sensor_signal=Canal 7",)).change)
        assert not session.state.drives[0].log.questions
        assert np.isfinite(np.asarray(run(evidence(session.state)).value.ratio)).any()


def test_a_channel_of_another_range_or_quantity_is_not_offered(car: Path, tmp_path: Path, session_file: Path) -> None:
    lines = (car / "part_throttle_drive.csv").read_text().splitlines()[:600]
    at = next(number for number, cell in enumerate(lines[0].split(",")) if cell.startswith("Airflow sensor"))
    rows = [line.split(",") for line in lines]
    rows[0][at] = "Canal 7 (Hz)"
    for number, row in enumerate(rows[1:]):
        row[at] = f"{20 + 5 * np.sin(number / 30):.2f}"  # as of a switched valve
    path = tmp_path / "x.csv"
    path.write_text("\n".join(",".join(row) for row in rows) + "\n")
    with Session.open(session_file) as session:
        answer = run(add_log(session.state, (path,)))
        assert answer.data["questions"] == []
        assert "sensor_signal" not in answer.value[0].log.roles
        assert any("has no channel for the axis" in note for note in answer.data["warnings"])


def test_what_is_answered_to_be_written_on_change_is_held_after_the_session_is_opened_again(
    car: Path, tmp_path: Path, session_file: Path
) -> None:
    rows = [line.split(",") for line in (car / "part_throttle_drive.csv").read_text().splitlines()[:3000]]
    at = next(number for number, cell in enumerate(rows[0]) if cell.startswith("Manifold pressure"))
    random = np.random.default_rng(5)
    for number, row in enumerate(rows[1:]):
        away = number % 30 > 12 and random.random() < 0.95
        row[at] = "" if away else f"{float(row[at]) + 0.1 * random.random():.5f}"
    path = tmp_path / "x.csv"
    path.write_text("\n".join(",".join(row) for row in rows) + "\n")
    with Session.open(session_file) as session:
        answer = run(add_log(session.state, (path,)))
        session.record(answer.change)
        (question,) = answer.data["questions"]
        assert question["channel"] == "Manifold pressure"
        session.record(amend_log(session.state, 1, unit=("Manifold pressure=on-change",)).change)
    with Session.open(session_file) as session:
        (drive,) = session.state.drives
        held = drive.log.channel("Manifold pressure")
        assert held is not None
        assert held.unit == "kPa"
        assert np.isfinite(held.values).all()
        assert not drive.log.questions


def test_a_channel_that_bears_the_name_of_the_axis_feeds_it_unasked(car: Path, tmp_path: Path) -> None:
    """Channels of unknown names are offered roles elsewhere; one that the table names is not among them."""
    text = (car / "airflow_stale.csv").read_text()
    table = tmp_path / "table.csv"
    table.write_text(text.replace(text.splitlines()[0].split(",")[0], "Klopfer (Hz)"))
    path = log_of(car, tmp_path / "x.csv", {"Airflow sensor": "Klopfer (Hz)", "Airflow (g/s)": ""})
    new(tmp_path / "own.session", table, name="airflow")
    with Session.open(tmp_path / "own.session") as session:
        answer = run(add_log(session.state, (path,)))
        assert answer.data["questions"] == []
        assert answer.value[0].log.roles["sensor_signal"] == "Klopfer"
        assert answer.value[0].log.guesses["sensor_signal"] == "it bears the name of the axis"
        cleared = run(add_log(session.state, (path,), role=("sensor_signal=",)))
        assert "sensor_signal" not in cleared.value[0].log.roles
