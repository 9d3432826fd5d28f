"""A session as plain files and back: every digest as it was, for every kind of change; what was altered is refused."""

import csv
import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import workbench.commands.handbook  # noqa: F401 - it declares all commands
from workbench.commands.declaring.making import bring_in
from workbench.commands.declaring.registry import Answer
from workbench.commands.record.plain_form import pack, unpack
from workbench.commands.record.undoing import redo, undo
from workbench.commands.table.hand import scale
from workbench.errors import FileError, WorkbenchError
from workbench.files.store.store import Store
from workbench.model.deed import Acknowledgement, InCar
from workbench.model.derived import ComputedChannel
from workbench.model.ecu_format import EcuFormat, Storage
from workbench.model.history import Approval, Export, Signed
from workbench.model.log import Alternative, AnalogueInput, Channel, Drive, Log, Question
from workbench.model.packing import Column
from workbench.model.state import (
    Acknowledged,
    ApprovalSigned,
    Approved,
    BranchNamed,
    Change,
    ChannelComputed,
    DriveAdded,
    DriveCorrected,
    EcuFormatSet,
    Exported,
    InputStated,
    PutInCar,
    Reread,
    SettingsSet,
    State,
)
from workbench.model.table import Axis, Table
from workbench.session import Session
from workbench.work import run

KEPT = sorted((Path(__file__).parent / "versions").glob("*.session"))
WORDS = st.text(
    st.characters(blacklist_categories=["Cs"]) | st.sampled_from([",", '"', "\n", "\r", "=", ";", " ", "\ufeff"]),
    max_size=12,
)
NUMBERS = st.floats(allow_nan=True, allow_infinity=False, width=64)
TIME = "2026-01-01T00:00:00Z"
CURVE = Table(
    "airflow", "mass airflow", "g/s", (Axis("signal", "Hz", np.array([0.1, 2000, 3e3])),), np.array([2.0, 1 / 3, 9.5])
)
GRID = Table(
    "grid", "value", "%", (Axis("a", "", np.array([1.0, 2])), Axis("b", "kPa", np.array([-1.5, 0, 7]))), np.ones((2, 3))
)


def with_log(state: State, words: str, numbers: list[float]) -> Drive:
    """Make a drive with whatever names and numbers there may be."""
    column = Column(np.array(numbers, dtype=np.float64))
    time = Column(np.arange(len(numbers)) / 7)
    channels = (Channel(f"{words}a", words, column, words), Channel("MAF", "g/s", Column(-column.values), "kg/h"))
    question = Question("MAF", f"Is it {words}?", (Alternative("yes", "--unit x", words), Alternative("no", "-", "")))
    log = Log(f"{words}.csv", "0" * 64, time, channels, {"airflow": "MAF"}, {"airflow": words}, (words,), (question,))
    return Drive(state.next_drive, log, state.head().id, "auto", TIME, {})


def makers(words: str, numbers: list[float]) -> dict[str, Callable[[State], Change | None]]:
    """Give a maker for every kind of change, that gives none where it does not fit the state."""
    size = abs(numbers[0]) % 5 if numbers and np.isfinite(numbers[0]) else 1.0
    step = Storage(step=0.001 * (1 + round(size)), bits=24)
    return {
        "applied": lambda s: scale(s, by=1.0 + 0.01 * (1 + size), note=" ".join(words.split())).change,
        "table": lambda s: bring_in(s, replace(GRID, name=f"grid{s.sequence}"), "add-table", {"x": [words]}, words),
        "head-moved": lambda s: undo(s).change if s.head().parent else None,
        "approved": lambda s: Approved(s.head().id, Approval(words, words, TIME, (words,), step, {words: words})),
        "approval-signed": lambda s: (
            ApprovalSigned(s.head().id, Signed(words, TIME, s.history.approved_at[s.head().id], "ab", "cd"))
            if s.head().id in s.history.approvals
            else None
        ),
        "exported": lambda s: Exported(Export(s.head().id, {words: "00"}, False, words, TIME)),
        "drive-added": lambda s: DriveAdded((with_log(s, words, numbers),)),
        "drive-corrected": lambda s: (
            DriveCorrected(
                s.drives[-1].id,
                1,
                "after",
                {"load": "MAF"},
                {"MAF": Reread("%", 2.5, size, words)},
                asked=(Question("MAF", words, (Alternative("yes", "--role 'load=MAF'", words),)),) if size else (),
            )
            if s.drives
            else None
        ),
        "settings-set": lambda s: SettingsSet(replace(s.settings, part_throttle_target=0.001 + size / 100)),
        "keeping-set": lambda _: EcuFormatSet("airflow", EcuFormat(storage=step)),
        "acknowledged": lambda _: Acknowledged(Acknowledgement(f"1:{words}", words, words, words, TIME)),
        "input-stated": lambda _: InputStated(
            words, "V", AnalogueInput(words, "V", "lambda", ((0.0, 0.7), (5.0, 0.7 + size)))
        ),
        "channel-computed": lambda _: ChannelComputed(
            "error", ComputedChannel("error", "100 * (MAF - 1)", "%", 1, size)
        ),
        "branch-named": lambda s: BranchNamed(s.head().id, f"{words}{s.sequence}"),
        "put-in-car": lambda s: PutInCar(InCar(s.head().id, TIME, words)),
        "taken-back": lambda s: undo(s).change,
        "done-again": lambda s: redo(s).change,
    }


