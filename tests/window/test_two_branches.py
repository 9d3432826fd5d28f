"""Two branches, two sessions and a table from outside, compared by keys on a real screen and by the command line.

One session is worked on in the real window, under an X server with a window manager, by keys from outside alone; its
twin by commands. After each comparison the window's figures are those of the command, and nothing shown is stale.
"""

import json
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from test_screen import TOOLS, Screen, holds

from workbench.cli import main as command_line
from workbench.window.words.wording import MINUS, THIN_SPACE

pytestmark = pytest.mark.skipif(
    not all(TOOLS.values()), reason="needs " + ", ".join(TOOLS) + " (Debian packages xvfb, openbox, xdotool)"
)
BRANCHES = ("safe", "race fuel")


@pytest.fixture
def files(car_files: Path, tmp_path: Path) -> dict[str, Path]:
    """A session for the window and its twin for commands, another one of two revisions, and a table from outside."""
    found = {name: tmp_path / f"{name}.session" for name in ("window", "twin", "other")}
    for path in found.values():
        assert command_line(["new", str(path), str(car_files / "curve.csv")]) == 0
    for name in ("window", "twin"):
        assert command_line(["add-log", str(found[name]), str(car_files / "curve_drive.csv")]) == 0
    assert command_line(["scale", str(found["other"]), "--by", "1.08"]) == 0
    rows = (car_files / "curve.csv").read_text().splitlines()
    found["outside"] = tmp_path / "outside.csv"
    found["outside"].write_text("\n".join([rows[0], *rows[1::2], rows[-1]]) + "\n")
    return found


@pytest.fixture
def screen(files: dict[str, Path], tmp_path: Path) -> Iterator[Screen]:
    """The program on a screen of its own."""
    folder = tmp_path / "screen"
    folder.mkdir()
    made = Screen(folder, files["window"])
    yield made
    made.end()


def by_name(screen: Screen, title: str) -> None:
    """Open a command by its name, as one finds it: search, type, Enter."""
    screen.tool("key", "ctrl+f")
    screen.say("settle")
    screen.tool("type", "--delay", "20", title)
    screen.say("settle")
    screen.tool("key", "Return")
    screen.say("settle")


def keys(screen: Screen, *names: str) -> None:
    screen.tool("key", "--delay", "40", *names)
    screen.say("settle")


def write(screen: Screen, text: str) -> None:
    """Write into the field that has the keyboard, in place of what it holds."""
    screen.tool("key", "ctrl+a")
    screen.tool("type", "--delay", "15", text)
    screen.say("settle")


def told(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, Any]:
    """Run a command line; what it answers as JSON."""
    capsys.readouterr()
    assert command_line([*map(str, words), "--json"]) == 0, words
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def percents(texts: list[str]) -> list[float]:
    return [number(text) for text in texts]


def number(text: str) -> float:
    """Read a number without the signs that stand about it."""
    return float(re.sub(r"[^\d.+-]", "", text.replace(MINUS, "-")))


def by_keys(screen: Screen) -> None:
    """Make two branches, name both, and put one into the car."""
    keys(screen, "alt+1")
    for factor in ("*1.02", "*1.1"):
        screen.tool("key", "ctrl+a")
        screen.tool("type", "--delay", "30", factor)
        keys(screen, "Return")
        if factor == "*1.02":
            keys(screen, "ctrl+z")
    for steps, name in ((1, BRANCHES[0]), (0, BRANCHES[1])):  # the latest revision stands first in the list
        by_name(screen, "Name a branch")
        keys(screen, "shift+Tab", "Home", *["Down"] * steps, "Tab")  # what must be typed has the keyboard first
        write(screen, name)
        keys(screen, "Return")
    by_name(screen, "Put a revision in the car")
    keys(screen, "shift+Tab", "Home", "Down", "Down", "Return")


