"""The samples come out the same again, and the tour does the whole job on them."""

from pathlib import Path

import numpy as np
import pytest

from workbench.commands.declaring.registry import COMMANDS, Answer
from workbench.commands.record.samples import SESSION_NAME, samples, started_as, tour
from workbench.errors import FileError
from workbench.files.tables.tables import read_table
from workbench.model.arrays import FloatArray
from workbench.session import Session
from workbench.work import run

SHIPPED = Path(__file__).parent.parent.parent / "sample_sessions"


def numbers(path: Path) -> FloatArray:
    return np.array([line.split(",") for line in path.read_text().splitlines()[1:]], dtype=np.float64)


@pytest.fixture(scope="module")
def fresh(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("samples")
    run(samples(place))  # type: ignore[arg-type]
    return place


def test_the_samples_come_out_the_same_again(tmp_path: Path, fresh: Path) -> None:
    run(samples(tmp_path / "two"))  # type: ignore[arg-type]
    made = sorted(path.name for path in fresh.iterdir())
    assert made == sorted(path.name for path in (tmp_path / "two").iterdir())
    for name in made:
        assert (fresh / name).read_bytes() == (tmp_path / "two" / name).read_bytes(), name
    assert made == sorted(path.name for path in SHIPPED.iterdir() if path.suffix in (".csv", ".session"))


def test_no_log_of_the_sample_session_waits_for_an_answer(fresh: Path) -> None:
    """After a good correction a long trim has nothing to learn: the drive that shows it was asked about, and unused."""
    with Session.open(fresh / SESSION_NAME) as session:
        state = session.state
    assert [drive.log.questions for drive in state.drives] == [()] * len(state.drives)
    last = state.drives[-1].log
    (long,) = (last.channel(name) for role, name in last.roles.items() if role == "ltft_1")
    assert long is not None
    assert np.ptp(long.values) == 0, "the case that this is about"


def test_the_shipped_samples_are_what_the_command_makes(fresh: Path) -> None:
    """Another processor or numpy may round its powers and exponentials otherwise, and a switching loop carries such a
    difference on: drives are compared by what they hold, tables to the last digit."""
    for name in ("airflow_stale.csv", "efficiency_stale.csv"):
        assert (fresh / name).read_bytes() == (SHIPPED / name).read_bytes()
    for name in ("part_throttle_drive.csv", "pulls_drive.csv", "efficiency_drive.csv"):
        made, kept = numbers(fresh / name), numbers(SHIPPED / name)
        assert made.shape == kept.shape
        np.testing.assert_allclose(made.mean(axis=0), kept.mean(axis=0), rtol=1e-3, atol=0.02)
    with Session.open(fresh / SESSION_NAME) as again, Session.open(SHIPPED / SESSION_NAME) as shipped:
        pairs = zip(again.state.history.revisions, shipped.state.history.revisions, strict=True)  # type: ignore[attr-defined]
        for mine, theirs in pairs:
            assert (mine.operation, mine.note, mine.time, mine.author) == (
                theirs.operation,
                theirs.note,
                theirs.time,
                theirs.author,
            )
            np.testing.assert_allclose(mine.table.values, theirs.table.values, rtol=2e-3)


def test_the_shipped_session_is_whole() -> None:
    with Session.open(SHIPPED / SESSION_NAME) as session:
        answer = COMMANDS["check"].function(session.state)
        assert isinstance(answer, Answer)
        assert answer.data["ok"] is True
        assert len(session.state.history.revisions) >= 4


def test_the_tour_ends_inside_the_target(tmp_path: Path) -> None:
    answer = run(tour(tmp_path / "out"))  # type: ignore[arg-type]
    assert isinstance(answer, Answer)
    result = next(line for line in answer.lines if line.startswith("Result"))
    assert result.count("100 % of driven cells and 100 % of driven time within") == 2
    table, _ = read_table(tmp_path / "out" / "airflow_corrected.csv")
    assert (table.values[1:] > table.values[:-1]).all()


def test_nothing_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "tour.session").write_text("mine")
    with pytest.raises(FileError, match=r"tour\.session already exists"):
        run(tour(tmp_path))  # type: ignore[arg-type]
    (tmp_path / "tour.session").unlink()
    for name in ("pulls_drive.csv", "drive_on_the_corrected_table.csv", "airflow_corrected.csv"):
        (tmp_path / name).write_text("mine")
        with pytest.raises(FileError, match=f"{name} already exists"):
            run(tour(tmp_path))  # type: ignore[arg-type]
        assert [path.name for path in tmp_path.iterdir()] == [name]
        (tmp_path / name).unlink()
    (tmp_path / "pulls_drive.csv").write_text("mine")
    with pytest.raises(FileError, match=r"pulls_drive\.csv already exists"):
        run(samples(tmp_path))  # type: ignore[arg-type]
    assert (tmp_path / "pulls_drive.csv").read_text() == "mine"


def test_the_program_is_named_as_it_was_started(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Debian has no `python`, and a virtual environment is not always active."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.executable", str(tmp_path / ".venv" / "bin" / "python"))
    assert started_as() == f"{Path('.venv/bin/python')} -m workbench"
    monkeypatch.setattr("sys.executable", "/elsewhere/bin/python3")
    assert started_as() == f"{Path('/elsewhere/bin/python3')} -m workbench"
