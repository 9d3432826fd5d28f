"""Columns of text as numbers: states of the fuel system as codes of SAE J1979, parameter 03, and of purge in %."""

import re
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np

from workbench.errors import InputError
from workbench.files.channels.measured import Measured
from workbench.files.text.late_numbers import late_numbers, shown_text
from workbench.files.text.numbers import Style
from workbench.files.vocabulary.asking import Reading, ask
from workbench.files.vocabulary.file_words import (
    FLAG_CLOSED,
    FLAG_OPEN,
    FUEL_SYSTEM,
    LOOP_CLOSED,
    LOOP_OPEN,
    NO,
    VALVE_OPEN,
    VALVE_SHUT,
    YES,
)
from workbench.files.vocabulary.recording import Field, TextArray, listed
from workbench.files.vocabulary.roles import Cast, role_by_name
from workbench.files.vocabulary.spelling import plain_words
from workbench.files.vocabulary.vocabulary import RULES
from workbench.model.arrays import FloatArray
from workbench.model.counting import counted
from workbench.model.log import Question, Role
from workbench.phrases import phrase

_PURGE = re.compile(rf"\b(?:{RULES['purge'].name})")
_FUELLED = re.compile(rf"\b(?:{RULES['fuel_system'].name})")
_NOT_FUELLED = re.compile(rf"\b(?:{RULES['fuel_system'].but})")
_NO_PURGE = re.compile(rf"\b(?:{RULES['purge'].but})")
CLOSED_LOOP, OPEN_LOOP = 2.0, 1.0
SHORTS: tuple[Role, ...] = ("stft_1", "stft_2")
J1979 = frozenset((0.0, 1.0, 2.0, 4.0, 8.0, 16.0))
# Of the rows in a state: how often a trim moves there that a loop moves, and one that none does; rows to tell it by.
MOVES, STANDS, FEWEST_IN_STATE, MOST_STATES = 0.03, 0.006, 100, 12
OPEN_STATES, WORKS = frozenset({1.0, 4.0, 8.0}), 2.0  # SAE J1979, parameter 03; % from lowest to highest
_ANY_STATE = re.compile(r"(status|state|stat|zustand|zust|estado|etat|stato|toestand|stav|stan|tillstand)( \w)?")
_BITS = re.compile(r"0[bB]([01]{1,16})")
_CODE = re.compile(r"(?:0x|\$)([0-9a-f]{1,4})|([0-9a-f]{2,4})h|(\d{1,5})\b.*")
EXPECTED: Mapping[Role, str] = {
    "fuel_system": "the codes of SAE J1979, OL and CL, open loop and closed loop, or, if its name says closed loop or "
    "open loop, ON and OFF",
    "purge": "%, 0 and 1, ON and OFF, or open and closed",
}


def tells_state(name: str) -> Role | None:
    """Return the role of a channel whose texts may stand for a state, by its name; None where there is none."""
    words = plain_words(name)
    if _PURGE.search(words) and not _NO_PURGE.search(words):
        return "purge"
    named = _FUELLED.search(words) and not _NOT_FUELLED.search(words)
    return "fuel_system" if named or FUEL_SYSTEM.search(words) else None


def state_codes(name: str, texts: TextArray, stated: Role | None = None) -> tuple[FloatArray | None, str]:
    """Turn texts such as `CL`, `open loop` or `ON` into the numbers that they stand for, and say what was not known.

    Args:
        name: of the channel.
        texts: its cells, shape (rows,).
        stated: the role that the user gave it, if any.

    Returns:
        The numbers, shape (rows,), NaN where missing; None where no text was understood. Then a sentence, or nothing.
    """
    role = stated or tells_state(name) or ("fuel_system" if _ANY_STATE.fullmatch(plain_words(name)) else None)
    if role is None or role not in EXPECTED:
        return None, ""
    counts = Counter(str(text) for text in texts.tolist())
    codes = {text: _valve(text) if role == "purge" else _state(text, name) for text in counts}
    strange = [text for text, code in codes.items() if text.strip() and np.isnan(code)]
    shown = listed([repr(text[:30]) for text in strange[:3]], len(strange))
    known = {code for code in codes.values() if not np.isnan(code)}
    if not known:
        if not strange or not (stated or re.search(rf"\b(?:{RULES[role].name})", plain_words(name))):
            return None, ""
        note = phrase(
            "Caution: {name} holds texts that are not recognised ({shown}) and was left out; expected: ",
            name=name,
            shown=shown,
        )
        return None, note + EXPECTED[role] + "."
    on = _closed_when_on(name)
    if role == "fuel_system" and on is not None and known <= {CLOSED_LOOP, OPEN_LOOP}:  # a flag it stays, as of numbers
        codes = {text: float((code == CLOSED_LOOP) == on) if code in known else code for text, code in codes.items()}
    note = ""
    if strange:
        rows = counted(sum(counts[text] for text in strange), "row")
        note = phrase(
            "{name}: {shown} is not recognised in {rows}; that counts as missing. Expected: {expected}.",
            name=name,
            shown=shown,
            rows=rows,
            expected=EXPECTED[role],
        )
    elif role == "purge" and known <= {0.0, 100.0}:
        note = phrase("{name} is a flag; read as 0 or 100 %.", name=name)
    return np.array([codes[str(text)] for text in texts.tolist()]), note


