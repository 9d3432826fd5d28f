"""A session that is altered by a database program while it is open here: nothing leaves it as approved."""

import sys
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import pytest

from workbench.commands.record.approving import approve
from workbench.commands.record.copies import save_copy
from workbench.commands.record.exports import check, export
from workbench.commands.record.signatures import make_key, sign
from workbench.commands.report.reports import report
from workbench.commands.table.hand import scale
from workbench.errors import FileError, LostFileError
from workbench.model.history import Approval
from workbench.model.state import Approved, State
from workbench.session import Session
from workbench.work import run

sys.path.insert(0, str(Path(__file__).parents[1] / "files"))
from altering import alter, alter_consistently

LEANER = "UPDATE revision SET note = 'as read' WHERE id = 1"
LEAVING: dict[str, Callable[[State, Path], Any]] = {
    "approve": lambda state, _: run(approve(state, 3, by="B. Tester")),
    "export": lambda state, folder: export(state, folder / "out.csv", revision=2),
    "report": lambda state, folder: run(report(state, folder / "out.html")),
    "sign": lambda state, folder: sign(state, revision=2, key=folder / "a.key", by="A. Tester"),
}


@pytest.fixture
def recorded(session: Session, tmp_path: Path) -> Session:
    """An open session whose second revision of three is approved."""
    session.record(scale(session.state, by=1.1, note="leaner").change)
    session.record(Approved(2, Approval("A. Tester", "looked", "2026-01-01T00:00:00Z", ("not-driven-since",))))
    session.record(scale(session.state, by=1.01).change)
    make_key(tmp_path / "a.key")
    return session


@pytest.mark.parametrize("word", LEAVING)
@pytest.mark.parametrize("forged", [False, True])
def test_an_earlier_revision_altered_meanwhile_lets_nothing_leave(
    recorded: Session, tmp_path: Path, word: str, forged: bool
) -> None:
    """Of the first revision only a note is changed; whoever works all digests out anew made another history of it."""
    before = sorted(tmp_path.iterdir())
    (alter_consistently if forged else alter)(Path(recorded.state.path), [LEANER])
    with pytest.raises(LostFileError, match="another history" if forged else r"altered .* Revision 1 ") as caught:
        LEAVING[word](recorded.state, tmp_path)
    assert "save-copy" in caught.value.hint
    assert sorted(tmp_path.iterdir()) == before
    with pytest.raises(FileError) if forged else nullcontext():
        assert "Revision 1" in check(recorded.state).refusal


def test_what_was_recorded_can_still_be_saved_whole(recorded: Session, tmp_path: Path) -> None:
    """What is in memory is what was acknowledged, and a copy of it passes."""
    alter(Path(recorded.state.path), [LEANER])
    with pytest.raises(FileError, match="altered"):
        Session.open(Path(recorded.state.path))
    save_copy(recorded.state, tmp_path / "saved.session")
    with Session.open(tmp_path / "saved.session") as saved:
        assert check(saved.state).data["ok"]
        digests = [each.digest for each in saved.state.history.revisions]
    assert digests == [each.digest for each in recorded.state.history.revisions]


def test_nothing_is_recorded_upon_what_was_altered(recorded: Session, tmp_path: Path) -> None:
    """It would be acknowledged, and then lie in a file that is refused."""
    path, before = Path(recorded.state.path), recorded.state.sequence
    alter(path, [LEANER])
    for _ in range(2):
        with pytest.raises(LostFileError, match=r"altered .* Revision 1 ") as caught:
            recorded.record(scale(recorded.state, by=1.02).change)
        assert "save-copy" in caught.value.hint
    assert recorded.state.sequence == before
    save_copy(recorded.state, tmp_path / "saved.session")
    with Session.open(tmp_path / "saved.session") as saved:
        assert saved.state.sequence == before


def test_what_others_record_rightly_is_no_alteration(recorded: Session) -> None:
    for number in range(3):
        with Session.open(Path(recorded.state.path)) as other:
            other.record(scale(other.state, by=1.01, note=f"other {number}").change)
        assert recorded.reload()
        recorded.record(scale(recorded.state, by=1.02, note=f"mine {number}").change)
    assert check(recorded.state).data["ok"]
