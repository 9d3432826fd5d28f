"""Arrays that are not looked at for a while, put where they take no memory, if whoever drives the job gave a place."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, Protocol, TypeVar

from numpy.typing import NDArray

Array = TypeVar("Array", bound=NDArray[Any])


class Aside(Protocol):
    """Where a job puts what it will look at again later."""

    def put(self, array: Array, /) -> Array:
        """Give the same, bit for bit, to be read only; it takes no memory while nobody looks at it."""
        ...


_PLACE: ContextVar[Aside | None] = ContextVar("aside", default=None)


def put_aside(array: Array) -> Array:
    """Put an array aside where there is a place for it; it may only be read from then on."""
    place = _PLACE.get()
    return array if place is None else place.put(array)


@contextmanager
def putting_aside(place: Aside) -> Iterator[None]:
    """Give the work within a place to put arrays aside."""
    before = _PLACE.get()
    _PLACE.set(place)
    try:
        yield
    finally:
        _PLACE.set(before)
