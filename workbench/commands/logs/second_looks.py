"""What speaks against an answer: a reading that was stated is held against the log, and confirmed where it contradicts.

What is stated counts, so that a log asks no more of it; a wrong answer would go through in silence. So the log is held
once more against its own course as if nothing had been stated. What only then speaks against it, and would not with
another sign, scale, unit or channel, is told with its figures, and the log stays out of the evidence until the
statement is made once more, or another one.
"""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from workbench.commands.logs.answers import remembered_units
from workbench.commands.logs.asked_anew import asked_of_log
from workbench.files.vocabulary.roles import role_by_name
from workbench.model.log import ROLES, Alternative, Log, Question, Role, typed_flag
from workbench.model.state import Reread
from workbench.phrases import Phrase, flag, join_phrases, phrase

MOST_TRIED = 6  # other readings, of one contradiction
AS_STATED = "as stated"
_UNIT, _ROLE = str(flag("unit")), str(flag("role"))
_TIMES = re.compile(r"times-([\d.e+-]+)")
_PAIRS: tuple[tuple[Role, Role], ...] = (
    ("stft_1", "ltft_1"),
    ("stft_2", "ltft_2"),
    ("lambda_measured", "lambda_commanded"),
)
# Stated unit -> the one that is meant by mistake: its word, and factor and offset from the values as stated.
_MISTAKEN: Mapping[str, tuple[str, float, float]] = {
    "%": ("fraction", 100.0, 0.0),
    "percent": ("fraction", 100.0, 0.0),
    "fraction": ("%", 0.01, 0.0),
    "factor": ("%", 0.01, 1.0),
    "turned": ("as-logged", -1.0, 0.0),
    "degF": ("degC", 1.8, 32.0),
    "degC": ("degF", 1 / 1.8, -32 / 1.8),
    "measured/commanded": ("commanded/measured", -1.0, 0.0),
    "commanded/measured": ("measured/commanded", -1.0, 0.0),
}
_INVERSES = {"phi": "lambda", "lambda": "phi", "fuel-over-air": "as-logged"}

Against = dict[tuple[str, str], Question]


@dataclass(frozen=True)
class SecondLook:
    """What a second look leaves.

    Attributes:
        questions: whether what was stated is so all the same.
        moot: questions that arise of what was stated alone: asked once that is confirmed.
    """

    questions: tuple[Question, ...] = ()
    moot: frozenset[str] = frozenset()


@dataclass(frozen=True, eq=False)
class Statement:
    """What was stated of a log just now.

    Attributes:
        log: as it is read with it.
        roles: role -> channel, those that are stated now; the channel is empty for one that nothing is to play.
        units: channel -> unit, or the word of an answer, as stated now.
        before: role -> channel, those that were stated earlier.
        put: what was asked of the log when it was stated.
        afr: air-fuel ratio at lambda 1 of the session's fuel.
    """

    log: Log
    roles: Mapping[Role, str]
    units: Mapping[str, str]
    before: Mapping[Role, str]
    put: Sequence[Question]
    afr: float

    @cached_property
    def settled(self) -> set[str]:
        """Channels of which earlier statements and open questions speak."""
        return {*remembered_units(self.log), *(each.channel for each in self.log.questions)} - {*self.units}

    def against(self, log: Log) -> Against:
        """Give what speaks against a log, as if nothing were stated of it now."""
        kept = {role: name for role, name in self.before.items() if role not in self.roles}
        kept |= {role: "" for role, name in self.roles.items() if not name}
        return _by_kind(asked_of_log(log, kept, self.settled, self.afr, assuming=False))

    @cached_property
    def usual(self) -> Against:
        """What is asked of it all the same."""
        stated = {**self.before, **self.roles}
        return _by_kind(asked_of_log(self.log, stated, {*self.settled, *self.units}, self.afr, assuming=False))


