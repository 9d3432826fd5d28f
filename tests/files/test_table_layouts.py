"""Tables as people lay them out: the same table, whatever stands around its numbers; nothing lost in silence."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.errors import FileError
from workbench.files.tables.cells import decimals_of, with_unit_apart
from workbench.files.tables.corners import corner_parts
from workbench.files.tables.tables import read_table, read_table_text

DOWN, ACROSS = [900.0, 2100.0, 3300.0], [30.0, 60.0, 90.0]
VALUES = [[51.5, 60.25, 66.0], [58.0, 67.5, 72.75], [61.0, 70.0, 79.5]]
HERTZ, FLOW = [1500.0, 2500.0, 3500.0], [1.5, 6.25, 17.0]
ROWS = ["900,51.5,60.25,66", "2100,58,67.5,72.75", "3300,61,70,79.5"]
NAMED = ("Engine speed", "rpm", "Manifold pressure", "kPa")

EMPHASIS = [
    "| **Engine speed (rpm) / Manifold pressure (kPa) / VE (%)** | **30** | **60** | **90** |",
    "|---|---|---|---|",
    *(f"| *{row.replace(',', '* | ', 1).replace(',', ' | ')} |" for row in ROWS),
]
GRIDS = {
    "title": ["VE of spring", "", "Engine speed (rpm) / Manifold pressure (kPa) / VE (%),30,60,90", *ROWS],
    "wide title": ["VE of spring,,,", "Engine speed (rpm) / Manifold pressure (kPa) / VE (%),30,60,90", *ROWS],
    "column left empty": [",Engine speed (rpm)/Manifold pressure (kPa)/VE (%),30,60,90", *("," + row for row in ROWS)],
    "units below": ["Engine speed\\Manifold pressure,30,60,90", "rpm,kPa,kPa,kPa", *ROWS],
    "units in cells": ["Engine speed | Manifold pressure,30 kPa,60 kPa,90 kPa",
                       *(row.replace(",", " rpm,", 1) for row in ROWS)],
    "percent in cells": ["Engine speed (rpm) by Manifold pressure (kPa),30,60,90",
                         "900,51.5 %,60.25 %,66 %", "2100,58 %,67.5 %,72.75 %", "3300,61 %,70 %,79.5 %"],
    "names apart": [",,Manifold pressure (kPa),,", ",,30,60,90", "Engine speed (rpm)," + ROWS[0],
                    *("," + row for row in ROWS[1:])],
    "name above": [",Manifold pressure (kPa),,", "Engine speed (rpm),30,60,90", *ROWS],
    "axis repeated": ["Engine speed (rpm)/Manifold pressure (kPa),30,60,90,",
                      *(f"{row},{row.split(',')[0]}" for row in ROWS), ",30,60,90,"],
    "notes below": ["Engine speed (rpm) / Manifold pressure (kPa) / VE (%),30,60,90", *ROWS, "", "from the ECU"],
    "cell a line": ["Engine speed (rpm),Manifold pressure (kPa),VE (%)",
                    *(f"{d:g},{a:g},{VALUES[i][j]:g}" for j, a in enumerate(ACROSS) for i, d in enumerate(DOWN))],
    "bars": ["| Engine speed (rpm) / Manifold pressure (kPa) / VE (%) | 30 | 60 | 90 |", "|---|---:|---|---|",
             *("| " + row.replace(",", " | ") + " |" for row in ROWS)],
    "falling": ["Engine speed (rpm) / Manifold pressure (kPa) / VE (%),90,60,30",
                *(",".join([row.split(",")[0], *row.split(",")[:0:-1]]) for row in ROWS[::-1])],
}  # fmt: skip
CURVES = {
    "title": ["Curve of spring", "", "Sensor (Hz),Airflow (g/s)", "1500,1.5", "2500,6.25", "3500,17"],
    "keys": ["Table;curve", "Date;3 March", "Sensor (Hz);Airflow (g/s)", "1500;1.5", "2500;6.25", "3500;17"],
    "trailing": ["Sensor (Hz),Airflow (g/s)", "1500,1.5,", "2500,6.25,", "3500,17,"],
    "units below": ["Sensor,Airflow", "[Hz],[g/s]", "1500,1.5", "2500,6.25", "3500,17"],
    "notes beside": ["Sensor (Hz),Airflow (g/s),Note", "1500,1.5,idle", "2500,6.25,", "3500,17,pull"],
    "lying": ["Sensor,Hz,1500,2500,3500", "Airflow,g/s,1.5,6.25,17"],
    "swapped": ["Airflow (g/s),Sensor (Hz)", "1.5,1500", "6.25,2500", "17,3500"],
    "falling": ["Sensor (Hz),Airflow (g/s)", "3500,17", "2500,6.25", "1500,1.5"],
    "footer": ["Sensor (Hz),Airflow (g/s)", "1500,1.5", "2500,6.25", "3500,17", "end of table"],
    "thousands": ["Sensor (Hz);Airflow (g/s)", "1'500;1.5", "2'500;6.25", "3'500;17"],
    "German": ["Sensor (Hz);Airflow (g/s)", "1.500;1,5", "2.500;6,25", "3.500;17,0", ";"],
}  # fmt: skip


@pytest.mark.parametrize("name", GRIDS)
def test_a_grid_is_found_among_what_stands_around_it(name: str) -> None:
    table, notes = read_table_text("\n".join(GRIDS[name]), "grid.csv")
    assert table.values.tolist() == VALUES
    assert [axis.breakpoints.tolist() for axis in table.axes] == [DOWN, ACROSS]
    assert tuple(part for axis in table.axes for part in (axis.name, axis.unit)) == NAMED
    assert ("turned round" in " ".join(notes)) == (name == "falling")


@pytest.mark.parametrize("name", CURVES)
def test_a_curve_is_found_among_what_stands_around_it(name: str) -> None:
    table, notes = read_table_text("\n".join(CURVES[name]), "curve.csv")
    assert table.axes[0].breakpoints.tolist() == HERTZ
    assert table.values.tolist() == FLOW
    assert (table.axes[0].unit, table.unit) == ("Hz", "g/s")
    told = {"title": "left out", "footer": "left out", "falling": "turned round", "swapped": "swapped"}.get(name, "")
    assert told in " ".join(notes)


TITLED = {
    "over a bare corner": ["Volumetric efficiency (%)", "rpm,30,60,90", *ROWS],
    "over an empty corner": ["Volumetric efficiency (%)", ",30,60,90", *ROWS],
    "over the axes": ["VE of spring", "Engine speed (rpm) / Manifold pressure (kPa),30,60,90", *ROWS],
    "over a curve": ["Airflow (g/s)", "Hz", "1500,1.5", "2500,6.25", "3500,17"],
    "over two rows": ["Mass airflow (g/s)", "Hz,1500,2500,3500", ",1.5,6.25,17"],
    "over bare numbers": ["Airflow (g/s)", "", "1500,1.5", "2500,6.25", "3500,17"],
}


@pytest.mark.parametrize("name", TITLED)
def test_a_title_names_the_values_where_nothing_else_does(name: str) -> None:
    table, notes = read_table_text("\n".join(TITLED[name]), "titled.csv")
    assert table.values.tolist() in (VALUES, FLOW)
    assert table.value_label == TITLED[name][0]
    assert table.axes[0].unit == {"over the axes": "rpm", "over a curve": "Hz", "over two rows": "Hz"}.get(name, "")
    assert "above the table names its values" in " ".join(notes)
    assert "left out" not in " ".join(notes)


@pytest.mark.parametrize(
    "title",
    ["Spring", "Saved 3 March", "Airflow (g/s) over sensor (Hz)", "Driver: anyone (none)", "9 (kPa) of 3 (rpm)"],
)
def test_a_title_that_names_no_values_is_left_out_and_told(title: str) -> None:
    for lines in ([",30,60,90", *ROWS], ["1500,1.5", "2500,6.25", "3500,17"]):
        table, notes = read_table_text("\n".join([title, *lines]), "titled.csv")
        assert table.value_label == "value"
        assert f"left out: {title[:40]!r}" in " ".join(notes)


def test_a_header_goes_before_a_title() -> None:
    for lines in (CURVES["title"][2:], GRIDS["title"][2:]):
        table, notes = read_table_text("\n".join(["Airflow table (g/s)", *lines]), "titled.csv")
        assert table.value_label in ("Airflow (g/s)", "VE (%)")
        assert "left out: 'Airflow table (g/s)'" in " ".join(notes)


@pytest.mark.parametrize(
    ("lines", "why"),
    [
        (["Sensor (Hz),Airflow (g/s)", "1,2", "2,3", "", "Sensor (Hz),Airflow (g/s)", "1,3", "2,4"], "2 tables"),
        (["a (Hz),b (g/s),,a (Hz),b (g/s)", "1,2,,1,3", "2,3,,2,4", "3,4,,3,5"], "2 tables"),
        ([GRIDS["title"][2], *ROWS, "", GRIDS["title"][2], *ROWS], "2 tables"),
        ([GRIDS["title"][2], ROWS[0], "2100,58,,72.75", ROWS[2], "4000,1,2,3", "5000,1,2,3"], "cell is empty"),
        (["a,b", "1,2", "2,", "3,4", "4,5"], "cell is empty"),
        ([GRIDS["title"][2], ROWS[0]], "nothing to interpolate"),
        (["a (Hz),b (g/s)", "1,2"], "nothing to interpolate"),
        (["a,b", "1,2", "3,4", "2,5"], "not above the previous one"),
        (["a,b", "1,2", "2,3,9", "3,4"], "3 cells"),
        ([GRIDS["title"][2], *ROWS, "4000,1,2"], "3 cells"),
    ],
)
def test_what_is_doubtful_is_refused(lines: list[str], why: str) -> None:
    with pytest.raises(FileError) as refusal:
        read_table_text("\n".join(lines), "x.csv")
    assert why in str(refusal.value)


@pytest.mark.parametrize(
    ("cells", "read"),
    [
        (["2'200", "0.895"], [2200, 0.895]),
        (["2 200", "0,895"], [2200, 0.895]),
        (["2.200", "0,895"], [2200, 0.895]),
        (["2,200", "0.895"], [2200, 0.895]),
        (["2200", "0,895", "1,680"], [2200, 0.895, 1.68]),
        (["1,234,567", "2.5"], [1234567, 2.5]),
        (["1.234.567", "2"], [1234567, 2]),
        (["\u22125,5", "1e3"], [-5.5, 1000]),
    ],
)
def test_signs_are_told_from_all_cells_together(cells: list[str], read: list[float]) -> None:
    ways, _ = decimals_of(cells)
    assert len(ways) == 1
    assert [ways[0].number(cell) for cell in cells] == read


def test_three_digits_behind_every_comma_leave_both_ways() -> None:
    assert len(decimals_of(["1,234", "5,678"])[0]) == 2


@pytest.mark.parametrize(
    ("corner", "parts"),
    [
        ("rpm\\kPa", ["rpm", "kPa"]), ("rpm/kPa", ["rpm", "kPa"]), ("rpm | kPa", ["rpm", "kPa"]),
        ("speed (r/min)/load (%)", ["speed (r/min)", "load (%)"]), ("g/s", ["g/s"]), ("", [""]),
        ("rpm ↓ kPa →", ["rpm", "kPa"]), ("kPa → / rpm ↓", ["rpm", "kPa"]),
        ("MAP (kPa) → | RPM ↓ | VE (%)", ["RPM", "MAP (kPa)", "VE (%)"]), ("↓ rpm → kPa", ["rpm", "kPa"]),
        ("VE %: rpm/kPa", ["rpm", "kPa", "VE %"]), ("VE", ["VE"]),
        ("Efficiency (%) rpm\\kPa", ["rpm", "kPa", "Efficiency (%)"]), ("a / b / c", ["a", "b", "c"]),
    ],
)  # fmt: skip
def test_corners(corner: str, parts: list[str]) -> None:
    assert corner_parts(corner) == parts


@pytest.mark.parametrize("corner", ["kPa / rpm", "MAP (kPa) / Engine speed (rpm) / VE (%)", "rpm ↓ / kPa →"])
def test_a_corner_that_names_the_columns_first_is_turned_by_its_values(corner: str) -> None:
    """Engine speed was taken for a pressure, and the pressure for an engine speed, without a word."""
    lines = [[corner, *map(str, ACROSS)], *([str(speed), "60", "70", "80"] for speed in DOWN)]
    table, notes = read_table_text("\n".join("\t".join(line) for line in lines), "x.txt")
    assert [axis.unit for axis in table.axes] == ["rpm", "kPa"]
    np.testing.assert_array_equal(table.axes[0].breakpoints, DOWN)
    assert any("names the columns first" in note for note in notes) == (not corner.startswith("rpm"))


def test_a_unit_is_parted_from_its_number_and_words_are_not() -> None:
    assert with_unit_apart("20 kPa") == ("20", "kPa")
    assert with_unit_apart("64.6%") == ("64.6", "%")
    assert with_unit_apart("1'200 rpm") == ("1'200", "rpm")
    for whole in ("3 March", "kPa", "20", "B2", "1e3"):
        assert with_unit_apart(whole) == (whole, "")


@given(st.lists(st.lists(st.sampled_from(["", "1", "2.5", "-3", "a", "rpm", "4 kPa", "0,5", "1'000", "x / y"]),
                         max_size=6), max_size=8), st.sampled_from(",;\t|"))  # fmt: skip
def test_any_cells_are_read_or_refused(rows: list[list[str]], sign: str) -> None:
    try:
        table, _ = read_table_text("\n".join(sign.join(row) for row in rows), "x.csv")
    except FileError:
        return
    assert np.isfinite(table.values).all()
    assert all((np.diff(axis.breakpoints) > 0).all() for axis in table.axes)


POINTS = [(1500.0, 2.5), (2000.0, 5.0), (2500.0, 9.125)]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (["No.,Airflow sensor (Hz),Airflow (g/s)", "1,1500,2.5", "2,2000,5", "3,2500,9.125"], "numbers the rows"),
        (["Nr;Airflow sensor (Hz);Airflow (g/s)", "0;1500;2,5", "1;2000;5,0", "2;2500;9,125"], "numbers the rows"),
        (["Airflow sensor (Hz),Airflow (g/s)", "1_500,2.5", "2_000,5", "2_500,9.125"], "Underscores"),
        (
            ["Airflow sensor (Hz),Airflow (g/s)", "1500,2.5", "2000,5", "2500,9.125", "2500,9.125"],
            "twice was read once",
        ),
    ],
)
def test_what_people_add_to_a_table_is_taken_off_and_told(lines: list[str], said: str) -> None:
    table, notes = read_table_text("\n".join(lines) + "\n", "x.csv")
    assert list(zip(table.axes[0].breakpoints, table.values, strict=True)) == POINTS
    assert table.axes[0].unit == "Hz"
    assert any(said in note for note in notes)


@pytest.mark.parametrize(
    "lines",
    [
        ["Airflow sensor (Hz),Airflow (g/s)", "1500,2.5", "2500,9", "2500,9.125"],
        ["No.,Airflow sensor (Hz),Airflow (g/s)", "1,1500,2.5", "3,2000,5", "4,2500,9.125"],
        ["1,1500,2.5", "2,2000,5", "3,2500,9.125"],
    ],
    ids=["two values of one breakpoint", "a number is missing", "no header says what the numbers are"],
)
def test_what_may_mean_something_is_not_taken_off(lines: list[str]) -> None:
    with pytest.raises(FileError):
        read_table_text("\n".join(lines) + "\n", "x.csv")


def test_signs_of_emphasis_around_cells_are_taken_off() -> None:
    table, _ = read_table_text("\n".join(EMPHASIS) + "\n", "grid.md")
    np.testing.assert_array_equal(table.values, VALUES)
    np.testing.assert_array_equal(table.axes[0].breakpoints, DOWN)


@pytest.mark.parametrize("signs", ["()", "[]", "{}"])
@pytest.mark.parametrize("between", ["; ", ", "])
def test_points_in_brackets_are_a_curve(signs: str, between: str) -> None:
    points = [f"{signs[0]}{a:g}{between}{b:g}{signs[1]}" for a, b in zip(HERTZ, FLOW, strict=True)]
    table, _ = read_table_text("\n".join(points) + "\n", "curve.txt")
    np.testing.assert_array_equal(table.axes[0].breakpoints, HERTZ)
    np.testing.assert_array_equal(table.values, FLOW)


def test_a_grid_of_one_column_is_no_curve() -> None:
    with pytest.raises(FileError, match="one column breakpoint only"):
        read_table_text("rpm/kPa,50\n900,51.5\n2100,58\n3300,61\n", "t.csv")


@pytest.mark.parametrize(
    "lines",
    [
        ["; from the ECU", "Airflow sensor (Hz),Airflow (g/s)"],
        ["; from the ECU", "; of spring", "Airflow sensor (Hz),Airflow (g/s)"],
    ],
)
def test_remarks_behind_semicolons_part_no_cells(lines: list[str]) -> None:
    table, _ = read_table_text("\n".join([*lines, "1500,1.5", "2500,6.25", "3500,17"]) + "\n", "t.csv")
    assert table.axes[0].breakpoints.tolist() == HERTZ
    assert table.values.tolist() == FLOW


def test_a_column_of_numbers_of_rows_may_be_named_by_a_sign() -> None:
    table, _ = read_table_text("#;Hz;g/s\n0;1500;1.5\n1;2500;6.25\n2;3500;17\n", "t.csv")
    assert table.axes[0].breakpoints.tolist() == HERTZ


def test_a_value_whose_decimal_sign_was_lost_is_told(tmp_path: Path) -> None:
    for value, told in (("6250", True), ("6.25", False)):
        path = tmp_path / "t.csv"
        path.write_text(f"Airflow sensor (Hz),Airflow (g/s)\n1500,1.5\n2500,{value}\n3500,17\n4500,30\n")
        _, notes = read_table(path)
        assert any("at 2500 the table holds 6250" in note for note in notes) == told


SPEEDS = (800, 1200, 1800)


@pytest.mark.parametrize(
    ("lines", "axis", "said"),
    [
        (["rpm \\ kPa,20,40,60", *(f"RPM {each}:,1,2,3" for each in SPEEDS)], SPEEDS, "beside the row breakpoints"),
        (["rpm \\ kPa,20,40,60,Σ", *(f"{each},1,2,3,6" for each in SPEEDS)], SPEEDS, "Worked out"),
        (["rpm x100 \\ kPa,20,40,60", "8,1,2,3", "12,1,2,3", "18,1,2,3"], SPEEDS, "multiplied"),
        (
            ["const float t[][2] = { /* Hz, g/s */", "{800.f, 1.f}, {1200.f, 2.f},", "{1800.f, 3.5f}};"],
            SPEEDS,
            "source",
        ),
    ],
    ids=["axis named in each row", "sums", "hundreds of rpm", "points in source code"],
)
def test_breakpoints_are_what_the_writer_meant(lines: list[str], axis: tuple[int, ...], said: str) -> None:
    table, notes = read_table_text("\n".join(lines) + "\n", "t.csv")
    assert table.axes[0].breakpoints.tolist() == list(axis)
    assert "x100" not in table.axes[0].unit
    assert said in " ".join(notes)
