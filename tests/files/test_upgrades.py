"""Sessions made by released versions open as they were; one of a version to come is refused and left alone.

`versions/version_X.session` was made by the program of that version, and beside it stand what that program's
`history --json` said of it and the table that it exported.
"""

import json
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from workbench.cli import main
from workbench.files.store.store import VERSION

Run = Callable[..., dict[str, Any]]
KEPT = sorted((Path(__file__).parent / "versions").glob("*.session"))


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command and gives its JSON, with its exit code under `code`."""

    def runs(*words: object) -> dict[str, Any]:
        code = main([*map(str, words), "--json"])
        return {**json.loads(capsys.readouterr().out), "code": code}

    return runs


@pytest.fixture(params=KEPT, ids=[path.stem for path in KEPT])
def old(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A copy of a session that a released version made."""
    return Path(shutil.copy(request.param, tmp_path))


def kept_beside(old: Path, ending: str) -> Path:
    return (Path(__file__).parent / "versions" / old.name).with_suffix(ending)


def test_there_is_one_of_every_release() -> None:
    assert [path.stem for path in KEPT] == ["version_0.1.0", "version_1.0.0"]


def test_it_says_what_it_said_then(old: Path, run: Run) -> None:
    said = json.loads(kept_beside(old, ".json").read_text("utf-8"))
    before = old.read_bytes()
    now = run("history", old)
    assert now["code"] == 0
    for then, today in zip(said["revisions"], now["revisions"], strict=True):
        assert {key: today[key] for key in then if key != "approval"} == {
            key: then[key] for key in then if key != "approval"
        }
        approval = then["approval"] or {}
        assert {key: (today["approval"] or {})[key] for key in approval} == approval
    assert now["heads"] == said["heads"]
    assert old.read_bytes() == before, "looking at it changes nothing"


def test_its_whole_history_replays_and_its_export_is_proven(old: Path, run: Run) -> None:
    checked = run("check", old, "--against", kept_beside(old, ".csv"))
    assert checked["code"] == 0
    assert checked["problems"] == []


def test_the_work_goes_on_in_it(old: Path, run: Run) -> None:
    revisions = len(run("history", old)["revisions"])
    assert run("evidence", old)["code"] == 0
    assert run("scale", old, "--by", 1.01, "--cells", "1:2")["code"] == 0
    assert run("undo", old)["code"] == 0
    assert len(run("history", old)["revisions"]) == revisions + 1
    assert run("check", old)["problems"] == []


def test_one_of_a_version_to_come_is_refused_and_left_alone(old: Path, run: Run) -> None:
    with closing(sqlite3.connect(old)) as connection:
        connection.execute(f"PRAGMA user_version = {VERSION + 1}")
        connection.commit()
    before = old.read_bytes()
    refused = run("history", old)
    assert refused["code"] == 1
    assert refused["error"].startswith(f"{old} is a session of version {VERSION + 1};")
    assert "newer version" in refused["hint"]
    assert old.read_bytes() == before


def test_a_question_that_an_earlier_program_asked_is_still_open_and_is_answered(tmp_path: Path, run: Run) -> None:
    """Made before an alternative could say that values are held: one more key in its digest, and none opened."""
    asking = Path(shutil.copy(Path(__file__).parent / "versions" / "asking" / "an_open_question.session", tmp_path))
    assert run("check", asking)["problems"] == []
    refused = run("evidence", asking)
    assert refused["code"] == 1
    assert "--afr-of 'AFR measured=14.1'; --afr-of 'AFR measured=14.7'" in refused["hint"]
    assert run("amend-log", asking, 1, "--afr-of", "AFR measured=14.1")["code"] == 0
    assert run("evidence", asking)["code"] == 0
    assert run("check", asking)["problems"] == []
