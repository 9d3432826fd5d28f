"""What is to be done next: try a corrected table as a draft, and approve it only after it was driven."""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from shutil import copyfile

import numpy as np
import pytest

from workbench.commands.declaring.making import revise
from workbench.commands.declaring.registry import Answer
from workbench.commands.evidence.acknowledging import acknowledge
from workbench.commands.evidence.approval_grounds import fallen_grounds
from workbench.commands.evidence.evidence import cautions, correct, evidence
from workbench.commands.evidence.next_step import DRIVE_WITH_CARE, NextStep, against, drives_of, next_step
from workbench.commands.evidence.pulling import leave_out, pulls
from workbench.commands.logs.logs import add_log, amend_log
from workbench.commands.record.approving import approve
from workbench.commands.record.exports import check, export
from workbench.commands.record.history import history
from workbench.commands.record.revisions import roll_back
from workbench.commands.record.settings import settings
from workbench.commands.record.undoing import undo
from workbench.commands.table.hand import scale, set_cells
from workbench.commands.table.shaping import carry_on, keep_rising
from workbench.commands.table.tables import add_table, new
from workbench.demo.drive import drive
from workbench.demo.engine import stale_table
from workbench.demo.recorder import csv_text
from workbench.demo.scenario import Scenario
from workbench.errors import InputError
from workbench.files.tables.tables import write_table_text
from workbench.maths.evidence import gather_evidence
from workbench.maths.verdict.objections import objections
from workbench.maths.verdict.prediction_check import drives_since
from workbench.model.cells import read_cells
from workbench.model.evidence import Caution, Evidence, Target
from workbench.model.history import History, brought_in
from workbench.model.log import Drive, Question
from workbench.model.state import Applied, State
from workbench.model.step import step
from workbench.model.table import Table
from workbench.session import Session
from workbench.work import run

MakeDrive = Callable[..., Drive]
Driven = tuple[Session, Evidence]
CAR = Scenario(seed=7, minutes=4, pulls=1, start_coolant_c=84.0, rate_hz=10.0)


def done(session: Session, outcome: object) -> Answer:
    answer = outcome if isinstance(outcome, Answer) else run(outcome)
    if answer.change is not None:
        session.record(answer.change)
    return answer


@pytest.fixture(scope="module")
def car(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("car")
    (folder / "curve.csv").write_text(write_table_text(stale_table(CAR)))
    (folder / "first.csv").write_text(csv_text(drive(CAR, number=1).log))
    return folder


@pytest.fixture(scope="module")
def driven_once(car: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Evidence]:
    """A session with one drive, closed, and what the drive says: worked out once for all tests."""
    path = tmp_path_factory.mktemp("driven") / "car.session"
    new(path, car / "curve.csv", name="airflow")
    with Session.open(path) as session:
        done(session, add_log(session.state, (car / "first.csv",)))
        found = done(session, evidence(session.state)).value
    assert isinstance(found, Evidence)
    return path, found


@pytest.fixture
def driven(driven_once: tuple[Path, Evidence], tmp_path: Path) -> Iterator[Driven]:
    """A session of its own with one drive, and what the drive says."""
    path, found = driven_once
    copyfile(path, tmp_path / "car.session")
    with Session.open(tmp_path / "car.session") as session:
        yield session, found


def test_a_corrected_table_is_driven_as_a_draft_before_it_is_approved(car: Path, tmp_path: Path) -> None:
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        step = next_step(session.state, session.state.head(), None)
        assert step.word == "add-log"
        done(session, add_log(session.state, (car / "first.csv",)))
        assert next_step(session.state, session.state.head(), None) is None  # only the evidence can tell
        told = done(session, evidence(session.state))
        assert told.data["next_step"]["command"] == "correct"
        assert told.lines[-1].startswith("Next: Correct from 1 drive.")

        told = done(session, correct(session.state, undriven="leave"))  # its outermost cells are undriven: a cliff
        assert told.data["next_step"]["command"] == "carry-on"
        assert "steps between neighbouring cells without evidence for it" in told.lines[-1]
        done(session, carry_on(session.state))  # what rounds a correction off changes nothing about what follows
        told = done(session, evidence(session.state))
        assert told.data["next_step"]["title"] == "Export a draft of revision 3"
        assert DRIVE_WITH_CARE in told.lines[-1]
        assert "not approved" in told.lines[-1]

        told = done(session, export(session.state, tmp_path / "try.csv", draft=True))
        assert told.lines[0].endswith("NOT APPROVED, a draft for a test drive.")
        paper = json.loads((tmp_path / "try.draft.csv.provenance.json").read_text())
        assert (paper["approved"], paper["standing"]) == (False, "not approved: a draft for a test drive")
        assert told.lines[-1].startswith("Next: Add the drive with revision 3. Flash the draft; ")
        with Session.open(tmp_path / "car.session") as again:  # what was exported is known at the next start too
            step = next_step(again.state, again.state.head(), None)
            assert step.title == "Add the drive with revision {id}"

        again = tmp_path / "second.csv"
        again.write_text(csv_text(drive(replace(CAR, minutes=5), session.state.table(), number=2).log))  # type: ignore[attr-defined]
        done(session, add_log(session.state, (again,)))
        told = done(session, evidence(session.state))
        assert told.data["next_step"]["title"] == "Approve revision 3"
        standing = objections(session.state.history, session.state.head(), session.state.drives, session.state.settings)
        accepted = (*(each.name for each in standing), "full-throttle-unproven")  # the pulls ended short of one cell
        told = done(session, approve(session.state, by="A. Tester", accept=tuple(f"{name}=seen" for name in accepted)))
        assert told.lines[-1] == "Next: Export revision 3. It is approved."
        told = done(session, export(session.state, tmp_path / "out.csv"))
        assert json.loads((tmp_path / "out.csv.provenance.json").read_text())["standing"] == "approved"
        assert told.lines[-1].startswith("Next: Add the next drive.")


def test_what_was_changed_by_hand_and_is_off_is_corrected_again(car: Path, tmp_path: Path) -> None:
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, add_log(session.state, (car / "first.csv",)))
        done(session, correct(session.state))
        done(session, set_cells(session.state, to=99.0, cells=read_cells("20")))
        assert done(session, evidence(session.state)).data["next_step"]["command"] == "correct"


