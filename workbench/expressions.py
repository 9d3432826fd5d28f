"""Expressions over channels, as in `'Lambda measured' / 'Lambda commanded' - 1`: read, and worked out in any algebra.

Python's own parser reads the text; only the few forms listed here are let through, names stand for channels and
nothing else, and nothing of Python is ever run. What an expression means is told by an algebra: the numbers of this
module, or the units of `files/vocabulary`.
"""

import ast
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from workbench.errors import InputError
from workbench.phrases import phrase

FloatArray = NDArray[np.float64]
T = TypeVar("T")

LONGEST, DEEPEST = 1000, 50  # characters; parentheses and functions within one another
EVEN_S = 1e-6  # so that rounding does not take a row at one end of a mean and leave the other
LONGEST_S = 600.0  # that a mean goes over, or a delay is
_PYTHON: Mapping[type[ast.AST], str] = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.Div: "/",
    ast.USub: "negative",
    ast.Not: "not",
    ast.And: "and",
    ast.Or: "or",
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.Eq: "==",
    ast.NotEq: "!=",
}
# Function -> fewest and most arguments, without the seconds of those that take some.
FUNCTIONS: Mapping[str, tuple[int, int]] = {
    "min": (2, 9),
    "max": (2, 9),
    "abs": (1, 1),
    "sqrt": (1, 1),
    "kelvin": (1, 1),
    "where": (3, 3),
    "mean": (1, 1),
    "delay": (1, 1),
    "derivative": (1, 1),
}
WITH_SECONDS = ("mean", "delay")
EXPLAINED = (
    "Write channels by name, in quotation marks where a name is more than one word, with + - * / ( ), comparisons, "
    "and, or, not, and: min(a, b), max(a, b), abs(a), sqrt(a), kelvin(a), where(condition, a, b), mean(a, seconds), "
    "delay(a, seconds), derivative(a)."
)
_SIGNS = str.maketrans({"×": "*", "·": "*", "÷": "/", "\u2212": "-", "≤": "<=", "≥": ">=", "≠": "!="})
_QUOTED = re.compile(r"('[^']*'|\"[^\"]*\")")


class Algebra(Protocol[T]):
    """What numbers, channels and functions are, of some kind."""

    def number(self, value: float) -> T:
        """Give a number that stands in the expression."""

    def channel(self, name: str) -> T:
        """Give a channel."""

    def apply(self, name: str, parts: Sequence[T], seconds: float) -> T:
        """Give what a function, or an operator by its sign, makes of its parts."""


