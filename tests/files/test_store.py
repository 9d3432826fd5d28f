"""The session file: what is kept, what is refused, and that nothing is lost."""

import json
import os
import random
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from altering import alter
from rights import common_user

import workbench.commands.handbook  # noqa: F401 - it declares all commands
from workbench.commands.declaring.making import bring_in, revise
from workbench.commands.record.exports import check
from workbench.commands.record.revisions import roll_back
from workbench.commands.table.clipboard import multiply_by_paste, paste
from workbench.commands.table.donors import take_donor
from workbench.commands.table.hand import scale
from workbench.commands.table.shaping import blend
from workbench.errors import FileError, StaleError
from workbench.files.store import connecting, rows, writing
from workbench.files.store import store as store_module
from workbench.files.store.decoding import read_settings
from workbench.files.store.store import Store
from workbench.files.tables.tables import write_table_text
from workbench.model.cells import read_cells
from workbench.model.deed import InCar
from workbench.model.gate import Gates
from workbench.model.history import Approval
from workbench.model.log import Alternative, Drive, Question
from workbench.model.state import (
    Approved,
    BranchNamed,
    DriveAdded,
    DriveCorrected,
    HeadMoved,
    PutInCar,
    Settings,
    SettingsSet,
)
from workbench.model.table import Table
from workbench.session import Session

TABLES = ("change", "revision", "drive", "channel")


def dump(path: Path) -> list[str]:
    """All that is in a file, as SQL without comments, without opening it for writing."""
    with tempfile.TemporaryDirectory() as folder:
        copy = shutil.copy(path, folder)
        wal = path.with_name(path.name + "-wal")
        if wal.exists():
            shutil.copy(wal, Path(folder) / wal.name)
        connection = sqlite3.connect(copy)
        try:
            return [re.sub(" *--.*", "", statement) for statement in connection.iterdump()]
        finally:
            connection.close()


@pytest.fixture
def full(session: Session, grid: Table, make_drive: Callable[..., Drive]) -> Session:
    """A session in which every kind of change was recorded."""
    session.record(bring_in(session.state, grid, "add-table", {}, "the second"))
    session.record(scale(session.state, by=1.02).change)
    session.record(HeadMoved("airflow", 1))
    session.record(HeadMoved("airflow", 3))
    session.record(Approved(3, Approval("A. Tester", "“fine”", "2026-01-01T00:00:00Z", ("not-driven-since",))))
    session.record(DriveAdded((make_drive(1, 1), make_drive(2, 3))))
    session.record(DriveCorrected(2, 1, "after", {"airflow": 'weird, "name"'}))
    session.record(BranchNamed(3, "race fuel"))
    session.record(PutInCar(InCar(3, "2026-01-02T00:00:00Z", "tester")))
    session.record(SettingsSet(Settings(0.04, 0.02, 14.1, Gates(warm_c=80.0))))
    return session


def test_everything_comes_back_bit_for_bit(full: Session) -> None:
    before = full.state
    full.close()
    with Session.open(Path(before.path)) as again:
        after = again.state
    assert (after.sequence, after.settings, after.path) == (before.sequence, before.settings, before.path)
    assert (after.history.heads, after.history.left, after.history.approvals) == (
        before.history.heads,
        before.history.left,
        before.history.approvals,
    )
    for old, new in zip(before.history.revisions, after.history.revisions, strict=True):
        assert old.table.same_axes(new.table)
        assert old.table.values.tobytes() == new.table.values.tobytes()
        assert old.multipliers.tobytes() == new.multipliers.tobytes()
        assert new.digest == new.chained("" if new.parent is None else after.history.revision(new.parent).digest)
        plain = {"table": None, "multipliers": None}
        assert replace(old, **plain).__dict__ == replace(new, **plain).__dict__
    for old, new in zip(before.drives, after.drives, strict=True):
        assert (old.id, old.revision, old.wideband, old.added) == (new.id, new.revision, new.wideband, new.added)  # type: ignore[attr-defined]
        assert (old.log.roles, old.log.guesses, old.log.notes) == (new.log.roles, new.log.guesses, new.log.notes)  # type: ignore[attr-defined]
        for one, other in zip(old.log.channels, new.log.channels, strict=True):  # type: ignore[attr-defined]
            assert (one.name, one.unit, one.unit_read) == (other.name, other.unit, other.unit_read)
            assert one.values.tobytes() == other.values.tobytes()