def test_where_drives_disagree_that_comes_before_correcting(car: Path, tmp_path: Path) -> None:
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, add_log(session.state, (car / "first.csv",)))
        state = session.state
        found = run(gather_evidence(state.history, state.head(), state.drives, state.settings))
        plain = next_step(session.state, session.state.head(), found)
        disputed = replace(found, disputed=np.ones(found.table.shape, dtype=np.bool_))
        told = next_step(session.state, session.state.head(), disputed)
    assert plain is not None
    assert told is not None
    assert plain.word == told.word == "correct"
    assert "disagree" not in plain.line
    assert "the drives disagree: find out why first" in told.line


def test_where_no_log_tells_the_place_of_the_wideband_it_is_asked_until_somebody_answers(
    car: Path, tmp_path: Path
) -> None:
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, add_log(session.state, (car / "first.csv",)))
        state = session.state
        found = run(gather_evidence(state.history, state.head(), state.drives, state.settings))
        known = next_step(state, state.head(), found)
        open_still = replace(found, wideband=dict.fromkeys(found.wideband, "unknown"))
        asked = next_step(state, state.head(), open_still)
        assert known is not None
        assert asked is not None
        assert known.word == "correct"
        assert asked.word == "settings"
        assert asked.line.startswith(
            "Next: Say where the wideband sits. Danger: Full throttle ran more than 3 % leaner"
        )
        assert "Log 1 cannot tell before or after the catalyst" in asked.line
        assert asked.line.endswith("Type: settings SESSION --wideband before (or after the catalyst, or unknown)")
        assert asked.json["typed"] == asked.typed
        done(session, settings(session.state, wideband="unknown"))
        assert next_step(session.state, session.state.head(), open_still) == known
        # Once it is corrected there is nothing to ask before the next drive.
        done(session, settings(session.state, wideband="auto"))
        done(session, correct(session.state))
        after = next_step(session.state, session.state.head(), open_still)
        assert after is not None
        assert after.word == "export"


