"""Faults in what Qt calls of ours: they reach the crash report instead of ending the program."""

import functools
import sys
from collections.abc import Callable
from types import FunctionType
from typing import Any

HOUSE = "workbench.window."


def guard_all() -> None:
    """Guard every class of the window that stands so far; those that are guarded already stay as they are.

    Before Python 3.12 an exception that the interpreter raises itself (a key that is missing, an index out of range, an
    object that Qt has deleted) is kept without its arguments. PySide6 (6.8 to 6.11 were tried) falls over that when it
    carries such an exception through a call of Qt's; one that was caught once is whole.
    """
    if sys.version_info >= (3, 12):
        return
    for name, module in list(sys.modules.items()):
        if name.startswith(HOUSE):
            for kind in list(vars(module).values()):
                if isinstance(kind, type) and kind.__module__ == name:
                    guard(kind)


def guard(kind: type) -> None:
    """Guard the methods of a class that override one of Qt's."""
    theirs = [base for base in kind.__mro__ if base.__module__.startswith("PySide6.")]
    for name, function in list(vars(kind).items()):
        ours = isinstance(function, FunctionType) and not name.startswith("__") and not hasattr(function, "guarded")
        if ours and any(name in vars(base) for base in theirs):
            setattr(kind, name, _guarded(function))


def _guarded(function: Callable[..., Any]) -> Callable[..., Any]:
    @functools.wraps(function)
    def caught_once(*arguments: Any, **named: Any) -> Any:
        try:
            return function(*arguments, **named)
        except Exception:  # noqa: TRY203 - catching it is the point: it is whole from here on
            raise

    caught_once.guarded = True  # type: ignore[attr-defined] # a mark for the next round
    return caught_once