def second_look(said: Statement, given: Collection[str] = ()) -> SecondLook:
    """Ask to confirm what was stated of a log, where its course speaks against that and not against another reading.

    Args:
        said: what was stated.
        given: the flags by which it was; what they confirm is asked no more.
    """
    if not any(said.roles.values()) and not said.units:
        return SecondLook()
    found = said.against(said.log)
    confirmed = [each.question for each in said.put if is_confirmed([each], given)]
    put = {*_by_kind(said.put), *((each.channel, each.question) for each in said.put)}
    tried = _Tried(said, found)
    asked, moot = list[tuple[Question, list[Alternative]]](), set[str]()
    for key, against in found.items():
        before = bool({key, (key[0], against.question)} & put)
        if before and not _is_of_readings(said, against):
            continue
        if key in said.usual and (before or confirmed):
            continue
        if others := tried.better(against, key, of_stated=key in said.usual):
            asked.append((against, others))
            moot |= {against.question} if key in said.usual else set()
    alone = {(against.channel, each.flag) for against, others in asked for each in others}
    questions = [
        _confirm(said, against, others)
        for against, others in asked
        if not any(against.question in each for each in confirmed)
        and not all(each.channel != against.channel and (each.channel, each.flag) in alone for each in others)
    ]
    return SecondLook(tuple({each.alternatives: each for each in reversed(questions)}.values())[::-1], frozenset(moot))


def _is_of_readings(said: Statement, against: Question) -> bool:
    """Tell whether each answer to a question reads the log in another way, none leaves a channel out."""
    named = all(word.startswith(_ROLE) and "=" in word and not word.endswith("='")
                for each in against.alternatives for word in each.flags)  # fmt: skip
    return bool(_stated_units(said, against)) or named


class _Tried:
    """Other readings of a log, each tried once."""

    def __init__(self, said: Statement, found: Against) -> None:
        self._said, self._found = said, found
        self._left: dict[str, Against] = {}
        self._undone = [*_of_units(said)]
        firsts = {key: next(_of_question(said, each), None) for key, each in found.items() if key not in said.usual}
        self._firsts = {key: each for key, each in firsts.items() if each is not None}

    def better(self, against: Question, key: tuple[str, str], *, of_stated: bool) -> list[Alternative]:
        """Give the readings that take out what speaks against this one, and bring nothing else.

        Args:
            against: what speaks against it.
            key: by which it is known.
            of_stated: whether only what was stated may be meant otherwise.
        """
        mine = [each for each in self._undone if each.channel == against.channel] or self._undone
        if mine and self._is_better(self._undone, key):
            return mine
        others = [*_of_units(self._said), *_of_roles(self._said)]
        others += [] if of_stated else _of_question(self._said, against)
        unlike = list({each.flag: each for each in reversed(others)}.values())[::-1][:MOST_TRIED]
        if better := [each for each in unlike if self._is_better([each], key)]:
            return better
        first = self._firsts.get(key)
        if first is None or len(self._firsts) < 2 or not self._is_better([*self._firsts.values()], key):
            return []
        return [first]

    def _is_better(self, others: Sequence[Alternative], key: tuple[str, str]) -> bool:
        flags = " ".join(each.flag for each in others)
        if flags not in self._left:
            log = self._said.log
            for each in others:
                log = _read_so(log, each)
            self._left[flags] = self._said.against(log)
        left = self._left[flags]
        return key not in left and set(left) <= set(self._found)


def is_confirmed(questions: Collection[Question], given: Collection[str]) -> bool:
    """Tell whether flags confirm what a second look asked."""
    firsts = [each.alternatives[0] for each in questions]
    return any(each.answer == AS_STATED and set(each.flags) <= set(given) for each in firsts)


def _by_kind(questions: Collection[Question]) -> Against:
    return {(each.channel, _kind(each.question)): each for each in questions}


def _kind(text: str) -> str:
    """Give what a sentence is about without its figures: its template."""
    if not isinstance(text, Phrase):
        return text
    return text.template or "".join(_kind(part) for part in text.parts)


def _stated_units(said: Statement, against: Question) -> list[str]:
    names = {against.channel, *(each.channel for each in against.alternatives)}
    return [name for name in said.units if name in names]


def _read_so(log: Log, other: Alternative) -> Log:
    roles = dict(log.roles)
    for role, name in _roles_of(other).items():
        roles = {mine: channel for mine, channel in roles.items() if mine != role and channel != name} | {role: name}
    if other.changes_values:
        made = Reread.as_answered(other)
        channels = tuple(made.channel(each) if each.name == other.channel else each for each in log.channels)
        log = replace(log, channels=channels)
    return replace(log, roles=roles)


def _roles_of(other: Alternative) -> dict[Role, str]:
    """Give the roles that an answer states."""
    found: dict[Role, str] = {}
    for each in other.flags:
        option, _, stated = each.partition(" ")
        word, _, name = stated.strip("'").partition("=")
        if option == _ROLE:
            found |= {role: name for role in ROLES if role == word}
    return found


