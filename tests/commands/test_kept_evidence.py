"""Evidence is worked out once for the same drives; what is found again is what was worked out, bit for bit."""

import json
import mmap
import os
import subprocess
import sys
from collections.abc import Generator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from workbench.commands.evidence import gathering
from workbench.commands.evidence.evidence import gather_for
from workbench.commands.evidence.evidence_report import evidence_json, evidence_lines
from workbench.files.cache.folder import SWITCH, keep
from workbench.files.cache.lasting import to_bytes
from workbench.files.disk import shelf
from workbench.files.disk.shelf import Shelf
from workbench.model.evidence import Evidence
from workbench.model.log import Channel
from workbench.model.packing import Column
from workbench.model.state import State
from workbench.phrases import phrase
from workbench.session import Session, copy_shipped
from workbench.work import Progress, run

SHIPPED = Path(__file__).parent.parent.parent / "sample_sessions" / "enlarged_intake.session"


@pytest.fixture(scope="module")
def state() -> State:
    with Session.open(SHIPPED) as session:
        return session.state


@pytest.fixture(autouse=True, scope="module")
def evidence_once() -> None:
    """Work it out anew each time: that it need not be is what is tested here."""


@pytest.fixture(autouse=True)
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(SWITCH, str(tmp_path / "kept"))
    return tmp_path / "kept"


@pytest.fixture(scope="module")
def fresh(state: State) -> Evidence:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(SWITCH, "off")
        return gathered(state)


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch, fresh: Evidence) -> list[object]:
    """Counts what would be worked out anew, and gives what was worked out once."""
    found: list[object] = []

    def counted(*arguments: object) -> Generator[Progress, None, Evidence]:
        found.append(arguments)
        yield Progress(0, 1)
        return fresh

    monkeypatch.setattr(gathering, "gather_evidence", counted)
    return found


def gathered(state: State, from_: str = "all") -> Evidence:
    return run(gather_for(state, "", from_, "both", ""))


def test_what_is_found_again_is_what_was_worked_out(state: State, kept: Path, fresh: Evidence) -> None:
    first = gathered(state)
    (path,) = kept.iterdir()
    was = path.stat().st_mtime_ns
    again = gathered(state)
    assert path.stat().st_mtime_ns > was  # it was used
    assert to_bytes(again) == to_bytes(first) == to_bytes(fresh)
    assert evidence_json(again, None) == evidence_json(fresh, None)
    assert evidence_lines(again, None) == evidence_lines(fresh, None)
    path.unlink()
    assert to_bytes(gathered(state)) == to_bytes(fresh)


def test_what_it_rests_on_decides(state: State, worked_out: list[object]) -> None:
    gathered(state)
    drive = state.drives[0]
    channels = tuple(
        Channel(each.name, each.unit, Column(each.values * (1 + 1e-12)), each.unit_read) for each in drive.log.channels
    )
    others = [
        replace(state, drives=state.drives[:1]),
        replace(state, settings=replace(state.settings, wideband="before")),
        replace(state, settings=replace(state.settings, gates=replace(state.settings.gates, running_rpm=401.0))),
        replace(state, drives=(replace(drive, log=replace(drive.log, channels=channels)), *state.drives[1:])),
    ]
    for count, other in enumerate(others, start=2):
        gathered(other)
        assert len(worked_out) == count
    gathered(state, "1")
    gathered(replace(state, path="elsewhere.session", sequence=99))
    assert len(worked_out) == len(others) + 2  # naming the drives trusts them; where the file lies changes nothing


def test_a_result_of_another_program_is_not_taken(
    state: State, worked_out: list[object], monkeypatch: pytest.MonkeyPatch
) -> None:
    gathered(state)
    monkeypatch.setattr(gathering, "digest_of_program", lambda *_: "another")
    gathered(state)
    assert len(worked_out) == 2


@pytest.mark.parametrize("content", [b"", b"rubbish", to_bytes(phrase("not evidence"))])
def test_what_is_not_evidence_is_forgotten(state: State, kept: Path, worked_out: list[object], content: bytes) -> None:
    fresh = gathered(state)
    (path,) = kept.iterdir()
    keep(path.stem, content)
    assert to_bytes(gathered(state)) == to_bytes(fresh)
    assert len(worked_out) == 2


def test_what_cannot_be_kept_is_worked_out_all_the_same(
    state: State, kept: Path, fresh: Evidence, monkeypatch: pytest.MonkeyPatch
) -> None:
    def made(*_: object) -> Generator[Progress, None, Evidence]:
        yield Progress(0, 1)
        return replace(fresh, notes=(phrase("{odd}", odd=1j),))

    monkeypatch.setattr(gathering, "gather_evidence", made)
    assert gathered(state).notes == ("1j",)
    assert not kept.exists()


@pytest.mark.usefixtures("worked_out")
def test_a_program_that_was_changed_while_it_runs_keeps_nothing(
    state: State, kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(gathering, "digest_of_program", lambda *_: "")
    gathered(state)
    assert not kept.exists()


@pytest.mark.usefixtures("worked_out")
def test_a_revision_without_a_digest_is_no_key(state: State, kept: Path) -> None:
    history = state.history
    bare = replace(history, revisions=(*history.revisions[:-1], replace(history.revisions[-1], digest="")))
    gathered(replace(state, history=bare))
    assert not kept.exists()


def test_the_command_says_the_same(tmp_path: Path) -> None:
    path = tmp_path / "car.session"
    copy_shipped(SHIPPED, path)
    said = []
    for switch in (str(tmp_path / "cache"), str(tmp_path / "cache"), "off"):
        done = subprocess.run(
            [sys.executable, "-m", "workbench", "evidence", str(path), "--from", "latest", "--json"],
            env={**os.environ, SWITCH: switch},
            capture_output=True,
            check=True,
        )
        said.append(done.stdout)
    assert len(set(said)) == 1
    assert json.loads(said[0])["samples_used"]


@pytest.mark.parametrize("hidden", [False, True])
def test_what_is_put_aside_meanwhile_changes_no_bit(
    state: State, fresh: Evidence, monkeypatch: pytest.MonkeyPatch, *, hidden: bool
) -> None:
    """Of purge that no channel shows, too: what it is found by is made anew in every turn."""
    monkeypatch.setenv(SWITCH, "off")
    if hidden:
        drives = tuple(
            replace(each, log=replace(each.log, roles={r: name for r, name in each.log.roles.items() if r != "purge"}))
            for each in state.drives
        )
        state = replace(state, drives=drives)
        fresh = gathered(state)
    put: list[int] = []
    place = Shelf.put

    def noted(self: Shelf, array: Any) -> Any:
        there = place(self, array)
        put.append(there is not array)
        return there

    monkeypatch.setattr(Shelf, "put", noted)
    for name, value in {"MANY_ROWS": 1, "SMALLEST": 1, "EVERY_S": 0.02, "PAGE": 1 << 20}.items():
        monkeypatch.setattr(shelf, name, value)
    assert to_bytes(gathered(state)) == to_bytes(fresh)
    assert sum(put) > 300 if hasattr(mmap.mmap, "madvise") else not any(put)
