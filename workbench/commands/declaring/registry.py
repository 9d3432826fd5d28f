"""The one place where commands are declared: command line, menus, palette and handbook are made from it."""

import functools
import inspect
import math
import re
from collections.abc import Callable, Generator, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any, Generic, Literal, Self, TypeVar, cast, get_args, get_origin, get_type_hints

from workbench.commands.declaring.kinds import Between, Called, Kind
from workbench.errors import InputError, WorkbenchError
from workbench.model.history import Json, Origin
from workbench.model.state import Change, State
from workbench.phrases import phrase
from workbench.work import Progress

T_co = TypeVar("T_co", covariant=True)


@dataclass(frozen=True)
class Answer(Generic[T_co]):
    """What a command gives back; the session records `change`, if there is one, before anything is shown.

    Attributes:
        value: the result.
        to_json: makes the JSON object of the command line's contract; called only where that is asked for.
        lines: the same for people, line by line.
        change: what is to be recorded.
        refusal: what was found wrong by a command that was asked to look for it; the command line then exits with 1.
        stands: whether what was done stays done even where the change cannot be recorded, as a written file does.
        warnings: those of the lines that nobody may overlook.
        not_recorded: why the change could not be recorded; empty where it was.
    """

    value: T_co
    to_json: Callable[[], Mapping[str, Json]]
    lines: tuple[str, ...] = ()
    change: Change | None = None
    refusal: str = ""
    stands: bool = False
    warnings: tuple[str, ...] = ()
    not_recorded: str = ""

    @property
    def data(self) -> Mapping[str, Json]:
        """The JSON object of the command line's contract."""
        lost: dict[str, Json] = {"not_recorded": self.not_recorded} if self.not_recorded else {}
        return {**self.to_json(), **lost}

    def unrecorded(self, error: WorkbenchError) -> Self:
        """Return the answer where its change could not be recorded.

        Raises:
            WorkbenchError: the same, where nothing was done without it.
        """
        if not self.stands:
            raise error
        text = phrase(
            "The file was written, but this could not be recorded in the session: {message}", message=error.message
        )
        return replace(self, lines=(*self.lines, text), change=None, not_recorded=error.message)


Job = Generator[Progress, None, Answer[T_co]]


@dataclass(frozen=True)
class Parameter:
    """One argument of a command, read from its signature and docstring.

    Attributes:
        name: as the function spells it.
        flag: as the command line spells it, with dashes.
        type: the bare type.
        default: inspect.Parameter.empty where it must be given.
        positional: stands without a flag on the command line.
        help: the line of the docstring's `Args:`.
        bounds: for numbers.
        kind: what it stands for.
        called: how people call it.
    """

    name: str
    flag: str
    type: Any
    default: Any
    positional: bool
    help: str
    bounds: Between | None
    kind: Kind
    called: Called

    @property
    def required(self) -> bool:
        """Whether it must be given."""
        return self.default is inspect.Parameter.empty

    @property
    def label(self) -> str:
        """The name of its field."""
        return self.called.label or label_of(self.flag)


Opens = Literal["form", "answer", "nothing"]


@dataclass(frozen=True)
class Command:
    """One thing a user can do.

    Attributes:
        word: on the command line, as in "roll-back".
        title: in menus and the palette, as in "Roll back to a revision".
        menu: the menu it sits in.
        shortcut: portable key sequence, or empty.
        function: State first (if it takes one), then its parameters; returns an Answer, or a job that does.
        summary: first line of the docstring.
        parameters: all but the state.
        takes_state: whether it works on an open session.
        icon: name of a file in icons/, without its ending, or empty.
        details: the docstring between its first line and its sections.
        example: words for the command line that show it at work, without the program's name.
        preview: whether it can show what it would do without doing it.
        button: what stands on the button that does it, where the title is too long for one.
        past: what the history says of a revision that it made, with its arguments in braces, as in "Set to {to}".
        origin: whether a revision that it makes rests on logs, was made by hand, or was brought in whole.
        opens: whether it opens a form, shows its answer at once since it changes nothing, or is done without either.
        quiet: whether its answer is shown where it was asked for, and need not be told besides.
        rounds_off: whether a revision that it makes only rounds off the correction before it.
    """

    word: str
    title: str
    menu: str
    shortcut: str
    function: Callable[..., Answer[Any] | Job[Any]]
    summary: str
    parameters: tuple[Parameter, ...]
    takes_state: bool
    icon: str = ""
    details: str = ""
    example: str = ""
    preview: bool = False
    button: str = ""
    past: str = ""
    origin: Origin = "by hand"
    opens: Opens = "form"
    quiet: bool = False
    rounds_off: bool = False


COMMANDS: dict[str, Command] = {}
CONTROL = re.compile("[\\x00-\\x1f\\x7f-\\x9f\\u2028\\u2029\ud800-\udfff]")

Function = TypeVar("Function", bound=Callable[..., Answer[Any] | Job[Any]])