@pytest.mark.parametrize(
    ("factor", "said", "cautioned"),
    [
        (-1.0, "trims.csv is used because it was chosen, although it contradicts itself", "their sign is inverted"),
    ],
)
def test_a_correction_tells_what_makes_its_evidence_doubtful(
    car: Path, tmp_path: Path, factor: float, said: str, cautioned: str
) -> None:
    head, *rows = (line.split(",") for line in (car / "first.csv").read_text().splitlines())
    trims = [number for number, name in enumerate(head) if "trim" in name.lower()]
    assert trims
    for row in rows:
        for number in trims:
            row[number] = f"{factor * float(row[number]):.4f}"
    (tmp_path / "trims.csv").write_text("\n".join(",".join(row) for row in (head, *rows)))
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        as_logged = tuple(f"{head[number].partition(' (')[0]}=as-logged" for number in trims)
        done(session, add_log(session.state, (tmp_path / "trims.csv",), unit=as_logged))
        done(session, amend_log(session.state, 1, unit=as_logged))  # asked once more, it is so all the same
        assert any(cautioned in line for line in done(session, cautions(session.state)).lines)
        answer = done(session, correct(session.state, from_="1"))
    doubts = answer.data["doubts"]
    assert isinstance(doubts, list)
    assert any(said in str(doubt) for doubt in doubts)
    assert [each for each in answer.lines if each in doubts] == doubts
    assert answer.lines[-1].startswith("Next: ")


def test_a_drive_names_what_every_table_was_by_then(car: Path, tmp_path: Path) -> None:
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, add_table(session.state, car / "curve.csv", name="other"))
        done(session, add_log(session.state, (car / "first.csv",), on=(2,)))
        history = session.state.history
        assert [len(drives_of(session.state, history.revision(each))) for each in (1, 2)] == [1, 1]
        for each in (1, 2):
            standing = objections(history, history.revision(each), session.state.drives, session.state.settings)
            assert not any(one.name == "not-driven-since" for one in standing)
        early = replace(session.state.drives[0], revision=1, others={})  # as sessions of earlier versions keep it
        assert history.driven(early, "other") is None


def test_a_drive_knows_what_of_every_table_was_in_the_car(car: Path, tmp_path: Path) -> None:
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, add_table(session.state, car / "curve.csv", name="other"))
        done(session, scale(session.state, by=1.01))
        done(session, scale(session.state, by=1.02, table="other"))
        done(session, scale(session.state, by=1.03, table="other"))
        done(session, undo(session.state, table="other"))
        log = car / "first.csv"
        told = done(session, add_log(session.state, (log,)))  # the heads
        assert (told.data["revision"], told.data["revisions"]) == (3, {"airflow": 3, "other": 4})
        told = done(session, add_log(session.state, (log,), on=(5,), again=True))
        assert (told.data["revision"], told.data["revisions"]) == (5, {"other": 5, "airflow": 3})
        told = done(session, add_log(session.state, (log,), on=(2, 1), again=True, table="airflow"))
        assert told.data["revisions"] == {"airflow": 1, "other": 2}
        assert "driven on revision 1, 2 of 'other'." in told.lines[0]
        with pytest.raises(InputError, match="both of 'other'"):
            run(add_log(session.state, (log,), on=(4, 5), again=True))
        done(session, amend_log(session.state, 3, on=(4,)))
        assert amend_log(session.state, 3, on=(4, 1)).change is None
    with Session.open(tmp_path / "car.session") as again:
        history, drives = again.state.history, again.state.drives
        driven = [[history.driven(drive, name).id for name in ("airflow", "other")] for drive in drives]
        assert driven == [[3, 4], [3, 5], [1, 4]]
        assert [drive.id for drive in drives_of(again.state, history.revision(4))] == [1, 3]
        assert drives_since(history, drives, history.revision(4)) == drives
        assert drives_since(history, drives, history.revision(3)) == drives[:2]


def test_an_approval_is_no_shield_against_what_drives_show(car: Path, tmp_path: Path) -> None:
    """A stale table that someone approved all the same is to be corrected, not exported; so is one driven later."""
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, approve(session.state, by="A. Tester", accept=("not-driven-since=seen",)))
        assert next_step(session.state, session.state.head(), None).title == "Export revision {id}"
        told = done(session, export(session.state, tmp_path / "approved.csv"))
        assert told.lines[-1].startswith(
            "Next: Add the next drive. Flash revision 1, with which no drive was made yet; "
        )
        assert DRIVE_WITH_CARE in told.lines[-1]  # whatever was accepted, nobody drove it
        done(session, add_log(session.state, (car / "first.csv",)))
        told = done(session, evidence(session.state))
        assert told.data["next_step"]["command"] == "correct"
        assert "approved, but drives since then raise objections. Part throttle is outside its target" in told.lines[-1]


