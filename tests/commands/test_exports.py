"""Handing a table over, and holding a file against the session."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from workbench.cli import main
from workbench.commands.logs.logs import add_log
from workbench.commands.record.approving import approve, standing_against
from workbench.commands.record.branches import put_in_car
from workbench.commands.record.exports import check, export
from workbench.commands.record.history import history
from workbench.commands.record.revisions import roll_back
from workbench.commands.report.reports import report
from workbench.commands.table.ecu_format import parts, storage
from workbench.commands.table.hand import scale
from workbench.errors import FileError, InputError
from workbench.files.disk.atomic_write import write_whole
from workbench.model.cells import read_cells
from workbench.model.state import Approved
from workbench.model.table import Table
from workbench.session import Session
from workbench.work import run


@pytest.fixture
def approved(session: Session) -> Session:
    """A session whose second revision is approved, and whose third is not."""
    session.record(scale(session.state, by=1.02).change)
    session.record(
        run(
            approve(
                session.state, by=" A. Tester ", note="good", accept=("undriven-changed=seen", "not-driven-since=seen")
            )
        ).change
    )
    session.record(scale(session.state, by=1.01).change)
    return session


def again(session: Session, *more: str) -> None:
    """Approve the second revision once more."""
    accept = tuple(f"{name}=seen" for name in ("undriven-changed", "not-driven-since", *more))
    session.record(run(approve(session.state, 2, by="A. Tester", accept=accept)).change)


def test_only_approved_revisions_leave(approved: Session, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"Revision 3 .* not approved") as caught:
        export(approved.state, tmp_path / "out.csv")
    assert "--revision 2" in caught.value.hint
    told = export(approved.state, tmp_path / "out.csv", revision=2).data
    assert (told["path"], told["revision"], told["approved"]) == (str(tmp_path / "out.csv"), 2, True)
    paper = json.loads((tmp_path / "out.csv.provenance.json").read_text())
    assert paper["approved_by"] == "A. Tester"
    assert paper["accepted_objections"] == ["undriven-changed", "not-driven-since"]
    assert (paper["sha256"], paper["digest"]) == (told["sha256"], approved.state.history.revision(2).digest)
    with pytest.raises(InputError, match="approved already"):
        run(approve(approved.state, 2, by="B. Tester"))


def test_an_objection_is_accepted_with_a_reason_that_is_kept(session: Session) -> None:
    """On the command line a name alone was enough, where the window asked why."""
    session.record(scale(session.state, by=1.02).change)
    names = "undriven-changed", "not-driven-since"
    for accept in (names, (f"{names[0]}=rounding", names[1]), (f"{names[0]}=rounding", f"{names[1]}= ")):
        with pytest.raises(InputError, match="Objections to revision 2") as refused:
            run(approve(session.state, by="A", accept=accept))
        assert "not-driven-since=REASON" in refused.value.hint
    told = run(approve(session.state, by="A", note="ours", accept=tuple(f"{name}=a=b; c" for name in names)))
    assert told.data["accepted"] == list(names)
    assert isinstance(told.change, Approved)
    assert told.change.approval.note == "ours; undriven-changed: a=b; c; not-driven-since: a=b; c"


def test_a_draft_says_so_in_its_name(approved: Session, tmp_path: Path) -> None:
    told = export(approved.state, tmp_path / "out.csv", draft=True).data
    assert (told["path"], told["approved"]) == (str(tmp_path / "out.draft.csv"), False)
    assert check(approved.state, against=tmp_path / "out.draft.csv").data["ok"]
    (tmp_path / "out.draft.csv").rename(tmp_path / "final.csv")
    wrong = check(approved.state, against=tmp_path / "final.csv")
    assert wrong.data["problems"] == ["final.csv is revision 3, which nobody approved."]
    assert wrong.refusal


def test_a_draft_stays_a_draft_though_its_revision_is_approved(approved: Session, tmp_path: Path) -> None:
    lines = export(approved.state, tmp_path / "out.csv", revision=2, draft=True).lines
    assert "a draft for a test drive, although approved by A. Tester" in lines[0]


def test_a_file_is_held_against_the_session(approved: Session, tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    export(approved.state, path, revision=2)
    told = check(approved.state, against=path).data
    assert (told["ok"], told["is_revision"]) == (True, 2)
    text = path.read_text()
    path.write_text(text.replace("112.2", "112.3"))
    told = check(approved.state, against=path).data
    assert (told["ok"], told["is_revision"]) == (False, None)
    assert "1 other value: 6000 Hz: 112.3 for" in str(told["problems"])
    path.write_text(text.replace("6000", "6100"))
    assert "number 4 of 'sensor signal' is 6100 instead of 6000" in str(check(approved.state, against=path).data)
    path.write_text("\n".join(text.splitlines()[:-1]))
    assert "4 cells instead of 5" in str(check(approved.state, against=path).data)


def test_the_stored_values_leave_and_each_part_as_well(approved: Session, tmp_path: Path) -> None:
    approved.record(storage(approved.state, step=0.1, bits=12).change)
    approved.record(parts(approved.state, at=(3000.0,), name=("low flow", "high")).change)
    again(approved)
    told = export(approved.state, tmp_path / "out.csv", revision=2).data
    assert told["values"] == [2.0, 6.1, 15.8, 49.0, 112.2]
    assert told["parts"] == [str(tmp_path / "out.low_flow.csv"), str(tmp_path / "out.high.csv")]
    low, high = ((tmp_path / name).read_text().split()[1:] for name in ("out.low_flow.csv", "out.high.csv"))
    assert (low[-1], "3000,15.8" in high) == ("3000,15.8", True)
    for name in ("out.csv", "out.low_flow.csv", "out.high.csv"):
        assert check(approved.state, against=tmp_path / name).data["is_revision"] == 2
    approved.record(storage(approved.state, step=0.25).change)
    assert check(approved.state, against=tmp_path / "out.csv").data["ok"]
    approved.record(storage(approved.state, bits=8).change)
    again(approved, "storage-range")
    for draft in (False, True):
        with pytest.raises(InputError, match="cannot be stored"):
            export(approved.state, tmp_path / "other.csv", revision=2, draft=draft)
    assert not list(tmp_path.glob("other*"))
    standing = run(standing_against(approved.state, approved.state.history.revision(2))).objections
    assert any("Approved or not, the table cannot be exported" in each.sentence for each in standing)


@pytest.mark.parametrize("ending", ["", "-wal", "-shm"])
def test_a_session_is_never_replaced(approved: Session, tmp_path: Path, curve: Table, ending: str) -> None:
    with Session.create(tmp_path / "other.session", curve):
        pass
    for name in ("car.session", "other.session"):
        path = tmp_path / (name + ending)
        path.touch()
        before = path.read_bytes()
        with pytest.raises(FileError, match="never replaced") as caught:
            export(approved.state, path, revision=2, replace=True)
        assert "--replace" not in str(caught.value)
        with pytest.raises(FileError, match="never replaced"):
            run(report(approved.state, path, replace=True))
        with pytest.raises(FileError, match="never replaced"):
            write_whole(path, b"anything")
        same = len(before) == path.stat().st_size if ending == "-shm" else before == path.read_bytes()
        assert same  # what processes agree on while they look at a session is no content


def test_a_paper_takes_no_sessions_place(approved: Session, tmp_path: Path, curve: Table) -> None:
    with Session.create(tmp_path / "out.csv.provenance.json", curve):
        pass
    with pytest.raises(FileError, match=r"provenance\.json is a session"):
        export(approved.state, tmp_path / "out.csv", revision=2, replace=True)
    assert not (tmp_path / "out.csv").exists()


def test_a_log_of_the_session_is_never_replaced(approved: Session, tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    log.write_text("time (s),MAF (Hz),STFT B1 (%)\n" + "".join(f"{i / 20},{1500 + i},1.5\n" for i in range(50)))
    approved.record(run(add_log(approved.state, (log,))).change)
    before = log.read_bytes()
    with pytest.raises(FileError, match="is a log of this session"):
        export(approved.state, log, revision=2, replace=True)
    with pytest.raises(FileError, match="is a log of this session"):
        run(report(approved.state, log, replace=True))
    assert log.read_bytes() == before


def test_what_was_handed_over_is_kept(approved: Session, tmp_path: Path) -> None:
    told = export(approved.state, tmp_path / "out.csv", revision=2)
    approved.record(told.change)
    approved.record(export(approved.state, tmp_path / "try.csv", draft=True).change)
    with Session.open(Path(approved.state.path)) as again:
        first, second = again.state.history.exports
        assert (first.revision, first.approved, dict(first.files)) == (2, True, {"out.csv": told.data["sha256"]})
        assert (second.revision, second.approved, list(second.files)) == (3, False, ["try.draft.csv"])
        listed = history(again.state)
        assert [len(each["exports"]) for each in listed.data["revisions"]] == [0, 1, 1]
        assert f"exported as a draft on {second.time} as try.draft.csv" in listed.lines[-1]
        assert check(again.state).data["ok"]


def test_a_file_is_known_by_its_bytes_whatever_it_is_called_now(approved: Session, tmp_path: Path) -> None:
    approved.record(storage(approved.state, step=0.5).change)
    again(approved)
    approved.record(export(approved.state, tmp_path / "out.csv", revision=2).change)
    approved.record(storage(approved.state, none=True).change)
    moved = tmp_path / "elsewhere.csv"
    (tmp_path / "out.csv").rename(moved)  # without its paper
    told = check(approved.state, against=moved)
    assert (told.data["ok"], told.data["is_revision"]) == (True, 2)
    assert told.data["exported"] == approved.state.history.exports[0].time
    assert f"{moved} holds revision 2." in told.lines
    assert any(line.startswith("It is byte for byte the file exported on") for line in told.lines)


def test_a_session_that_cannot_be_written_is_exported_all_the_same(
    approved: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("workbench.files.store.store.why_read_only", lambda _: "it is kept for reading")
    words = ["export", approved.state.path, str(tmp_path / "out.csv"), "--revision", "2"]
    assert main([*words, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert "kept for reading" in told["not_recorded"]
    assert check(approved.state, against=tmp_path / "out.csv").data["is_revision"] == 2
    assert main(words) == 0
    assert "The file was written, but this could not be recorded in the session: " in capsys.readouterr().out
    assert main(["scale", approved.state.path, "--by", "1.1"]) == 1
    assert approved.reload() is False


def test_what_the_ecu_stores_is_what_was_approved(approved: Session, tmp_path: Path) -> None:
    """Rounding that was set after the approval makes other values of it, up to 2 % leaner here."""
    approved.record(storage(approved.state, step=4.0, rounding="toward-zero").change)
    with pytest.raises(InputError, match="the ECU would store other values than were approved") as caught:
        export(approved.state, tmp_path / "out.csv", revision=2)
    assert "approve SESSION 2" in caught.value.hint
    lean = ("lean-step-at-high-load",)
    draft = export(approved.state, tmp_path / "out.csv", revision=2, draft=True, accept=lean)
    assert draft.data["approved"] is False
    assert json.loads((tmp_path / "out.draft.csv.provenance.json").read_text())["approved_by"] is None
    (tmp_path / "out.draft.csv").rename(tmp_path / "final.csv")
    assert "rounded differently from the approved one" in check(approved.state, against=tmp_path / "final.csv").refusal
    with pytest.raises(InputError, match="step-over-limit"):  # 2 g/s become 0
        again(approved)
    again(approved, "step-over-limit", "lean-step-at-high-load")
    assert export(approved.state, tmp_path / "out.csv", revision=2).data["approved"] is True


def test_changes_cut_off_the_end_are_missed_by_an_export(approved: Session, tmp_path: Path) -> None:
    """A chain cannot show that its last links are gone; what was exported knows how long it was."""
    told = check(approved.state)
    assert "Only an exported file with its provenance file" in told.lines[-1]
    export(approved.state, tmp_path / "out.csv", draft=True)
    told = check(approved.state)
    assert told.lines[-1] == "The exported file beside it, out.draft.csv, knows of nothing that is missing."
    assert len(check(approved.state, against=tmp_path / "out.draft.csv").lines) == len(told.lines)
    state = approved.state
    heads = dict.fromkeys(state.history.heads, 2)
    shorter = replace(state.history, revisions=state.history.revisions[:2], heads=heads)
    cut = replace(state, history=shorter, sequence=state.sequence - 1)
    found = check(cut, against=tmp_path / "out.draft.csv").data["problems"]
    assert any("it held 4: the latest changes are missing" in each for each in found)
    assert any("a revision 3 that this session does not hold" in each for each in found)


def test_a_draft_that_leans_does_not_leave_silently(session: Session, tmp_path: Path) -> None:
    made = scale(session.state, by=0.5, cells=read_cells("3:4"))
    session.record(made.change)
    with pytest.raises(InputError, match="2 cells lean the mixture at high load") as caught:
        export(session.state, tmp_path / "out.csv", draft=True)
    assert "--accept lean-step-at-high-load" in caught.value.hint
    with pytest.raises(InputError, match="2 cells lean the mixture at high load") as caught:
        put_in_car(session.state)  # nor into an engine past that refusal
    assert caught.value.details["accept"] == ["lean-step-at-high-load"]
    told = export(session.state, tmp_path / "out.csv", draft=True, accept=("lean-step-at-high-load",))
    flashed = put_in_car(session.state, accept=("lean-step-at-high-load",))
    for answer in (made, told, flashed):
        lean = answer.data["lean_step"]
        assert isinstance(lean, dict)
        assert (lean["name"], lean["cells"]) == ("lean-step-at-high-load", [[3], [4]])
        assert any("2 cells lean the mixture at high load since revision 1" in line for line in answer.lines)
    session.record(told.change)
    assert put_in_car(session.state).warnings == ()  # accepted by name as it was exported
    back = roll_back(session.state, 1)
    assert back.data["lean_step"] is None
    session.record(back.change)
    assert export(session.state, tmp_path / "back.csv", draft=True).data["lean_step"] is None
    assert isinstance(roll_back(session.state, 2).data["lean_step"], dict)


@pytest.mark.parametrize("sign", ["\n", "\t", "\x1b", "\x85", "\u2028"])
def test_names_and_notes_stay_on_one_line(approved: Session, sign: str) -> None:
    with pytest.raises(InputError, match="by holds a line break or another control character"):
        run(approve(approved.state, 3, by=f"A. Tester{sign}approved by B. Tester"))
    with pytest.raises(InputError, match="note holds"):
        scale(approved.state, by=1.01, note=f"fine{sign}3 from 2")
