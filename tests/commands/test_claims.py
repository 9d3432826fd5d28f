"""A file held against the revision it says it is, also where the record of its export is gone."""

from pathlib import Path

import pytest

from workbench.commands.record.exports import check, export
from workbench.commands.table.ecu_format import storage
from workbench.commands.table.hand import scale
from workbench.files.export.exporting import paper_path
from workbench.model.cells import read_cells
from workbench.session import Session


@pytest.fixture
def drafted(session: Session, tmp_path: Path) -> tuple[Session, Path]:
    """A session of three revisions whose second was exported as a draft; the record of that is not in the session."""
    session.record(scale(session.state, by=1.02).change)
    export(session.state, tmp_path / "out.draft.csv", draft=True)
    session.record(scale(session.state, by=1.5, cells=read_cells("2:4")).change)
    return session, tmp_path / "out.draft.csv"


def altered(path: Path, old: str, new: str) -> None:
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def test_all_cells_that_differ_are_named_against_the_revision_that_is_claimed(drafted: tuple[Session, Path]) -> None:
    session, path = drafted
    altered(path, "112.2", "112.3")
    altered(path, "2000,6.12", "2000,6.2")
    found = check(session.state, against=path).data
    assert found["is_revision"] is None
    assert found["compared_with"] == 2
    cells = found["differing_cells"]
    second = session.state.history.revision(2).table.values
    assert cells == [
        {"cell": [1], "file": 6.2, "revision": second[1]},
        {"cell": [4], "file": 112.3, "revision": second[4]},
    ]
    assert "compared with revision 2, which its provenance file names, it has 2 other values" in str(found["problems"])


def test_without_any_paper_the_nearest_revision_is_found(drafted: tuple[Session, Path]) -> None:
    session, path = drafted
    paper_path(path).unlink()
    altered(path, "112.2", "112.3")
    found = check(session.state, against=path).data
    assert found["compared_with"] == 2  # not the head, of which three cells differ
    assert "the nearest, revision 2, it has 1 other value: 6000 Hz: 112.3 for 112.2" in str(found["problems"])


def test_the_name_it_was_exported_under_tells_as_well(session: Session, tmp_path: Path) -> None:
    path = tmp_path / "out.draft.csv"
    session.record(scale(session.state, by=1.02).change)
    session.record(export(session.state, path, draft=True).change)
    session.record(scale(session.state, by=2.0, cells=read_cells("0")).change)
    paper_path(path).unlink()
    altered(path, "1000,2.04", "1000,4.09")  # nearer to revision 3 by now
    found = check(session.state, against=path).data
    assert found["compared_with"] == 2
    assert "revision 2, which was exported under that name" in str(found["problems"])


def test_the_values_of_another_revision_than_is_claimed(drafted: tuple[Session, Path], tmp_path: Path) -> None:
    session, path = drafted
    export(session.state, tmp_path / "first.draft.csv", draft=True, revision=1)
    path.write_bytes((tmp_path / "first.draft.csv").read_bytes())
    found = check(session.state, against=path)
    assert found.data["is_revision"] == 1
    assert "holds the values of revision 1, not of revision 2, which its provenance file names" in found.refusal


def test_what_the_ecu_stores_is_compared_with_what_it_stores(session: Session, tmp_path: Path) -> None:
    """Rounding is no difference: of a rounded file only the altered cell is named."""
    session.record(scale(session.state, by=1.0123).change)
    session.record(storage(session.state, step=0.25, bits=16).change)
    path = tmp_path / "out.draft.csv"
    export(session.state, path, draft=True)
    rows = path.read_text().splitlines()
    path.write_text("\n".join([*rows[:-1], rows[-1] + "9"]))
    found = check(session.state, against=path).data
    cells = found["differing_cells"]
    assert isinstance(cells, list)
    assert [each["cell"] for each in cells if isinstance(each, dict)] == [[4]]
