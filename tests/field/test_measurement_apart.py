"""Measurement files (ASAM MDF 4) whose channels never share a moment: the same evidence, or a sentence why there is none."""

import tempfile
from collections.abc import Mapping
from pathlib import Path

import pytest

from field.car import Floats, drive
from field.judge import _session, _warnings, judge, run
from field.shape import STANDARD, USUAL, Built, Shape, col, roles

asammdf = pytest.importorskip("asammdf")

FAST, LOOP, SLOW = (
    ("rpm", "hz", "maf", "map", "throttle"),
    ("stft", "ltft", "status", "cmd"),
    ("speed", "coolant", "iat", "purge"),
)


def measurement(groups: Mapping[tuple[str, ...], tuple[slice, float]]) -> bytes:
    """Write each group on a clock of its own: which rows of the drive it holds, and how much later, s."""
    frame = drive()
    with asammdf.MDF(version="4.10") as made, tempfile.TemporaryDirectory() as place:
        for keys, (rows, later) in groups.items():
            time: Floats = frame["time"][rows] + later
            made.append(
                [asammdf.Signal(frame[key][rows], time, name=STANDARD[key][0], unit=STANDARD[key][1]) for key in keys]
            )
        path = Path(place) / "drive.mf4"
        made.save(path)
        return path.read_bytes()


def test_groups_that_are_read_between_each_other_give_the_same_evidence() -> None:
    content = measurement(
        {
            FAST: (slice(None), 0.0),
            LOOP: (slice(0, None, 2), 0.0173),
            ("lam",): (slice(1, None, 2), 0.0311),
            SLOW: (slice(7, None, 20), 0.0407),
        }
    )
    played = roles([col(key) for key in USUAL if key not in ("time", "inj")])
    verdict = judge(Shape("mdf/apart", lambda: Built({"drive.mf4": content}, played), loose=True, keep=0.6))
    assert verdict.kind == "right", verdict.message


def test_groups_that_were_logged_one_after_the_other_give_none_and_say_why(tmp_path: Path) -> None:
    half = drive().rows // 2
    content = measurement({FAST: (slice(0, half - 400), 0.0), (*LOOP, "lam"): (slice(half, None), 0.0)})
    session, _ = _session(tmp_path)
    path = tmp_path / "drive.mf4"
    path.write_bytes(content)
    added = run(["add-log", session, str(path)])
    assert added.code == 0, added.sentence
    assert any("never logged at the same moment" in note for note in _warnings(added)), added.answer
    shown = run(["evidence", session])
    assert not any(cell.get("standing") == "proven" for cell in shown.answer.get("cells", ()))
    told = " ".join((shown.sentence, *_warnings(shown)))
    assert "No moment holds a reading of all that is needed" in told
