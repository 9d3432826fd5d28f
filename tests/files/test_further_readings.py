"""Numbers, units, clocks and names as people in the field write them, each read as what it is or asked about."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from logs_by_hand import AT, COLUMNS, check, read, written

from workbench.errors import FileError
from workbench.files.tables.tables import read_table, read_table_text
from workbench.files.vocabulary.units import find_unit, to_base
from workbench.model.arrays import FloatArray
from workbench.model.log import Log

TIME, RPM, STFT, MEASURED = "Time (s)", "Engine speed (rpm)", "STFT bank 1 (%)", "Lambda measured"


def swapped(label: str, name: str, values: FloatArray) -> list[str]:
    return written({label: (name, values)})


def cells(label: str, name: str, texts: Sequence[str]) -> list[str]:
    """Write a column with cells of one's own."""
    lines = [line.split(",") for line in written()]
    at = list(COLUMNS).index(label)
    for line, text in zip(lines, (name, *texts), strict=True):
        line[at] = text
    return [",".join(line) for line in lines]


def clocked(texts: Sequence[str], name: str = "Time") -> list[str]:
    return cells(TIME, name, texts)


def questions(log: Log) -> dict[str, list[str]]:
    return {each.channel: [one.flag for one in each.alternatives] for each in log.questions}


@pytest.mark.parametrize(
    ("text", "value", "base"),
    [
        ("0.1 Hz", 28_450.0, 2845.0),
        ("1/10 °C", 885.0, 88.5),
        ("10^-2 %", 250.0, 2.5),
        ("0.1 K", 3616.5, 88.5),
        ("rpm/4", 3120.0, 780.0),
        ("kn", 10.0, 18.52),
    ],
)
def test_units_with_a_part_before_them(text: str, value: float, base: float) -> None:
    unit = find_unit(text)
    assert unit is not None
    assert to_base(np.array([value]), unit)[0] == pytest.approx(base)


@pytest.mark.parametrize("text", ["0.1", "0.1 foo", "0.1 lambda", "0.1 0.1 Hz", "0.2 Hz"])
def test_what_is_no_part_of_a_unit(text: str) -> None:
    assert find_unit(text) is None


def test_thousands_by_a_small_k_are_read_and_kelvins_stay(tmp_path: Path) -> None:
    short = [f"{each / 1000:.4f}k" if each >= 1000 else f"{each:.4f}" for each in COLUMNS[RPM]]
    check(read(tmp_path, cells(RPM, RPM, short)))
    table, _ = read_table_text("Airflow sensor (Hz),Airflow (g/s)\n950,1\n2.2k,3\n3k,5.5\n", "x")
    assert table.axes[0].breakpoints.tolist() == [950, 2200, 3000]
    warm = [f"{each + 273.15:.2f}K" for each in COLUMNS["Coolant (°C)"]]
    check(read(tmp_path, cells("Coolant (°C)", "Coolant", warm)))


@pytest.mark.parametrize("sign", ["·", "٫"])
def test_decimal_signs_of_other_scripts(tmp_path: Path, sign: str) -> None:
    check(read(tmp_path, written(delimiter=";", cell=lambda _, value: f"{value:.4f}".replace(".", sign))))


CLOCKS = {
    "mission": lambda s: f"T+00:00:{s:06.3f}",
    "half before": lambda s: f"PM 02:03:{s:06.3f}",
    "half in Chinese": lambda s: f"上午 02:03:{s:06.3f}",
    "day of the year": lambda s: f"2026-062T14:03:{s:06.3f}",
    "day of the week": lambda s: f"2026-W10-2T14:03:{s:06.3f}",
    "Julian date": lambda s: f"{2461103.085 + s / 86400:.9f}",
}


@pytest.mark.parametrize("clock", CLOCKS)
def test_clocks_of_further_forms(tmp_path: Path, clock: str) -> None:
    log = read(tmp_path, clocked([CLOCKS[clock](each) for each in COLUMNS[TIME]]))
    assert log.time.values[-1] - log.time.values[0] == pytest.approx(11.9, abs=2e-3)


def test_a_day_of_the_week_that_is_none_is_no_time(tmp_path: Path) -> None:
    log = read(tmp_path, clocked([CLOCKS["day of the week"](each) for each in COLUMNS[TIME]]))
    assert log.recorded is not None
    assert log.recorded.first == pytest.approx(1_772_546_580.0, abs=1)  # the third of March 2026, 14:03 (date -d)
    with pytest.raises(Exception, match="no column usable as time"):
        read(tmp_path, clocked([f"2026-W99-2T14:03:{each:06.3f}" for each in COLUMNS[TIME]]))


