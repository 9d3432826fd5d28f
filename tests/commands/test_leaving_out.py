"""A pull that is left out by name: recorded, counted by a gate, and brought back by undo."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from workbench.cli import main

SAMPLES = Path(__file__).parents[2] / "sample_sessions"
Ask = Callable[..., tuple[int, dict[str, Any]]]


@pytest.fixture
def ask(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Ask:
    """Asks a session that holds the sample's table and its first drive."""
    session = str(tmp_path / "car.session")

    def asks(word: str, *words: str) -> tuple[int, dict[str, Any]]:
        code = main([word, session, *words, "--json"])
        answer: dict[str, Any] = json.loads(capsys.readouterr().out)
        return code, answer

    table = SAMPLES / "airflow_stale.csv"
    assert asks("new", str(table))[0] == 0
    assert asks("add-log", str(SAMPLES / "pulls_drive.csv"))[0] == 0
    return asks


def gate(answer: dict[str, Any]) -> int:
    return int(sum(each["rejected"] for each in answer["gates"] if each["name"] == "left out by name"))


def test_a_pull_is_left_out_and_comes_back(ask: Ask) -> None:
    _, before = ask("pulls")
    names = [pull["name"] for pull in before["pulls"]]
    assert names[0] == "1:1"
    assert not any(pull["left_out"] for pull in before["pulls"])
    assert before["rounds"][0]["pulls"] == names
    assert gate(ask("evidence")[1]) == 0

    code, left = ask("leave-out", "1:1", "--because", "foot came up")
    assert code == 0
    assert left["left_out"][0]["reason"] == "foot came up"
    _, now = ask("pulls")
    assert [pull["left_out"] for pull in now["pulls"]] == [True, *[False] * (len(names) - 1)]
    assert names[0] not in now["rounds"][0]["pulls"] if now["rounds"] else len(names) == 1
    assert now["pulls"][0]["because"] == "foot came up"
    assert now["pulls"][1]["because"] is None if len(names) > 1 else True
    assert gate(ask("evidence")[1]) > 0
    assert ask("check")[0] == 0

    assert ask("undo")[0] == 0
    assert ask("pulls")[1] == before
    assert ask("redo")[0] == 0
    assert ask("leave-out", "1:1", "--take-back")[1]["left_out"] == []
    assert ask("pulls")[1] == before


def test_what_is_left_out_already_changes_nothing_so_that_one_undo_brings_it_back(ask: Ask) -> None:
    _, before = ask("pulls")
    ask("leave-out", "1:1", "--because", "foot came up")
    code, again = ask("leave-out", "1:1", "--because", "once more")
    assert code == 0
    assert [each["reason"] for each in again["left_out"]] == ["foot came up"]
    assert ask("undo")[0] == 0
    assert ask("pulls")[1] == before


def test_a_left_out_pull_is_shown_with_its_reason(ask: Ask, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ask("leave-out", "1:1", "--because", "foot came up")
    main(["pulls", str(tmp_path / "car.session")])
    assert "left out by name: foot came up" in capsys.readouterr().out


def test_a_stretch_is_left_out_beside_others(ask: Ask) -> None:
    ask("leave-out", "1:30..40", "--because", "wrong fuel")
    _, both = ask("leave-out", "1:50.5..60", "--because", "open window")
    assert [(each["start"], each["end"]) for each in both["left_out"]] == [(30, 40), (50.5, 60)]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("1:1",), "needs a reason"),
        (("1:99", "--because", "x"), "no pull 99"),
        (("1:x", "--because", "x"), "neither a pull nor a stretch"),
        (("7:1", "--because", "x"), "7"),
        (("1:1", "--take-back"), "Nothing of 1:1 is left out"),
    ],
)
def test_what_cannot_be_is_refused(ask: Ask, words: tuple[str, ...], said: str) -> None:
    code, answer = ask("leave-out", *words)
    assert code != 0
    assert said in answer["error"]


def test_the_evidence_repeats_what_was_dangerous_until_it_is_acknowledged(ask: Ask) -> None:
    found = ask("cautions")[1]["cautions"]
    lean = next(each for each in found if each["name"] == "1:lean-at-full-throttle")
    assert any(lean["sentence"] in each for each in ask("evidence")[1]["dangers"])
    for each in found:
        if each["kind"] == "danger":
            ask("acknowledge", each["name"], "--because", "seen")
    assert ask("evidence")[1]["dangers"] == []


@pytest.mark.parametrize("name", ["1:99", "the second"])
def test_a_wrong_name_is_answered_by_those_there_are(ask: Ask, name: str) -> None:
    """Nobody knows them by heart."""
    _, answer = ask("leave-out", name, "--because", "foot came up")
    assert "The pulls are 1:1 (101 to 109 s), 1:2 (140 to 144 s), 1:3 (167 to 176 s)." in str(answer)