def test_the_file_says_whose_it_is_and_is_one_file_when_closed(full: Session) -> None:
    path = Path(full.state.path)
    full.close()
    assert os.listdir(path.parent) == [path.name]
    connection = sqlite3.connect(path)
    try:
        told = [
            connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("application_id", "user_version", "journal_mode")
        ]
    finally:
        connection.close()
    assert told == [writing.APPLICATION_ID, 3, "wal"]  # that of the newest kind of change in it
    content = path.read_bytes()
    with Session.open(path) as again:
        assert again.state.sequence == 11
    assert (path.read_bytes(), os.listdir(path.parent)) == (content, [path.name])


def test_a_copy_taken_while_the_session_is_open_is_whole(full: Session, tmp_path: Path) -> None:
    copy = tmp_path / "copy.session"
    shutil.copy(full.state.path, copy)
    with Session.open(copy) as again:
        assert again.state.sequence == full.state.sequence


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize(
    "statement", ["UPDATE {0} SET rowid = rowid", "DELETE FROM {0}", "INSERT OR REPLACE INTO {0} SELECT * FROM {0}"]
)
def test_rows_are_never_changed_or_deleted(full: Session, table: str, statement: str) -> None:
    path = Path(full.state.path)
    full.close()
    before = dump(path)
    connection = sqlite3.connect(path)
    statement = statement.format(table).replace("rowid", "name" if table == "channel" else "rowid")
    with pytest.raises(sqlite3.IntegrityError, match=r"never|follow"):
        connection.execute(statement)
    connection.close()
    assert dump(path) == before


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder that a common user can look into."""
    with tempfile.TemporaryDirectory() as name:
        yield Path(name)
        Path(name).chmod(0o777)


@pytest.mark.skipif(os.name != "posix", reason="permissions of another kind")
@pytest.mark.parametrize("what", ["file", "folder", "both"])
def test_what_cannot_be_written_can_still_be_read(full: Session, folder: Path, what: str) -> None:
    content = Path(full.state.path).read_bytes()
    path = folder / "car.session"
    path.write_bytes(content)
    path.chmod(0o444 if what != "folder" else 0o666)
    folder.chmod(0o555 if what != "file" else 0o777)
    with common_user():
        with Session.open(path) as session:
            assert session.state.sequence == full.state.sequence
            assert session.read_only
            assert not session.reload()
            with pytest.raises(FileError, match="read-only"):
                session.record(HeadMoved("airflow", 1))
        if what != "file":
            with pytest.raises(FileError, match=r"the folder .* is read-only"):
                Session.create(folder / "new.session", full.state.table())
    assert os.listdir(folder) == ["car.session"]
    assert path.read_bytes() == content


CRASH = """
import os, sys
from pathlib import Path
from workbench.session import Session
from workbench.commands.record.exports import check
from workbench.commands.table.hand import scale
session = Session.open(Path(sys.argv[1]))
session._store._settle = lambda: None
session.record(scale(session.state, by=1.5).change)
os._exit(9)
"""


@pytest.mark.skipif(os.name != "posix", reason="permissions of another kind")
def test_changes_that_wait_beside_a_read_only_file_are_read_too(full: Session, folder: Path) -> None:
    path = Path(full.state.path)
    full.close()
    subprocess.run([sys.executable, "-c", CRASH, str(path)], check=False)
    wal = path.with_name(path.name + "-wal")
    assert wal.stat().st_size > 0
    for each in (path, wal):
        shutil.copy(each, folder)
        (folder / each.name).chmod(0o444)
    folder.chmod(0o555)
    with common_user(), Session.open(folder / path.name) as session:
        assert session.state.sequence == full.state.sequence + 1
    assert sorted(os.listdir(folder)) == [path.name, wal.name]
    with Session.open(path) as session:
        assert session.state.sequence == full.state.sequence + 1
    assert not wal.exists()


def test_a_taken_path_and_a_missing_folder_are_refused(tmp_path: Path, curve: Table) -> None:
    taken = tmp_path / "taken"
    taken.write_text("mine")
    for path in (taken, tmp_path, tmp_path / "none" / "car.session"):
        with pytest.raises(FileError, match=r"exists already|no folder"):
            Session.create(path, curve)
    assert taken.read_text() == "mine"
    assert os.listdir(tmp_path) == ["taken"]


def other_program(path: Path) -> None:
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE change (sequence)")
    connection.execute("PRAGMA application_id = 77")
    connection.commit()
    connection.close()


NOT_SESSIONS: dict[str, tuple[Callable[[Path], object], str]] = {
    "missing": (lambda path: None, "There is no session file"),
    "directory": (lambda path: path.mkdir(), "is a directory"),
    "empty": (lambda path: path.write_bytes(b""), "cut short|not a session"),
    "text": (lambda path: path.write_text("rpm,maf\n800,3\n" * 50), "not a session"),
    "short": (lambda path: path.write_bytes(b"SQLite format 3\0"), "cut short"),
    "other program": (other_program, "not a session"),
    "socket or pipe": (os.mkfifo, "not a regular file"),
}


@pytest.mark.parametrize("kind", NOT_SESSIONS)
def test_what_is_no_session_is_refused_and_left_alone(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "thing"
    make, told = NOT_SESSIONS[kind]
    make(path)
    content = path.read_bytes() if path.is_file() else None
    with pytest.raises(FileError, match=told) as caught:
        Session.open(path)
    assert caught.value.hint
    assert (path.read_bytes() if path.is_file() else None) == content
    assert [each.name for each in tmp_path.iterdir()] in ([], ["thing"])


def test_a_newer_version_is_refused_and_left_alone(session: Session) -> None:
    path = Path(session.state.path)
    session.close()
    connection = sqlite3.connect(path)
    newer = store_module.VERSION + 1
    connection.execute(f"PRAGMA user_version = {newer}")
    connection.close()
    content = path.read_bytes()
    with pytest.raises(FileError, match=f"version {newer}; this program supports versions up to {newer - 1}"):
        Session.open(path)
    assert path.read_bytes() == content


@pytest.mark.parametrize("share", [0.999, 0.9, 0.5, 0.1, 0.01])
def test_a_file_that_was_cut_short_is_refused(full: Session, share: float) -> None:
    path = Path(full.state.path)
    full.close()
    content = path.read_bytes()
    path.write_bytes(content[: int(share * len(content))])
    with pytest.raises(FileError, match="cut short"):
        Session.open(path)


def test_any_damage_is_found_or_touches_nothing(full: Session) -> None:
    path = Path(full.state.path)
    full.close()
    content, before = path.read_bytes(), dump(path)
    chance = random.Random(1)
    used = [at for at in range(100, len(content)) if content[at]]
    found = 0
    for at in chance.sample(used, 60):
        path.write_bytes(content[:at] + bytes(byte ^ 0x55 for byte in content[at : at + 16]) + content[at + 16 :])
        try:
            with Session.open(path) as session:
                noticed = not check(session.state).data["ok"]
        except FileError:
            noticed = True
        assert noticed or dump(path) == before, at
        found += noticed
    assert found >= 10


def test_tampering_shows_in_the_digests(full: Session) -> None:
    path = Path(full.state.path)
    full.close()
    for statement, told in (
        ("UPDATE change SET payload = replace(payload, 'A. Tester', 'B. Tester')", "Change 6"),
        ("UPDATE revision SET digest = 'x' WHERE id = 3", "Revision 3"),
        ("UPDATE channel SET samples = (SELECT time FROM drive LIMIT 1) WHERE drive = 1 AND position = 1", "Drive 1"),
        ("UPDATE channel SET samples = x'00' WHERE drive = 2 AND position = 0", "Drive 2"),
        ("DELETE FROM revision WHERE id = 3", "Revision 3 is missing"),
        ("CREATE TRIGGER change_moves BEFORE UPDATE ON change BEGIN SELECT 1; END", "'change_moves' is not ours"),
    ):
        copy = path.with_name("copy")
        shutil.copy(path, copy)
        alter(copy, [statement])
        with pytest.raises(FileError, match="was altered after it was recorded") as caught:
            Session.open(copy)
        assert told in caught.value.message, statement
        assert any(told in problem for problem in caught.value.details["problems"]), statement  # type: ignore[attr-defined]


def test_a_second_process_makes_the_change_stale(session: Session) -> None:
    path = Path(session.state.path)
    told = []
    session.subscribe(lambda change, state: told.append((change, state.sequence)))
    with Session.open(path) as other:
        other.record(scale(other.state, by=1.1).change)
    before = dump(path)
    with pytest.raises(StaleError, match="meanwhile") as caught:
        session.record(scale(session.state, by=1.2).change)
    assert caught.value.hint
    assert (session.state.sequence, told, dump(path)) == (1, [], before)
    assert session.reload()
    assert not session.reload()
    assert told == [(None, 2)]
    session.record(scale(session.state, by=1.2).change)
    assert session.state.head().parent == 2


def test_a_session_that_is_being_written_to_is_told_as_such(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connecting, "PATIENCE_S", 0.05)
    path = Path(session.state.path)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with Session.open(path) as second, pytest.raises(FileError, match="written to by another program"):
        second.record(scale(second.state, by=1.1).change)
    other.execute("ROLLBACK")
    other.close()
    session.record(scale(session.state, by=1.1).change)


def test_a_full_database_loses_nothing(full: Session) -> None:
    path = Path(full.state.path)
    connection = full._store._connection
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    connection.execute(f"PRAGMA max_page_count = {pages}")
    before, state = dump(path), full.state
    big = np.zeros(100_000) + np.random.default_rng(1).normal(size=100_000)
    drive = replace(full.state.drives[0], id=3, log=replace(full.state.drives[0].log, channels=()))
    column = type(drive.log.time)(big)
    with pytest.raises(FileError, match="disk is full") as caught:
        full.record(DriveAdded((replace(drive, log=replace(drive.log, time=column)),)))
    assert "nothing is lost" in caught.value.hint
    assert full.state is state
    assert dump(path) == before
    connection.execute("PRAGMA max_page_count = 1000000")
    full.record(scale(full.state, by=1.01).change)


FULL_DISK = """
import resource, signal, sys
from pathlib import Path
from workbench.errors import FileError
from workbench.session import Session
from workbench.commands.record.exports import check
from workbench.commands.table.hand import scale
path = Path(sys.argv[1])
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with Session.open(path) as session:
    limit = path.stat().st_size
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    for number in range(200):
        try:
            session.record(scale(session.state, by=1 + 1e-6 * number + 1e-6).change)
        except FileError as refusal:
            print(session.state.sequence, refusal.message)
            break