def test_a_stale_table_is_refused_by_its_evidence(car: Path, tmp_path: Path) -> None:
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, add_log(session.state, (car / "first.csv",)))
        with pytest.raises(InputError, match="full-throttle-outside: Full throttle is outside its target") as caught:
            run(approve(session.state, by="A. Tester"))
        assert "part-throttle-outside" in caught.value.hint
        done(session, correct(session.state, share=0.1))
        with pytest.raises(InputError, match="full-throttle-outside"):
            run(approve(session.state, by="A. Tester", accept=("not-driven-since=seen",)))


def test_approving_is_advised_only_of_what_was_driven_and_proven(car: Path, tmp_path: Path) -> None:
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, add_log(session.state, (car / "first.csv",)))
        found = done(session, evidence(session.state)).value
        assert isinstance(found, Evidence)
        inside = Target(0.05, 1.0, 1.0, 0.001, (5,), 0.001, proven=1.0)
        good = replace(found, part_target=inside, full_target=inside, cautions=())
        state, head = session.state, session.state.head()
        assert next_step(state, head, good).word == "approve"
        blurred = next_step(state, head, replace(good, full_target=replace(inside, widest=0.08, widest_cell=(5,))))
        assert blurred is not None
        assert (blurred.word, blurred.values["half"]) == ("approve", "8.0")
        assert f"but {head.table.cell_name((5,))} is known only to ±8.0 %." in blurred.line
        thin = next_step(state, head, replace(good, part_target=replace(inside, proven=0.1)))
        assert (thin.word, thin.values["objections"]) == ("add-log", "part-throttle-unproven")
        assert "twice at least" in thin.line
        calm = tuple(replace(each, full_throttle=each.full_throttle & False) for each in found.kept)
        nothing = replace(inside, worst=float("nan"), worst_cell=None)
        undriven = next_step(state, head, replace(good, kept=calm, full_target=nothing))
        assert undriven.values["objections"] == "full-throttle-not-driven"
        doubt = Caution("doubt", "The wideband reads 0.9 in closed loop.", 0.0)
        assert next_step(state, head, replace(good, cautions=((1, doubt),))).word == "cautions"


def test_a_cause_that_the_table_must_not_make_up_for_is_named_before_correcting(driven: Driven) -> None:
    session, found = driven
    state, head = session.state, session.state.head()
    plain = next_step(state, head, replace(found, cautions=()))
    assert plain is not None
    assert (plain.word, plain.values["objections"]) == ("correct", "")
    for kind in ("doubt", "danger"):
        starved = Caution(kind, "The pump gives way.", 0.0, name="fuel-supply")
        told = next_step(state, head, replace(found, cautions=((1, starved),)))
        assert told is not None
        assert (told.word, told.values["objections"]) == ("cautions", "open-cautions")
        assert told.line.startswith("Next: Look at the cautions. Before the table is corrected: The pump gives way.")


def test_a_log_that_only_weakens_the_evidence_holds_no_correction_back(driven: Driven) -> None:
    session, found = driven
    state, head = session.state, session.state.head()
    slow = Caution("doubt", "The logger repeats values.", float("nan"), name="slow-log")
    told = next_step(state, head, replace(found, cautions=((1, slow),)))
    assert told is not None
    assert (told.word, told.values["objections"]) == ("correct", "open-cautions")
    assert "repeats" not in told.line


def test_a_danger_that_the_table_led_to_is_told_before_the_correction_that_mends_it(driven: Driven) -> None:
    session, found = driven
    state, head = session.state, session.state.head()
    lean = Caution("danger", "Full throttle ran 4 % lean.", 0.0, passes=True, name="lean-at-full-throttle")
    told = next_step(state, head, replace(found, cautions=((1, lean),)))
    assert told is not None
    assert (told.word, told.values["objections"]) == ("correct", "open-cautions")
    assert "Danger: Full throttle ran 4 % lean. Part of what was driven is outside its target." in told.line
    # What the logs cannot tell is asked for first, and takes no danger away.
    asked = next_step(
        state, head, replace(found, cautions=((1, lean),), wideband=dict.fromkeys(found.wideband, "unknown"))
    )
    assert asked is not None
    assert (asked.word, asked.danger, asked.values["objections"]) == ("settings", True, "open-cautions")
    assert asked.line.startswith("Next: Say where the wideband sits. Danger: Full throttle ran 4 % lean. Log 1 cannot")
    # A roll-back brings the table back that led to it: the danger is as it was.
    raised = scale(state, by=1.1).change
    assert raised is not None
    moved = step(state, raised)
    restored = roll_back(moved, head.id).change
    assert restored is not None
    again = step(moved, restored)
    back = next_step(again, again.head(), replace(found, cautions=((1, lean),)))
    assert back is not None
    assert back.line.startswith(told.line.split(".")[0])
    assert "Danger: Full throttle ran 4 % lean." in back.line