KINDS = tuple(makers("", []))


def test_every_kind_of_change_is_among_them() -> None:
    named = {"applied": "Applied", "keeping-set": "EcuFormatSet"}
    kinds = {named.get(each, "".join(part.title() for part in each.split("-"))) for each in KINDS}
    assert {each.__name__ for each in get_args(Change)} <= kinds


def done(outcome: Any) -> Answer[Path]:
    answer = run(outcome)
    assert isinstance(answer, Answer)
    return answer


def there_and_back(path: Path, folder: Path) -> None:
    """Unpack and pack a session, and hold both against each other."""
    with Session.open(path) as session:
        state = session.state
        done(unpack(state, folder / "plain"))
    again = folder / "again.session"
    answer = done(pack(folder / "plain", again))
    stores = [Store.open(each) for each in (path, again)]
    try:
        changes = [store.changes() for store in stores]
        one, other = (store.record for store in stores)
    finally:
        for store in stores:
            store.close()
    assert one.rows == other.rows
    assert len(changes[0]) == len(changes[1]) == state.sequence
    assert answer.data["chain"] == one.last[1]
    assert [each.digest for _, each in one.revisions.values()] == [each.digest for _, each in other.revisions.values()]
    for (_, a), (_, b) in zip(one.drives.values(), other.drives.values(), strict=True):
        assert a.log.time.pack() == b.log.time.pack()
        assert [c.column.pack() for c in a.log.channels] == [c.column.pack() for c in b.log.channels]
    with Session.open(again) as session:
        done(unpack(session.state, folder / "plain_again"))
    assert files_of(folder / "plain") == files_of(folder / "plain_again")


def files_of(folder: Path) -> dict[str, bytes]:
    return {each.relative_to(folder).as_posix(): each.read_bytes() for each in folder.rglob("*") if each.is_file()}


@settings(max_examples=35)
@given(
    st.lists(
        st.tuples(st.sampled_from(KINDS), WORDS, st.lists(NUMBERS, min_size=1, max_size=6)), min_size=1, max_size=14
    )
)
def test_any_session_comes_back_to_the_same_digests(acts: list[tuple[str, str, list[float]]]) -> None:
    with TemporaryDirectory() as name:
        path = Path(name) / "car.session"
        with Session.create(path, CURVE, author="tester") as session:
            for kind, words, numbers in acts:
                try:
                    change = makers(words, numbers)[kind](session.state)
                except WorkbenchError:  # nothing to undo, or nothing to redo
                    continue
                if change is not None:
                    session.record(change)
        there_and_back(path, Path(name))


def test_a_session_with_every_kind_comes_back(tmp_path: Path) -> None:
    """All kinds at once, whatever the lot above falls on."""
    path = tmp_path / "car.session"
    with Session.create(path, CURVE, author="tester") as session:
        for kind in (*KINDS[:3], "applied", *KINDS[3:]):
            change = makers('a, "b"\n', [0.1, float("nan"), -0.0, 1e300])[kind](session.state)
            assert change is not None, kind
            session.record(change)
        assert session.state.sequence == len(KINDS) + 2
    there_and_back(path, tmp_path)


@pytest.mark.parametrize("kept", KEPT, ids=[path.stem for path in KEPT])
def test_sessions_of_every_release_come_back(kept: Path, tmp_path: Path) -> None:
    there_and_back(Path(shutil.copy(kept, tmp_path / "old.session")), tmp_path)


def test_long_channels_come_back(tmp_path: Path) -> None:
    values = np.round(np.sin(np.arange(120_000) / 50), 3)
    values[77] = np.nan
    log = Log("long.csv", "0" * 64, Column(np.arange(values.size) / 100), (Channel("a", "", Column(values), ""),))
    path = tmp_path / "long.session"
    with Session.create(path, CURVE, author="tester") as session:
        session.record(DriveAdded((Drive(1, log, 1),)))
    there_and_back(path, tmp_path)


@pytest.fixture
def plain(session: Session, make_drive: Callable[..., Drive], tmp_path: Path) -> Path:
    """A folder of plain files."""
    session.record(DriveAdded((make_drive(1),)))
    session.record(scale(session.state, by=1.02).change)
    done(unpack(session.state, tmp_path / "plain"))
    return tmp_path / "plain"


