"""A command is declared once: what it is called, what its arguments are, what the history says of it."""

import pytest

from workbench.commands.declaring.arguments import bare_type, metavar
from workbench.commands.declaring.kinds import Kind
from workbench.commands.declaring.registry import COMMANDS, parameters_called
from workbench.commands.finding import DECLARED_IN
from workbench.commands.handbook import MODULES

assert MODULES  # importing them declares the commands
FLAGS = sorted({each.flag for command in COMMANDS.values() for each in command.parameters})


@pytest.mark.parametrize("word", COMMANDS)
def test_what_can_be_drafted_says_what_the_history_says_of_it(word: str) -> None:
    command = COMMANDS[word]
    if command.preview:
        assert command.past
    assert command.button
    assert command.past == "" or command.past[0].isupper()


@pytest.mark.parametrize("word", COMMANDS)
def test_every_path_says_whether_it_is_read_or_made(word: str) -> None:
    for parameter in COMMANDS[word].parameters:
        is_path = "Path" in str(bare_type(parameter.type))
        assert is_path == (parameter.kind in (Kind.EXISTING_FILE, Kind.NEW_FILE, Kind.FOLDER)), parameter.name


@pytest.mark.parametrize("word", COMMANDS)
def test_notes_and_signatures_are_lines(word: str) -> None:
    for parameter in COMMANDS[word].parameters:
        if parameter.flag in ("note", "name") or (parameter.flag == "by" and bare_type(parameter.type) is str):
            assert parameter.kind is Kind.LINE, parameter.name


@pytest.mark.parametrize("flag", FLAGS)
def test_a_flag_is_called_the_same_wherever_it_takes_the_same(flag: str) -> None:
    found = parameters_called(flag)
    for each in found:
        assert {other.label for other in found if metavar(other) == metavar(each)} == {each.label}


def test_where_each_command_is_declared_is_listed_truly() -> None:
    places = {f"workbench.commands.{module}": set(words.split()) for module, words in DECLARED_IN.items()}
    declared = {
        module.__name__: {each.word for each in COMMANDS.values() if each.function.__module__ == module.__name__}
        for module in MODULES
    }
    assert places == declared
