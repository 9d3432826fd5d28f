"""The command line: its contract of words, exit codes and JSON."""

import json
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from workbench import __main__ as entry
from workbench import cli
from workbench.cli import main
from workbench.commands.declaring.arguments import arguments_from, joined, parser_for
from workbench.commands.declaring.registry import COMMANDS, Command
from workbench.commands.handbook import BEGIN, END, command_table, overview, with_table
from workbench.errors import FileError
from workbench.model.cells import Cells
from workbench.session import Session
from workbench.work import Progress

CURVE = "signal (Hz),mass airflow (g/s)\n1000,2\n2000,6\n3000,15.5\n4500,48\n6000,110\n"
GRID = (
    "engine speed (rpm) / manifold pressure (kPa) / volumetric efficiency (%),40,70,100\n1000,60,62,64\n3000,70,72,74\n"
)
LOG = "time (s),MAF (Hz),MAF (g/s),STFT B1 (%),LTFT B1 (%)\n" + "".join(
    f"{i / 20:.2f},{1500 + i},{3 + i / 100:.3f},1.5625,2.34375\n" for i in range(200)
)
Run = Callable[..., tuple[int, dict[str, Any]]]


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command in a folder with some files, and gives exit code and JSON."""
    monkeypatch.chdir(tmp_path)
    for name, text in (
        ("curve.csv", CURVE),
        ("grid.csv", GRID),
        ("log.csv", LOG),
        ("below.csv", CURVE.replace("2000,6", "2000,-3")),
    ):
        Path(name).write_text(text)

    def runs(*words: str) -> tuple[int, dict[str, Any]]:
        code = main([*words, "--json"])
        out = capsys.readouterr().out
        assert out.count("\n") == 1, out
        assert not re.search("NaN|Infinity", out)
        return code, json.loads(out)

    return runs


@pytest.fixture
def made(run: Run) -> Run:
    """The same, with a session of the curve in car.session."""
    code, told = run("new", "car.session", "curve.csv", "--name", "airflow")
    assert (code, told["session"], told["revision"], told["kind"], told["assumed"]) == (
        0,
        "car.session",
        1,
        "curve",
        [],
    )
    assert told["values"] == [2.0, 6.0, 15.5, 48.0, 110.0]
    return run


def test_the_job_from_table_to_export(made: Run) -> None:
    code, told = made("add-log", "car.session", "log.csv")
    assert code == 0
    assert (told["log"], told["rows"], told["time"]["first"], round(told["time"]["rate_hz"])) == (1, 200, 0.0, 20)
    assert {"name", "unit", "role"} <= set(told["channels"][0])
    assert "airflow" in [channel["role"] for channel in told["channels"]]
    assert isinstance(told["warnings"], list)
    assert told["logs"][0]["log"] == 1
    code, told = made("scale", "car.session", "--by", "1.02", "--cells", "1:2", "--note", "by hand")
    assert (code, told["revision"], told["multipliers"]) == (0, 2, [1.0, 1.02, 1.02, 1.0, 1.0])
    assert told["values"] == [2.0, 6 * 1.02, 15.5 * 1.02, 48.0, 110.0]
    code, told = made("set", "car.session", "--to", "2.5", "--cells", "0")
    assert told["multipliers"] == [None, 1.0, 1.0, 1.0, 1.0]
    code, told = made("difference", "car.session", "1", "3")
    assert told["change_percent"] == pytest.approx([25, 2, 2, 0, 0])
    code, told = made("roll-back", "car.session", "2", "--note", "too much")
    assert (code, told["revision"], told["values"][0]) == (0, 4, 2.0)
    code, told = made("approve", "car.session", "--by", "A. Tester")
    names = [objection["name"] for objection in told["objections"]]
    assert (code, names) == (1, ["undriven-changed", "not-driven-since", "no-evidence"])
    accepts = [word for name in names for word in ("--accept", f"{name}=seen")]
    code, told = made("approve", "car.session", "--by", "A. Tester", *accepts)
    assert (code, told["revision"], told["accepted"]) == (0, 4, names)
    code, told = made("export", "car.session", "out.csv")
    assert (code, told["revision"]) == (0, 4)
    code, told = made("check", "car.session", "--against", "out.csv")
    assert (code, told["ok"], told["problems"], told["is_revision"]) == (0, True, [], 4)
    code, told = made("history", "car.session")
    assert [each["operation"] for each in told["revisions"]] == ["new", "scale", "set", "roll-back"]
    assert {"id", "parent", "operation", "note", "author", "time", "digest", "approved"} <= set(told["revisions"][0])
    assert (told["head"], [each["approved"] for each in told["revisions"]]) == (4, [False, False, False, True])


def test_undo_and_redo_survive_between_runs(made: Run) -> None:
    made("scale", "car.session", "--by", "2")
    assert made("undo", "car.session")[1]["revision"] == 1
    code, told = made("undo", "car.session")
    assert (code, told["error"]) == (1, "Revision 1 is the first of 'airflow'.")
    assert made("redo", "car.session")[1]["revision"] == 2
    assert made("redo", "car.session")[0] == 1


REFUSALS: list[tuple[int, str, str]] = [
    (1, "new car.session curve.csv", "exists already"),
    (1, "new other.session none.csv", "no file"),
    (1, "new other.session .", "is a directory"),
    (1, "new none/other.session curve.csv", "no folder"),
    (1, "history none.session", "no session file"),
    (1, "history curve.csv", "not a session"),
    (1, "history .", "is a directory"),
    (1, "scale car.session --by nan", "not a finite number"),
    (1, "scale car.session --by inf", "not a finite number"),
    (1, "scale car.session --by -2", "not possible"),
    (1, "scale car.session --by -2e-1", "not possible"),
    (1, "scale car.session --by 1e308", "not possible"),
    (1, "set car.session --to 1e300 --cells 1", "not a possible value"),
    (1, "scale car.session --by 1e-320", "not possible"),
    (2, "scale car.session --by 1_0", "is not a number"),
    (2, "scale car.session --by ١", "is not a number"),
    (2, "scale car.session --by 2 --by 3", "is given twice"),
    (2, "scale car.session --by 2 --cells 1 --cells 2", "is given twice"),
    (2, "scale car.session --by 2 --cells=", "--cells is empty"),
    (2, "scale car.session --by 2 --span=", "--span is empty"),
    (1, "add-log car.session log.csv --dbc none.dbc", "holds no CAN frames"),
    (1, "add-log car.session log.csv --part 7", "has no parts"),
    (1, "add-log car.session log.csv --afr-of nope=14", "no channel 'nope'"),
    (1, "new other.session curve.csv --part 7", "has no parts"),
    (1, "storage car.session --none --step 1", "at once"),
    (1, "parts car.session --none --at 3000", "at once"),
    (1, "settings car.session --gate lambda_low=2", "no reading would be in range"),
    (1, "new other.session curve.csv --kind grid", "leave --kind out"),
    (1, "new other.session below.csv", "-3 g/s at 2000 Hz"),
    (1, "set car.session --to nan --cells 1", "not a finite number"),
    (1, "scale car.session --by 2 --cells 9", "ends at 4"),
    (1, "scale car.session --by 2 --cells 3:1", "in reverse order"),
    (1, "scale car.session --by 2 --cells x", "cannot be read"),
    (1, "scale car.session --by 2 --span 1:2", "No breakpoint"),
    (1, "scale car.session --by 2 --span -9:-2", "No breakpoint"),
    (1, "scale car.session --by 2 --table other", "no table 'other'"),
    (1, "smooth car.session --strength 3", "from 0 to 1"),
    (1, "smooth car.session --cells 1:2", "Fewer than three"),
    (1, "correct car.session --share 3", "from 0 to 1"),
    (1, "difference car.session 1 9", "no revision 9"),
    (1, "roll-back car.session 0", "no revision 0"),
    (1, "approve car.session --by _", "needs your name"),
    (1, "approve car.session --by x --accept nonsense=x", "no objection 'nonsense'"),
    (1, "export car.session out.csv", "not approved"),
    (1, "export car.session out.csv --revision 7", "no revision 7"),
    (1, "export car.session none/out.csv --draft", "no folder"),
    (1, "add-log car.session none.csv", "none.csv"),
    (1, "add-log car.session log.csv --on 4", "no revision 4"),
    (1, "add-log car.session log.csv --role airflow", "ROLE=CHANNEL"),
    (1, "add-log car.session log.csv --role nonsense=MAF", "no role 'nonsense'"),
    (1, "add-log car.session log.csv log.csv", "same content"),
    (1, "amend-log car.session 1", "no drive 1"),
    (1, "add-table car.session curve.csv --name airflow", "already"),
    (1, "check car.session --against none.csv", "no file"),
    (2, "scale car.session", "required: --by"),
    (2, "scale car.session --by two", "'two' is not a number"),
    (2, "scale car.session --by 2 --cells 1 --span 1:2", "twice"),
    (2, "set car.session --to 3", "No cells are chosen"),
    (2, "difference car.session 1", "required: B"),
    (1, "difference car.session 1 two", "neither a revision nor a file"),
    (2, "add-log car.session log.csv --wideband beside", "invalid choice"),
    (2, "scale car.session --by 2 --unknown", "unrecognized arguments"),
    (2, "scle car.session", "no command 'scle'"),
]


@pytest.mark.parametrize(("code", "words", "told"), REFUSALS, ids=[words for _, words, _ in REFUSALS])
def test_a_refusal_says_what_and_what_to_do_and_changes_nothing(made: Run, code: int, words: str, told: str) -> None:
    content = Path("car.session").read_bytes()
    files = sorted(os.listdir())
    split = [" " if word == "_" else word for word in words.split()]
    got, answer = made(*split)
    assert got == code
    assert told in answer["error"] + answer["hint"]
    assert answer["hint"] or code == 1
    assert Path("car.session").read_bytes() == content
    assert sorted(os.listdir()) == files


def test_airflow_of_nothing_is_a_caution_but_at_the_foot(run: Run) -> None:
    Path("empty.csv").write_text(CURVE.replace("1000,2", "1000,0").replace("3000,15.5", "3000,0"))
    code, told = run("new", "other.session", "empty.csv")
    assert code == 0
    assert told["assumed"] == ["Caution: 1 cell holds 0 g/s, the first at 3000 Hz: the ECU would meter no fuel there."]
    Path("trim.csv").write_text("signal (Hz),air flow correction (%)\n1000,-2\n2000,3\n")
    assert run("new", "trim.session", "trim.csv")[0] == 0


def test_a_log_without_the_tables_axis_is_told_at_once(made: Run) -> None:
    Path("deaf.csv").write_text(LOG.replace("MAF (Hz)", "Other (Nm)"))
    code, told = made("add-log", "car.session", "deaf.csv")
    assert code == 0
    assert any("no channel for the axis signal (Hz)" in warning for warning in told["warnings"])
    assert not any("no channel for" in warning for warning in made("add-log", "car.session", "log.csv")[1]["warnings"])


def test_names_cannot_steer_the_terminal(made: Run, capsys: pytest.CaptureFixture[str]) -> None:
    steering = "\x1b[31mred\x07\x9b2J"
    assert main(["scale", "car.session", "--by", "1.01", "--note", steering]) == 1
    assert "control character, U+001B" in capsys.readouterr().err
    # Names of files and channels are as they are: they are shown so that nothing happens.
    log = Path(f"{steering}.csv")
    log.write_text("Time (s),Engine speed (rpm)\n" + "".join(f"{k / 10},{800 + k}\n" for k in range(50)))
    assert main(["inspect", str(log)]) == 0
    shown = capsys.readouterr().out
    assert "\\x1b[31mred\\x07\\x9b2J.csv" in shown
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", shown)


def test_json_may_be_asked_for_anywhere(made: Run, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--json", "history", "car.session"]) == 0
    assert json.loads(capsys.readouterr().out)["head"] == 1
    assert main(["--json"]) == 2
    assert "No command" in json.loads(capsys.readouterr().out)["error"]


README = Path(__file__).parent.parent / "README.md"


@pytest.mark.skipif(not README.exists(), reason="the table stands in the README")
def test_the_readme_shows_the_commands_as_they_are() -> None:
    """When it fails: python -m workbench.commands.handbook README.md."""
    text = README.read_text("utf-8")
    assert with_table(text, README.name) == text


def test_an_unknown_command_suggests_the_nearest(made: Run) -> None:
    assert "'history'" in made("histroy", "car.session")[1]["hint"]


def test_a_second_table_has_its_own_history(made: Run) -> None:
    assert made("add-table", "car.session", "grid.csv", "--name", "ve")[1]["revision"] == 2
    code, told = made("scale", "car.session", "--by", "1.1", "--table", "ve", "--span", "2000:4000,50:80")
    assert (code, told["multipliers"]) == (0, [[1.0, 1.0, 1.0], [1.0, 1.1, 1.0]])
    told = made("history", "car.session", "--table", "ve")[1]
    assert ([each["id"] for each in told["revisions"]], told["head"]) == ([2, 3], 3)
    assert made("history", "car.session")[1]["heads"] == {"airflow": 1, "ve": 3}
    assert made("difference", "car.session", "1", "3")[0] == 1


def test_the_same_log_is_added_twice_only_on_purpose(made: Run) -> None:
    assert made("add-log", "car.session", "log.csv")[0] == 0
    assert made("add-log", "car.session", "log.csv")[0] == 1
    assert made("add-log", "car.session", "log.csv", "--again")[1]["log"] == 2


def test_a_curve_comes_in_parts_and_leaves_in_parts(run: Run) -> None:
    Path("low.csv").write_text("signal (Hz),airflow (g/s)\n1000,2\n3000,15.5\n")
    Path("high.csv").write_text("signal (Hz),airflow (g/s)\n3000,16\n6000,110\n")
    code, told = run("new", "car.session", "low.csv", "--more", "high.csv", "--name", "airflow")
    assert (code, "disagree at 3000 Hz" in told["error"]) == (1, True)
    told = run("new", "car.session", "low.csv", "--more", "high.csv", "--name", "airflow", "--boundary", "upper")[1]
    assert told["values"] == [2, 16, 110]
    run("scale", "car.session", "--by", "1.5", "--cells", "1")
    told = run("export", "car.session", "out.csv", "--draft")[1]
    assert told["parts"] == ["out.draft.low.csv", "out.draft.high.csv"]
    assert "3000,24" in Path("out.draft.low.csv").read_text()
    assert "3000,24" in Path("out.draft.high.csv").read_text()
    told = run("add-table", "car.session", "low.csv", "--more", "high.csv", "--name", "two", "--boundary", "mean")[1]
    assert told["values"] == [2, 15.75, 110]
    with Session.open(Path("car.session")) as session:
        assert [part.name for part in session.state.ecu_format("two").parts] == ["low", "high"]


def test_settings_are_shown_and_said(made: Run) -> None:
    assert made("settings", "car.session")[1]["part_throttle_target"] == 0.05
    told = made("settings", "car.session", "--part-throttle", "0.03", "--gate", "warm_c=80")[1]
    assert (told["part_throttle_target"], told["gates"]["warm_c"]) == (0.03, 80)
    assert made("settings", "car.session")[1] == told
    for words in (["--gate", "nonsense=3"], ["--gate", "warm_c=x"], ["--gate", "warm_c=nan"], ["--afr", "400"]):
        assert made("settings", "car.session", *words)[0] == 1


def test_a_preview_changes_nothing(made: Run) -> None:
    content = Path("car.session").read_bytes()
    code, told = made("scale", "car.session", "--by", "1.1", "--preview")
    assert (code, told["preview"], told["revision"]) == (0, True, 2)
    assert Path("car.session").read_bytes() == content


def test_hand_tools_on_the_command_line(made: Run) -> None:
    Path("copied.txt").write_text("7,5\n16,5\n")
    for words in (
        "add --by -0.5 --cells 0",
        "scale-percent --by 2",
        "ramp --cells 1:3",
        "fill --cells 2",
        "keep-rising",
        "blend 1 --share 0.25",
        "paste copied.txt --cells 1",
        "multiply-by-paste --text 2% --cells 0:1",
        "round --step 0.01",
        "insert-breakpoint --at 2500",
        "change-axis --to 1000,2000,3000,4000,6000",
        "smooth --strength 0.1 --span 1000:4000",
    ):
        word, *rest = words.split()
        code, told = made(word, "car.session", *rest)
        assert code == 0, told
        assert told["revision"] > 1
    assert made("check", "car.session")[1]["ok"]
    assert made("copy", "car.session", "--cells", "0:1", "--with-axes")[1]["text"].startswith("signal (Hz)\tmass air")


def test_donors_on_the_command_line(made: Run) -> None:
    Path("donor.csv").write_text("signal (kHz),airflow (kg/h)\n0.5,3.6\n1.5,18\n5,360\n")
    made("add-log", "car.session", "log.csv")
    code, told = made("resample-donor", "car.session", "donor.csv")
    assert (code, "does not reach 1 cells of this table, the first at 6000 Hz" in told["error"]) == (1, True)
    code, told = made("resample-donor", "car.session", "donor.csv", "--outside", "keep", "--preview")
    assert code == 0, told
    assert told["values"] == pytest.approx([3, 5 + 95 / 7, 5 + 95 * 3 / 7, 5 + 95 * 6 / 7, 110])
    assert told["driven"]["samples"] == 200
    assert any("was converted from kg/h to g/s" in note for note in told["notes"])
    code, told = made("take-donor", "car.session", "donor.csv")
    assert (code, told["axes"], told["values"]) == (0, [[500, 1500, 5000]], pytest.approx([1, 5, 100]))
    told = made("take-donor", "car.session", "donor.csv", "--units-are-ours")[1]
    assert told["axes"] == [[0.5, 1.5, 5]]
    Path("donor.csv").write_text("signal (V),airflow (g/s)\n0.5,3.6\n1.5,18\n")
    assert "not a known unit of the same quantity" in made("take-donor", "car.session", "donor.csv")[1]["error"]
    told = made("roll-back", "car.session", "1")[1]
    assert told["values"] == [2.0, 6.0, 15.5, 48.0, 110.0]


def test_physics_on_the_command_line(made: Run) -> None:
    volts = [1.5 + 0.1 * i for i in range(30)]
    flows = [((v * v - 1.4) / 0.8) ** (1 / 0.45) * (1.005 if i == 11 else 1) for i, v in enumerate(volts)]
    rows = "".join(f"{v:.1f},{m:.4f}\n" for v, m in zip(volts, flows, strict=True))
    Path("film.csv").write_text("signal (V),mass airflow (g/s)\n" + rows)
    made("add-table", "car.session", "film.csv")
    told = made("physics", "car.session", "--table", "film")[1]
    assert told["law"] == "hot-film"
    assert told["parameters"]["n"] == pytest.approx(0.45, abs=0.01)
    assert [each["cell"] for each in told["suspects"]] == [[11]]
    assert told["suspects"][0]["expected"] == pytest.approx(flows[11] / 1.005, rel=1e-3)
    made("add-table", "car.session", "grid.csv")
    told = made("physics", "car.session", "--table", "grid", "--displacement", "2.4")[1]
    assert (told["law"], len(told["airflow"])) == ("charge", 2)
    assert made("physics", "car.session", "--table", "grid", "--law", "hot-film")[0] == 1
    ntc = "signal (V),temperature (degC)\n0.5,80\n1.5,42\n2.5,20\n3.5,0.6\n4.5,-26\n"
    Path("ntc.csv").write_text(ntc)
    made("add-table", "car.session", "ntc.csv")
    assert "--pull-up" in made("physics", "car.session", "--table", "ntc")[1]["hint"]
    told = made("physics", "car.session", "--table", "ntc", "--pull-up", "2490")[1]
    assert (told["law"], told["residual_unit"]) == ("thermistor", "degC")


def test_several_logs_are_added_together_or_not_at_all(made: Run) -> None:
    Path("second.csv").write_text(LOG.replace("2.34375", "3.125"))
    Path("bad.csv").write_text("no log at all")
    assert made("add-log", "car.session", "log.csv", "bad.csv")[0] == 1
    told = made("add-log", "car.session", "log.csv", "second.csv", "--on", "1")[1]
    assert [each["log"] for each in told["logs"]] == [1, 2]


def test_a_log_is_amended(made: Run) -> None:
    made("add-log", "car.session", "log.csv")
    made("scale", "car.session", "--by", "1.1")
    code, told = made("amend-log", "car.session", "1", "--on", "2", "--wideband", "after", "--role", "ltft_1=")
    assert (code, told["revision"], told["wideband"]) == (0, 2, "after")
    assert "ltft_1" not in [channel["role"] for channel in told["channels"]]
    with Session.open(Path("car.session")) as session:
        assert (session.state.drives[0].revision, session.state.drives[0].wideband) == (2, "after")
        sequence = session.state.sequence
    assert made("amend-log", "car.session", "1", "--on", "2")[0] == 0
    with Session.open(Path("car.session")) as session:
        assert session.state.sequence == sequence
    assert "no channel" in made("amend-log", "car.session", "1", "--role", "airflow=none")[1]["error"]


def test_text_for_people_goes_to_the_right_stream(made: Run, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["scale", "car.session", "--by", "1.02"]) == 0
    out, err = capsys.readouterr()
    assert (out, err) == ("Revision 2 of 'airflow': scale, 5 of 5 cells changed, by +2.00 %.\n", "")
    assert main(["scale", "car.session", "--by", "1"]) == 0
    assert capsys.readouterr().out.startswith("Nothing changes")
    assert main(["export", "car.session", "out.csv"]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("Revision 2 of 'airflow' is not approved.\nApprove it first")


@pytest.mark.parametrize("command", COMMANDS.values(), ids=COMMANDS)
def test_every_command_is_fully_declared(command: Command, capsys: pytest.CaptureFixture[str]) -> None:
    assert command.title
    assert command.menu
    assert command.summary.endswith(".")
    for parameter in command.parameters:
        assert parameter.help.endswith("."), parameter.name
    assert main([command.word, "--help"]) == 0
    out = capsys.readouterr().out
    assert command.summary.split()[0] in out
    assert command.example, "a command shows an example"
    words = shlex.split(command.example)
    assert words[0] == command.word
    parser_for(command).parse_args(joined(command, words[1:]))


def test_titles_and_shortcuts_are_unique() -> None:
    assert len({command.title for command in COMMANDS.values()}) == len(COMMANDS)
    shortcuts = [command.shortcut for command in COMMANDS.values() if command.shortcut]
    assert sorted(set(shortcuts)) == sorted(shortcuts)


def test_help_lists_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    assert all(f"  {word} " in out for word in COMMANDS)
    assert len(overview()) > len(COMMANDS)
    assert main(["--version"]) == 0


def test_the_table_of_commands_goes_between_its_markers() -> None:
    text = f"before\n{BEGIN}\nold\n{END}\nafter\n"
    done = with_table(text, "README.md")
    assert done == f"before\n{command_table()}\nafter\n"
    assert with_table(done, "README.md") == done
    with pytest.raises(FileError, match="no markers"):
        with_table("nothing", "README.md")


def test_numbers_with_a_sign_are_no_flags() -> None:
    command = COMMANDS["set"]
    words = parser_for(command).parse_args(joined(command, "s --to -1.5e-3 --span -40:-10".split()))
    assert (words.to, words.span) == (-0.0015, "-40:-10")
    words = parser_for(command).parse_args(joined(command, "s --to -3 --cells 1:2".split()))
    assert arguments_from(command, words, None) == {"to": -3.0, "cells": Cells((((1, 2),),))}


def python(*words: str, **options: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, *words], capture_output=True, text=True, check=False, **options)


def test_the_command_line_starts_without_the_heavy_libraries() -> None:
    heavy = "PySide6 pandas scipy pyqtgraph asammdf openpyxl pint polars matplotlib".split()
    code = f"import sys, workbench.cli; print([name for name in {heavy} if name in sys.modules])"
    assert python("-c", code).stdout == "[]\n"


def test_a_reader_that_goes_away_and_a_stop_are_quiet(made: Run) -> None:
    code = "import sys; from workbench.cli import main; sys.exit(main(['history', 'car.session']))"
    reader = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert reader.stdout is not None
    reader.stdout.close()
    assert reader.wait() == 0
    assert reader.stderr is not None
    assert reader.stderr.read() == b""
    reader.stderr.close()


def test_a_stop_from_the_keyboard_is_quiet(made: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("workbench.cli._answer", stopped)
    assert main(["history", "car.session"]) == 130


def test_words_run_commands_and_paths_open_the_window(
    made: Run, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    opened: list[Path | None] = []
    monkeypatch.setattr(entry, "_open_window", lambda path: opened.append(path) or 0)
    for words in ([], ["car.session"], ["history"], ["history", "car.session"], ["--help"]):
        monkeypatch.setattr(sys, "argv", ["workbench", *words])
        entry.main()
    assert opened == [None, Path("car.session")]
    capsys.readouterr()


def test_a_machine_without_a_display_gets_a_sentence(made: Run) -> None:
    bare = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}
    done = python("-m", "workbench", env=bare)
    assert (done.returncode, done.stdout) == (1, "")
    assert "no display" in done.stderr
    done = python("-m", "workbench", "none.session", env=bare)
    assert (done.returncode, "no session file" in done.stderr) == (1, True)


def test_a_fixed_clock_makes_the_same_session(made: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """SOURCE_DATE_EPOCH as in reproducible-builds.org/specs/source-date-epoch."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    told = []
    for name in ("one.session", "two.session"):
        made("new", name, "curve.csv")
        made("scale", name, "--by", "1.1")
        told.append(made("history", name)[1])
    assert told[0] == told[1]
    assert told[0]["revisions"][0]["time"] == "2023-11-14T22:13:20Z"
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "soon")
    assert "SOURCE_DATE_EPOCH" in made("scale", "one.session", "--by", "1.1")[1]["error"]


