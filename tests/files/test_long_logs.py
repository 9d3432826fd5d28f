"""Long logs in a session: packed otherwise than short ones, and kept as exactly."""

import sqlite3
from pathlib import Path

import numpy as np
import pytest
from altering import alter

from workbench.commands.logs.logs import add_log
from workbench.errors import FileError
from workbench.model import packing
from workbench.session import Session
from workbench.work import Cancelled, Progress, run

ROWS = packing.LONG + 1000


@pytest.fixture
def long_log(tmp_path: Path) -> Path:
    """A log of a warm engine that idles (invented), with a long gap in one channel."""
    path = tmp_path / "long.csv"
    draw = np.random.default_rng(4)
    speed, trim = draw.normal(800, 5, ROWS), draw.normal(0, 2, ROWS)
    lines = [f"{row * 0.05:.2f},{rpm:.1f},{ft:.3f}" for row, (rpm, ft) in enumerate(zip(speed, trim, strict=True))]
    lines[5000:9000] = [line.rpartition(",")[0] + "," for line in lines[5000:9000]]
    path.write_text("Time (s),Engine speed (rpm),STFT bank 1 (%)\n" + "\n".join(lines) + "\n")
    return path


def test_a_long_log_comes_back_bit_for_bit_and_is_watched_over(session: Session, long_log: Path) -> None:
    answer = run(add_log(session.state, (long_log,)))
    assert answer.change is not None
    session.record(answer.change)
    with Session.open(Path(session.state.path)) as again:
        for here, there in zip(session.state.drives[0].log.channels, again.state.drives[0].log.channels, strict=True):
            assert packing.is_long(there.column.pack())
            np.testing.assert_array_equal(there.values.view(np.int64), here.values.view(np.int64))
    path = Path(session.state.path)
    session.close()
    with sqlite3.connect(path) as connection:
        (samples,) = connection.execute("SELECT samples FROM channel WHERE position = 0").fetchone()
        damaged = bytearray(samples)
        damaged[-100] ^= 1
    connection.close()
    alter(path, [("UPDATE channel SET samples = ? WHERE position = 0", (bytes(damaged),))])
    with pytest.raises(FileError, match="Drive 1"):
        Session.open(path)


def test_packing_can_be_cancelled(session: Session, long_log: Path) -> None:
    seen: list[Progress] = []
    with pytest.raises(Cancelled):
        run(add_log(session.state, (long_log,)), seen.append, lambda: "packing" in seen[-1].text or len(seen) > 10_000)
    assert "packing" in seen[-1].text
    assert not session.state.drives


@pytest.mark.parametrize("head", [bytes([2]), bytes([31, 200]), bytes([1, 5]), bytes([1, 255])])
@pytest.mark.parametrize("where", ["UPDATE channel SET samples = ? WHERE position = 1", "UPDATE drive SET time = ?"])
def test_samples_packed_by_a_newer_version_are_not_called_damaged(
    head: bytes, where: str, session: Session, long_log: Path
) -> None:
    answer = run(add_log(session.state, (long_log,)))
    assert answer.change is not None
    session.record(answer.change)
    path = Path(session.state.path)
    session.close()
    alter(path, [(where, (head + bytes(100),))])
    content = path.read_bytes()
    with pytest.raises(FileError, match="written by a newer version") as refused:
        Session.open(path)
    assert "damaged" not in str(refused.value)
    assert path.read_bytes() == content
