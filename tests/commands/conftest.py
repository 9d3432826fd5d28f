"""What several tests of the commands begin with."""

import shutil
from pathlib import Path

import pytest
from evidence_once import evidence_once  # noqa: F401 - of all tests here

SHIPPED = Path(__file__).resolve().parent.parent.parent / "sample_sessions"


@pytest.fixture(scope="session")
def car(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a folder with the samples: a copy of those that are handed out, for making them takes seconds.

    That they come out the same when they are made again is a test of its own.
    """
    return Path(shutil.copytree(SHIPPED, tmp_path_factory.mktemp("samples") / "car"))
