"""Long work: a job is a generator that yields its progress and returns its result."""

from collections.abc import Callable, Generator
from contextvars import ContextVar
from dataclasses import dataclass
from typing import TypeVar

T = TypeVar("T")


@dataclass(frozen=True)
class Progress:
    """How far a job has come: `done` of `total` steps, and what it is at."""

    done: int
    total: int
    text: str = ""


class Cancelled(Exception):  # noqa: N818 - not an error: the user asked for it
    """The job was stopped on request; nothing it began has been kept."""


def _never() -> bool:
    return False


_CANCELLED: ContextVar[Callable[[], bool]] = ContextVar("cancelled", default=_never)


def may_stop() -> None:
    """Let a job be stopped here, deep inside a step that takes long; costs next to nothing.

    Raises:
        Cancelled: when whoever drives the job asks it to stop.
    """
    if _CANCELLED.get()():
        raise Cancelled


def part_of(
    job: Generator[float, None, T], begin: float, end: float, total: float, text: str
) -> Generator[Progress, None, T]:
    """Run a job that yields which share of itself is done as a part of another one.

    Args:
        job: yields from 0 to 1.
        begin: step of the whole job at which this part begins.
        end: step at which it ends.
        total: steps of the whole job.
        text: what it is at.
    """
    try:
        while True:
            yield Progress(round(begin + next(job) * (end - begin)), round(total), text)
    except StopIteration as last:
        result: T = last.value
        return result
    finally:
        job.close()


def run(
    job: Generator[Progress, None, T],
    report: Callable[[Progress], None] = lambda _: None,
    cancelled: Callable[[], bool] = lambda: False,
) -> T:
    """Drive a job to its end and return its result.

    Args:
        job: the generator to drive.
        report: is told of every step.
        cancelled: is asked after every step whether to stop.

    Raises:
        Cancelled: when asked to stop; the generator is closed, so its `finally` parts have run.
    """
    before = _CANCELLED.set(cancelled)
    try:
        while True:
            report(next(job))
            if cancelled():
                raise Cancelled
    except StopIteration as end:
        result: T = end.value
        return result
    finally:
        _CANCELLED.reset(before)
        job.close()
