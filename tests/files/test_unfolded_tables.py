"""Tables that lie in no one rectangle: wrapped, in sections, in source code, with tails, means, or rows in disorder."""

import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from workbench.errors import WorkbenchError
from workbench.files.identify import refused_as_table
from workbench.files.tables.tables import read_table, read_table_text
from workbench.model.table import Table

VOLTS = [0.8, 1.1, 1.5, 2.0, 2.6, 3.3, 4.1, 4.7]
GRAMS = [1.2, 2.6, 6.1, 14.0, 31.5, 66.0, 131.0, 204.0]
SPEEDS = [700, 1500, 2600, 4100, 6400]
PRESSURES = [25, 45, 65, 85]
FILLING = [[48.5 + 3 * i + 4 * j + 0.25 * i * j for j in range(4)] for i in range(5)]


def of(text: str) -> Table:
    return read_table_text(text, "made_up.csv")[0]


def is_curve(table: Table, unit: str = "V", values: str = "g/s") -> None:
    assert (table.kind, table.axes[0].unit, table.unit) == ("curve", unit, values)
    np.testing.assert_allclose(table.axes[0].breakpoints, VOLTS)
    np.testing.assert_allclose(table.values, GRAMS)


def is_grid(table: Table) -> None:
    assert [axis.unit for axis in table.axes] == ["rpm", "kPa"]
    np.testing.assert_allclose(table.axes[0].breakpoints, SPEEDS)
    np.testing.assert_allclose(table.axes[1].breakpoints, PRESSURES)
    np.testing.assert_allclose(table.values, FILLING)


def pairs(order: list[int] | None = None) -> list[str]:
    return [f"{VOLTS[at]},{GRAMS[at]}" for at in order or range(len(VOLTS))]


def listed(numbers: Sequence[float], between: str = ",") -> str:
    return between.join(map(str, numbers))


HEAD = "Sensor (V),Airflow (g/s)"
IN_C = (
    f"static const float sensor_v[8] = {{{'f, '.join(map(str, VOLTS))}f}}; // volts\n"
    f"const double air_gs[] = {{{listed(GRAMS)}}};"
)
IN_JSON = f'{{"axis": {{"name": "Sensor", "unit": "V", "points": {VOLTS}}}, "flow": {{"unit": "g/s", "z": {GRAMS}}}}}'
IN_XML = f"<curve><x name='Sensor' unit='V'>{listed(VOLTS, ' ')}</x><y unit='g/s'>{listed(GRAMS, ';')}</y></curve>"


@pytest.mark.parametrize("tail", [["0,0"] * 3, ["65535,65535"] * 2, ["32767;32767".replace(";", ",")] * 4, ["0,0"]])
def test_an_unused_tail_is_left_out(tail: list[str]) -> None:
    table, notes = read_table_text("\n".join([HEAD, *pairs(), *tail]), "made_up.csv")
    is_curve(table)
    assert any("unused" in note for note in notes)


def test_a_last_row_that_only_repeats_a_breakpoint_is_no_tail() -> None:
    with pytest.raises(WorkbenchError, match="not above the previous one"):
        of("\n".join([HEAD, *pairs(), "4.7,205"]))


def test_wrapped_lines_are_put_side_by_side() -> None:
    blocks = [
        f"V,{','.join(map(str, VOLTS[at : at + 3]))}\ng/s,{','.join(map(str, GRAMS[at : at + 3]))}\n" for at in (0, 3)
    ]
    rest = f"V,{VOLTS[6]},{VOLTS[7]}\ng/s,{GRAMS[6]},{GRAMS[7]}"
    is_curve(of("\n".join([*blocks, rest])))
    with pytest.raises(WorkbenchError):  # the second block does not go on where the first ends
        of("\n".join([*blocks, blocks[0]]))