"""


@pytest.mark.skipif(os.name != "posix", reason="limits of another kind")
def test_a_full_disk_loses_nothing(full: Session) -> None:
    """The system refuses to let a file grow, which is what a full disk does."""
    path = Path(full.state.path)
    full.close()
    done = subprocess.run([sys.executable, "-c", FULL_DISK, str(path)], capture_output=True, text=True, check=True)
    assert "disk is full" in done.stdout
    with Session.open(path) as session:
        assert session.state.sequence == int(done.stdout.split()[0])
        assert session._store.problems() == ()


def test_a_file_system_without_links_keeps_sessions_too(
    tmp_path: Path, curve: Table, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_: object) -> None:
        raise OSError(38, "Function not implemented")

    monkeypatch.setattr(writing.os, "link", no_links)
    Session.create(tmp_path / "car.session", curve).close()
    with pytest.raises(FileError, match="exists already"):
        writing.move_new(tmp_path / "none", tmp_path / "car.session")
    assert os.listdir(tmp_path) == ["car.session"]


def test_a_change_of_an_unknown_kind_is_damage(session: Session) -> None:
    connection = sqlite3.connect(session.state.path)
    connection.execute("INSERT INTO change VALUES (2, 'dreamt', '{}', '')")
    connection.commit()
    connection.close()
    with pytest.raises(FileError, match=r"Change 2 \(dreamt\)"):
        Session.open(Path(session.state.path))


RIVAL = """
import sys
from pathlib import Path
from workbench.commands.table.hand import scale
from workbench.errors import FileError, StaleError
from workbench.session import Session
done = 0
with Session.open(Path(sys.argv[1])) as session:
    while done < 15:
        try:
            session.record(scale(session.state, by=1.001, note=sys.argv[2]).change)
            done += 1
        except StaleError:
            session.reload()
