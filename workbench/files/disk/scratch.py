"""A folder for the time being, which is gone again whenever and however the work in it ends."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """Make a folder of our own among the temporary ones, and take it away with all that is in it.

    Its name is known before it is made: a process that is asked to end at that very moment leaves none behind.

    Raises:
        OSError: where none can be made.
    """
    import shutil  # both take longer to import than most commands take in all that they do
    import tempfile

    folder = Path(tempfile.gettempdir(), f"workbench-{os.urandom(16).hex()}")
    try:
        folder.mkdir(mode=0o700)
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