def test_it_says_whose_word_it_is_where_a_revision_s_own_drives_and_all_disagree(driven: Driven) -> None:
    session, found = driven
    state, head = session.state, session.state.head()
    inside = Target(0.05, 1.0, 1.0, 0.001, (5,), 0.001, proven=1.0, measured=True)
    good = replace(found, part_target=inside, full_target=inside, cautions=())
    bad = replace(good, part_target=replace(inside, worst=0.08, worst_cell=(7,)))
    blurred = replace(good, full_target=replace(inside, widest=0.08, widest_cell=(5,)))
    there = head.table.cell_name((7,))

    def line(pooled: Evidence, own: Evidence | None) -> str:
        told = next_step(state, head, pooled, own=own)
        assert told is not None
        return told.line

    assert line(good, good) == line(good, None)
    assert line(bad, bad) == line(bad, None)
    assert "All drives together" in line(bad, good)
    assert "those made with revision 1 alone show it inside" in line(bad, good)
    contrary = line(good, bad)
    assert contrary.startswith("Next: Add another drive.")
    assert f"made with revision 1 show {there} outside its target, +8.0 % off" in contrary
    assert "known only to ±8.0 %" in line(good, blurred)  # by its own drives, as the strip says
    assert "the rest is expected" in line(good, replace(good, full_target=replace(inside, measured=False)))
    done(
        session,
        approve(state, by="A. Tester", accept=tuple(f"{each.name}=seen" for each in against(state, head, found))),
    )
    assert next_step(session.state, head, good, own=bad).word == "export"  # it was known before the approval
    later = (replace(state.drives[0], added="2999-01-01T00:00:00Z"),)
    assert next_step(replace(session.state, drives=later), head, good, own=bad).word == "add-log"


def test_a_curve_that_a_correction_left_falling_is_made_to_rise(curve: Table, make_drive: MakeDrive) -> None:
    """Beside undriven cells the correction is carried on, once; else what falls is lifted."""

    def corrected(multipliers: list[float], standing: list[object]) -> State:
        first = brought_in(1, curve, "new", {}, "", "tester", "2026-01-01T00:00:00Z")
        begun = replace(step(State("", History((), {}, {}, {})), Applied(first)), drives=(make_drive(1, 1),))
        after = curve.with_values(curve.values * multipliers)
        told = {"standing": standing}
        return step(begun, revise(begun, "airflow", after, np.array(multipliers), "correct", told, ""))

    def advised(state: State) -> NextStep:
        advice = next_step(state, state.head(), None)
        assert advice is not None
        return advice

    driven, undriven = "proven", "undriven"
    high = [1, 1, 1, 1.05, 0.4]
    assert advised(corrected([1, 1, 1, 1.05, 1.05], [driven] * 5)).word == "export"
    within = advised(corrected(high, [driven] * 5))
    assert (within.word, within.values["where"]) == ("keep-rising", "6000 Hz")
    assert "falling-curve" in within.values["objections"]
    end = corrected([1, 1, 1, 2.4, 1], [*[driven] * 4, undriven])
    assert advised(end).word == "carry-on"
    once = step(end, revise(end, "airflow", end.table(), np.ones(5), "carry-on", {}, ""))
    assert advised(once).word == "keep-rising"
    lifted = keep_rising(once).change
    assert lifted is not None
    assert advised(step(once, lifted)).word == "export"


