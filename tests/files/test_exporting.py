"""Files that are there whole or not at all."""

import json
import os
import tempfile
from pathlib import Path

import pytest
from rights import common_user

from workbench.errors import FileError
from workbench.files.disk.atomic_write import check_place, write_whole
from workbench.files.export.exporting import draft_path, export_file, export_files, paper_path, read_paper


def test_a_file_and_its_paper(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    digest = export_file(path, b"1,2\r\n", {"revision": 3})
    assert path.read_bytes() == b"1,2\r\n"
    assert json.loads(paper_path(path).read_text()) == {"revision": 3, "sha256": digest}
    assert read_paper(path) == {"revision": 3, "sha256": digest}
    export_file(path, b"1,3\r\n", {"revision": 4})
    assert sorted(os.listdir(tmp_path)) == ["out.csv", "out.csv.provenance.json"]


def test_only_an_unchanged_export_is_replaced(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    path.write_text("mine")
    with pytest.raises(FileError, match="not an unchanged export"):
        export_file(path, b"1", {})
    export_file(path, b"1", {}, replace=True)
    path.write_text("1 and what I added")
    with pytest.raises(FileError, match="not an unchanged export"):
        export_file(path, b"2", {})
    assert path.read_text() == "1 and what I added"
    for other in (tmp_path, tmp_path / "none" / "out.csv"):
        with pytest.raises(FileError):
            export_file(other, b"1", {}, replace=True)


def test_what_cannot_be_written_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "out.csv"
    export_file(path, b"1", {})
    before = {each.name: each.read_bytes() for each in tmp_path.iterdir()}

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("workbench.files.disk.atomic_write.os.fsync", full)
    with pytest.raises(FileError, match="No space left on device"):
        export_file(path, b"2", {})
    assert {each.name: each.read_bytes() for each in tmp_path.iterdir()} == before


def test_a_draft_says_so_in_its_name() -> None:
    assert draft_path(Path("a/out.csv")) == Path("a/out.draft.csv")
    assert draft_path(Path("out")) == Path("out.draft")
    assert draft_path(Path("my draft.csv")) == Path("my draft.csv")


@pytest.mark.parametrize("at", range(4))
def test_files_of_one_export_are_there_all_or_none(at: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whichever file cannot get its name, those that were there stay as they were, and no other is added."""
    first, second = tmp_path / "out.csv", tmp_path / "out.low.csv"
    export_file(first, b"1", {})
    before = {each.name: each.read_bytes() for each in tmp_path.iterdir()}
    real, seen = Path.replace, []

    def failing(self: Path, target: Path) -> Path:
        if self.suffix == ".new":
            seen.append(target)
            if len(seen) == at + 1:
                raise OSError(5, "Input/output error", str(target))
        return real(self, target)

    monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises(FileError, match="Nothing was written"):
        export_files({first: (b"2", {}), second: (b"3", {})})
    assert {each.name: each.read_bytes() for each in tmp_path.iterdir()} == before
    monkeypatch.undo()
    assert len(set(export_files({first: (b"2", {}), second: (b"3", {})}))) == 2
    assert (first.read_bytes(), second.read_bytes()) == (b"2", b"3")
    assert len(os.listdir(tmp_path)) == 4


def test_what_cannot_be_written_is_named_by_its_own_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The draft that is written first has a hidden name, which is nobody's business."""

    def refuse(path: Path, *_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(FileError, match=r"/out\.html cannot be written: Permission denied") as told:
        write_whole(tmp_path / "out.html", b"1")
    assert told.value.hint
    with pytest.raises(
        FileError, match=r"out\.csv(\.provenance\.json)? cannot be written: Permission denied"
    ) as refused:
        export_file(tmp_path / "out.csv", b"1", {})
    assert ".new" not in refused.value.message


@pytest.mark.skipif(os.name != "posix", reason="permissions of another kind")
@pytest.mark.parametrize("place", ["read-only", "closed", "missing", "directory"])
def test_a_place_where_no_file_can_be_is_refused_with_what_to_do(place: str) -> None:
    told = {"read-only": "is read-only", "closed": "is read-only", "missing": "no folder", "directory": "a directory"}
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o777)
        folder = Path(name) / "folder"
        if place != "missing":
            folder.mkdir()
            folder.chmod({"read-only": 0o555, "closed": 0o000}.get(place, 0o755))
        path = folder if place == "directory" else folder / "out.html"
        with common_user(), pytest.raises(FileError, match=told[place]) as refused:
            check_place(path)
    assert str(folder) in refused.value.message
    assert refused.value.hint


@pytest.mark.parametrize("length", [240, 255, 256])
def test_no_name_but_the_users_own_stands_in_a_refusal(tmp_path: Path, length: int) -> None:
    path = tmp_path / ("n" * (length - 4) + ".csv")
    if length < 256:  # the longest name that common file systems take; POSIX NAME_MAX of Linux
        write_whole(path, b"1")
        assert path.read_bytes() == b"1"
    else:
        with pytest.raises(FileError, match=r"n\.csv cannot be written") as caught:
            write_whole(path, b"1")
        assert ".new" not in caught.value.message
    assert {each.name for each in tmp_path.iterdir()} <= {path.name}