def command(
    title: str,
    *,
    menu: str,
    shortcut: str = "",
    word: str = "",
    icon: str = "",
    preview: bool = False,
    button: str = "",
    past: str = "",
    origin: Origin = "by hand",
    opens: Opens = "form",
    quiet: bool = False,
    rounds_off: bool = False,
) -> Callable[[Function], Function]:
    """Declare a function as a command; whoever calls it, what `_check` does not let through is refused.

    Args:
        word: on the command line; by default the function's name with dashes.
        title, menu, shortcut, icon, preview, button, past, origin, opens, quiet, rounds_off: as in Command.
    """

    def declare(function: Function) -> Function:
        name = word or function.__name__.replace("_", "-")
        if name in COMMANDS:
            raise ValueError(f"two commands are called {name}")
        parameters = _parameters(function)
        takes_state = bool(parameters) and parameters[0].type is State
        docstring = inspect.getdoc(function) or ""
        guarded = _guarded(function, parameters)
        COMMANDS[name] = Command(
            word=name,
            title=title,
            menu=menu,
            shortcut=shortcut,
            function=guarded,
            summary=docstring.split("\n")[0],
            parameters=parameters[1:] if takes_state else parameters,
            takes_state=takes_state,
            icon=icon,
            details=re.split(r"\n(?:Args|Raises|Returns|Yields|Example):\n", docstring.partition("\n")[2])[0].strip(),
            example=_example(docstring),
            preview=preview,
            button=button or title,
            past=past,
            origin=origin,
            opens=opens,
            quiet=quiet,
            rounds_off=rounds_off,
        )
        return guarded

    return declare


def label_of(flag: str) -> str:
    """Make the name of a field of the flag that stands for it."""
    plain = flag.replace("-", " ")
    return plain[:1].upper() + plain[1:]


def parameters_called(flag: str) -> tuple[Parameter, ...]:
    """Find the parameters of all commands that have a flag, without its dashes."""
    return tuple(each for command in COMMANDS.values() for each in command.parameters if each.flag == flag)


def _guarded(function: Function, parameters: tuple[Parameter, ...]) -> Function:
    declared = {parameter.name: parameter for parameter in parameters}
    signature = inspect.signature(function)

    @functools.wraps(function)
    def checked(*args: Any, **kwargs: Any) -> Answer[Any] | Job[Any]:
        for name, value in signature.bind(*args, **kwargs).arguments.items():
            _check(declared[name], value)
        return function(*args, **kwargs)

    return cast("Function", checked)


def _check(parameter: Parameter, value: object) -> None:
    """Refuse numbers that are not finite or out of bounds, and names and notes that would break a line of a paper."""
    name, bounds = parameter.flag, parameter.bounds
    if isinstance(value, tuple):
        for each in value:
            _check(parameter, each)
    if isinstance(value, str) and parameter.kind is Kind.LINE and (found := CONTROL.search(value)):
        raise InputError(
            phrase(
                "{name} holds a line break or another control character, U+{ord:04X}.", name=name, ord=ord(found[0])
            ),
            "Write it in one line.",
        )
    if isinstance(value, bool) or not isinstance(value, int | float):
        return
    if not math.isfinite(value):
        raise InputError(
            phrase("{name} is {value}, which is not a finite number.", name=name, value=value), "Give a finite number."
        )
    if bounds is not None and not bounds.low <= value <= bounds.high:
        raise InputError(
            f"{name} is {value:g}.", phrase("It must lie from {low:g} to {high:g}.", low=bounds.low, high=bounds.high)
        )


def _example(docstring: str) -> str:
    _, _, block = docstring.partition("\nExample:\n")
    return block.split("\n")[0].strip()


def _parameters(function: Callable[..., Answer[Any] | Job[Any]]) -> tuple[Parameter, ...]:
    hints, bare = get_type_hints(function, include_extras=True), get_type_hints(function)
    helps = _argument_lines(inspect.getdoc(function) or "")
    found = []
    for name, parameter in inspect.signature(function).parameters.items():
        annotations = tuple(_annotations_of(hints[name]))
        found.append(
            Parameter(
                name=name,
                flag=name.rstrip("_").replace("_", "-"),
                type=bare[name],
                default=parameter.default,
                positional=parameter.kind is not inspect.Parameter.KEYWORD_ONLY,
                help=helps.get(name, ""),
                bounds=next((each for each in annotations if isinstance(each, Between)), None),
                kind=next((each for each in annotations if isinstance(each, Kind)), Kind.VALUE),
                called=next((each for each in annotations if isinstance(each, Called)), Called()),
            )
        )
    return tuple(found)


def _annotations_of(hint: Any) -> Iterator[object]:
    """Yield what a type is annotated with, from the outside in: what stands outside goes first."""
    if get_origin(hint) is Annotated:
        inner, *annotations = get_args(hint)
        yield from reversed(annotations)  # of nested annotations the outer ones stand last
        yield from _annotations_of(inner)
    else:
        for inner in get_args(hint):
            yield from _annotations_of(inner)


def _argument_lines(docstring: str) -> dict[str, str]:
    _, _, block = docstring.partition("\nArgs:\n")
    lines: dict[str, str] = {}
    name = ""
    for line in block.split("\n"):
        if not line.startswith("    "):
            break
        if match := re.match(r"    (\w+): (.*)", line):
            name, lines[match[1]] = match[1], match[2].strip()
        elif name:
            lines[name] += " " + line.strip()
    return lines