def by_commands(session: Path) -> None:
    """Do the same by commands; a list that may be left empty has its empty line first."""
    for words in (
        ["scale", "--by", "1.02"],
        ["undo"],
        ["scale", "--by", "1.1"],
        ["name-branch", "2", BRANCHES[0]],
        ["name-branch", "3", BRANCHES[1]],
        ["put-in-car", BRANCHES[0]],
    ):
        assert command_line([words[0], str(session), *words[1:]]) == 0, words


def compare(screen: Screen, earlier: object, later: object) -> dict[str, Any]:
    """Compare two tables in the form, and give what the window shows then."""
    keys(screen, "ctrl+d")
    write(screen, str(earlier))
    keys(screen, "Tab", "Tab")
    write(screen, str(later))
    keys(screen, "Return")
    found: dict[str, Any] = json.loads(screen.say("figures"))
    return found


def shown_lines(figures: dict[str, Any]) -> str:
    return "\n".join(figures["task"]).replace("→", "->").replace(THIN_SPACE, " ").replace(MINUS, "-")


def row_of(line: str) -> tuple[str, ...]:
    """Read a line of the command line that tells of a cell; empty for others."""
    found = re.fullmatch(r"\s*(.+?)\s+(\S+) -> +(\S+)\s+(\S+) %\s*", line.replace(THIN_SPACE, " "))
    return () if found is None else (*found.groups()[:3], f"{found.group(4)} %")


def rows_of(text: str) -> list[tuple[str, ...]]:
    """Read the rows of a table in rich text."""
    rows = [re.findall(r"<td[^>]*>(.*?)</td>", row) for row in re.findall(r"<tr>(.*?)</tr>", text)[1:]]
    return [tuple(unescape(cell).replace("\N{NO-BREAK SPACE}", " ") for cell in row if cell != "->") for row in rows]


def spaced(line: str) -> str:
    return re.sub(r"\s+", " ", line.replace(THIN_SPACE, " ")).strip()