def test_what_rounds_a_correction_off_is_known_where_no_other_command_was_imported() -> None:
    """The command line imports only the module of the command it runs."""
    program = (
        "import sys; from types import SimpleNamespace as Made;"
        "from workbench.commands.evidence.next_step import _rounds_off;"
        "assert 'workbench.commands.table.shaping' not in sys.modules;"
        "words = ('carry-on', 'smooth', 'keep-rising', 'round', 'correct', 'set', 'scale', 'x');"
        "print([word for word in words if _rounds_off(Made(operation=word))])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['carry-on', 'smooth', 'keep-rising', 'round']"


def test_a_drive_that_says_nothing_of_a_table_does_not_let_it_be_approved(car: Path, tmp_path: Path) -> None:
    """A log without the channel of the table's axis lies in the session as driven on it; it shows nothing of it."""
    other = drive(replace(CAR, kind="grid", rate_hz=5.0), number=2).log
    (tmp_path / "other.csv").write_text(csv_text(other))
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, add_log(session.state, (car / "first.csv",)))
        done(session, correct(session.state))
        done(session, add_log(session.state, (tmp_path / "other.csv",)))
        state = session.state
        assert [each.id for each in drives_of(state, state.head())] == [2]
        told = run(evidence(state))
        assert told.value.drives == (1,)
        step = next_step(state, state.head(), told.value)
        assert step is not None
        assert (step.word, step.values["log"]) == ("amend-log", "2")
        assert step.line.startswith("Next: Look at log 2: it does not count. other.csv is left out:")
        (tmp_path / "grid.csv").write_text(write_table_text(stale_table(replace(CAR, kind="grid"))))
        done(session, add_table(state, tmp_path / "grid.csv", name="filling"))
        both = session.state
        new_one = next_step(both, both.head("filling"), None)
        assert new_one is not None
        assert new_one.line.startswith("Next: Say with which revision log 2 was driven. other.csv was added before")
        assert new_one.typed == "amend-log SESSION 2 --on 3"
        done(session, amend_log(both, 2, on=(3,)))
        assert next_step(session.state, session.state.head("filling"), None) is None  # the evidence tells
        meant = next_step(both, both.head("airflow"), told.value)
        assert meant is not None
        assert meant.word != "amend-log"  # it speaks of the other table, and is not waited for here


def test_a_drive_that_fits_another_revision_is_asked_about_and_not_taken_for_the_next_round(
    car: Path, tmp_path: Path
) -> None:
    """Driven on the table as it was before: that it does not count stood only in a note."""
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, add_log(session.state, (car / "first.csv",)))
        done(session, correct(session.state))
        done(session, add_log(session.state, (car / "first.csv",), on=(2,), again=True))
        state = session.state
        told = run(evidence(state)).value
        assert (told.drives, list(told.unused)) == ((1,), [2])
        step = next_step(state, state.head(), told)
        assert step is not None
        assert (step.word, step.values["log"]) == ("amend-log", "2")
        assert "fits revision 1, not 2" in step.line
        # A pull that ran lean did so, whatever its log is worth: told everywhere until somebody looked into it.
        ran_lean = [each for number, each in told.cautions if number == 2 and each.kind == "danger"]
        assert [each.name for each in ran_lean] == ["lean-at-full-throttle"]
        assert not any(number == 2 and each.kind == "doubt" for number, each in told.cautions)
        assert step.danger
        assert step.reason.startswith("Danger in {silent}, which does not count: {danger} ")
        assert "leaner than commanded" in step.line
        assert "open-cautions" in [each.name for each in against(state, state.head(), told)]
        written = export(state, tmp_path / "draft.csv", draft=True, accept=("lean-step-at-high-load",))
        assert any(line.startswith("Danger in first.csv: Full throttle ran") for line in written.warnings)
        assert any("Pulls of drive 2 are not listed" in line for line in run(pulls(state)).lines)
        for name in [f"{number}:{each.name}" for number, each in told.cautions]:
            done(session, acknowledge(session.state, name, because="looked into"))
        after = next_step(session.state, session.state.head(), told)
        assert after is not None
        assert (after.word, after.danger) == ("amend-log", False)


def test_a_danger_is_told_where_no_log_counts(car: Path, tmp_path: Path) -> None:
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, add_log(session.state, (car / "first.csv",)))
        state = session.state
    asking = replace(state.drives[0].log, questions=(Question("Coolant", "Is it the engine's?", ()),))
    state = replace(state, drives=(replace(state.drives[0], log=asking),))
    with pytest.raises(InputError, match=r"Danger in first\.csv: Full throttle ran more than 3 % leaner"):
        run(evidence(state))


