"""The window names its own fields and commands, never the flags of the command line."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import workbench
from workbench.commands.declaring.registry import parameters_called
from workbench.commands.handbook import COMMANDS
from workbench.phrases import call, flag, phrase
from workbench.window.words.phrasing import field_name, window_text
from workbench.window.words.wording import breakable, duration

HOUSE = Path(workbench.__file__).parent
FLOORS = ("model", "maths", "files", "commands", "session.py")
# The command line's own texts; the tour, which runs there alone; and what is read, not said.
NOT_SHOWN = {"commands/declaring/arguments.py", "commands/handbook.py", "commands/record/samples.py"}


def trees() -> Iterator[tuple[str, ast.Module]]:
    """Give the core's modules whose texts the window may show."""
    for path in sorted(HOUSE.rglob("*.py")):
        place = path.relative_to(HOUSE).as_posix()
        if place.startswith(FLOORS) and place not in NOT_SHOWN:
            yield place, ast.parse(path.read_text())


def calls(name: str) -> list[tuple[str, ast.Call]]:
    """Give every call of a function of that name in the core, with its place."""
    return [
        (f"{place}:{node.lineno}", node)
        for place, tree in trees()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name
    ]


def test_no_sentence_spells_a_flag_or_a_command_call_by_itself() -> None:
    """Those are made by flag() and call(), so that the window can name fields and commands."""
    left = []
    for place, tree in trees():
        docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        made = {id(part) for node in ast.walk(tree) if isinstance(node, ast.Call) for part in node.args if _names(node)}
        for node in ast.walk(tree):
            spelt = isinstance(node, ast.Constant) and re.search(r"(^| )--[a-z]|[a-z] SESSION", str(node.value))
            if spelt and id(node) not in docstrings | made:
                left.append(f"{place}:{node.lineno}")  # type: ignore[attr-defined]
    assert not left, "\n".join(left)


def _names(node: ast.Call) -> bool:
    return isinstance(node.func, ast.Name) and node.func.id in ("flag", "call")


def test_every_flag_and_command_that_a_sentence_names_is_there() -> None:
    flags = [(place, node.args[0].value) for place, node in calls("flag") if isinstance(node.args[0], ast.Constant)]
    assert len(flags) > 25
    assert [each for each in flags if not parameters_called(str(each[1])) and each[1] not in ("span", "cells")] == []
    commands = [(place, node.args[0].value) for place, node in calls("call") if isinstance(node.args[0], ast.Constant)]
    assert len(commands) > 15
    assert [each for each in commands if each[1] not in COMMANDS] == []


@pytest.mark.parametrize("word", COMMANDS)
def test_no_form_names_flags(word: str) -> None:
    command = COMMANDS[word]
    for text in (command.summary, *(parameter.help for parameter in command.parameters)):
        assert not re.search(r"--[a-z]|SESSION", window_text(text))
    names = [field_name(parameter) for parameter in command.parameters]
    assert len(set(names)) == len(names)


def test_fields_and_commands_are_named_as_they_stand_on_the_screen() -> None:
    amend = call("amend-log", "SESSION", "2", flag("on"), "3")
    asked = phrase("Was it flashed? Record it with {amend}, or choose with {drives}.", amend=amend, drives=flag("from"))
    assert asked == "Was it flashed? Record it with amend-log SESSION 2 --on 3, or choose with --from."
    assert window_text(asked) == (
        "Was it flashed? Record it with “Change a log's settings”, “Driven on revision” 3, or choose with “Drives”."
    )
    assert window_text(phrase("Add one with {add}.", add=call("add-log"))) == "Add one with “Add logs”."
    assert window_text(flag("by", "NAME")) == "“Your name”"
    assert window_text(flag("by", "NUMBER")) != "“Your name”"


def test_what_a_session_recorded_as_plain_text_names_fields_too() -> None:
    assert window_text("If that is wrong, give --role lambda_measured=B.").startswith("If that is wrong, give “Roles” ")
    for untouched in ("add-log.csv is not a log.", "a/add-log", "not-driven-since", "half-width"):
        assert window_text(untouched) == untouched


def test_a_negative_number_has_its_sign_whoever_says_it() -> None:
    assert window_text("from -3 to -2") == "from −3 to −2"
    assert window_text(phrase("most at {at} ({most:+.1f} V)", at="3 Hz", most=-3.1)).startswith(
        "most at 3\N{NO-BREAK SPACE}Hz (−3.1"
    )
    for untouched in ("2043-6181", "2026-11-27", "a/-3.csv", "pull-2.csv", "x - 1"):
        assert window_text(untouched) == untouched


def test_no_sentence_with_values_is_an_f_string() -> None:
    """It could not be translated; patterns, queries, styles and faults of the program only read like sentences."""
    none = (
        "files/cache/",
        "files/export/report.py",
        "files/formats/",
        "files/plain/",
        "files/vocabulary/vocabulary.py",
    )
    left = []
    for place, tree in trees():
        for node in ast.walk(tree):
            if isinstance(node, ast.JoinedStr) and not place.startswith(none):
                text = "".join(part.value if isinstance(part, ast.Constant) else " " for part in node.values)
                words = re.findall(r"(?<![\w.])[a-z]{2,}\b", text)
                if len(words) >= 3 and text.rstrip().endswith((".", "?", ":")):
                    left.append(f"{place}:{node.lineno}: {text}")
    assert not left, "\n".join(left)


def test_a_number_stays_with_its_unit_and_degrees_have_their_sign() -> None:
    said = window_text("Ran 3 % lean for 15.2 s at 2600 rpm, 12 km/h and 20 degC; see 2 samples, 3 of 4 shown.")
    space, thin = "\N{NO-BREAK SPACE}", "\N{NARROW NO-BREAK SPACE}"
    assert said == (
        f"Ran 3{thin}% lean for 15.2{space}s at 2600{space}rpm, 12{space}km/h and 20{space}°C; "
        "see 2 samples, 3 of 4 shown."
    )
    assert duration(720.0) == f"12{space}min 00{space}s"


def test_a_long_name_of_a_file_goes_on_in_the_next_line() -> None:
    """Of 'next_drive_revision_1.pdf' the end was cut off where a message is narrow."""
    said = "Card written to /folder/own_next_drive_revision_1.pdf. Print it at 12.5 mm, rev. 3."
    shown = breakable(said)
    assert shown.replace("\N{ZERO WIDTH SPACE}", "") == said
    assert max(map(len, re.split("[ \N{ZERO WIDTH SPACE}]", shown))) < 12
    assert "12.5 mm" in shown