def test_others_can_read_it(plain: Path, session: Session) -> None:
    """With nothing but a reader of CSV and one of JSON."""
    with (plain / "revisions" / "0002.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    head = session.state.head().table
    assert [float(row["sensor signal (Hz)"]) for row in rows] == head.axes[0].breakpoints.tolist()
    assert [float(row["value"]) for row in rows] == head.values.tolist()
    assert {float(row["multiplier"]) for row in rows} == {1.02}
    with (plain / "drives" / "0001.csv").open(newline="") as file:
        samples = list(csv.DictReader(file))
    airflow = session.state.drives[0].log.channel("MAF")
    assert airflow is not None
    shown = [float(row["MAF (g/s)"]) if row["MAF (g/s)"] else float("nan") for row in samples]
    assert np.array_equal(shown, airflow.values, equal_nan=True)
    kinds = [json.loads(line)["kind"] for line in (plain / "changes.jsonl").read_text().splitlines()]
    assert kinds == ["applied", "drive-added", "applied"]
    assert "RFC 4180" in (plain / "FORMAT.md").read_text()


@pytest.mark.parametrize("name", ["=cmd|' /C calc'!A0", "+1", "-x", "@x", "'=x"])
def test_no_name_is_worked_out_by_a_spreadsheet(session: Session, tmp_path: Path, name: str) -> None:
    """A log names its channels as it likes; in the head of a CSV such a name is text, and comes back as it was."""
    column = Column(np.arange(3.0))
    log = Log("a.csv", "0" * 64, column, (Channel(name, "", column),), {}, {})
    session.record(DriveAdded((Drive(1, log, 1),)))
    done(unpack(session.state, tmp_path / "plain"))
    with (tmp_path / "plain" / "drives" / "0001.csv").open(newline="") as file:
        head = next(csv.reader(file))
    assert head == ["time (s)", f"'{name}"]
    done(pack(tmp_path / "plain", tmp_path / "again.session"))
    with Session.open(tmp_path / "again.session") as again:
        assert again.state.drives[0].log.channels[0].name == name


def test_without_the_kept_bytes_the_numbers_are_deflated_anew(plain: Path, tmp_path: Path) -> None:
    (plain / "drives" / "0001.kept").unlink()
    assert done(pack(plain, tmp_path / "again.session")).data["left_out"] == []


REVISION, LOG = "revisions/0002.csv", "drives/0001.csv"


@pytest.mark.parametrize(
    ("file", "old", "new", "named"),
    [
        (REVISION, b"2.04", b"2.05", "Revision 2 differs"),
        ("revisions/0001.json", b'"note": ""', b'"note": "other"', "Revision 1 differs"),
        (LOG, b"5.05", b"5.06", "Drive 1 differs"),
        ("drives/0001.json", b'"airflow": "MAF"', b'"load": "MAF"', "Drive 1 differs"),
        ("changes.jsonl", b'"id": 1', b'"id": 1, "x": 2', "Change 2"),
        (REVISION, b"1000", b"1001", "column 1 differs from the breakpoints"),
        (REVISION, b"2000", b"many", "0002.csv, line 3: could not convert"),
        (LOG, b"5.05,", b"", "0001.csv, line 3: 2 fields instead of 3"),
        ("changes.jsonl", b'\n{"sequence": 3', b"\n\n#", "line 3"),
        ("session.json", b'"changes": 3', b'"changes": 4', "does not end with the change"),
        ("session.json", b'"version": 1', b'"version": 2', "this program reads 'plain-session', version 1"),
        ("revisions/0001.json", b"{", b"", "0001.json"),
        ("revisions/0001.json", b"{", b"\xff", "is not UTF-8 text"),
    ],
)
def test_what_was_altered_is_refused_and_named(
    file: str, old: bytes, new: bytes, named: str, plain: Path, tmp_path: Path
) -> None:
    content = (plain / file).read_bytes()
    assert old in content
    (plain / file).write_bytes(content.replace(old, new, 1))
    target = tmp_path / "again.session"
    with pytest.raises(FileError) as refusal:
        done(pack(plain, target))
    assert named in str(refusal.value)
    assert not target.exists()


def test_a_file_that_is_gone_is_named(plain: Path, tmp_path: Path) -> None:
    (plain / LOG).unlink()
    with pytest.raises(FileError, match=r"0001.csv cannot be read"):
        done(pack(plain, tmp_path / "again.session"))


def test_nothing_is_written_over_and_strangers_are_named(plain: Path, session: Session, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no empty folder"):
        done(unpack(session.state, plain))
    (tmp_path / "empty").mkdir()
    done(unpack(session.state, tmp_path / "empty"))
    (plain / "drives" / "notes.txt").write_text("mine")
    answer = done(pack(plain, tmp_path / "again.session"))
    assert answer.data["left_out"] == ["drives/notes.txt"]
    with pytest.raises(FileError, match="exists already"):
        done(pack(plain, tmp_path / "again.session"))
    with pytest.raises(FileError, match=r"session.json cannot be read"):
        done(pack(tmp_path / "nothing", tmp_path / "other.session"))


def test_a_full_disk_leaves_no_half_folder(session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    before = set(tmp_path.iterdir())
    monkeypatch.setattr(Path, "write_text", full)
    with pytest.raises(FileError, match="plain"):
        done(unpack(session.state, tmp_path / "plain"))
    assert set(tmp_path.iterdir()) == before
