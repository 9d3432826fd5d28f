"""A log that bears a date belongs to what was in the car then; where that leaves it open, the user is asked."""

import os
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.declaring.registry import Answer
from workbench.commands.logs.logs import add_log
from workbench.commands.record.branches import put_in_car
from workbench.commands.table.hand import scale
from workbench.errors import InputError
from workbench.files.logs import read_log
from workbench.session import Session
from workbench.work import run

NOON = datetime(2026, 11, 27, 12, tzinfo=UTC)


@pytest.fixture
def marked(session: Session, monkeypatch: pytest.MonkeyPatch) -> Session:
    """Revision 1 in the car from eight, revision 2 from twelve; it is four in the afternoon, UTC."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", str(int(NOON.timestamp()) + 4 * 3600))
    for change in (
        scale(session.state, by=1.02).change,
        put_in_car(session.state, 1, at="2026-11-27T08:00:00Z").change,
    ):
        assert change is not None
        session.record(change)
    mark = put_in_car(session.state, 2, at="2026-11-27T12:00:00Z").change
    assert mark is not None
    session.record(mark)
    return session


@pytest.fixture
def east() -> Iterator[None]:
    """A computer two hours ahead of UTC."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = "UTC-2"
    time.tzset()
    yield
    os.environ.pop("TZ") if before is None else os.environ.update(TZ=before)
    time.tzset()


def dated(path: Path, first: str, form: str = "%Y-%m-%d %H:%M:%S.%f", zone: str = "") -> Path:
    """Write a log of a minute that begins at a moment, and was written to the disk long after."""
    start = datetime.fromisoformat(first).replace(tzinfo=UTC).timestamp()
    rows = [datetime.fromtimestamp(start + i / 10, UTC).strftime(form) + zone + f",{1500 + i},3.5" for i in range(600)]
    path.write_text("\n".join(["Time,Airflow sensor (Hz),Airflow (g/s)", *rows]) + "\n")
    return path


def added(session: Session, path: Path, **how: object) -> Answer[object]:
    answer: Answer[object] = run(add_log(session.state, (path,), again=True, **how))  # type: ignore[arg-type]
    assert answer.change is not None
    session.record(answer.change)
    return answer


def test_the_date_in_the_log_tells_and_is_named(marked: Session, tmp_path: Path) -> None:
    told = added(marked, dated(tmp_path / "ten.csv", "2026-11-27 10:00:00", zone="Z"))
    assert marked.state.drives[-1].revision == 1
    assert told.lines[0] == (
        "Driven with revision 1 of 'airflow': in the car since 2026-11-27T08:00:00Z; ten.csv began at "
        "2026-11-27T10:00:00Z, by the date in it."
    )
    added(marked, dated(tmp_path / "two.csv", "2026-11-27 14:00:00", zone="Z"))
    assert marked.state.drives[-1].revision == 2


def test_each_log_of_one_adding_by_its_own_date(marked: Session, tmp_path: Path) -> None:
    files = tuple(dated(tmp_path / f"{hour}.csv", f"2026-11-27 {hour}:00:00", zone="Z") for hour in (10, 14))
    answer = run(add_log(marked.state, files))
    assert [drive.revision for drive in answer.value] == [1, 2]


def test_what_spans_a_mark_or_precedes_all_is_asked_about(marked: Session, tmp_path: Path) -> None:
    across = dated(tmp_path / "across.csv", "2026-11-27 11:59:40", zone="Z")
    with pytest.raises(InputError, match="of 2026-11-27T11:59:40Z, by the date in it; revision 2") as asked:
        added(marked, across)
    assert "--on 1 or --on 2" in asked.value.hint
    with pytest.raises(InputError, match="revision 1 of 'airflow' was put in the car at"):
        added(marked, dated(tmp_path / "early.csv", "2026-11-26 20:00:00", zone="Z"))
    added(marked, across, on=(1,))
    assert marked.state.drives[-1].revision == 1


@pytest.mark.usefixtures("east")
def test_a_clock_without_a_zone_is_asked_about_where_the_zone_decides(marked: Session, tmp_path: Path) -> None:
    # 17:30 here is 15:30 UTC, 17:30 in UTC: revision 2 both ways.
    told = added(marked, dated(tmp_path / "clear.csv", "2026-11-27 17:30:00"))
    assert marked.state.drives[-1].revision == 2
    assert "began at 2026-11-27T15:30:00Z, by the date in it, taken as local time." in told.lines[0]
    # 13:00 here is 11:00 UTC, before the second mark; in UTC it is after it.
    with pytest.raises(InputError, match="taken as local time; revision 2"):
        added(marked, dated(tmp_path / "open.csv", "2026-11-27 13:00:00"))


@pytest.mark.parametrize("first", ["2000-01-01 00:00:00", "2031-05-01 10:00:00"])
def test_a_clock_that_was_never_set_does_not_count(marked: Session, tmp_path: Path, first: str) -> None:
    path = dated(tmp_path / "unset.csv", first, zone="Z")
    moment = NOON.timestamp() + 3600
    os.utime(path, (moment, moment))
    told = added(marked, path)
    assert marked.state.drives[-1].revision == 2
    assert told.lines[0].endswith("in the car since 2026-11-27T12:00:00Z.")


def test_a_measurement_file_says_when_it_began(tmp_path: Path) -> None:
    asammdf = pytest.importorskip("asammdf")
    when = np.arange(0, 60, 0.1)
    with asammdf.MDF(version="4.10") as made:
        made.start_time = datetime(2026, 11, 27, 10, tzinfo=UTC)
        made.append([asammdf.Signal(samples=1500 + when, timestamps=when, name="Airflow sensor", unit="Hz")])
        made.save(tmp_path / "drive.mf4")
    log = run(read_log(tmp_path / "drive.mf4"))
    assert log.recorded is not None
    assert log.recorded.zoned
    assert log.recorded.first == datetime(2026, 11, 27, 10, tzinfo=UTC).timestamp()
    assert log.recorded.last == pytest.approx(log.recorded.first + 59.9)
