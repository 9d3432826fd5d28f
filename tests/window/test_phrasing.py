"""The window names its own fields and commands, never the flags of the command line."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import workbench
from workbench.commands.handbook import COMMANDS
from workbench.window.words.phrasing import field_name, window_text

HOUSE = Path(workbench.__file__).parent
FLOORS = ("model", "maths", "files", "commands", "session.py")
NOT_SHOWN = {"commands/declaring/arguments.py", "commands/handbook.py"}  # the command line's own


def sentences() -> Iterator[tuple[str, str]]:
    """Give every text in the code of the core that names a flag or a command, with values put in, and where it is."""
    for path in sorted(HOUSE.rglob("*.py")):
        place = path.relative_to(HOUSE).as_posix()
        if not place.startswith(FLOORS) or place in NOT_SHOWN:
            continue
        tree = ast.parse(path.read_text())
        docstrings = {
            id(node.body[0].value)
            for node in ast.walk(tree)
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and isinstance(node.body[0], ast.Expr)
        }
        parts = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
        for node in ast.walk(tree):
            if isinstance(node, ast.JoinedStr):
                text = "".join(str(p.value) if isinstance(p, ast.Constant) else "3" for p in node.values)
            elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docstrings | parts:
                text = node.value
            else:
                continue
            if re.search(r"--[a-z]|SESSION", text):
                yield f"{place}:{node.lineno}", text


def test_there_are_hints_that_name_flags() -> None:
    assert len(list(sentences())) > 25


@pytest.mark.parametrize(("place", "text"), [pytest.param(*each, id=each[0]) for each in sentences()])
def test_no_hint_is_shown_with_flags(place: str, text: str) -> None:
    shown = window_text(text)
    assert not re.search(r"--|SESSION|\b(NAME|FILE|TEXT)\b", shown), f"{place}: {shown}"
    assert "“" in shown


@pytest.mark.parametrize("word", COMMANDS)
def test_no_form_names_flags(word: str) -> None:
    command = COMMANDS[word]
    for text in (command.summary, *(parameter.help for parameter in command.parameters)):
        assert not re.search(r"--[a-z]|SESSION", window_text(text))
    names = [field_name(parameter) for parameter in command.parameters]
    assert len(set(names)) == len(names)


def test_fields_and_commands_are_named_as_they_stand_on_the_screen() -> None:
    assert window_text(
        "Was it flashed? Record it with `amend-log SESSION 2 --on 3`, or name the drive with --from."
    ) == (
        "Was it flashed? Record it with “Change a log's settings”, “Driven on revision” 3, or name the drive "
        "with “Drives”."
    )
    assert window_text("It has none yet: add one with add-log.") == "It has none yet: add one with “Add logs”."
    assert window_text("Set it with: storage SESSION --step 0.01.") == "Set it with: “Storage in the ECU”, “Step” 0.01."
    for untouched in ("add-log.csv is no log.", "a/add-log", "not-driven-since", "from -3 to -2", "half-width"):
        assert window_text(untouched) == untouched