def test_a_giant_cell_among_times_is_no_time(tmp_path: Path) -> None:
    """With blanks inside, a pattern that looks for what ends it took minutes over it."""
    texts = [f"25-03-2024 12:00:{each:06.3f}" for each in COLUMNS[TIME]]
    texts[7] = f"25-03-2024 12:00:00.7 P{' ' * 200_000}M"
    log = read(tmp_path, clocked(texts))
    assert log.rows == len(texts) - 1


@pytest.mark.parametrize("name", ["Richesse mesurée", "Dosado medido", "Riqueza medida"])
def test_richness_is_fuel_over_air(tmp_path: Path, name: str) -> None:
    log = read(tmp_path, swapped(MEASURED, name, 1 / COLUMNS[MEASURED]))
    played = log.playing("lambda_measured")
    assert played is not None
    np.testing.assert_allclose(played, COLUMNS[MEASURED], atol=2e-4)


def test_two_trims_in_a_cell_are_two_banks(tmp_path: Path) -> None:
    texts = [f"{each:.2f} / {each - 1:.2f}" for each in COLUMNS[STFT]]
    log = read(tmp_path, cells(STFT, "STFT B1/B2 (%)", texts))
    assert (log.roles["stft_1"], log.roles["stft_2"]) == ("STFT B1", "STFT B2")
    np.testing.assert_allclose(log.playing("stft_2"), COLUMNS[STFT] - 1, atol=0.006)


def test_a_trim_of_text_is_a_question_until_it_is_left_out(tmp_path: Path) -> None:
    texts = [f"{each:.1f} to {each + 1:.1f}" for each in COLUMNS[STFT]]
    log = read(tmp_path, cells(STFT, STFT, texts))
    assert questions(log)["STFT bank 1"] == ["--role 'stft_1='"]


def test_banks_by_their_cylinders(tmp_path: Path) -> None:
    lines = written({"Throttle (%)": ("Short term fuel trim cylinders 4-6 (%)", COLUMNS[STFT] - 1)})
    lines[0] = lines[0].replace(STFT, "Short term fuel trim cylinders 1-3 (%)")
    roles = read(tmp_path, lines).roles
    assert roles["stft_1"] == "Short term fuel trim cylinders 1-3"
    assert roles["stft_2"] == "Short term fuel trim cylinders 4-6"


@pytest.mark.parametrize(("decimals", "asked"), [(1, True), (2, False)])
def test_coarse_lambda_is_a_question(tmp_path: Path, decimals: int, asked: bool) -> None:
    rows = [line.split(",") for line in written()]
    at = list(COLUMNS).index(MEASURED)
    lines = [",".join(rows[0])]
    for turn in range(3):  # enough of them to tell steps by
        for row, seconds in zip(rows[1:], AT / 10 + 12 * turn, strict=True):
            cell = f"{float(row[at]):.{decimals}f}"
            lines.append(",".join([f"{seconds:.2f}", *row[1:at], cell, *row[at + 1 :]]))
    assert (MEASURED in questions(read(tmp_path, lines))) is asked


def test_engine_speed_in_quarters_is_known_by_its_idle(tmp_path: Path) -> None:
    log = read(tmp_path, swapped(RPM, "RPM raw", np.rint(4 * (COLUMNS[RPM] + 2000))))
    np.testing.assert_allclose(log.playing("engine_speed"), COLUMNS[RPM] + 2000, atol=0.2)
    assert any("RPM raw in rpm/4" in note for note in log.notes)