def _valve(text: str) -> float:
    words = plain_words(text)
    if YES.fullmatch(words) or VALVE_OPEN.fullmatch(words):
        return 100.0
    if NO.fullmatch(words) or VALVE_SHUT.fullmatch(words):
        return 0.0
    number = Style("," if "," in text else ".").number(text.strip("% "))
    return float("nan") if number is None else number


def _state(text: str, name: str) -> float:
    words = plain_words(text)
    on = _closed_when_on(name)
    if on is not None and (yes := YES.fullmatch(words) is not None) != (NO.fullmatch(words) is not None):
        return CLOSED_LOOP if yes == on else OPEN_LOOP
    closed = LOOP_CLOSED.search(words) is not None
    opened = LOOP_OPEN.search(words) is not None
    fault = re.search(r"\b(fault|fehler|failure|defaut|fallo)\b", words) is not None
    if closed == opened:
        return _numbered(text) if not closed else float("nan")
    if closed:
        return 16.0 if fault else CLOSED_LOOP
    if fault:
        return 8.0
    return 4.0 if re.search(r"\b(drive|load|decel\w*|cut|last)\b", words) else OPEN_LOOP


def _numbered(text: str) -> float:
    """Read a state written as a number among texts, in hexadecimal or with words behind it."""
    if bits := _BITS.fullmatch(text.strip()):
        return float(int(bits[1], 2))
    match = _CODE.fullmatch(text.strip().casefold())
    if match is None:
        return float("nan")
    return float(int(match[1] or match[2], 16) if match[3] is None else int(match[3]))


def _closed_when_on(name: str) -> bool | None:
    """Return whether a flag of that name says closed loop where it is on; None where that cannot be known."""
    words = plain_words(name)
    closed, opened = FLAG_CLOSED.search(words) is not None, FLAG_OPEN.search(words) is not None
    return None if closed == opened else closed


