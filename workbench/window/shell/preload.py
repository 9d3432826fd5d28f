"""The large libraries, fetched on the worker's thread while nobody waits for them.

Whichever log comes first would have to fetch them while it is shown, and the window would stand still for it.
"""

from collections.abc import Generator
from contextlib import suppress
from importlib import import_module

from workbench.work import Progress

# In the order of what each is made of, so that no single step is long.
LIBRARIES = (
    "pandas",
    "scipy.linalg",
    "scipy.sparse",
    "scipy.special",
    "scipy.optimize",
    "scipy.interpolate",
    "scipy.ndimage",
    "scipy.stats",
    "scipy.signal",
    "threadpoolctl",
)


def fetch() -> Generator[Progress, None, None]:
    """Fetch them one by one; who needs one that is missing says so."""
    for done, name in enumerate(LIBRARIES):
        yield Progress(done, len(LIBRARIES))
        with suppress(ImportError):
            import_module(name)