def test_the_evidence_says_that_the_table_leans_high_load(driven: Driven) -> None:
    """A cell typed to half was called no lean step on the command line, and one in the window."""
    session, found = driven
    full = int(np.argmax(found.full_throttle & (found.standing == 2)))
    leant = done_in(session.state, scale(session.state, by=0.5, cells=read_cells(str(full))))
    said = run(evidence(leant))
    assert any("lean" in line and "high load" in line for line in said.lines[-3:])
    assert "lean-step-at-high-load" in str(said.to_json()["lean_step"])


def done_in(state: State, answer: Answer) -> State:
    assert answer.change is not None
    return step(state, answer.change)


def test_that_an_approval_rested_on_a_drive_that_no_longer_counts_is_said_everywhere(
    driven: Driven, tmp_path: Path
) -> None:
    session, found = driven
    head = session.state.head()
    with pytest.raises(InputError) as refused:
        run(approve(session.state, by="A"))
    listed = refused.value.details["objections"]
    assert isinstance(listed, list)
    names = tuple(f"{each['name']}=seen" for each in listed)
    assert "It rests on drive 1." in done(session, approve(session.state, by="A", accept=names)).lines
    assert fallen_grounds(session.state, head, found) == ""
    export(session.state, tmp_path / "flashed.csv")
    assert check(session.state, against=tmp_path / "flashed.csv").data["ok"]
    part = leave_out(session.state, "1:10..20", because="another car in front")
    assert part.change is not None
    assert "part of first.csv was left out since" in fallen_grounds(step(session.state, part.change), head)
    assert "does not count any more" in fallen_grounds(session.state, head, replace(found, unused={1: "it asks"}))
    for otherwise, falls in (
        (amend_log(session.state, 1, wideband="after", against_logs=True), True),
        (amend_log(session.state, 1, unit=("Short trim bank 1=fraction",)), True),
        (amend_log(session.state, 1, rename=("Measured lambda=Lambda bank 1",)), True),  # it names the bank
        (amend_log(session.state, 1, rename=("Short trim bank 1=STFT",)), False),
    ):
        assert otherwise.change is not None
        why = fallen_grounds(step(session.state, otherwise.change), head)
        assert ("first.csv is read otherwise since" in why) is falls
    again = next_step(step(session.state, part.change), head, found)
    assert again is not None
    assert again.word == "approve", "and not to flash what nobody vouches for"
    assert "Approve revision 1 again. The approval of revision 1 rested on drives" in again.line
    done(session, undo(session.state))
    state = session.state
    assert state.drives == ()
    told = next_step(state, head, None)
    assert told is not None
    said = "rested on drives that no longer count as they did: first.csv was taken out since."
    assert said in told.line
    assert said in history(state).lines[0]
    with pytest.raises(InputError, match=said) as held_back:
        export(state, tmp_path / "out.csv")
    assert "Approve it again" in str(held_back.value.hint)
    assert not (tmp_path / "out.csv").exists(), "nothing leaves as approved that nobody vouches for"
    held = check(state, against=tmp_path / "flashed.csv")
    assert "flashed.csv is revision 1. The approval of revision 1 rested on drives" in held.refusal
    assert said in held.refusal
    made = export(state, tmp_path / "out.csv", draft=True)
    assert "NOT APPROVED" in made.lines[0]
    assert said in made.lines[1]
    paper = json.loads((tmp_path / f"{made.value.name}.provenance.json").read_text())
    assert (paper["approved"], said in paper["no_longer_counts"]) == (False, True)
    with pytest.raises(InputError, match="Objections to revision 1"):  # it may be approved again
        run(approve(state, by="A"))


def test_what_a_log_leaves_open_comes_first(car: Path, tmp_path: Path) -> None:
    new(tmp_path / "car.session", car / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as session:
        done(session, add_log(session.state, (car / "first.csv",)))
        state, head = session.state, session.state.head()
    drive_of_it = state.drives[0]
    asking = replace(drive_of_it.log, questions=(Question("Coolant", "Is it the engine's?", ()),))
    state = replace(state, drives=(drive_of_it, replace(drive_of_it, id=2, log=asking)))
    told = next_step(state, head, None)
    assert told is not None
    assert told.line.startswith("Next: Answer the questions of log 2. What first.csv holds is not clear yet")
    assert told.json["command"] == "amend-log"
