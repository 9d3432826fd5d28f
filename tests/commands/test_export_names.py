"""The name of an exported file tells no other revision than it holds, and an export of another car is not replaced."""

import json
import shutil
from pathlib import Path

import pytest

from workbench.cli import main
from workbench.files.tables.tables import write_table_text
from workbench.model.table import Table


@pytest.fixture
def table(curve: Table, tmp_path: Path) -> Path:
    path = tmp_path / "airflow.csv"
    path.write_text(write_table_text(curve), encoding="utf-8")
    return path


def begun(path: Path, table: Path, last: str = "1.02") -> Path:
    """A session with three revisions."""
    path.parent.mkdir(exist_ok=True)
    assert main(["new", str(path), str(table)]) == 0
    for factor in ("1.01", last):
        assert main(["scale", str(path), "--by", factor, "--cells", "all"]) == 0
    return path


def export(session: Path, file: Path, *more: str) -> int:
    return main(["export", str(session), str(file), "--draft", *more])


def revision_in(file: Path) -> tuple[object, object]:
    paper = json.loads(file.with_name(f"{file.name}.provenance.json").read_text())
    return paper["session"], paper["revision"]


@pytest.mark.parametrize(
    ("name", "revision"),
    [
        ("airflow_revision_3.csv", "2"),
        ("airflow_rev3.csv", "2"),
        ("Revision 1.csv", "3"),
        ("airflow_REV-2.draft.csv", "3"),
        ("car_revision_3_revision_1.csv", "3"),
    ],
)
def test_a_name_that_names_another_revision_is_refused(
    table: Path, tmp_path: Path, name: str, revision: str, capsys: pytest.CaptureFixture[str]
) -> None:
    session = begun(tmp_path / "car.session", table)
    capsys.readouterr()
    assert export(session, tmp_path / name, "--revision", revision) == 1
    said = capsys.readouterr().err
    assert f"would hold revision {revision}" in said
    assert not list(tmp_path.glob("*.provenance.json"))
    assert main(["report", str(session), str(tmp_path / name.replace("csv", "html")), "--revision", revision]) == 1
    assert not list(tmp_path.glob("*.html"))


@pytest.mark.parametrize(
    ("name", "revision"),
    [
        ("airflow_revision_2.csv", "2"),
        ("car_revision_3_revision_2.csv", "2"),
        ("airflow_revision_12.csv", "3"),  # no revision of the session: it means something else
        ("prev_2.csv", "3"),
        ("2026-11-27.csv", "3"),
        ("airflow.csv", "1"),
    ],
)
def test_any_other_name_is_taken(table: Path, tmp_path: Path, name: str, revision: str) -> None:
    session = begun(tmp_path / "car.session", table)
    file = tmp_path / "out" / name
    file.parent.mkdir()
    assert export(session, file, "--revision", revision) == 0
    assert revision_in(file.with_name(f"{file.stem}.draft.csv")) == ("car.session", int(revision))


def test_an_export_of_another_session_is_not_replaced(
    table: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one, other = begun(tmp_path / "one.session", table), begun(tmp_path / "other.session", table)
    file = tmp_path / "out.draft.csv"
    assert export(one, file, "--revision", "2") == 0
    before = file.read_bytes()
    capsys.readouterr()
    assert export(other, file) == 1
    said = capsys.readouterr().err
    assert "one.session" in said
    assert "--replace" in said
    assert file.read_bytes() == before
    assert revision_in(file) == ("one.session", 2)
    assert export(one, file) == 0, "a later revision of its own takes its place"
    assert revision_in(file) == ("one.session", 3)
    assert export(other, file, "--replace") == 0
    assert revision_in(file) == ("other.session", 3)


def test_nor_is_one_of_another_session_of_the_same_name(
    table: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one, other = begun(tmp_path / "a" / "car.session", table), begun(tmp_path / "b" / "car.session", table, "1.03")
    file = tmp_path / "out.draft.csv"
    assert export(one, file) == 0
    capsys.readouterr()
    assert export(other, file) == 1
    assert "another session of the same name" in capsys.readouterr().err
    assert export(one, file) == 0


def test_nor_is_one_that_was_made_after_a_copy_went_its_own_way(table: Path, tmp_path: Path) -> None:
    one = begun(tmp_path / "a" / "car.session", table)
    other = tmp_path / "b" / "car.session"
    other.parent.mkdir()
    shutil.copy(one, other)
    file = tmp_path / "out.draft.csv"
    assert export(one, file) == 0
    assert main(["scale", str(one), "--by", "1.1", "--cells", "all"]) == 0
    assert export(one, file) == 0
    assert export(other, file) == 1


def test_nor_is_one_of_another_table(table: Path, curve: Table, tmp_path: Path) -> None:
    session = begun(tmp_path / "car.session", table)
    second = tmp_path / "second.csv"
    second.write_text(write_table_text(curve.with_values(curve.values * 2)), encoding="utf-8")
    assert main(["add-table", str(session), str(second)]) == 0
    file = tmp_path / "out.draft.csv"
    assert export(session, file) == 0
    assert export(session, file, "--table", "second") == 1
    assert export(session, file, "--table", "second", "--replace") == 0


def test_what_a_spreadsheet_wrote_is_not_replaced_and_a_report_neither(table: Path, tmp_path: Path) -> None:
    session = begun(tmp_path / "car.session", table)
    file = tmp_path / "out.draft.csv"
    file.write_text("mine")
    assert export(session, file) == 1
    assert file.read_text() == "mine"
