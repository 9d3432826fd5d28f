"""A folder for the time being is gone whenever the work in it ends, even while it is being made."""

import tempfile
from pathlib import Path

import pytest

from workbench.files.disk.scratch import scratch_folder


def test_it_is_there_and_gone_afterwards_with_all_that_is_in_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    with scratch_folder() as folder:
        assert folder.parent == tmp_path
        (folder / "within").mkdir()
        (folder / "within" / "file").write_text("x")
    assert not list(tmp_path.iterdir())


def test_asked_to_end_while_it_is_made_it_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As a signal's handler does: its exception comes up right after the folder was made."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    make = Path.mkdir

    def interrupted(folder: Path, mode: int = 0o777) -> None:
        make(folder, mode)
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "mkdir", interrupted)
    with pytest.raises(KeyboardInterrupt), scratch_folder():
        pass
    monkeypatch.undo()
    assert not list(tmp_path.iterdir())