def test_inlet_air_in_whole_degrees_is_a_temperature(tmp_path: Path) -> None:
    label = "Throttle (%)"
    assert read(tmp_path, swapped(label, "Inlet Air", 26.0 + AT // 10)).roles["intake_temperature"] == "Inlet Air"
    lines = [line.replace(".0000", "") for line in swapped(label, "Inlet Air", 26.0 + AT // 10)]
    assert read(tmp_path, lines).roles["intake_temperature"] == "Inlet Air"
    assert "intake_temperature" not in read(tmp_path, swapped(label, "Inlet Air", 26.03 + AT / 7)).roles


GRID = "rpm / kPa / VE (%),30,60,90\n"
ROWS = ("900,51.5,60.25,66\n", "2100,58,67.5,72.75\n", "3300,61,70,79.5\n")


BESIDE = "".join(f"{row.strip().partition(',')[2]},{row.partition(',')[0]}\n" for row in ROWS)


@pytest.mark.parametrize(
    "text", ["".join([*ROWS, GRID]), f"30,60,90,rpm / kPa / VE (%)\n{BESIDE}", f"{BESIDE}30,60,90,rpm / kPa / VE (%)\n"]
)
def test_breakpoints_behind_the_values(text: str) -> None:
    table, notes = read_table_text(text, "x")
    assert [axis.breakpoints.tolist() for axis in table.axes] == [[900, 2100, 3300], [30, 60, 90]]
    assert table.values[2].tolist() == [61, 70, 79.5]
    assert any("breakpoints stood" in note for note in notes)


def test_falling_numbers_below_are_no_breakpoints() -> None:
    with pytest.raises(FileError, match="the corner is the number"):
        read_table_text("".join([*ROWS, "rpm,90,60,30\n"]), "x")


def test_points_with_colons_and_numbered_curves() -> None:
    curve, _ = read_table_text("950:1; 2200:3; 3000:5.5\n", "x")
    assert curve.values.tolist() == [1, 3, 5.5]
    numbered = "MAF transfer,,\nNo.,Sensor,Airflow\n,Hz,kg/h\n1,950,1\n2,2200,3\n3,3000,5.5\n"
    curve, notes = read_table_text(numbered, "x")
    assert (curve.axes[0].unit, curve.unit, curve.values.tolist()) == ("Hz", "kg/h", [1, 3, 5.5])
    assert any("numbers the rows" in note for note in notes)


def test_a_curve_in_json(tmp_path: Path) -> None:
    path = tmp_path / "curve.json"
    path.write_text('{"Airflow sensor (Hz)": [950, 2200, 3000], "Airflow (g/s)": [1, 3, 5.5]}')
    table, notes = read_table(path)
    assert (table.axes[0].name, table.values.tolist()) == ("Airflow sensor", [1, 3, 5.5])
    assert notes[0] == "curve.json was read as JSON."


def test_a_third_column_with_a_name_is_named() -> None:
    with pytest.raises(FileError, match="3 columns have names, such as 'Airflow'") as told:
        read_table_text("Sensor,Airflow,Factor\n950,1,1\n2200,3,1.1\n3000,5.5,1\n", "x")
    assert "take the others out" in told.value.hint


def test_codes_that_stand_in_most_cells_of_a_channel_written_on_change_are_none(tmp_path: Path) -> None:
    texts = ["-999" if at % 3 else f"{each:.0f}" if at % 12 == 0 else "" for at, each in enumerate(88 + AT / 10)]
    log = read(tmp_path, cells("Coolant (°C)", "Coolant (°C)", texts))
    warm = log.playing("coolant_temperature")
    assert warm is not None
    assert np.nanmin(warm) >= 88


@pytest.mark.parametrize("name", ["Engine speed (foo)", "Engine speed [Upm x]", "Engine speed (1/foo)"])
def test_a_unit_that_is_not_known_is_a_question(tmp_path: Path, name: str) -> None:
    log = read(tmp_path, swapped(RPM, name, COLUMNS[RPM]))
    (answers,) = questions(log).values()
    assert answers[0].startswith("--role 'engine_speed=Engine speed")
    assert answers[1] == "--role 'engine_speed='"


@pytest.mark.parametrize(
    "name",
    [
        "Engine speed (ECU)",
        "Engine speed [-]",
        "Engine speed (actual)",
        "Engine speed ()",
        "Engine speed (rpm) [20 Hz]",
    ],
)
def test_what_is_no_unit_is_not_asked_about(tmp_path: Path, name: str) -> None:
    assert not read(tmp_path, swapped(RPM, name, COLUMNS[RPM])).questions


def test_a_trim_in_a_unit_of_something_else_is_told(tmp_path: Path) -> None:
    log = read(tmp_path, swapped(STFT, "STFT bank 1 (deg)", COLUMNS[STFT]))
    assert "stft_1" not in log.roles
    assert any("STFT bank 1 has the name of stft_1, but is in a unit" in note for note in log.notes)


def test_short_french_names(tmp_path: Path) -> None:
    names = {
        RPM: "Rég mot (tr/min)", STFT: "Corr CT (%)", "LTFT bank 1 (%)": "Corr LT (%)", "Throttle (%)": "Pap (%)",
        "Coolant (°C)": "T eau (°C)", "Lambda commanded": "Lbda cons", MEASURED: "Lbda mes",
    }  # fmt: skip
    lines = written()
    lines[0] = ",".join(names.get(label, label) for label in COLUMNS)
    roles = read(tmp_path, lines).roles
    assert roles["lambda_commanded"] == "Lbda cons"
    assert {"engine_speed", "stft_1", "ltft_1", "throttle", "coolant_temperature", "lambda_measured"} <= set(roles)
