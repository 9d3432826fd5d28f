"""Sentences that stay translatable: finished English that still knows its template and the values in it.

`phrase("Rejected by gates: {gates}", gates=listed)` is a `str` like any other: it is printed, stored and written to
JSON as it reads. The window translates the template and puts the values in again, so that a language may put them in
any order; it also names a flag by its field and a command by its title. What joins phrases (`+`, `join_phrases`) keeps
them; an f-string around one does not, so sentences with values are made here.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Any, Self


class Phrase(str):
    """A finished English sentence made from a template, or several join_phrases.

    Attributes:
        template: the sentence with its values named in braces, as `str.format` takes them.
        values: what stands there; phrases themselves, where they are translated too.
        parts: the phrases and plain texts that it was join_phrases from; empty where it has a template.
    """

    __slots__ = ("parts", "template", "values")
    template: str
    values: Mapping[str, Any]
    parts: tuple[str, ...]

    @classmethod
    def made(cls, english: str, template: str, values: Mapping[str, Any], parts: tuple[str, ...] = ()) -> Self:
        """Make one whose finished English is known."""
        made = cls(english)
        made.template, made.values, made.parts = template, values, parts
        return made

    def __str__(self) -> str:
        """Stay what it is, so that `str()` does not lose the template."""
        return self

    def __add__(self, other: str) -> str:
        """Join with what follows."""
        return join_phrases("", (self, other))

    def __radd__(self, other: str) -> str:
        """Join with what stands before."""
        return join_phrases("", (other, self))

    def __reduce__(self) -> tuple[Any, ...]:
        """Copy and pickle whole."""
        return (type(self).made, (english(self), self.template, self.values, self.parts))


class PluralPhrase(Phrase):
    """A sentence about a number of things, in English for that number.

    Attributes:
        number: how many.
        many: the template for any number but one, by which a language finds its forms.
    """

    __slots__ = ("many", "number")
    number: int
    many: str

    def __reduce__(self) -> tuple[Any, ...]:
        """Copy and pickle whole."""
        return (_plural_made, (english(self), self.template, self.values, self.number, self.many))


class Flag(str):
    """A flag of the command line, such as `--from`, or `--by NAME`; the window names it by its field.

    Attributes:
        name: without its dashes.
        value: the word in capitals that stands for its value; empty where none does.
    """

    __slots__ = ("name", "value")
    name: str
    value: str

    def __str__(self) -> str:
        """Stay what it is."""
        return self

    def __reduce__(self) -> tuple[Any, ...]:
        """Copy and pickle whole."""
        return (flag, (self.name, self.value))


class CommandCall(str):
    """A command as it is typed, such as `approve SESSION 3 --by NAME`; the window names it by its title.

    Attributes:
        word: the command.
        words: what is typed after it.
    """

    __slots__ = ("word", "words")
    word: str
    words: tuple[str, ...]

    def __str__(self) -> str:
        """Stay what it is."""
        return self

    def __reduce__(self) -> tuple[Any, ...]:
        """Copy and pickle whole."""
        return (call, (self.word, *self.words))


def phrase(template: str, /, **values: Any) -> str:
    """Make a sentence from a template; values are named, with formats as `str.format` takes them.

    Raises:
        KeyError: when a value that the template names is missing.
    """
    return Phrase.made(template.format_map(values), template, values)


def plural_phrase(number: float, one: str, many: str, /, **values: Any) -> str:
    """Make a sentence about a number of things: `one` where it is 1, else `many`; either may show it as {n}.

    Raises:
        KeyError: when a value that the template names is missing.
    """
    n = round(float(number))
    shown = {"n": n, **values}
    template = one if n == 1 else many
    return _plural_made(template.format_map(shown), template, shown, n, many)


def _plural_made(text: str, template: str, values: Mapping[str, Any], number: int, many: str) -> PluralPhrase:
    made = PluralPhrase.made(text, template, values)
    made.number, made.many = number, many
    return made


def join_phrases(separator: str, texts: Iterable[str]) -> str:
    """Join texts as `str.join` does, and keep the phrases among them."""
    parts: list[str] = []
    for part in texts:
        parts += [separator, part] if parts and separator else [part]
    return Phrase.made("".join(parts), "", {}, tuple(parts))


def flag(name: str, value: str = "") -> Flag:
    """Name a flag of the command line in a sentence."""
    made = Flag(f"--{name} {value}".rstrip())
    made.name, made.value = name, value
    return made


def call(word: str, *words: str) -> CommandCall:
    """Name a command in a sentence, with what is typed after it."""
    made = CommandCall(" ".join((word, *words)))
    made.word, made.words = word, words
    return made


def english(text: str) -> str:
    """Return the finished English alone, as a plain `str`."""
    return "".join(text) if isinstance(text, Phrase | Flag | CommandCall) else text


# Control characters steer a terminal (ECMA-48); overrides and isolates of the bidirectional algorithm (UAX 9) let a
# text read otherwise than it is; line and paragraph separators break a line; lone surrogates are no text at all.
_STEERING = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)


def harmless(text: str) -> str:
    """Write out what could steer a terminal or turn the reading direction, as numbers; the rest stays."""
    return _STEERING.sub(lambda found: _written(ord(found[0])), text)


def _written(code: int) -> str:
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