@dataclass(frozen=True)
class Expression:
    """An expression that may be worked out.

    Attributes:
        text: as it was written.
        tree: as it was read.
    """

    text: str
    tree: ast.expr

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The channels that it names."""
        listed: list[str] = []
        called = {node.func for node in ast.walk(self.tree) if isinstance(node, ast.Call)}
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                listed.append(node.value)
            elif isinstance(node, ast.Name) and node not in called:
                listed.append(node.id)
        return tuple(dict.fromkeys(listed))

    def worked_out(self, algebra: Algebra[T]) -> T:
        """Work it out in an algebra.

        Raises:
            InputError: where the algebra refuses a step.
        """
        return _folded(self.tree, algebra)


def read_expression(text: str) -> Expression:
    """Read an expression.

    Raises:
        InputError: naming what cannot be read, and what can.
    """
    parts = _QUOTED.split(text.strip())
    plain = "".join(part if at % 2 else part.translate(_SIGNS) for at, part in enumerate(parts))
    if not plain or len(plain) > LONGEST:
        raise InputError(
            phrase("An expression has 1 to {longest} characters; this one has {n}.", longest=LONGEST, n=len(plain)),
            EXPLAINED,
        )
    try:
        tree = ast.parse(plain, mode="eval").body
        _check(tree, DEEPEST)
    except (SyntaxError, ValueError, MemoryError, RecursionError) as error:
        at = getattr(error, "offset", None)
        where = phrase(" at character {at}", at=at) if at else ""
        message = phrase("The expression {text!r} cannot be read{where}.", text=text, where=where)
        raise InputError(message, EXPLAINED) from None
    found = Expression(text.strip(), tree)
    if not found.names:
        raise InputError(phrase("The expression {text!r} names no channel.", text=text), EXPLAINED)
    return found


def _check(node: ast.expr, left: int) -> None:  # noqa: C901, PLR0911 - one case for each form
    """Let through only what is listed."""
    if not left:
        raise InputError(phrase("The expression is nested more than {deepest} deep.", deepest=DEEPEST), EXPLAINED)
    match node:
        case ast.Constant(value=bool() | None):
            pass
        case ast.Constant(value=int() | float() as value) if np.isfinite(float(value)):
            return None
        case ast.Constant(value=str()) | ast.Name():
            return None
        case ast.UnaryOp(op=ast.USub() | ast.UAdd() | ast.Not(), operand=inner):
            return _check(inner, left - 1)
        case ast.BinOp(op=ast.Add() | ast.Sub() | ast.Mult() | ast.Div(), left=one, right=other):
            _check(one, left - 1)
            return _check(other, left - 1)
        case ast.BoolOp(values=parts):
            return _check_all(parts, left - 1)
        case ast.Compare(left=one, ops=signs, comparators=others) if all(type(sign) in _PYTHON for sign in signs):
            return _check_all([one, *others], left - 1)
        case ast.Call(func=ast.Name(id=name), args=parts, keywords=[]) if name in FUNCTIONS:
            _check_call(name, parts)
            return _check_all(parts, left - 1)
        case ast.Call(func=ast.Name(id=name)):
            raise InputError(phrase("There is no function {name!r}.", name=name), EXPLAINED)
    raise InputError(phrase("{part!r} is no part of an expression.", part=ast.unparse(node)[:60]), EXPLAINED)


def _check_all(parts: Sequence[ast.expr], left: int) -> None:
    for part in parts:
        _check(part, left)


def _check_call(name: str, parts: Sequence[ast.expr]) -> None:
    fewest, most = FUNCTIONS[name]
    if name in WITH_SECONDS:
        seconds = _seconds(parts[-1]) if len(parts) == 2 else None
        least = -LONGEST_S if name == "delay" else 0.0
        if seconds is None or not least <= seconds <= LONGEST_S:
            raise InputError(
                phrase("{name} takes a channel and a number of seconds up to {most:g}.", name=name, most=LONGEST_S),
                phrase("Write it as in {name}(RPM, 0.5).", name=name),
            )
    elif not fewest <= len(parts) <= most:
        raise InputError(
            phrase("{name} does not take {n} arguments.", name=name, n=len(parts)),
            EXPLAINED,
        )


def _seconds(node: ast.expr) -> float | None:
    match node:
        case ast.Constant(value=int() | float() as value) if not isinstance(value, bool):
            return float(value)
        case ast.UnaryOp(op=ast.USub(), operand=ast.Constant(value=int() | float() as value)):
            return -float(value)
    return None


def _folded(node: ast.expr, algebra: Algebra[T]) -> T:  # noqa: C901, PLR0911 - one case for each form
    match node:
        case ast.Constant(value=str() as name):
            return algebra.channel(name)
        case ast.Name(id=name):
            return algebra.channel(name)
        case ast.Constant(value=int() | float() as value):
            return algebra.number(float(value))
        case ast.UnaryOp(op=ast.UAdd(), operand=inner):
            return _folded(inner, algebra)
        case ast.UnaryOp(op=sign, operand=inner):
            return algebra.apply(_PYTHON[type(sign)], [_folded(inner, algebra)], 0.0)
        case ast.BinOp(left=one, op=sign, right=other):
            return algebra.apply(_PYTHON[type(sign)], [_folded(one, algebra), _folded(other, algebra)], 0.0)
        case ast.BoolOp(op=sign, values=parts):
            return algebra.apply(_PYTHON[type(sign)], [_folded(part, algebra) for part in parts], 0.0)
        case ast.Compare(left=one, ops=signs, comparators=others):
            held = [_folded(part, algebra) for part in (one, *others)]
            each = [algebra.apply(_PYTHON[type(sign)], held[i : i + 2], 0.0) for i, sign in enumerate(signs)]
            return each[0] if len(each) == 1 else algebra.apply("and", each, 0.0)
        case ast.Call(func=ast.Name(id=name), args=parts) if name in WITH_SECONDS:
            return algebra.apply(name, [_folded(parts[0], algebra)], _seconds(parts[1]) or 0.0)
        case ast.Call(func=ast.Name(id=name), args=parts):
            return algebra.apply(name, [_folded(part, algebra) for part in parts], 0.0)
    raise AssertionError(ast.dump(node))  # _check lets nothing else through


class Numbers:
    """The algebra of channels on the rows of a log; what is not known makes what rests on it not known."""

    def __init__(self, channels: Mapping[str, FloatArray], time: FloatArray) -> None:
        """Take the channels, shape (rows,), NaN where not known, and the time, s, same shape, not falling."""
        self._channels, self._time = channels, time

    def number(self, value: float) -> FloatArray:
        """Give it at every row."""
        return np.full(self._time.size, value)

    def channel(self, name: str) -> FloatArray:
        """Give its values."""
        return self._channels[name]

    def apply(self, name: str, parts: Sequence[FloatArray], seconds: float) -> FloatArray:
        """Give a new array, shape (rows,)."""
        with np.errstate(all="ignore"):
            if name == "mean":
                return _mean(parts[0], self._time, seconds)
            if name == "delay":
                return np.interp(self._time - seconds, self._time, parts[0], left=np.nan, right=np.nan)
            if name == "derivative":
                return _derivative(parts[0], self._time)
            made = _NUMBERS[name](*parts)
            return np.where(np.isfinite(made), made, np.nan)


def _mean(values: FloatArray, time: FloatArray, seconds: float) -> FloatArray:
    """Return the mean of the readings within half the seconds before and after each row; NaN stays NaN."""
    there = np.isfinite(values)
    total = np.concatenate([[0.0], np.cumsum(np.where(there, values, 0.0))])
    count = np.concatenate([[0], np.cumsum(there)])
    half = seconds / 2 + EVEN_S
    first = np.searchsorted(time, time - half, side="left")
    last = np.searchsorted(time, time + half, side="right")
    mean: FloatArray = (total[last] - total[first]) / (count[last] - count[first])
    return np.where(there, mean, np.nan)


def _derivative(values: FloatArray, time: FloatArray) -> FloatArray:
    """Return the change by second between the rows before and after each row."""
    rows = np.arange(time.size)
    before, after = np.maximum(rows - 1, 0), np.minimum(rows + 1, time.size - 1)
    span = time[after] - time[before]
    return (values[after] - values[before]) / np.where(span > 0, span, np.nan)


def _compared(compare: Callable[[Any, Any], Any]) -> Callable[[FloatArray, FloatArray], FloatArray]:
    """Give 1 where it holds, 0 where not, and NaN where that is not known."""
    return lambda one, other: np.where(np.isnan(one) | np.isnan(other), np.nan, compare(one, other))


def _chosen(condition: FloatArray, one: FloatArray, other: FloatArray) -> FloatArray:
    return np.where(np.isnan(condition), np.nan, np.where(condition != 0, one, other))


_NUMBERS: Mapping[str, Callable[..., FloatArray]] = {
    "+": np.add,
    "-": np.subtract,
    "*": np.multiply,
    "/": np.divide,
    "negative": np.negative,
    "abs": np.abs,
    "sqrt": np.sqrt,
    "kelvin": lambda celsius: celsius + 273.15,  # BIPM, The International System of Units, 9th edition, 2.3.1
    "min": lambda *parts: np.minimum.reduce(parts),
    "max": lambda *parts: np.maximum.reduce(parts),
    "and": lambda *parts: np.minimum.reduce([_truth(part) for part in parts]),
    "or": lambda *parts: np.maximum.reduce([_truth(part) for part in parts]),
    "not": lambda part: 1.0 - _truth(part),
    "where": _chosen,
    "<": _compared(np.less),
    "<=": _compared(np.less_equal),
    ">": _compared(np.greater),
    ">=": _compared(np.greater_equal),
    "==": _compared(np.equal),
    "!=": _compared(np.not_equal),
}


def _truth(values: FloatArray) -> FloatArray:
    return np.where(np.isnan(values), np.nan, (values != 0).astype(np.float64))