def test_a_wrapped_grid_repeats_its_first_column() -> None:
    corner = "Engine speed (rpm) / Manifold pressure (kPa) / Filling (%)"
    lines = []
    for part in (slice(0, 2), slice(2, 4)):
        lines.append(",".join([corner, *map(str, PRESSURES[part])]))
        lines += [",".join([str(speed), *map(str, row[part])]) for speed, row in zip(SPEEDS, FILLING, strict=True)]
    is_grid(of("\n".join(lines)))


@pytest.mark.parametrize("mark", ["[X] ", "x: ", "X axis = ", ""])
def test_axes_may_stand_in_sections_above_the_values(mark: str) -> None:
    other = mark.replace("X", "Y").replace("x", "y")
    text = [f"{mark}Manifold pressure (kPa)", listed(PRESSURES), f"{other}Engine speed (rpm)", listed(SPEEDS)]
    text += ["Filling (%)", *map(listed, FILLING)]
    is_grid(of("\n".join(text)))


def test_sections_of_a_square_leave_the_axes_open() -> None:
    lines = ["A (kPa)", "1,2,3", "B (rpm)", "4,5,6", "C (%)", "1,2,3", "4,5,6", "7,8,9"]
    with pytest.raises(WorkbenchError):
        of("\n".join(lines))


@pytest.mark.parametrize("word", ["Average", "Mean", "Max", "Mittelwert"])
def test_means_at_the_edges_are_left_out(word: str) -> None:
    lines = [",".join(["rpm / kPa / %", *map(str, PRESSURES), word])]
    for speed, row in zip(SPEEDS, FILLING, strict=True):
        lines.append(",".join([str(speed), *map(str, row), f"{np.mean(row):.4f}"]))
    lines.append(",".join([word, *(f"{each:.4f}" for each in np.mean(FILLING, axis=0)), "1"]))
    is_grid(of("\n".join(lines)))


def test_rows_in_disorder_are_sorted_only_where_they_surely_are_in_none() -> None:
    table, notes = read_table_text("\n".join([HEAD, *pairs([3, 0, 6, 1, 7, 2, 5, 4])]), "made_up.csv")
    is_curve(table)
    assert any("sorted by breakpoint" in note for note in notes)
    slip = pairs()
    slip[2] = f"15.0,{GRAMS[2]}"
    with pytest.raises(WorkbenchError, match="not above the previous one"):
        of("\n".join([HEAD, *slip]))


def test_units_may_stand_behind_the_breakpoints_or_both_in_one_header() -> None:
    lines = [",".join(["Filling", *(f"{each} kPa" for each in PRESSURES)])]
    lines += [",".join([f"{speed} rpm", *map(str, row)]) for speed, row in zip(SPEEDS, FILLING, strict=True)]
    is_grid(of("\n".join(lines)))
    for arrow in ("->", "→", "to"):
        is_curve(of("\n".join([f"Transfer (V {arrow} g/s)", *pairs()])))


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("sensor.c", IN_C),
        ("sensor.py", f"# a curve\nsensor_V = {VOLTS}\nairflow_gs = {GRAMS}\n"),
        ("sensor.json", IN_JSON),
        ("sensor.xml", IN_XML),
    ],
)
def test_lists_of_numbers_under_names_are_a_curve(tmp_path: Path, name: str, text: str) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    is_curve(read_table(path)[0])


def test_a_grid_in_json_and_what_is_none(tmp_path: Path) -> None:
    path = tmp_path / "grid.json"
    path.write_text(
        f'{{"down": {{"name": "Engine speed", "unit": "rpm", "values": {SPEEDS}}},'
        f' "across": {{"name": "Manifold pressure", "unit": "kPa", "values": {PRESSURES}}}, "filling": {FILLING}}}',
        encoding="utf-8",
    )
    is_grid(read_table(path)[0])
    path.write_text(f'{{"values": {FILLING}}}', encoding="utf-8")
    with pytest.raises(WorkbenchError) as refused:
        read_table(path)
    assert "table" in refused.value.message
    assert "log" not in str(refused.value).casefold()


