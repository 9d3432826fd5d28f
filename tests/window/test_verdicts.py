"""The window's strip and page one of the report judge a revision alike."""

from dataclasses import replace
from pathlib import Path

import pytest
from screen import Screen

from workbench.commands.evidence.evidence import evidence
from workbench.commands.evidence.evidence_report import evidence_json, evidence_lines
from workbench.commands.evidence.verdict import verdict_of
from workbench.commands.report.contents import contents_of
from workbench.commands.report.page_one import before_and_after
from workbench.demo.drive import drive
from workbench.demo.recorder import csv_text
from workbench.demo.scenario import Scenario
from workbench.files.export.blocks import Rows
from workbench.model.evidence import Target
from workbench.window.kit.theme import LIGHT
from workbench.window.panels.next_step import Figure, figures, next_step, target_figures
from workbench.window.table.layers import layer_picture
from workbench.work import run

CAR = Scenario(seed=7, minutes=4, pulls=1, start_coolant_c=84.0, rate_hz=10.0)
REACHED, NOT_SHOWN, MISSED = "Target reached", "not shown yet", "Target NOT reached"
GOOD = Target(0.01, 1.0, 1.0, 0.004, (5,), 0.003, proven=1.0, measured=True, widest=0.004, widest_cell=(7,))


def page_one(screen: Screen) -> tuple[str, str]:
    rows = next(iter(before_and_after(run(contents_of(screen.state, screen.head, "today")))))
    assert isinstance(rows, Rows)
    return str(rows.rows[0][2]), str(rows.rows[1][2])


def agree(figure: Figure, said: str) -> None:
    if REACHED in said:
        assert figure.value.startswith("all inside"), (figure, said)
    elif NOT_SHOWN in said:
        assert figure.value.startswith(NOT_SHOWN), (figure, said)
    elif MISSED in said:
        assert figure.value.endswith("of driven time"), (figure, said)
    else:
        assert "expected" in figure.value or "not driven" in figure.value, (figure, said)
    assert (figure.kind == "good") <= (REACHED in said)


def test_after_each_round_they_say_the_same(screen: Screen, car_files: Path, tmp_path: Path) -> None:
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.take([car_files / "curve_drive.csv"])
    screen.settle()
    words, steps = set(), list[str]()

    def look() -> None:
        screen.settle()
        scene = screen.scene
        assert not scene.judging
        shown = target_figures(scene.evidence, scene.table, scene.own)
        typed = [line for line in run(evidence(screen.state)).lines if line.startswith(("Part thr", "Full thr"))]
        for figure, told, line in zip(shown, page_one(screen), typed, strict=False):
            agree(figure, told)
            agree(figure, line)
            words.add(figure.value)
        step = next_step(scene)
        steps.append(step.word)
        out = any(each.value.endswith("of driven time") for each in shown)
        assert (step.word == "correct") == (out or "All drives together" in step.reason) or step.word == "add-log", step

    before = screen.head.table
    look()
    screen.run("correct", {})
    look()
    path = tmp_path / "next.csv"
    path.write_text(csv_text(drive(CAR, screen.head.table, number=2).log), encoding="utf-8", newline="")
    screen.run("add-log", {"files": (path,)})
    look()
    path = tmp_path / "wrong.csv"  # driven with the first table, and said to be of the last: it says nothing of that
    path.write_text(csv_text(drive(CAR, before, number=9).log), encoding="utf-8", newline="")
    screen.run("add-log", {"files": (path,)})
    look()
    assert len(words) > 2
    assert steps[:2] == ["correct", "export"]
    assert not {"correct", "export"} & set(steps[2:]) or "All drives together" in next_step(screen.scene).reason


@pytest.mark.parametrize(
    ("own", "pooled", "verdict"),
    [
        (GOOD, GOOD, "reached"),
        (GOOD, None, "reached"),
        (replace(GOOD, worst=0.02), GOOD, "outside"),
        (GOOD, replace(GOOD, widest=0.026), "not shown"),
        (replace(GOOD, widest=0.026), GOOD, "not shown"),
        (replace(GOOD, proven=0.3), GOOD, "uncertain"),
        (replace(GOOD, measured=False), GOOD, "expected"),
        (replace(GOOD, worst_cell=None), GOOD, "not driven"),
    ],
)
def test_a_verdict_asks_the_revision_s_own_drives_and_all(own: Target, pooled: Target | None, verdict: str) -> None:
    assert verdict_of(own, pooled) == verdict


def test_the_command_line_says_what_the_strip_says(screen: Screen, car_files: Path, tmp_path: Path) -> None:
    """All inside, but one cell known to ±2.6 %: it said 100 % within ±1 %, the strip said not shown."""
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.take([car_files / "curve_drive.csv"])
    screen.settle()
    assert screen.scene.evidence is not None
    blurred, dim = replace(GOOD, widest=0.026), replace(GOOD, proven=0.3)
    found = replace(screen.scene.evidence, part_target=dim, full_target=blurred)
    part, full = (line for line in evidence_lines(found, None) if "throttle: " in line)
    assert "less than half of what was driven is proven: uncertain: 100 % of driven cells" in part
    assert "not every cell is known as closely as it asks: not shown yet: 100 % of driven cells" in full
    targets = evidence_json(found, None)["target"]
    assert isinstance(targets, dict)
    assert [each["verdict"] for each in targets.values()] == ["uncertain", "not shown"]  # type: ignore[index,call-overload]


def test_what_another_revision_showed_is_not_said_of_this_one(screen: Screen, car_files: Path, tmp_path: Path) -> None:
    screen.begin_from(car_files / "curve.csv", tmp_path / "car.session")
    screen.take([car_files / "curve_drive.csv"])
    screen.settle()
    screen.run("scale", {"by": 0.9})
    scene = screen.scene
    assert scene.outdated  # the evidence for it is not gathered yet
    said = [each.value for each in figures(scene) if "within" in each.caption]
    assert said == ["being judged…"] * 2
    assert not any("Worst" in each.caption for each in figures(scene))
    assert not any(text.startswith("1.") for text in layer_picture(scene, "ratio", LIGHT).texts.ravel())
    assert "Evaluating the logs…" in screen.texts
    screen.settle()
    assert not screen.scene.outdated
    assert "being judged…" not in [each.value for each in figures(screen.scene)]