def test_progress_goes_to_standard_error(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    for terminal in (False, True):
        monkeypatch.setattr(sys.stderr, "isatty", lambda terminal=terminal: terminal, raising=False)
        meter = cli._Meter()
        for done in range(3):
            meter(Progress(done, 2, "reading"))
        out, err = capsys.readouterr()
        assert out == ""
        assert err.count("reading") == (3 if terminal else 1)


def test_a_file_the_system_refuses_gets_a_sentence(made: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object) -> None:
        raise PermissionError(13, "Permission denied", "car.session")

    monkeypatch.setattr(cli, "_answer", refused)
    assert made("history", "car.session") == (1, {"error": "car.session: Permission denied.", "hint": ""})


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
@pytest.mark.parametrize("more", [(), ("--json",)])
def test_an_answer_that_cannot_be_written_is_one_sentence(made: Run, more: tuple[str, ...]) -> None:
    words = [sys.executable, "-m", "workbench", "history", "car.session", *more]
    with Path("/dev/full").open("w") as full:
        ended = subprocess.run(words, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert ended.returncode == 1
    assert ended.stderr.startswith("The answer cannot be written to standard output: No space left on device.")
    assert "Traceback" not in ended.stderr
    ended = subprocess.run(
        ["/bin/sh", "-c", f"exec {shlex.join(words)} >&-"], stderr=subprocess.PIPE, text=True, check=False
    )
    assert (ended.returncode, ended.stderr.splitlines()[0]) == (
        1,
        "Standard output is closed, so no answer can be given.",
    )


def test_running_a_command_imports_the_module_that_declares_it_and_not_all() -> None:
    question = (
        "import sys; from workbench.cli import main; main(['undo', '--help']); "
        "print(any(n.startswith(('workbench.files.formats', 'workbench.demo', 'workbench.maths.solve'))"
        " for n in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", question], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "False"
