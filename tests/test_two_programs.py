"""Two programs on one session, their commands interleaved: what was acknowledged to either is there in the end."""

import json
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from workbench.commands.record.exports import check
from workbench.session import Session

ROOT = Path(__file__).parents[1]
SCALES = 0.45  # of what is done

# A program that runs the commands it is told, one a line, in one process, as someone at a prompt would.
PROMPT = """
import contextlib, io, json, sys
from workbench.cli import main
for line in sys.stdin:
    told, faults = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(faults):
        code = main([*json.loads(line), "--json"])
    print(json.dumps([code, told.getvalue(), faults.getvalue()[-500:]]), flush=True)
"""
# One that keeps a session open throughout, as the window does.
WINDOW = """
import json, sys
from pathlib import Path
from workbench.commands import handbook
from workbench.commands.declaring.registry import COMMANDS
from workbench.errors import StaleError, WorkbenchError
from workbench.session import Session
from workbench.work import run
session = Session.open(Path(sys.argv[1]))
for line in sys.stdin:
    word, given = json.loads(line)
    try:
        session.reload()
        outcome = COMMANDS[word].function(session.state, **given)
        answer = run(outcome) if hasattr(outcome, "send") else outcome
        if answer.change is not None:
            session.record(answer.change)
        print(json.dumps([0, session.state.sequence, answer.refusal]), flush=True)
    except WorkbenchError as refusal:
        print(json.dumps([1, session.state.sequence, str(refusal)]), flush=True)
session.close()
"""


class Program:
    """A process that is asked line by line."""

    def __init__(self, source: str, *words: object) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-c", source, *map(str, words)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )

    def ask(self, what: object) -> list[object]:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        print(json.dumps(what), file=self.process.stdin, flush=True)
        told: list[object] = json.loads(self.process.stdout.readline())
        return told

    def end(self) -> None:
        self.process.communicate()
        assert self.process.returncode == 0


def words_of(path: Path, folder: Path, number: int, chance: random.Random) -> list[str]:
    """A command for the prompt, by chance."""
    session = str(path)
    if chance.random() < SCALES:
        return ["scale", session, "--by", f"{1.0001 + chance.random() / 1000:.6f}", "--note", f"prompt {number}"]
    return chance.choice(
        [
            ["set", session, "--to", "20", "--cells", "2"],
            ["add", session, "--by", "0.01"],
            ["smooth", session, "--cells", "1:3"],
            ["undo", session],
            ["redo", session],
            ["settings", session, "--part-throttle", f"{0.02 + chance.random() / 50:.4f}"],
            ["history", session],
            ["check", session],
            ["export", session, str(folder / f"{number}.csv"), "--draft"],
            ["report", session, str(folder / f"{number}.html")],
            ["save-copy", session, str(folder / f"{number}.session")],
            ["report", session, session, "--replace"],
            ["add-table", session, session],
            ["inspect", session],
            ["roll-back", session, "1"],
        ]
    )


def asked_of(number: int, chance: random.Random) -> tuple[str, dict[str, object]]:
    """The same for the one that keeps the session open."""
    if chance.random() < SCALES:
        return "scale", {"by": 1 + chance.random() / 1000, "note": f"window {number}"}
    return chance.choice(
        [
            ("undo", {}),
            ("redo", {}),
            ("check", {}),
            ("history", {}),
            ("roll-back", {"revision": 1}),
            ("settings", {"part_throttle": 0.02 + chance.random() / 50}),
        ]
    )


@pytest.mark.parametrize("turns", [int(os.environ.get("TURNS", "90"))])
def test_two_programs_interleave_every_command(session: Session, tmp_path: Path, turns: int) -> None:
    """With TURNS=2400 in the environment a thousand acknowledged changes."""
    path, chance = Path(session.state.path), random.Random(11)
    session.close()
    folder = tmp_path / "out"
    folder.mkdir()
    prompt, window = Program(PROMPT), Program(WINDOW, path)
    acknowledged, last = [], 1
    for number in range(turns):
        if chance.random() < 0.5:
            words = words_of(path, folder, number, chance)
            code, _, faults = prompt.ask(words)
            assert code in (0, 1), (words, faults)
            assert "Traceback" not in str(faults), (words, faults)
            if words[0] == "scale":
                assert code == 0, words
                acknowledged.append(f"prompt {number}")
        else:
            word, given = asked_of(number, chance)
            code, sequence, refusal = window.ask((word, given))
            assert isinstance(sequence, int)
            assert sequence >= last
            last = sequence
            if word == "scale":
                assert code == 0, refusal
                acknowledged.append(f"window {number}")
            if word == "check":
                assert refusal == ""
    prompt.end()
    window.end()
    with Session.open(path) as again:
        notes = [each.note for each in again.state.history.revisions]
        assert [note for note in acknowledged if note not in notes] == []
        assert len(acknowledged) >= turns // 4
        assert again.state.sequence >= last
        assert check(again.state).data["ok"]
    assert sorted(os.listdir(path.parent)) == ["car.session", "out"]
    for copy in folder.glob("*.session"):
        with Session.open(copy) as kept:
            assert check(kept.state).data["ok"]
