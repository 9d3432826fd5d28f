import gzip
import json
from pathlib import Path

import pytest

from workbench.commands.declaring.registry import Answer
from workbench.commands.logs.inspection import inspect
from workbench.commands.logs.logs import add_log
from workbench.commands.table.tables import new
from workbench.errors import FileError, InputError
from workbench.model.log import Log
from workbench.model.table import Table
from workbench.session import Session
from workbench.work import run

LOG = "Time (s),Engine RPM (rpm),Wide,Narrow lambda\n" + "".join(f"{i / 5},{900 + i},1.0,0.9\n" for i in range(30))


def answer(file: Path, **options: object) -> Answer:
    outcome = inspect(file, **options)  # type: ignore[arg-type]
    return outcome if isinstance(outcome, Answer) else run(outcome)


def test_a_log_is_told(tmp_path: Path) -> None:
    path = tmp_path / "drive.csv"
    path.write_text(LOG)
    told = answer(path)
    assert isinstance(told.value, Log)
    assert (told.data["kind"], told.data["rows"]) == ("log", 30)
    assert told.data["time"] == {"first": 0.0, "last": 5.8, "rate_hz": pytest.approx(5)}
    channels = told.data["channels"]
    assert isinstance(channels, list)
    assert channels[0] == {
        "name": "Engine RPM",
        "unit": "rpm",
        "unit_read": "rpm",
        "role": "engine_speed",
        "why": "by its name, its unit and its values",
        "values": 30,
        "least": 900.0,
        "median": 914.5,
        "most": 929.0,
        "renewed_every_s": None,
    }
    assert json.dumps(told.data)
    assert "30 rows over 5.8 s" in told.lines[0]
    assert any("engine_speed" in line for line in told.lines)


def test_what_the_user_says_counts(tmp_path: Path) -> None:
    path = tmp_path / "drive.csv"
    path.write_text("rpm,AFR wideband (AFR)\n" + "".join(f"{900 + i},{14.1 + 0.01 * i}\n" for i in range(30)))
    told = answer(path, rate=10, role=("rpm=rpm",), afr_of=("AFR wideband=14.1",)).value
    assert isinstance(told, Log)
    assert told.guesses["engine_speed"] == "stated"
    assert told.playing("lambda_measured")[0] == pytest.approx(1.0)  # type: ignore[index]
    for wrong in ("AFR wideband", "=14.1", "AFR wideband=x", "AFR wideband=100"):
        with pytest.raises(InputError, match=r"cannot be read|not known"):
            answer(path, rate=10, afr_of=(wrong,))


def test_a_table_is_told(tmp_path: Path) -> None:
    path = tmp_path / "curve.csv"
    path.write_text("signal (Hz),flow (g/s)\n1000,2\n2000,3\n")
    told = answer(path)
    assert isinstance(told.value, Table)
    assert told.data["kind"] == "curve"
    assert told.data["axes"] == [{"name": "signal", "unit": "Hz", "breakpoints": [1000.0, 2000.0]}]
    assert "2 breakpoints from 1000 to 2000" in "\n".join(told.lines)
    path = tmp_path / "grid.csv.gz"
    path.write_bytes(gzip.compress(b"rpm / kPa / VE,20,60\n500,1,2\n900,3,4\n"))
    assert answer(path).data["values"] == [[1, 2], [3, 4]]


def test_a_file_that_is_neither_is_refused_as_a_log(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(100))
    with pytest.raises(FileError, match="picture"):
        answer(path)
    with pytest.raises(FileError, match="no file"):
        answer(tmp_path / "none.csv")


def test_values_that_no_car_makes_are_shown_with_a_caution(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    rows = "".join(f"{i / 5},{900 if i % 2 else 12000}\n" for i in range(40))
    path.write_text("Time (s),Engine RPM (rpm)\n" + rows)
    assert any("impossible in a car" in line for line in answer(path).lines)


def test_a_stated_role_is_remembered_for_files_of_the_same_shape(tmp_path: Path) -> None:

    table, one, two = tmp_path / "t.csv", tmp_path / "one.csv", tmp_path / "two.csv"
    table.write_text("rpm (rpm),flow (g/s)\n500,1\n3000,9\n")
    one.write_text(LOG)
    two.write_text(LOG.replace("0.9\n", "0.95\n"))
    created = new(tmp_path / "a.session", table)
    if not isinstance(created, Answer):
        run(created)
    with Session.open(tmp_path / "a.session") as session:
        for path, role in ((one, ("lambda=Wide",)), (two, ())):
            said = add_log(session.state, (path,), role=role)
            told = said if isinstance(said, Answer) else run(said)
            assert told.change is not None
            session.record(told.change)
        assert [drive.log.roles["lambda_measured"] for drive in session.state.drives] == ["Wide", "Wide"]
        assert any("earlier log of the same shape" in note for note in session.state.drives[1].log.notes)


@pytest.mark.parametrize(
    ("stated", "words"),
    [
        ("rpm=14.1", r"the channel 'rpm' has no mixture role"),
        ("Battery=14.1", r"'Battery' has no mixture role"),
        ("ECT=14.1", r"'ECT' is in degC"),
        ("Lambda=14.1", r"'Lambda' reads around 1\.0\d*, like lambda"),
        ("Bank 2 lambda=14.1", r"'Bank 2 lambda' reads around 1\.0\d*, like lambda"),
    ],
)
def test_a_ratio_for_what_is_no_air_fuel_ratio_is_refused(stated: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "drive.csv"
    lines = [f"{i / 10},{900 + i},{14 + i / 99:.2f},{80 + i},{1 + i / 999:.4f},{1 + i / 888:.4f}" for i in range(30)]
    path.write_text("\n".join(["Time (s),rpm,Battery,ECT (°C),Lambda,Bank 2 lambda", *lines]) + "\n")
    with pytest.raises(InputError, match=words) as refusal:
        answer(path, afr_of=(stated,))
    assert "--afr-of" in refusal.value.hint


def test_a_ratio_stated_for_the_second_of_two_air_fuel_ratios_counts(tmp_path: Path) -> None:
    path = tmp_path / "drive.csv"
    lines = [f"{i / 10},{900 + i},{14.7 + i / 999:.4f},{14.1 + i / 999:.4f}" for i in range(30)]
    path.write_text("\n".join(["Time (s),rpm,AFR bank 1,AFR bank 2", *lines]) + "\n")
    log = answer(path, afr_of=("AFR bank 2=14.1",)).value
    assert isinstance(log, Log)
    other = log.channel("AFR bank 2")
    assert other is not None
    assert other.values[0] == pytest.approx(1.0)
