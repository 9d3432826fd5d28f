"""Words of the command line into the typed arguments of a command."""

import argparse
import re
import types
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Literal, NoReturn, Union, get_args, get_origin

from workbench import PROGRAM
from workbench.commands.declaring.branch_names import beginning, known_names, named
from workbench.commands.declaring.kinds import Kind, Reference, TableName
from workbench.commands.declaring.registry import Command, Parameter
from workbench.errors import InputError, UsageError
from workbench.model.cells import Cells, cells_in_span, read_cells
from workbench.model.state import State
from workbench.phrases import phrase

_NAMES: dict[Any, str] = {Cells: "A:B", TableName: "NAME", float: "NUMBER", int: "N", Path: "FILE"}


class Words(argparse.ArgumentParser):
    """A parser that refuses as the rest of the program does, instead of leaving it."""

    def error(self, message: str) -> NoReturn:
        """Refuse.

        Raises:
            UsageError: always.
        """
        raise UsageError(f"{self.prog}: {message}.", " ".join(self.format_usage().split()))


def parser_for(command: Command) -> Words:
    """Make the parser of a command from its signature and docstring."""
    words = Words(
        prog=f"{PROGRAM} {command.word}",
        description="\n\n".join(part for part in (command.summary, command.details) if part),
        epilog=f"Example:\n  {PROGRAM} {command.example}" if command.example else None,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    if command.takes_state:
        words.add_argument("session_file", metavar="SESSION", type=Path, help="the session file")
    for parameter in command.parameters:
        _add(words, parameter)
    if command.preview:
        words.add_argument("--preview", action="store_true", help="show what would change without changing it")
    words.add_argument("--json", action="store_true", help="print one JSON object instead of text")
    return words


def joined(command: Command, words: Sequence[str]) -> list[str]:
    """Join `--flag -3` to `--flag=-3`, which argparse takes for two flags where the number is -1e3 or a span."""
    flags = {f"--{parameter.flag}" for parameter in command.parameters} | {"--span"}
    done: list[str] = []
    for word in words:
        if done and done[-1] in flags and re.match(r"-[\d.]", word):
            done[-1] += "=" + word
        else:
            done.append(word)
    return done


def arguments_from(command: Command, parsed: argparse.Namespace, state: State | None) -> dict[str, Any]:
    """Return the arguments of a command's function by name, where they were said.

    Args:
        command: which.
        parsed: what `parser_for` made of the words.
        state: the session, which a choice of cells by axis values needs, and a revision by the name of its branch.

    Raises:
        InputError: when a choice of cells does not fit the table, or no branch has a name.
        UsageError: when cells are chosen twice, or must be and are not.
    """
    found: dict[str, Any] = {}
    for parameter in command.parameters:
        if parameter.type is Cells:
            if (cells := _cells(parameter, parsed, state)) is not None:
                found[parameter.name] = cells
        elif (value := getattr(parsed, parameter.name)) is not None:
            value = tuple(value) if isinstance(value, list) else value
            known = named if parameter.kind is Kind.REVISION else beginning
            found[parameter.name] = _numbered(value, state, known) if _is_revision(parameter) else value
    return found


def _is_revision(parameter: Parameter) -> bool:
    """Whether a parameter is one or several revisions of this session."""
    return parameter.kind in (Kind.REVISION, Kind.BRANCH) and int in (
        bare := bare_type(parameter.type),
        *get_args(bare),
    )


def _numbered(value: Any, state: State | None, known: Callable[[State, str], int | None]) -> Any:
    """Give the numbers of revisions that were named by their branches."""
    if isinstance(value, tuple):
        return tuple(_numbered(each, state, known) for each in value)
    number = known(state, value) if isinstance(value, str) and state is not None else value
    if number is None and state is not None:
        raise InputError(phrase("There is no revision and no branch {value!r}.", value=value), known_names(state))
    return number


def bare_type(hint: Any) -> Any:
    """Take the `| None` off a type."""
    if get_origin(hint) in (types.UnionType, Union):
        return next(each for each in get_args(hint) if each is not type(None))
    return hint


def choices_of(hint: Any) -> tuple[str, ...]:
    """Return the words a type allows, where it is one of a few."""
    hint = bare_type(hint)
    return tuple(word for word in get_args(hint) if word) if get_origin(hint) is Literal else ()


def flag_help(parameter: Parameter) -> str:
    """Return what a parameter is for, its bounds and its default, for people."""
    text = parameter.help.rstrip(".")
    text += f"; {parameter.called.typed}" if parameter.called.typed else ""
    if parameter.bounds is not None:
        text += f"; from {parameter.bounds.low:g} to {parameter.bounds.high:g}"
    if isinstance(parameter.default, str | int | float) and not isinstance(parameter.default, bool):
        text += f"; default {parameter.default}" if parameter.default != "" else ""
    return text


def metavar(parameter: Parameter) -> str:
    """Name the value of a parameter in usage lines."""
    kind = bare_type(parameter.type)
    several = get_origin(kind) is tuple
    if parameter.positional:
        return parameter.flag.upper().removesuffix("S" if several else "")
    kind = get_args(kind)[0] if several else kind
    return parameter.called.metavar or _NAMES.get(kind) or parameter.flag.upper()


def _add(words: Words, parameter: Parameter) -> None:
    kind = bare_type(parameter.type)
    help_text = flag_help(parameter).replace("%", "%%")
    must = not parameter.positional and parameter.required
    if kind is Cells:
        words.add_argument(
            "--cells", action=_Once, metavar="A:B", help=f"{help_text}; breakpoints from 0, as in 3:7 or 0:2,4:8+5,5"
        )
        words.add_argument(
            "--span",
            action=_Once,
            metavar="LOW:HIGH",
            help="the same by axis values, as in 3000:4500 or 1000:1500+3000:4500",
        )
        return
    options: dict[str, Any] = {"help": help_text}
    if not parameter.positional:
        options |= {"dest": parameter.name, "required": must}
    if kind is bool:
        words.add_argument(f"--{parameter.flag}", action="store_const", const=True, **options)
        return
    several = get_origin(kind) is tuple
    if several:
        kind = get_args(kind)[0]
        options |= {"nargs": "+"} if parameter.positional else {"action": "append"}
    else:
        options |= {"action": _Once} | ({"nargs": "?"} if parameter.positional and not parameter.required else {})
    if choices := choices_of(kind):
        options["choices"] = choices
    else:
        reader = _revision if _is_revision(parameter) else _READERS.get(kind, _text)
        options |= {"type": reader, "metavar": metavar(parameter)}
    words.add_argument(parameter.name if parameter.positional else f"--{parameter.flag}", **options)


def _cells(parameter: Parameter, parsed: argparse.Namespace, state: State | None) -> Cells | None:
    if parsed.cells is not None and parsed.span is not None:
        raise UsageError("Cells are given twice, by --cells and by --span.", "Leave one of them out.")
    for flag, words in (("--cells", parsed.cells), ("--span", parsed.span)):
        if words is not None and not words.strip():
            raise UsageError(f"{flag} is empty, so it selects no cells.", f"Give the cells, or leave {flag} out.")
    if parsed.cells is not None:
        return read_cells(parsed.cells)
    if parsed.span is not None and state is not None:
        return cells_in_span(state.table(getattr(parsed, "table", None)), parsed.span)
    if parameter.required:
        raise UsageError("No cells are chosen.", "Give --cells A:B, --span LOW:HIGH, or --cells all.")
    return None


class _Once(argparse.Action):
    """Takes a value once; a second one would silently win over the first."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,  # noqa: ARG002 - argparse hands it over
        namespace: argparse.Namespace,
        values: Any,
        option_string: str | None = None,
    ) -> None:
        """Keep the value.

        Raises:
            ArgumentError: when there is one already.
        """
        if option_string and getattr(namespace, self.dest, None) is not None:
            raise argparse.ArgumentError(self, "is given twice; leave one out")
        setattr(namespace, self.dest, values)


def _number(text: str) -> float:
    # Python's own reading also takes 1_0 and the digits of other scripts, which are slips here.
    if not re.fullmatch(
        r"\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*|\s*[+-]?(inf|infinity|nan)\s*", text, re.ASCII | re.IGNORECASE
    ):
        raise argparse.ArgumentTypeError(f"{text!r} is not a number")
    return float(text)


def _whole(text: str) -> int:
    if not re.fullmatch(r"\s*[+-]?\d+\s*", text, re.ASCII):
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number")
    return int(text)


def _revision(text: str) -> int | str:
    """Read a number; what is none may be the name of a branch, which only the session knows."""
    try:
        return _whole(text)
    except argparse.ArgumentTypeError:
        return _text(text)


def _text(text: str) -> str:
    try:
        text.encode()
    except UnicodeEncodeError:
        raise argparse.ArgumentTypeError(f"{text!r} is not valid text in this system's encoding") from None
    return text


_READERS = {float: _number, int: _whole, Path: Path, str: _text, TableName: _text, Reference: _text}
