"""Linear algebra on one thread, for sums of our size."""

from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def one_thread() -> Iterator[None]:
    """Keep linear algebra to one thread.

    On matrices and sums of our size several threads wait for each other longer than they work, and how they share a sum
    decides its last bits: results would differ with the number of cores.
    """
    from scipy import linalg  # noqa: F401 - its linear algebra must be loaded before its threads can be limited
    from threadpoolctl import threadpool_limits

    with threadpool_limits(limits=1, user_api="blas"):
        yield
