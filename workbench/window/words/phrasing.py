"""How the window says what the core says: fields and commands by what stands on the screen, not by flags."""

import re

from workbench.commands.declaring.arguments import metavar
from workbench.commands.declaring.registry import COMMANDS, Parameter, label_of, parameters_called
from workbench.window.words.translation import core
from workbench.window.words.wording import THIN_SPACE, tr

_COMMAND = re.compile(r"`?\b([a-z]+(?:-[a-z]+)*) SESSION\b([^`;.,:]*(?:\.\w[^`;.,:]*)*)`?")
_PERCENT = re.compile(r"(?<=\d) %")  # a number and its unit stay on one line
_FLAG = re.compile(r"--([a-z]+(?:-[a-z]+)*)((?:[ =](?:NAME|FILE|TEXT|CHANNEL|NUMBER)\b)?)")
_WORD = re.compile(r"(?<![\w“/.-])([a-z]+(?:-[a-z]+)+)(?![\w/-]|\.\w)")


def field_name(parameter: Parameter) -> str:
    """Give the name of a parameter's field."""
    return tr(parameter.label)


def window_text(text: str) -> str:
    """Give a text of the core as the window says it: translated, and fields and commands named as they are seen."""
    text = _PERCENT.sub(f"{THIN_SPACE}%", core(text))
    if "-" not in text and "SESSION" not in text:
        return text
    text = _COMMAND.sub(_named_command, text)
    text = _FLAG.sub(lambda match: f"“{_field_meant(match[1], match[2])}”", text)
    return _WORD.sub(lambda match: f"“{tr(COMMANDS[match[1]].title)}”" if match[1] in COMMANDS else match[0], text)


def _field_meant(flag: str, value: str) -> str:
    """Name the field that a flag stands for; where commands call theirs differently, the value's kind tells which."""
    found = parameters_called(flag)
    if not found:
        return tr(label_of(flag))
    return field_name(next((each for each in found if metavar(each) == value.strip()), found[0]))


def _named_command(match: re.Match[str]) -> str:
    """Name a command and the fields it is to be given; words in capitals stand for what a form asks for anyway."""
    command = COMMANDS.get(match[1])
    if command is None:
        return match[0]
    flags = re.search(r"--.*", match[2])
    name = f"“{tr(command.title)}”"
    return f"{name}, {flags[0]}" if flags else name + (" " if match[2].endswith(" ") else "")
