"""What would move every cell is asked about, not noted: unlogged trims, a wideband that is off, odd units."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from field.car import HERTZ, STALE
from field.judge import run
from field.shape import Col, cells, col, edit, log, mapped, rows, std

from workbench.errors import FileError
from workbench.files.logs import read_log
from workbench.model.log import Log
from workbench.work import run as worked


def read(folder: Path, columns: list[Col]) -> Log:
    path = folder / "drive.csv"
    path.write_bytes(log(columns).files["drive.csv"])
    return worked(read_log(path))


def flags(read_: Log) -> set[str]:
    return {each.flag for question in read_.questions for each in question.alternatives}


def test_the_usual_log_is_asked_nothing(tmp_path: Path) -> None:
    for banks in (1, 2):
        assert read(tmp_path, std(banks=banks)).questions == ()


@pytest.mark.parametrize(
    ("dropped", "flag"), [("ltft", "--role 'ltft_1='"), ("stft ltft", "--role 'stft_1='")], ids=["long", "both"]
)
def test_trims_that_are_not_logged_are_asked_about(tmp_path: Path, dropped: str, flag: str) -> None:
    """Without the long trim all fourteen cells of this drive would be 3 to 4 % too low, most of them proven."""
    assert flags(read(tmp_path, std(drop=dropped))) == {flag}


@pytest.mark.parametrize(("level", "short", "asked"), [(0.0, 1.0, True), (2.34, 0.4, True), (2.34, 1.0, False)])
def test_a_long_trim_that_never_moves_is_asked_about(
    tmp_path: Path, level: float, short: float, *, asked: bool
) -> None:
    """Up to 5 % in a cell, in silence: a car that is not asked for its long trim reads so.

    Where the short one stays far off 0, nothing takes its error over, so the long one is truly held.
    """
    still = std(col("ltft", convert=lambda v: np.full(v.size, level)), col("stft", convert=lambda v: short * v))
    wanted = {"--role 'ltft_1=Long trim bank 1'", "--role 'stft_1='"} if asked else set()
    assert flags(read(tmp_path, still)) == wanted


def test_exchanged_names_of_command_and_sensor_are_asked_about(tmp_path: Path) -> None:
    """A cell at full throttle came out 7 % lean of the truth, with no word of it."""
    swapped = std(col("cmd", "Measured lambda"), col("lam", "Commanded lambda"))
    assert flags(read(tmp_path, swapped)) == {
        "--role 'lambda_measured=Commanded lambda' --role 'lambda_commanded=Measured lambda'",
        "--role 'lambda_measured=Measured lambda' --role 'lambda_commanded=Commanded lambda'",
    }
    assert read(tmp_path, swapped).roles["lambda_measured"] == "Commanded lambda"  # by the first answer


@pytest.mark.parametrize(("factor", "offset"), [(0.04, 0.0), (0.02, 1.1)])
def test_a_long_trim_that_hardly_moves_is_in_the_unit_of_its_short_one(
    tmp_path: Path, factor: float, offset: float
) -> None:
    """It was taken for a fraction or a factor, though the short trim moves as no fraction does."""
    for unit in ("%", ""):
        calm = std(col("ltft", unit=unit, convert=lambda v: factor * v + offset, decimals=3), col("stft", unit=unit))
        found = read(tmp_path, calm)
        assert not [each for each in found.questions if "fraction" in each.question or "factor" in each.question]
        assert np.nanmax(np.abs(found.playing("ltft_1"))) < 2  # type: ignore[operator]


def test_a_sensor_before_the_catalyst_is_taken_before_one_behind_it(tmp_path: Path) -> None:
    two = [*std(col("lam", "Lambda front")), col("lam", "Lambda rear", as_key="rear")]
    assert read(tmp_path, two[::-1]).roles["lambda_measured"] == "Lambda front"


@pytest.mark.parametrize("unit", ["slugs/fortnight", "mg/cycle"])
def test_airflow_in_a_unit_that_nobody_knows_is_asked_about(tmp_path: Path, unit: str) -> None:
    """It was told that another table had been in the car."""
    assert "--role 'airflow='" in flags(read(tmp_path, std(col("maf", "MAF", unit, lambda v: 83 * v))))


def test_a_wideband_near_the_scale_of_another_fuel_is_told_which(tmp_path: Path) -> None:
    found = read(tmp_path, std(col("lam", "Wideband AFR", "", lambda v: 10.08 * v)))
    assert "--afr-of 'Wideband AFR=9.8'" in flags(found)
    assert "state its air-fuel ratio at lambda 1" in found.questions[0].question


def test_a_run_at_full_throttle_is_too_short_for_a_long_trim_to_move(tmp_path: Path) -> None:
    still = std(col("ltft", convert=lambda v: np.full(v.size, 0.0)))
    assert read(tmp_path, rows(still, range(900))).questions == ()


def test_a_sensor_that_still_shows_the_cut_is_of_no_other_scale(tmp_path: Path) -> None:
    """Behind a catalyst it reads lean for seconds after a cut: a short log holds little else of closed loop."""
    row = np.arange(900)
    after_cut = row % 150
    closed = (after_cut > 40) & (row < 600)
    lean = 14.7 * (1 + 0.35 * np.exp(-np.clip(after_cut - 40, 0, None) / 25))
    place = [
        Col("time", "Time", "s", cells(row * 0.05)),
        Col("rpm", "RPM", "", cells(2000 + 500 * np.sin(row / 60))),
        Col("map", "MAP", "kPa", cells(60 + 20 * np.sin(row / 50))),
        Col("status", "Fuel system status", "", cells(np.where(closed, 2, 4), 0)),
        Col("stft", "Short trim", "%", cells(2 * np.sin(row / 5))),
        Col("ltft", "Long trim", "%", cells(3 + np.sin(row / 200))),
        Col("cmd", "Commanded lambda", "", cells(np.where(row < 600, 1.0, 0.86))),
        Col("lam", "Wideband AFR", "", cells(np.where(row < 600, lean, 12.6))),
    ]
    assert read(tmp_path, place).questions == ()


def test_channels_that_may_be_the_trims_are_offered(tmp_path: Path) -> None:
    named = std(col("stft", "Regulation output", "%"), col("ltft", "Adaptation", "%"))
    assert flags(read(tmp_path, named)) == {
        "--role 'stft_1=Regulation output'",
        "--role 'stft_1=Adaptation'",
        "--role 'stft_1='",
    }
    learnt = std(col("ltft", "Adaptation", "%"))
    assert flags(read(tmp_path, learnt)) == {"--role 'ltft_1=Adaptation'", "--role 'ltft_1='"}


def test_learnt_and_active_corrections_are_the_trims(tmp_path: Path) -> None:
    made = read(tmp_path, std(col("stft", "Active correction", "%"), col("ltft", "Learned correction", "%")))
    assert made.roles["stft_1"] == "Active correction"
    assert made.roles["ltft_1"] == "Learned correction"


@pytest.mark.parametrize("names", [("phi target", "phi measured"), ("φ target", "φ actual")])
def test_phi_is_read_as_fuel_over_air_however_it_is_written(tmp_path: Path, names: tuple[str, str]) -> None:
    made = read(
        tmp_path,
        std(col("cmd", names[0], "", lambda v: 1 / v, 4), col("lam", names[1], "", lambda v: 1 / v, 4)),
    )
    commanded = made.playing("lambda_commanded")
    assert commanded is not None
    assert np.nanmin(commanded) == pytest.approx(0.87, abs=0.01)


def test_negative_numbers_of_accounting_are_negative(tmp_path: Path) -> None:
    usual = read(tmp_path, std()).playing("stft_1")
    assert usual is not None
    for form in ("({})", "{}-"):
        written = edit(std(), "stft", mapped(lambda k, c, f=form: f.format(c[1:]) if c.startswith("-") else c))
        made = read(tmp_path, written).playing("stft_1")
        assert made is not None
        np.testing.assert_array_equal(made, usual)


@pytest.mark.parametrize("dropped", ["status rpm", "status throttle", "status rpm throttle map"])
def test_cuts_that_nothing_shows_are_asked_about(tmp_path: Path, dropped: str) -> None:
    """Three of fourteen proven cells of this drive came out 2 to 4 % too low, with no word of it."""
    (question,) = read(tmp_path, std(drop=dropped)).questions
    assert "cut" in question.question
    assert {each.flag for each in question.alternatives} == {"--role 'fuel_system='"}


@pytest.mark.parametrize("dropped", ["status", "rpm", "throttle", "rpm throttle"])
def test_cuts_are_not_asked_about_where_the_state_or_throttle_and_speed_show_them(tmp_path: Path, dropped: str) -> None:
    assert read(tmp_path, std(drop=dropped)).questions == ()


def test_an_engine_that_only_idles_cuts_no_fuel(tmp_path: Path) -> None:
    idle = std(col("rpm", convert=lambda v: 800 + 0.01 * v), drop="status throttle")
    assert not any("cut" in each.question for each in read(tmp_path, idle).questions)


def test_nothing_is_asked_of_trims_where_nothing_looks_cells_up(tmp_path: Path) -> None:
    assert read(tmp_path, std(drop="ltft hz map rpm")).questions == ()


@pytest.mark.parametrize("status", [True, False])
def test_a_wideband_that_reads_other_than_the_loop_holds_is_asked_about(tmp_path: Path, *, status: bool) -> None:
    """Read 8 % lean, or with a command 3 % off, it moved every cell by as much, with no word; 2 % prove none."""
    drop = "" if status else "status"
    for factor, asked in ((0.92, True), (1.0, False), (1.08, True), (1.02, False)):
        made = read(tmp_path, std(col("lam", convert=lambda v, f=factor: f * v), drop=drop))
        assert ("--role 'lambda_measured='" in flags(made)) == asked


@pytest.mark.parametrize(("command", "asked"), [(0.98, True), (0.97, True), (1.0, False)])
def test_a_command_that_is_not_what_the_loop_holds_is_asked_about(
    tmp_path: Path, command: float, *, asked: bool
) -> None:
    made = read(tmp_path, std(col("cmd", convert=lambda v: command * v)))
    assert ("--role 'lambda_commanded='" in flags(made)) == asked


def test_readings_at_the_end_of_a_wideband_count_as_missing(tmp_path: Path) -> None:
    cut = read(tmp_path, std(col("lam", convert=lambda v: np.clip(v, 0.9, 1.99)))).playing("lambda_measured")
    whole = read(tmp_path, std()).playing("lambda_measured")
    assert cut is not None
    assert whole is not None
    np.testing.assert_array_equal(np.isnan(cut), whole <= 0.9)


@pytest.mark.parametrize("factor", [0.82, 0.75])
def test_a_wideband_that_ends_beyond_all_readings_keeps_them(tmp_path: Path, factor: float) -> None:
    made = read(tmp_path, std(col("lam", convert=lambda v: np.clip(v, factor, 1.99)))).playing("lambda_measured")
    assert made is not None
    assert np.isfinite(made).all()


def test_trims_in_tenths_of_a_percent_are_asked_about(tmp_path: Path) -> None:
    def tenths(v: np.ndarray) -> np.ndarray:
        return 10 * v

    made = read(tmp_path, std(col("stft", unit="", convert=tenths), col("ltft", unit="", convert=tenths)))
    assert "--unit 'Short trim bank 1=permille'" in flags(made)


def test_a_trim_so_many_times_is_a_factor_or_asked_about(tmp_path: Path) -> None:
    def factor(v: np.ndarray) -> np.ndarray:
        return 1 + v / 100

    factors = [col(key, unit="x", convert=factor, decimals=4) for key in ("stft", "ltft")]
    made, usual = read(tmp_path, std(*factors)), read(tmp_path, std())
    assert made.questions == ()
    played, known = made.playing("stft_1"), usual.playing("stft_1")
    assert played is not None
    assert known is not None
    np.testing.assert_allclose(played, known, atol=0.01)
    assert "--role 'stft_1='" in flags(read(tmp_path, std(col("stft", unit="x"))))


def test_coarse_lambda_is_used_with_a_tolerance_that_widens_the_cells(tmp_path: Path) -> None:
    coarse = col("lam", decimals=4, convert=lambda v: np.round(29 * v) / 29)
    session, drive, table = (str(tmp_path / name) for name in ("car.session", "drive.csv", "table.csv"))
    points = "".join(f"{hertz:g},{flow:.3f}\n" for hertz, flow in zip(HERTZ, STALE, strict=True))
    Path(table).write_text("Airflow sensor (Hz),Airflow (g/s)\n" + points)
    assert run(["new", session, table]).code == 0
    Path(drive).write_bytes(log(std(coarse)).files["drive.csv"])
    (question,) = run(["add-log", session, drive]).answer["questions"]
    assert [each["flag"] for each in question["alternatives"]] == [
        "--role 'lambda_measured='",
        "analogue-input SESSION 'Measured lambda' --unit lambda --tolerance 0.017",
    ]
    assert run(["evidence", session]).code == 1
    stated = ["analogue-input", session, "Measured lambda", "--unit", "lambda", "--tolerance"]
    widths = []
    for tolerance in ("0.002", "0.017"):
        assert run([*stated, tolerance]).code == 0
        cells = run(["evidence", session]).answer["cells"]
        widths.append([cell["half_width"] for cell in cells if cell["standing"] == "proven"])
    assert np.median(widths[1]) > 1.1 * np.median(widths[0])


@pytest.mark.parametrize(
    ("key", "change", "answer"),
    [
        ("map", lambda v: 6.894757 * v, "--role 'manifold_pressure='"),
        ("map", lambda v: v / 6.894757, "--role 'manifold_pressure='"),
        ("coolant", lambda v: 32 + 1.8 * v, "--unit 'Coolant temperature=degF'"),
    ],
    ids=["psi twice", "psi as kPa", "degF as degC"],
)
def test_what_contradicts_its_unit_is_asked_about(
    tmp_path: Path, key: str, change: Callable[[np.ndarray], np.ndarray], answer: str
) -> None:
    assert answer in flags(read(tmp_path, std(col(key, convert=change))))


def test_fahrenheit_under_a_sign_of_celsius_is_put_right_by_the_answer(tmp_path: Path) -> None:
    made = std(col("coolant", convert=lambda v: 32 + 1.8 * v, decimals=1))
    path = tmp_path / "drive.csv"
    path.write_bytes(log(made).files["drive.csv"])
    right, usual = (
        worked(read_log(each, units=units))
        for each, units in ((path, {"Coolant temperature": "degF"}), (path, {"Coolant temperature": "degC"}))
    )
    coolant = [each.playing("coolant_temperature") for each in (right, usual)]
    assert coolant[0] is not None
    assert coolant[1] is not None
    np.testing.assert_allclose(coolant[0], (coolant[1] - 32) / 1.8)
    assert right.questions == usual.questions == ()


@pytest.mark.parametrize("counts", [100, 1000, 100_000])
def test_counts_of_a_clock_that_nothing_in_the_log_tells_are_asked_about(tmp_path: Path, counts: int) -> None:
    """At ten times the true speed cells moved by 0.6 %: delays count in seconds."""
    clock = col("time", "Time", "", lambda v: counts * v, 0)
    assert "--unit 'Time=ms'" in flags(read(tmp_path, std(clock, drop="rpm speed map maf throttle")))
    assert read(tmp_path, std(clock)).questions == ()


def test_pulses_with_thousands_signs_are_no_pulses_of_a_few_hertz(tmp_path: Path) -> None:
    grouped = edit(std(), "hz", mapped(lambda k, cell: f"{float(cell):,.0f}".replace(",", ".")))
    made, usual = (read(tmp_path, each).playing("sensor_signal") for each in (grouped, std()))
    np.testing.assert_array_equal(made, usual)


@pytest.mark.parametrize("line", ["{t:.3f} 1 {id:03X} Rx d 8 {b}", "{t:.3f},0x{id:X},8,{b}", "{id:03X} [8] {b}"])
def test_can_frames_as_text_are_refused_by_name(tmp_path: Path, line: str) -> None:
    path, sign = tmp_path / "bus.txt", "," if "," in line else " "
    made = [
        line.format(t=k / 1000, id=0x200 + k % 5, b=sign.join(f"{(k * j) % 256:02X}" for j in range(1, 9)))
        for k in range(300)
    ]
    path.write_text("\n".join(made) + "\n")
    with pytest.raises(FileError, match="CAN frames as text") as refused:
        worked(read_log(path))
    assert "--dbc" in str(refused.value.hint)