def test_the_window_and_the_command_line_compare_alike(
    screen: Screen, files: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    by_keys(screen)
    by_commands(files["twin"])
    listed = [told(capsys, "branches", files[name]) for name in ("window", "twin")]
    assert listed[0]["branches"] == listed[1]["branches"] == {BRANCHES[0]: [2], BRANCHES[1]: [3]}
    assert [mark["revision"] for mark in listed[0]["in_car"]] == [mark["revision"] for mark in listed[1]["in_car"]]
    marks = json.loads(screen.say("figures"))["history"]
    assert f"branch “{BRANCHES[1]}”" in marks["3"]
    holds(screen, "naming branches")
    references = ((*BRANCHES,), (files["outside"], BRANCHES[1]), (f"{files['other']}:2", BRANCHES[1]))
    for earlier, later in references:
        shown = compare(screen, earlier, later)
        command = told(capsys, "difference", files["twin"], earlier, later)
        capsys.readouterr()
        assert command_line(["difference", str(files["twin"]), str(earlier), str(later)]) == 0
        lines = capsys.readouterr().out.splitlines()
        rows = [row for line in lines if (row := row_of(line))]
        seen = shown_lines(shown)
        assert all(spaced(line) in spaced(seen) for line in lines if not row_of(line)), (lines, seen)
        assert [f"{row[0]} Hz" for row in rows_of(seen)] == [row[0] for row in rows]
        for place, off in ((1, 1e-3), (2, 1e-3), (3, 0.0)):  # the window shows four digits, and tenths of a percent
            figures = [[number(row[place].rstrip(" %")) for row in each] for each in (rows_of(seen), rows)]
            assert figures[0] == pytest.approx(figures[1], rel=off, abs=0.0501 if place == 3 else 0)
        if earlier == BRANCHES[0]:
            (since,) = [texts for name, texts in shown["columns"].items() if name.startswith("since")]
            assert percents(since) == pytest.approx(command["change_percent"], abs=0.051)
        holds(screen, f"comparing {earlier} with {later}")
    # All of them stand beside each other in the numbers: A from the file, B from the other session.
    columns = json.loads(screen.say("figures"))["columns"]
    values = told(capsys, "difference", files["twin"], 1, 3)
    assert values["changed"] > 0
    for letter, reference in (("A", files["outside"]), ("B", f"{files['other']}:2")):
        change = told(capsys, "difference", files["twin"], reference, BRANCHES[1])["change"]
        head = [number(text) for text in columns["g/s"]]
        beside = [number(text) for text in columns[letter]]
        assert [a - b for a, b in zip(head, beside, strict=True)] == pytest.approx(change, abs=0.0101)


def test_sessions_and_reports_are_told_alike(
    screen: Screen, files: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    by_keys(screen)
    by_commands(files["twin"])
    by_name(screen, "Compare with another session")
    write(screen, str(files["other"]))
    keys(screen, "Return")
    seen = [spaced(line) for line in shown_lines(json.loads(screen.say("figures"))).splitlines()]
    capsys.readouterr()
    assert command_line(["compare-sessions", str(files["window"]), str(files["other"])]) == 0
    lines = [spaced(line) for line in capsys.readouterr().out.splitlines() if line.strip()]
    assert lines
    assert all(line in seen for line in lines), (lines, seen)
    holds(screen, "comparing two sessions")
    reports = {name: tmp_path / f"{name}.html" for name in ("window", "twin")}
    keys(screen, "Escape", "ctrl+p")
    write(screen, str(reports["window"]))
    keys(screen, "Return")
    assert command_line(["report", str(files["twin"]), str(reports["twin"])]) == 0
    texts = {name: _plain(path.read_text("utf-8"), name) for name, path in reports.items()}
    assert texts["window"] == texts["twin"]
    assert len(texts["twin"]) > 40


def _plain(html: str, session: str) -> list[str]:
    """Give the lines of a report without what differs between two sessions: times, digests, and their own name."""
    text = re.sub(r"<(svg|style)\b.*?</\1>", "", html, flags=re.DOTALL)
    text = unescape(re.sub(r"<[^>]+>", "\n", text))
    text = re.sub(r"\d{4}-\d\d-\d\dT[\d:]+Z", "TIME", re.sub(r"\b[0-9a-f]{12,64}\b", "DIGEST", text))
    return [line.strip() for line in text.replace(f"{session}.session", "SESSION").splitlines() if line.strip()]


def test_forms_are_filled_by_keys_alone(
    screen: Screen, files: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """A pull left out with its reason, a channel computed from others, a delay kept for the car; each is undone."""
    by_name(screen, "Leave a pull out")
    write(screen, "1:1")
    keys(screen, "Tab")
    write(screen, "foot came up")
    keys(screen, "Return")
    holds(screen, "leaving a pull out")
    (left,) = told(capsys, "pulls", files["window"])["pulls"]
    assert left["left_out"] is True
    by_name(screen, "Computed channel")
    write(screen, "Lambda error")
    keys(screen, "Tab")
    write(screen, "100 * (lambda_measured / lambda_commanded - 1)")
    keys(screen, "Return")
    holds(screen, "computing a channel")
    by_name(screen, "State the wideband's delay")
    write(screen, "0.3")
    keys(screen, "Return")
    holds(screen, "keeping a delay")
    delays = told(capsys, "evidence", files["window"])["delay"]["per_drive"]
    assert {each["fixed_s"] for each in delays.values()} == {0.3}
    said = list[str]()
    for _ in range(3):
        keys(screen, "ctrl+z")
        said.append(json.loads(screen.say("figures"))["notice"])
    for words, what in zip(said, ("wideband's delay of the car", "'Lambda error'", "settings of the log"), strict=True):
        assert what in words
    (left,) = told(capsys, "pulls", files["window"])["pulls"]
    assert left["left_out"] is False