def _of_question(said: Statement, against: Question) -> Iterator[Alternative]:
    """Give the other readings that a question names."""
    for each in against.alternatives[1:]:
        if each.changes_values and each.flag.startswith(_UNIT) and len(each.flags) == 1:
            channel = each.channel
            word = each.flag.strip("'").rpartition("=")[2]
            if channel in said.units:
                word = _together(said.units[channel], word)
            if word:
                yield replace(each, answer=word, flag=typed_flag("unit", channel, word))


def _together(stated: str, word: str) -> str:
    """Name what a reading is of the values as logged, that is told of the values as stated; empty where none says it.

    Sign turned and turned again is as logged.
    """
    sizes = _size(stated), _size(word)
    if None not in sizes:
        return _word_of(float(sizes[0] or 1) * float(sizes[1] or 1))
    if stated == word:
        return _INVERSES.get(word, _MISTAKEN.get(word, ("", 0, 0))[0])
    return word


def _size(word: str) -> float | None:
    if match := _TIMES.fullmatch(word):
        return float(match[1])
    return {"as-logged": 1.0, "turned": -1.0}.get(word)


def _word_of(size: float) -> str:
    return {1.0: "as-logged", -1.0: "turned"}.get(round(size, 9), f"times-{size:g}" if size > 0 else "")


def _of_units(said: Statement) -> Iterator[Alternative]:
    """Give what a stated unit may be mistaken for."""
    for name, word in said.units.items():
        channel = said.log.channel(name)
        if channel is None:
            continue
        if word in _INVERSES:
            yield _reading(name, _INVERSES[word], channel.unit, 1.0, 0.0, inverse=True)
        elif match := _TIMES.fullmatch(word):
            yield _reading(name, "as-logged", channel.unit, 1 / float(match[1]), 0.0)
        elif word in _MISTAKEN:
            yield _reading(name, _MISTAKEN[word][0], channel.unit, *_MISTAKEN[word][1:])


def _reading(name: str, word: str, base: str, factor: float, offset: float, *, inverse: bool = False) -> Alternative:
    means = phrase("{channel} counts as {word!r}.", channel=name, word=word)
    return Alternative(word, typed_flag("unit", name, word), means, base, factor, offset, inverse)


def _of_roles(said: Statement) -> Iterator[Alternative]:
    """Give the channels that a stated role may be mistaken for: those of its name, and the one it is exchanged with."""
    for role, name in said.roles.items():
        if not name:
            continue
        for pair in _PAIRS:
            roles = said.log.roles
            if role in pair and all(each in roles for each in pair):
                flags = (
                    typed_flag("role", pair[0], roles[pair[1]]),
                    typed_flag("role", pair[1], roles[pair[0]]),
                )
                means = phrase("{first} and {second} are exchanged.", first=roles[pair[0]], second=roles[pair[1]])
                yield Alternative(phrase("exchanged"), " ".join(flags), means)
        for each in said.log.channels:
            if each.name not in said.log.roles.values() and role_by_name(each.name, each.unit_read) == role:
                means = phrase("{name} is used as {role}.", name=each.name, role=role)
                yield Alternative(each.name, typed_flag("role", role, each.name), means)


def _confirm(said: Statement, against: Question, others: Sequence[Alternative]) -> Question:
    """Ask whether what was stated is so all the same."""
    of_units = _stated_units(said, against)
    units = {name: word for name, word in said.units.items() if name in of_units or not of_units}
    roles = {role: name for role, name in said.roles.items() if name and (not of_units or name in of_units)}
    flags = [typed_flag("unit", name, word) for name, word in units.items()]
    flags += [typed_flag("role", role, name) for role, name in roles.items()]
    stated = " ".join(flags)
    told = [phrase("{channel} counts as {word!r}", channel=name, word=word) for name, word in units.items()]
    told += [phrase("{channel} is used as {role}", channel=name, role=role) for role, name in roles.items()]
    why = join_phrases(
        " ",
        (
            phrase("Stated was that {told}. The log speaks against that:", told=join_phrases(", ", told)),
            against.question,
            phrase(
                "Nothing speaks against “{others}”. Is it as stated all the same?",
                others=join_phrases("” / “", [each.answer for each in others]),
            ),
        ),
    )
    as_stated = Alternative(AS_STATED, stated, phrase("It counts as stated, against what the log says."))
    about = next(iter((*units, *roles.values())), against.channel)
    return Question(about if of_units or len(units) + len(roles) == 1 else against.channel, why, (as_stated, *others))
