"""A file brought to the wrong command is told as what it is."""

import time
from pathlib import Path

import pytest

from workbench.commands.declaring.registry import Answer
from workbench.commands.logs.logs import add_log
from workbench.commands.table.tables import new
from workbench.errors import WorkbenchError
from workbench.files.identify import LARGEST_TABLE, refused_as_log, refused_as_table, table_in
from workbench.session import Session
from workbench.work import run

LOG = "Time (s),Engine speed (rpm),MAF (g/s)\n" + "".join(f"{i / 5},{900 + i},{4 + i / 10}\n" for i in range(30))
NO_TIME = "rpm,MAP (kPa),STFT (%),Coolant (°C)\n" + "".join(f"{900 + i},{40 + i % 9},{i % 5},85\n" for i in range(30))
CURVE = "Airflow sensor (Hz),Airflow (g/s)\n1000,2\n2000,3\n3000,7\n"
GRID = "Engine speed (rpm) / Manifold pressure (kPa) / Volumetric efficiency (%),20,60,100\n500,1,2,3\n900,3,4,5\n"
SHEARED = "Airflow sensor (Hz),Airflow (g/s)\n1000,2\n2000,x\n3000,7\n"
REFUSAL = WorkbenchError("what was wrong", "what to do")


def bring(path: Path) -> None:
    made = new(path.with_name("new.session"), path)
    if not isinstance(made, Answer):
        run(made)


@pytest.mark.parametrize("content", [LOG, NO_TIME, LOG.replace(",", ";")])
def test_a_log_given_to_new_is_told_as_a_log(tmp_path: Path, content: str) -> None:
    path = tmp_path / "town.csv"
    path.write_text(content)
    with pytest.raises(WorkbenchError, match=r"looks like a log of [24] channels") as told:
        bring(path)
    assert "add-log SESSION town.csv" in told.value.hint
    assert not (tmp_path / "new.session").exists()


@pytest.mark.parametrize(
    ("name", "content", "what"),
    [
        ("a.mf4", b"MDF     4.10    " + bytes(300), "MDF"),
        ("a.blf", b"LOGG" + bytes(300), "CAN"),
        ("a.log", b"(0.1) can0 7E8#0341057B00000000\n" * 9, "CAN"),
    ],
)
def test_other_logs_given_to_new_are_told_too(tmp_path: Path, name: str, content: bytes, what: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(WorkbenchError, match=what):
        bring(path)


@pytest.mark.parametrize("content", [SHEARED, "", "words only\n", LOG.split("\n")[0] + "\n"])
def test_what_is_no_log_either_keeps_its_own_refusal(tmp_path: Path, content: str) -> None:
    path = tmp_path / "x.csv"
    path.write_text(content)
    assert refused_as_table(path, "", REFUSAL) is REFUSAL
    assert refused_as_table(tmp_path / "none.csv", "", REFUSAL) is REFUSAL
    assert refused_as_log(tmp_path / "none.csv", "", REFUSAL) is REFUSAL


@pytest.mark.parametrize(("content", "kind"), [(CURVE, "curve of 3 cells"), (GRID, "grid of 6 cells")])
def test_a_table_given_as_a_log_is_told_as_a_table(tmp_path: Path, content: str, kind: str) -> None:
    path = tmp_path / "t.csv"
    path.write_text(content)
    told = refused_as_log(path, "", REFUSAL)
    assert kind in told.message
    assert "what was wrong" in told.message
    assert "add-table SESSION t.csv" in told.hint


def test_two_columns_over_time_are_no_table(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text("Time (s),rpm\n0,900\n1,950\n")
    assert table_in(path, "") is None
    path.write_text("t (ms),rpm\n0,900\n1,950\n")
    assert table_in(path, "") is None


def test_a_session_is_told_as_such(session: Session) -> None:
    path = Path(session.state.path)
    assert "is a session, not a table" in refused_as_table(path, "", REFUSAL).message
    assert "is a session, not a log" in refused_as_log(path, "", REFUSAL).message


def test_what_add_log_refuses_is_told_as_what_it_is(session: Session, tmp_path: Path) -> None:
    for name, content, words in (
        ("curve.csv", CURVE, "can be read as a table, a curve of 3 cells"),
        ("grid.csv", GRID, "can be read as a table, a grid of 6 cells"),
        ("nothing.csv", "\0" * 3000, "NUL bytes where its text should be"),
    ):
        path = tmp_path / name
        path.write_text(content)
        with pytest.raises(WorkbenchError, match=words):
            run(add_log(session.state, (path,)))


def test_what_is_far_larger_than_a_table_is_not_read_as_one(tmp_path: Path) -> None:
    path = tmp_path / "line.csv"
    path.write_text("9," * (LARGEST_TABLE // 2 + 1))
    begin = time.process_time()
    assert table_in(path, "") is None
    assert time.process_time() - begin < 0.5
