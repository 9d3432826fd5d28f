"""What `tests/kills.py` does a thousand times, a few times."""

import os
from pathlib import Path

import pytest
from kills import COMMANDS, kill_at_every_call, kill_recorders

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills of another kind")


def test_fifty_kills_of_a_recorder_lose_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    found = list(kill_recorders(tmp_path, 50, seed=3))
    assert len(found) == 50
    assert [(told, held) for told, held in found if held < told] == []


@pytest.mark.parametrize("word", COMMANDS)
def test_a_command_killed_at_any_call_leaves_nothing_half_done(word: str, tmp_path: Path) -> None:
    """At each call through which Python changes something on the disk; SQLite's own calls are tried at random."""
    assert len(list(kill_at_every_call(tmp_path, COMMANDS[word]))) >= 2
