"""What several tests of the commands begin with."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from workbench.files.cache.folder import SWITCH

SHIPPED = Path(__file__).resolve().parent.parent.parent / "sample_sessions"


@pytest.fixture(autouse=True, scope="session")
def evidence_kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Work the evidence of the same drives out once in a run: what is in it is for the tests of the maths."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(SWITCH, str(tmp_path_factory.mktemp("kept")))
        yield


@pytest.fixture(scope="session")
def car(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a folder with the samples: a copy of those that are handed out, for making them takes seconds.

    That they come out the same when they are made again is a test of its own.
    """
    return Path(shutil.copytree(SHIPPED, tmp_path_factory.mktemp("samples") / "car"))
