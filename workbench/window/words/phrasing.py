"""How the window says what the core says: translated, with fields and commands named as they stand on the screen."""

from typing import Any

from workbench.commands.declaring.arguments import metavar
from workbench.commands.declaring.registry import COMMANDS, Parameter, label_of, parameters_called
from workbench.errors import InputError
from workbench.phrases import CommandCall, Flag, Phrase, PluralPhrase, english
from workbench.window.words.translation import core, core_plural
from workbench.window.words.wording import held, read_number, tr

_ENDS = ".,;:)"
LEAN_STEP = "lean-step-at-high-load"  # the objection by its name


def field_name(parameter: Parameter) -> str:
    """Return the name of a parameter's field."""
    return tr(parameter.label)


def parameter_help(parameter: Parameter) -> str:
    """Say what a field is for, as a sentence."""
    meaning = window_text(parameter.help)
    return meaning[:1].upper() + meaning[1:]


def number_in(text: str, name: str, *, whole: bool) -> float | int:
    """Read the number in a field of that name.

    Raises:
        InputError: naming the field, where it is none, or no whole one.
    """
    value = read_number(text)
    if value is None or (whole and value != int(value)):
        kind = tr("a whole number") if whole else tr("a number")
        raise InputError(
            tr("{name}: {text} is not {kind}.").format(name=name, text=text, kind=kind),
            tr("Write it with digits, as in 12 or 0.97."),
        )
    return int(value) if whole else value


def allow_lean_step() -> str:
    """Return what stands at the box by which a lean step at high load is accepted."""
    return tr("Allow a lean step")


def window_text(text: str) -> str:
    """Return a text of the core as the window says it: a phrase by its template, anything else as a whole."""
    return held(_translated(text))


def _translated(text: str) -> str:
    if isinstance(text, Phrase):
        if text.parts:
            return "".join(map(_translated, text.parts))
        form = core_plural(text.many, text.number) if isinstance(text, PluralPhrase) else ""
        return (form or core(text.template)).format_map({name: _value(value) for name, value in text.values.items()})
    if isinstance(text, Flag):
        return f"“{_field_meant(text.name, text.value)}”"
    if isinstance(text, CommandCall):
        return _named_command(text)
    known = core(text)
    return known if known != text or "--" not in text else " ".join(map(_recorded_word, text.split(" ")))


def _value(value: Any) -> Any:
    return _translated(value) if isinstance(value, str) else value


def _field_meant(flag: str, value: str) -> str:
    """Name the field that a flag stands for; where commands call theirs differently, the value's kind tells which."""
    if (flag, value) == ("accept", LEAN_STEP):
        return allow_lean_step()
    found = parameters_called(flag)
    if not found:
        return tr(label_of(flag))
    return field_name(next((each for each in found if metavar(each) == value), found[0]))


def _named_command(call: CommandCall) -> str:
    """Name a command and the fields to fill in; what its form asks for anyway is left out."""
    first = next((at for at, word in enumerate(call.words) if isinstance(word, Flag)), len(call.words))
    name = f"“{tr(COMMANDS[call.word].title)}”"
    fields = " ".join(map(_translated, call.words[first:]))
    return f"{name}, {fields}" if fields else name


def _recorded_word(word: str) -> str:
    """Name a flag in a sentence that a session recorded as plain text."""
    bare = word.rstrip(_ENDS)
    return f"“{_field_meant(bare[2:], '')}”{word[len(bare) :]}" if bare.startswith("--") else english(word)