def settle_fuel_system(channel: Measured, short: FloatArray | None = None) -> tuple[Measured, str, Question | None]:
    """Turn a fuel system state into the code of SAE J1979, parameter 03, for the first bank.

    What its name does not tell, the short-term trim does, which moves in closed loop and stands still in open.

    Args:
        channel: the channel.
        short: the short-term trim in the same rows; None where there is none.

    Returns:
        The state, without values where its codes say nothing; what was assumed; and what is open.
    """
    found, note = frozenset(np.unique(channel.there).tolist()), ""
    if found and max(found) >= 256 and all(code % 1 == 0 and code // 256 in J1979 for code in found):
        channel = replace(channel, values=np.floor(channel.values / 256))
        found, note = (
            frozenset(code // 256 for code in found),
            phrase("{channel} holds two bytes; the first was used.", channel=channel.name),
        )
    closed = _closed_by_trim(channel.values, found, short)
    on = _closed_when_on(channel.name)
    if found <= {0.0, 1.0}:
        if on is None and closed is not None and len(found) > 1:
            on = 1.0 in closed
        if on is None:
            return (channel, note, _what_is_on(channel)) if len(found) > 1 else (channel, note, None)
        codes = np.where(channel.values == (1.0 if on else 0.0), CLOSED_LOOP, OPEN_LOOP)
        codes = np.where(np.isnan(channel.values), np.nan, codes)
        return (
            replace(channel, values=codes),
            phrase("{channel} is a flag; it was read as closed (2) or open loop (1).", channel=channel.name),
            None,
        )
    if said := _stands_open(channel, found, short):
        return replace(channel, values=np.full_like(channel.values, np.nan)), said, None
    contrary = closed is not None and not closed & {2.0, 16.0} and bool(found & {2.0, 16.0})
    if found <= J1979 and not contrary:
        return channel, note, None
    if closed is None:
        known = ", ".join(f"{code:g}" for code in sorted(found)[:6])
        caution = phrase(
            "Caution: {channel} holds codes ({known}) that are not those of SAE J1979, and no trim shows which of ",
            channel=channel.name,
            known=known,
        )
        return (
            replace(channel, values=np.full_like(channel.values, np.nan)),
            caution + "them are closed loop: it is left out.",
            None,
        )
    codes = np.where(
        np.isin(channel.values, list(closed)), CLOSED_LOOP, np.where(np.isnan(channel.values), np.nan, OPEN_LOOP)
    )
    shown = ", ".join(f"{code:g}" for code in sorted(closed))
    note = phrase(
        "The short-term trim moves only where {channel} reads {shown}: that was read as closed loop.",
        channel=channel.name,
        shown=shown,
    )
    return replace(channel, values=codes), note, None


def _stands_open(channel: Measured, found: frozenset[float], short: FloatArray | None) -> str:
    """Say so of a state that is open loop throughout while the trim goes far and moves in as many rows as in closed."""
    known = np.empty(0) if short is None else short[np.isfinite(short)]
    if len(found) != 1 or not found <= OPEN_STATES or known.size < FEWEST_IN_STATE or np.ptp(known) < WORKS:
        return ""
    if float(np.mean(np.diff(known) != 0)) <= MOVES:
        return ""
    return phrase(
        "{channel} stands at {state:g} (open loop) throughout, while the short-term trim works as in closed loop: "
        "it is left out.",
        channel=channel.name,
        state=next(iter(found)),
    )


def _closed_by_trim(values: FloatArray, found: frozenset[float], short: FloatArray | None) -> frozenset[float] | None:
    """Give the codes in which the short-term trim moves, where in others it stands still; None where that is not so."""
    if short is None or len(found) < 2 or len(found) > MOST_STATES:
        return None
    steps, before = np.diff(short), values[:-1]
    rows = np.isfinite(steps) & (values[1:] == before)
    moving, still = set(), set()
    for code in found:
        mine = rows & (before == code)
        if mine.sum() < FEWEST_IN_STATE:
            continue
        share = float(np.mean(steps[mine] != 0))
        if share > MOVES:
            moving.add(code)
        elif share < STANDS:
            still.add(code)
        else:
            return None
    return frozenset(moving) if moving and still else None


def states_by_course(name: str, texts: TextArray, short: FloatArray | None) -> tuple[FloatArray | None, str]:
    """Read words of whatever language for closed and open loop by the short-term trim, which moves only in closed loop.

    Args:
        name: of the channel, which says that it tells the state of the fuel system.
        texts: its cells, shape (rows,); an empty one may say that a mark is not set.
        short: the short-term trim in the same rows; None where there is none.

    Returns:
        Codes of SAE J1979, shape (rows,), NaN where missing; None where the trim does not tell. Then a sentence.
    """
    cells = [str(text).strip() for text in texts.tolist()]
    words = list(dict.fromkeys(cells))
    if len(words) > MOST_STATES or not any(words):
        return None, ""
    at = np.array([words.index(cell) for cell in cells], dtype=np.float64)
    closed = _closed_by_trim(at, frozenset(np.unique(at).tolist()), short)
    if closed is None:
        return None, ""
    codes = np.where(np.isin(at, list(closed)), CLOSED_LOOP, OPEN_LOOP)
    if "" in words and float(words.index("")) in closed:  # a cell that was not written
        codes = np.where(at == words.index(""), np.nan, codes)
    shown = ", ".join(repr(words[int(each)][:30]) for each in sorted(closed) if words[int(each)])
    return codes, phrase(
        "The short-term trim moves only where {channel} reads {shown}: that was read as closed loop.",
        channel=name,
        shown=shown,
    )


def cast_state(cast: Cast, measured: Sequence[Measured], stated: Collection[Role]) -> Cast:
    """Give the state of the fuel system to a channel that is not called so, but holds its codes as the trim says.

    Only one channel may: with codes of SAE J1979, and a short-term trim that moves only where they say closed loop.
    """
    by_name = {each.name: each for each in measured}
    short = next((by_name[cast.roles[role]] for role in SHORTS if cast.roles.get(role) in by_name), None)
    if short is None or "fuel_system" in cast.roles or "fuel_system" in stated:
        return cast
    found = []
    for each in measured:
        codes = frozenset(np.unique(each.there).tolist())
        if each.name in cast.roles.values() or each.unit is not None or not {2.0} < codes <= J1979:
            continue
        closed = _closed_by_trim(each.values, codes, short.values)
        if closed is not None and 2.0 in closed <= {2.0, 16.0} and role_by_name(each.name, "") is None:
            found.append(each.name)
    if len(found) != 1:
        return cast
    reason = "by its codes: the short-term trim moves only where it says closed loop"
    return replace(
        cast,
        roles={**cast.roles, "fuel_system": found[0]},
        reasons={**cast.reasons, "fuel_system": reason},
    )


def _what_is_on(channel: Measured) -> Question:
    why = phrase(
        "{channel} reads only 0 and 1, and neither its name nor a trim shows what 1 means. Which is it?",
        channel=channel.name,
    )
    readings = (
        Reading("closed-loop", "1 is closed loop, 0 open loop.", 1.0, 1.0),
        Reading("open-loop", "1 is open loop, 0 closed loop.", -1.0, 2.0),
    )
    return ask(channel.name, why, readings, "", same=Reading("", ""))


def settle_purge(channel: Measured) -> tuple[Measured, str]:
    """Turn purge without a unit that stays within 0 and 1 into %, and say what was assumed."""
    low, high = channel.extent
    if channel.unit is not None or not (low >= 0 and 0 < high <= 1):
        return channel, ""
    if set(np.unique(channel.there)) <= {0.0, 1.0}:
        note = phrase("{channel} is a flag; read as 0 or 100 %.", channel=channel.name)
    else:
        note = phrase(
            "{channel} has no unit and stays within 0 and 1; it was read as a fraction, where 1 is 100 %.",
            channel=channel.name,
        )
    return channel.becoming("percent", 100 * channel.values), note


def as_numbers(fields: Sequence[Field], stated: Mapping[str, Role]) -> tuple[list[Field], list[str]]:
    """Return the columns of numbers, turning texts that stand for a state into numbers."""
    numeric: list[Field] = []
    left_out: list[str] = []
    empty: list[str] = []
    states: list[str] = []
    for candidate in fields:
        if candidate.texts is None:
            numeric.append(candidate)
            continue
        late, note = (None, "") if candidate.name in stated else late_numbers(candidate)
        if late is not None:
            numeric.append(late)
            states += [note] * bool(note)
            continue
        values, note = state_codes(candidate.name, candidate.texts, stated.get(candidate.name))
        if values is None and "fuel_system" in (stated.get(candidate.name), tells_state(candidate.name)):
            values, told = states_by_course(candidate.name, candidate.texts, _short_trim(fields))
            note = told or note
        if values is None and candidate.name in stated:
            _refuse_text(candidate.name, candidate.texts, stated[candidate.name])
        states += [note] * bool(note)
        if values is not None:
            numeric.append(replace(candidate, values=values, texts=None))
        elif not note and (role := role_by_name(candidate.name, candidate.unit)) is not None and shown_text(candidate):
            states.append(
                phrase(
                    "{name} has the name of {role}, but holds text such as {shown!r}, which is no number: it is "
                    "left out.",
                    name=candidate.name,
                    role=role,
                    shown=shown_text(candidate),
                )
            )
        elif not note:
            (left_out if any(text.strip() for text in candidate.texts) else empty).append(candidate.name)
    lists = [("Columns of text were left out", left_out), ("Empty columns were left out", empty)]
    return numeric, [f"{what}: {listed(names[:6], len(names))}." for what, names in lists if names] + states


def _short_trim(fields: Sequence[Field]) -> FloatArray | None:
    """Give the short-term trim of the first bank that has one; None where none is logged in numbers."""
    names = {role_by_name(each.name, each.unit): each.values for each in reversed(fields) if each.texts is None}
    return next((names[role] for role in SHORTS if role in names), None)


def _refuse_text(name: str, texts: TextArray, role: Role) -> None:
    """Refuse a role that was stated for a channel of text which says nothing of it.

    Raises:
        InputError: naming the channel and what was expected.
    """
    shown = next((str(text)[:30] for text in texts if text.strip()), "")
    wanted = EXPECTED.get(role, "numbers")
    raise InputError(
        phrase(
            "The channel {name!r} holds text such as {shown!r}, so it cannot be {role}.",
            name=name,
            shown=shown,
            role=role,
        ),
        f"Expected: {wanted}.",
    )