"""


def test_two_processes_take_turns_and_lose_nothing(session: Session) -> None:
    path = Path(session.state.path)
    rivals = [subprocess.Popen([sys.executable, "-c", RIVAL, str(path), name]) for name in ("one", "two")]
    assert [rival.wait() for rival in rivals] == [0, 0]
    assert session.reload()
    notes = [each.note for each in session.state.history.revisions[1:]]
    assert (notes.count("one"), notes.count("two")) == (15, 15)
    assert [each.parent for each in session.state.history.revisions] == [None, *range(1, 31)]
    assert session._store.problems() == ()


def test_a_gate_that_is_no_more_does_not_close_the_session() -> None:
    told = {"part_throttle_target": 0.03, "gates": {"warm_c": 70.0, "moon_phase": 0.5}, "old": 1}
    assert read_settings(told) == Settings(part_throttle_target=0.03, gates=Gates(warm_c=70.0))


def without_origins(path: Path) -> None:
    """Make a session what it would be from the time before origins were kept, its chain of digests included."""
    with sqlite3.connect(path) as connection:
        stays = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'change_stays'").fetchone()[0]
        connection.execute("DROP TRIGGER change_stays")
        before = ""
        for sequence, kind, payload in connection.execute("SELECT sequence, kind, payload FROM change").fetchall():
            told = json.loads(payload)
            told.pop("origin", None)
            text, place = rows.to_json(told), (sequence,)
            before = rows.chain(sequence, kind, text, before)
            connection.execute("UPDATE change SET payload = ?, digest = ? WHERE sequence = ?", (text, before, *place))
        connection.execute(stays)
    connection.close()


def test_the_origin_of_a_revision_is_kept_and_told_for_sessions_from_before(session: Session, tmp_path: Path) -> None:
    donor = tmp_path / "donor.csv"
    donor.write_text(write_table_text(session.state.table().with_values(session.state.table().values * 1.3)))
    for make in (
        lambda state: scale(state, by=1.1),
        lambda state: multiply_by_paste(state, text="1.02", cells=read_cells("2")),
        lambda state: paste(state, text="3\n8\n14\n30\n60", cells=read_cells("0")),
        lambda state: paste(state, text="14.5", cells=read_cells("2")),
        lambda state: take_donor(state, donor),
        lambda state: blend(state, 1),
        lambda state: roll_back(state, 2),
    ):
        session.record(make(session.state).change)
    measured = revise(session.state, "airflow", session.state.table(), np.ones(5), "correct", {}, "")
    session.record(measured)
    path = Path(session.state.path)
    session.close()
    whole, hand = "brought in whole", "by hand"
    expected = [whole, hand, hand, whole, hand, whole, hand, hand, "measured"]
    for change in (lambda _: None, without_origins):
        change(path)
        with Session.open(path) as opened:
            assert [each.origin for each in opened.state.history.revisions] == expected
            assert check(opened.state).refusal == ""
        store = Store.open(path)
        assert store.problems() == ()
        store.close()


def test_an_origin_is_covered_by_the_digests(session: Session) -> None:
    path = Path(session.state.path)
    session.close()
    alter(path, ["UPDATE change SET payload = replace(payload, 'brought in whole', 'measured')"])
    with pytest.raises(FileError, match="Change 1"):
        Session.open(path)


def test_drives_of_earlier_versions_keep_their_digests_and_new_ones_are_added_to_them(
    tmp_path: Path, make_drive: Callable[..., Drive]
) -> None:
    """An older file is never rewritten: its digests stay in the form in which they were made, and hold."""
    shipped = Path(__file__).parent / "versions" / "version_0.1.0.session"
    path = tmp_path / "old.session"
    shutil.copy(shipped, path)
    before = dump(path)
    with Session.open(path) as old:
        assert version_of_file(path) == 1
        number = len(old.state.drives) + 1
        old.record(DriveAdded((make_drive(number, 1),)))
    assert version_of_file(path) == 2
    after = dump(path)
    assert [line for line in before if line not in after] == []
    with Session.open(path) as new:
        digests = [rows.drive_digest(drive) for drive in new.state.drives]
        assert rows.fits_digest(new.state.drives[-1], digests[-1])
        assert check(new.state).data["ok"]
    alter(path, ["UPDATE channel SET samples = (SELECT time FROM drive WHERE id = 1) WHERE drive = 1 AND position = 1"])
    with pytest.raises(FileError, match="Drive 1 differs"):
        Session.open(path)


def version_of_file(path: Path) -> int:
    return int.from_bytes(path.read_bytes()[60:64], "big")


@pytest.mark.parametrize("held", [False, True])
def test_what_was_asked_is_kept_as_earlier_versions_kept_it(make_drive: Callable[..., Drive], *, held: bool) -> None:
    """Digests go over it: one more key in every question, and no session with one could be opened any more."""
    asked = Question("MAF", "Which unit?", (Alternative("g/s", "--unit 'MAF=g/s'", "as it is", held=held),))
    drive = make_drive(1, 1)
    row = rows.drive_row(replace(drive, log=replace(drive.log, notes=(), questions=(asked,))), 1)
    (alternative,) = json.loads(row["notes"])[0]["alternatives"]
    of_then = {"answer", "flag", "means", "unit", "factor", "offset", "inverse"}
    assert set(alternative) == of_then | ({"held"} if held else set())


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_a_file_that_is_refused_is_let_go_at_once(
    tmp_path: Path, curve: Table, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And not when the refusal, which the window keeps to show it, is forgotten."""
    path = tmp_path / "car.session"
    Session.create(path, curve).close()

    def malformed(_: sqlite3.Connection) -> str:
        raise sqlite3.DatabaseError("database disk image is malformed")

    monkeypatch.setattr("workbench.files.store.store._why_only_read", malformed)
    with pytest.raises(FileError) as kept:
        Session.open(path)
    held = [str(each.readlink()) for each in Path("/proc/self/fd").iterdir() if each.is_symlink()]
    assert str(path.resolve()) not in held, kept.value