def test_of_two_tables_one_is_asked_for_and_taken_by_its_number(tmp_path: Path) -> None:
    path = tmp_path / "two.csv"
    path.write_text(
        "\n".join(["NTC (V),Temperature (°C)", "0.4,118", "1.9,61", "3.8,4", "", HEAD, *pairs()]), encoding="utf-8"
    )
    with pytest.raises(WorkbenchError) as refused:
        read_table(path)
    said = refused_as_table(path, "", refused.value)
    assert "holds 2 tables" in said.message
    assert "--part 2" in str(said)
    is_curve(read_table(path, part="2")[0])
    assert read_table(path, part="1")[0].values.size == 3
    with pytest.raises(WorkbenchError, match="no number 3"):
        read_table(path, part="3")


def test_a_long_list_that_is_broken_at_its_end_takes_no_time() -> None:
    """Each number could be parted in as many ways as it has digits: 42 of them took 20 s."""
    began = time.process_time()
    with pytest.raises(WorkbenchError):
        read_table_text(f"rpm = [{' '.join(str(900 + at) for at in range(300))} x];\n", "x.m")
    assert time.process_time() - began < 2


GRID = [["rpm / kPa", *map(str, PRESSURES)]] + [
    [str(speed), *map(str, row)] for speed, row in zip(SPEEDS, FILLING, strict=True)
]


@pytest.mark.parametrize("titles", [[], [["Before", *[""] * len(PRESSURES), "", "After"]]])
def test_of_grids_side_by_side_one_is_asked_for_and_taken_by_its_number(
    tmp_path: Path, titles: list[list[str]]
) -> None:
    other = [[*row[:1], *(f"{float(cell) + 1:g}" if at else cell for cell in row[1:])] for at, row in enumerate(GRID)]
    path = tmp_path / "two.csv"
    rows = [*titles, *([*left, "", *right] for left, right in zip(GRID, other, strict=True))]
    path.write_text("\n".join(map(",".join, rows)), encoding="utf-8")
    with pytest.raises(WorkbenchError, match="holds 2 tables side by side") as refused:
        read_table(path)
    assert "--part 2" in str(refused.value.hint)
    is_grid(read_table(path, part="1")[0])
    np.testing.assert_allclose(read_table(path, part="2")[0].values, np.asarray(FILLING, dtype=float) + 1)


@pytest.mark.parametrize("corner", ["↓rpm | kPa→", "rpm vs kPa", "rpm × kPa", "rpm over kPa", "rpm ↓ / kPa →"])
def test_corners_name_their_axes_by_words_and_arrows(corner: str) -> None:
    text = "\n".join(map(",".join, [[corner, *GRID[0][1:]], *GRID[1:]]))
    table = of(text)
    assert [axis.unit for axis in table.axes] == ["rpm", "kPa"]
    is_grid(table)


def test_column_breakpoints_may_bear_the_name_of_their_axis() -> None:
    head = ["rpm", *(f"MAP {point} kPa" for point in PRESSURES)]
    table = of("\n".join(map(",".join, [head, *GRID[1:]])))
    assert (table.axes[1].name, table.axes[1].unit) == ("MAP", "kPa")
    is_grid(table)


def test_an_arrow_parts_the_axis_of_a_curve_from_its_values() -> None:
    text = "\n".join(["Sensor (V) → Airflow (g/s),", *pairs()])
    table = of(text)
    assert (table.axes[0].name, table.axes[0].unit, table.value_name, table.unit) == ("Sensor", "V", "Airflow", "g/s")
    is_curve(table)


@pytest.mark.parametrize("sign", [": ", "= "])
def test_a_sign_may_stand_between_a_breakpoint_and_its_value(sign: str) -> None:
    is_curve(of("\n".join(f"{volt}{sign}{gram}" for volt, gram in zip(VOLTS, GRAMS, strict=True))), "", "")
