"""How the window says what the core says: fields and commands by what stands on the screen, not by flags."""

import re

from workbench.commands.declaring.registry import COMMANDS, Parameter
from workbench.window.words.translation import core
from workbench.window.words.wording import THIN_SPACE, tr

# Where a flag with its dashes taken off is no good name for a field.
LABELS = {
    "a": "Earlier revision",
    "accept": "Accepted objections",
    "afr": "Air-fuel ratio at lambda 1",
    "afr-of": "Air-fuel ratio of a channel",
    "at": "At",
    "b": "Later revision",
    "boundary": "Which counts at a boundary",
    "dbc": "DBC file",
    "from": "Drives",
    "gate": "Limits of gates",
    "lean-is-meant": "A lean step is meant",
    "more": "More files",
    "none": "None of it",
    "on": "Driven on revision",
    "outside": "Beyond the ends",
    "part": "Sheet or part",
    "rate": "Rows a second",
    "replace": "Replace what is there",
    "role": "Roles",
    "since": "Since revision",
    "units-are-ours": "Its units are ours",
    "window": "Longest time a value stands for",
}
_COMMAND = re.compile(r"`?\b([a-z]+(?:-[a-z]+)*) SESSION\b([^`;.,:]*(?:\.\w[^`;.,:]*)*)`?")
_PERCENT = re.compile(r"(?<=\d) %")  # a number and its unit stay on one line
_FLAG = re.compile(r"--([a-z]+(?:-[a-z]+)*)((?:[ =](?:NAME|FILE|TEXT|CHANNEL|NUMBER)\b)?)")
_WORD = re.compile(r"(?<![\w“/.-])([a-z]+(?:-[a-z]+)+)(?![\w/-]|\.\w)")


def label_of(flag: str) -> str:
    """Give the name of the field that a flag of the command line stands for."""
    plain = flag.replace("-", " ")
    return tr(LABELS.get(flag, plain[:1].upper() + plain[1:]))


def field_name(parameter: Parameter) -> str:
    """Give the name of a parameter's field."""
    return label_of(parameter.flag)


def told(text: str) -> str:
    """Give a text of the core as the window says it: translated, and fields and commands named as they are seen."""
    text = _PERCENT.sub(f"{THIN_SPACE}%", core(text))
    if "-" not in text and "SESSION" not in text:
        return text
    text = _COMMAND.sub(_named_command, text)
    text = _FLAG.sub(lambda match: f"“{_field_meant(match[1], match[2])}”", text)
    return _WORD.sub(lambda match: f"“{tr(COMMANDS[match[1]].title)}”" if match[1] in COMMANDS else match[0], text)


def _field_meant(flag: str, value: str) -> str:
    return tr("Your name") if flag == "by" and value.strip() == "NAME" else label_of(flag)


def _named_command(match: re.Match[str]) -> str:
    """Name a command and the fields it is to be given; words in capitals stand for what a form asks for anyway."""
    command = COMMANDS.get(match[1])
    if command is None:
        return match[0]
    flags = re.search(r"--.*", match[2])
    name = f"“{tr(command.title)}”"
    return f"{name}, {flags[0]}" if flags else name + (" " if match[2].endswith(" ") else "")
