"""What a panel was last drawn from: it is drawn anew as soon as any part of that is another."""

import weakref
from collections.abc import Callable
from typing import ClassVar, Generic, TypeVar

T = TypeVar("T")
SIMPLE = (str, int, float, bytes, type(None))


class LastDrawn:
    """Remembers what something shows, so that it is drawn anew only where that has changed.

    Parts are compared as what they are: words and numbers, and tuples of them, by their value; all else by identity,
    since what is shown is frozen and a change makes another object.
    """

    _all: ClassVar["weakref.WeakSet[LastDrawn]"] = weakref.WeakSet()

    def __init__(self) -> None:
        """Begin with nothing drawn."""
        self._parts: tuple[object, ...] | None = None
        LastDrawn._all.add(self)

    def is_other(self, *parts: object) -> bool:
        """Return whether this is not what was drawn last, and take it as drawn from now on."""
        before, self._parts = self._parts, parts
        if before is None or len(before) != len(parts):
            return True
        return not all(_same(a, b) for a, b in zip(before, parts, strict=True))

    def forget(self) -> None:
        """Redraw it the next time, whatever it shows."""
        self._parts = None

    @classmethod
    def forget_all(cls) -> None:
        """Redraw everything the next time it is shown."""
        for each in tuple(cls._all):
            each.forget()


class LastMade(LastDrawn, Generic[T]):
    """Remembers the last few things that were made, so that whoever shows the same need not make them again."""

    def __init__(self, most: int) -> None:
        """Begin with nothing made; keep at most so many."""
        super().__init__()
        self._most = most
        self._made: list[tuple[tuple[object, ...], T]] = []

    def get(self, *parts: object, make: Callable[[], T]) -> T:
        """Give what was made of the same parts, or make it."""
        for before, made in self._made:
            if _same(before, parts):
                return made
        made = make()
        self._made.insert(0, (parts, made))
        del self._made[self._most :]
        return made

    def forget(self) -> None:
        """Make all anew."""
        super().forget()
        self._made.clear()


def _same(a: object, b: object) -> bool:
    if a is b:
        return True
    if isinstance(a, tuple) and isinstance(b, tuple):
        return len(a) == len(b) and all(_same(first, other) for first, other in zip(a, b, strict=True))
    return isinstance(a, SIMPLE) and isinstance(b, SIMPLE) and a == b
