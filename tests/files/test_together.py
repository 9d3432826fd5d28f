"""Files of one drive are put onto one clock by what both hold, by a common day, or as stated; else it is asked."""

from pathlib import Path

import numpy as np
import pytest

from workbench.errors import FileError, InputError
from workbench.files import logs
from workbench.files.together import overlap, read_together, shift_between
from workbench.work import run

T = np.arange(0, 90, 0.05)
RPM = 1800 + 600 * np.sin(T / 3) + 200 * np.sin(T * 1.7)
LAMBDA = 1 + 0.1 * np.sin(T / 5)


def write(place: Path, name: str, head: str, *columns: np.ndarray) -> Path:  # type: ignore[type-arg]
    path = place / name
    path.write_text(
        head + "\n" + "\n".join(",".join(f"{v:.4f}" for v in row) for row in zip(*columns, strict=True)) + "\n"
    )
    return path


def test_a_channel_in_both_tells_when_the_second_began(tmp_path: Path) -> None:
    ecu = write(tmp_path, "ecu.csv", "Time (s),Engine speed (rpm)", T, RPM)
    late = T[146:]
    wide = write(tmp_path, "wide.csv", "Time (s),Lambda,RPM", late - late[0] + 3.1, LAMBDA[146:], RPM[146:])
    log = run(read_together([ecu, wide]))
    measured = log.playing("lambda_measured")
    assert measured is not None
    known = np.isfinite(measured)
    np.testing.assert_allclose(np.interp(log.time.values[known], T, LAMBDA), measured[known], atol=0.002)
    assert "by engine speed: +4.2 s" in " ".join(log.notes)


def test_without_one_it_is_asked_and_taken_as_stated(tmp_path: Path) -> None:
    ecu = write(tmp_path, "ecu.csv", "Time (s),Engine speed (rpm)", T, RPM)
    wide = write(tmp_path, "wide.csv", "Time (s),Lambda", T, LAMBDA)
    with pytest.raises(InputError, match="not known when") as refused:
        run(read_together([ecu, wide]))
    assert "--later" in (refused.value.hint or "")
    log = run(read_together([ecu, wide], later_s=2.0))
    measured = log.playing("lambda_measured")
    assert measured is not None
    assert log.time.values[np.isfinite(measured)][0] == 2.0


def test_a_common_day_tells_it(tmp_path: Path) -> None:
    ecu = write(tmp_path, "ecu.csv", "Time (s),Engine speed (rpm)", T + 1.7e9, RPM)
    wide = write(tmp_path, "wide.csv", "Time (s),Lambda", T[::4] + 1.7e9 + 1, LAMBDA[::4])
    log = run(read_together([ecu, wide]))
    assert {"engine_speed", "lambda_measured"} <= set(log.roles)
    other = write(tmp_path, "other.csv", "Time (s),Lambda", T + 1.8e9, LAMBDA)
    with pytest.raises(InputError, match="not logged at the same time"):
        run(read_together([ecu, other]))


def test_what_no_session_could_keep_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ecu = write(tmp_path, "ecu.csv", "Time (s),Engine speed (rpm)", T, RPM)
    wide = write(tmp_path, "wide.csv", "Time (s),Lambda", T + 0.01, LAMBDA)
    monkeypatch.setattr(logs, "MOST", T.size)  # of either file, but not of both together
    with pytest.raises(FileError, match="a session keeps logs of at most"):
        run(read_together([ecu, wide], later_s=0.01))


def test_clocks_overlap_by_the_shorter_one() -> None:
    assert overlap(T, T + 45.0) == pytest.approx(0.5, abs=0.01)
    assert overlap(T, T + 500.0) == 0.0
    assert overlap(T, T[:1]) == 0.0


def test_what_is_not_alike_tells_no_shift() -> None:
    assert shift_between(T, RPM, T, np.random.default_rng(0).normal(size=T.size)) is None
    assert shift_between(T, RPM, T, np.ones(T.size)) is None
    assert shift_between(T[:9], RPM[:9], T, RPM) is None
