"""Long work: a job is a generator that yields its progress and returns its result."""

from collections.abc import Callable, Generator
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
    try:
        while True:
            report(next(job))
            if cancelled():
                raise Cancelled
    except StopIteration as end:
        result: T = end.value
        return result
    finally:
        job.close()
