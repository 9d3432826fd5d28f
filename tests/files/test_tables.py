import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from workbench.errors import FileError
from workbench.files.tables.clipboard import write_with_axes
from workbench.files.tables.tables import read_table, read_table_text, write_table_text
from workbench.model.table import Axis, Table

CURVE = "sensor signal (Hz),mass airflow (g/s)\r\n1000,2.5\r\n2000,10\r\n3500.25,41.125\r\n"
GRID = (
    "engine speed (rpm) / manifold pressure (kPa) / volumetric efficiency (%),20,60,100\r\n"
    "500,40,50,60\r\n1000,60,80,85\r\n"
)

numbers = st.floats(allow_nan=False, allow_infinity=False)
names = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=12).filter(
    lambda text: not text.startswith("#") and text[0] not in "([" and text[-1] not in ")]"
)


@st.composite
def axes(draw: st.DrawFn) -> Axis:
    points = draw(st.lists(numbers, min_size=2, max_size=6, unique_by=lambda x: x + 0.0))
    return Axis(draw(names), draw(st.sampled_from(["", "rpm", "g/s", "kPa (abs)"])), np.array(sorted(points)))


@st.composite
def tables(draw: st.DrawFn) -> Table:
    sides = tuple(draw(st.lists(axes(), min_size=1, max_size=2)))
    shape = tuple(len(axis) for axis in sides)
    return Table(
        "t", draw(names), draw(st.sampled_from(["", "%"])), sides, draw(arrays(float, shape, elements=numbers))
    )


def same(one: Table, other: Table) -> bool:
    return (
        one.same_axes(other)
        and (one.value_name, one.unit, one.shape) == (other.value_name, other.unit, other.shape)
        and one.values.tobytes() == other.values.tobytes()
        and all(a.breakpoints.tobytes() == b.breakpoints.tobytes() for a, b in zip(one.axes, other.axes, strict=True))
    )


@given(tables())
def test_what_is_written_reads_back_bit_for_bit(table: Table) -> None:
    text = write_table_text(table)
    again, notes = read_table_text(text, "t.csv", name="t")
    assert notes == ()
    assert same(table, again)
    assert write_table_text(again) == text


def test_a_curve_of_the_contract_reads_and_writes_the_same() -> None:
    table, notes = read_table_text(CURVE, "c.csv", name="airflow")
    assert (table.kind, table.name, table.value_name, table.unit) == ("curve", "airflow", "mass airflow", "g/s")
    assert (table.axes[0].name, table.axes[0].unit) == ("sensor signal", "Hz")
    assert table.values.tolist() == [2.5, 10, 41.125]
    assert notes == ()
    assert write_table_text(table) == CURVE


def test_a_grid_of_the_contract_reads_and_writes_the_same() -> None:
    table, notes = read_table_text(GRID, "g.csv", name="ve")
    assert (table.kind, table.unit, table.axes[0].name, table.axes[1].unit) == ("grid", "%", "engine speed", "kPa")
    assert table.values.tolist() == [[40, 50, 60], [60, 80, 85]]
    assert notes == ()
    assert write_table_text(table) == GRID


@pytest.mark.parametrize(
    ("text", "points", "values", "said"),
    [
        ("1000\t2.5\n2000\t10", [1000, 2000], [2.5, 10], "no header"),
        ("f [Hz];flow [g/s]\n1000;2,5\n2000;10", [1000, 2000], [2.5, 10], "decimal comma"),
        ("f (Hz)\t1000\t2000\t3000\nflow (g/s)\t1\t2\t3", [1000, 2000, 3000], [1, 2, 3], "transposed"),
        ("1000;2000;3000\r\n1,5;2,5;3,5\r\n", [1000, 2000, 3000], [1.5, 2.5, 3.5], "transposed"),
        ("1000 2.5\n2000 10\n", [1000, 2000], [2.5, 10], "spaces"),
        ("f,v\n500,1\n900,1\n\n1200,2\n,,\n".replace(",,", ","), [500, 900, 1200], [1, 1, 2], None),
        ('f;v\n"1.000,5";1\n"2.000,5";2', [1000.5, 2000.5], [1, 2], "separated thousands"),
        ('f,v\n"1,000.5",1\n"2,000.5",2', [1000.5, 2000.5], [1, 2], "commas between thousands"),
        ("f\tv\n500\t1\n1,000\t2\n1,500\t3", [500, 1000, 1500], [1, 2, 3], "commas between thousands"),
        ("f,v,\n1000,1,\n2000,2,\n", [1000, 2000], [1, 2], None),
        ("\ufefff,v\n1000,\u22121\n2000,2\n", [1000, 2000], [-1, 2], None),
    ],
)
def test_what_a_spreadsheet_pastes_is_read_with_what_was_assumed(
    text: str, points: list[float], values: list[float], said: str | None
) -> None:
    table, notes = read_table_text(text, "clipboard")
    assert table.axes[0].breakpoints.tolist() == points
    assert table.values.tolist() == values
    assert notes == () if said is None else any(said in note for note in notes)


@pytest.mark.parametrize("corner", ["\t", "", "VE\t"])
def test_a_grid_without_named_axes_is_read_and_said(corner: str) -> None:
    table, notes = read_table_text(f"{corner}20\t60\n500\t1\t2\n900\t3\t4\n", "clipboard")
    assert table.kind == "grid"
    assert table.values.tolist() == [[1, 2], [3, 4]]
    assert any("row axis" in note for note in notes)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("f,v\n1000,1\n2000,x\n", "line 3, column 2"),
        ("f,v\n1000,1\n2000,NaN\n", "line 3, column 2"),
        ("f,v\n1000,1\n2000,1e999\n", "line 3, column 2"),
        ("f,v\n1000,1\n2000,\n", "line 3, column 2"),
        ("f,v\n1000,1\n\n900,2\n950,3\n", "line 4, column 1"),
        ("f,v\n1000,1\n1000,2\n", "line 3, column 1"),
        ("f,v\n1000,1\n2000,2,3\n3000,4\n", "line 3"),
        ("a / b / c,20,60\n500,1,2\n900,1\n", "line 3"),
        ("a / b / c,60,20,40\n500,1,2,3\n900,1,2,3\n", "line 1, column 3"),
        ("a / b / c,20,60\n500,1,2\n400,1,2\n450,1,2\n", "line 3, column 1"),
        ("1,2,3\n4,5,6\n7,8,9\n", "line 1, column 1"),
        ("f\tv\n1,000\t2,000\n2,000\t3,000\n", "both give a table"),
        ("words\nwords\n", "columns"),
        ("just words\n", "no rows"),
        ("f,v\n", "no rows"),
        ("\n\n", "no cells"),
        ("a\0b", "not a text file"),
    ],
)
def test_what_is_no_table_is_refused_with_its_place(text: str, place: str) -> None:
    with pytest.raises(FileError, match=r"bad\.csv") as refusal:
        read_table_text(text, "bad.csv")
    assert place in str(refusal.value)


def test_files_are_refused_by_name(tmp_path: Path) -> None:
    empty = tmp_path / "empty.csv"
    empty.touch()
    for path, word in ((tmp_path / "none.csv", "no file"), (tmp_path, "directory"), (empty, "empty")):
        with pytest.raises(FileError, match=word) as refusal:
            read_table(path)
        assert str(path) in refusal.value.message


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_encodings_are_found(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "ntc.csv"
    path.write_bytes("Spannung (V),Temperatur (°C)\r\n1,80\r\n2,40\r\n".encode(encoding))
    table, notes = read_table(path)
    assert (table.name, table.unit) == ("ntc", "°C")
    assert [("1252" in note) for note in notes] == ([True] if encoding == "cp1252" else [])


def test_bare_values_get_the_axes_that_are_given() -> None:
    rows, columns = Axis("rpm", "rpm", np.array([500.0, 900])), Axis("map", "kPa", np.array([20.0, 60, 90]))
    table, notes = read_table_text("1\t2\t3\n4\t5\t6\n", "clipboard", axes=(rows, columns))
    assert table.values.tolist() == [[1, 2, 3], [4, 5, 6]]
    assert any("axes were given" in note for note in notes)
    curve, _ = read_table_text("1,5;2,5;3,5", "clipboard", axes=(columns,))
    assert curve.values.tolist() == [1.5, 2.5, 3.5]
    with pytest.raises(FileError, match="the axes ask for 3 by 2"):
        read_table_text("1\t2\t3\n4\t5\t6\n", "clipboard", axes=(columns, rows))


@pytest.mark.parametrize(
    ("text", "labels"),
    [
        ("Hz;g/s\n1000;2,75\n2500;12,75\n", ["frequency (Hz)", "airflow (g/s)"]),
        ("Volt\tkg/h\n1\t2\n2\t12\n", ["voltage (Volt)", "airflow (kg/h)"]),
        ("rpm / kPa / VE,20,40\n800,50,60\n1500,50,60\n", ["engine speed (rpm)", "pressure (kPa)", "VE"]),
        ("rpm/kPa/VE,20,40\n800,50,60\n1500,50,60\n", ["engine speed (rpm)", "pressure (kPa)", "VE"]),
        ("RPM / MAP / VE,20,40\n800,50,60\n1500,50,60\n", ["engine speed (RPM)", "MAP", "VE"]),
    ],
)
def test_headers_of_nothing_but_units_are_understood_and_told(text: str, labels: list[str]) -> None:
    table, notes = read_table_text(text, "clipboard")
    assert [*(axis.label for axis in table.axes), table.value_label] == labels
    assert any("only a unit" in note for note in notes)
    again, said = read_table_text(write_table_text(table), "clipboard")
    assert again.same_axes(table)
    assert not any("only a unit" in note for note in said)


@pytest.mark.parametrize("label", ["=1+1", "+x", "-x", "@x", "'=x", "''=y", "'quoted'", "=cmd|' /C calc'!A0"])
def test_no_label_is_worked_out_by_a_spreadsheet(label: str) -> None:
    """Header cells that begin a formula are written as text, and read back as they were."""
    axis = Axis(label, "Hz", np.array([1.0, 2.0, 3.0]))
    other = Axis("rpm axis", "rpm", np.array([1.0, 2.0]))
    for table in (
        Table("t", label, "g/s", (axis,), np.array([1.0, 2.0, 3.0])),
        Table("t", label, "g/s", (axis, other), np.arange(6.0).reshape(3, 2)),
    ):
        text = write_table_text(table)
        head = next(csv.reader([text.splitlines()[0]]))
        assert not any(cell[:1] in "=+-@" for cell in head[:1] if cell)
        assert write_with_axes(table)[:1] not in "=+-@"
        back, _ = read_table_text(text, "t.csv", kind=table.kind)
        assert [each.name for each in back.axes] == [each.name for each in table.axes]
        assert back.value_name == table.value_name


def test_two_values_of_a_curve_that_were_exchanged_are_named(tmp_path: Path) -> None:
    flows = [2.0, 6.0, 14.0, 47.0, 27.0, 77.0, 120.0, 178.0]
    path = tmp_path / "curve.csv"
    path.write_text("\n".join(["Sensor (V),Airflow (g/s)", *(f"{1 + k / 2},{flow}" for k, flow in enumerate(flows))]))
    assert any("falls from 47 to 27 g/s" in note for note in read_table(path)[1])
    path.write_text("\n".join(["Sensor (V),Airflow (g/s)", *(f"{1 + k / 2},{f}" for k, f in enumerate(sorted(flows)))]))
    assert read_table(path)[1] == ()


@pytest.mark.parametrize("odd", ["6,691", "6691"])
def test_one_value_in_another_style_is_no_thousand(tmp_path: Path, odd: str) -> None:
    """`6,691` among values with decimal points was read as 6691, with a caution: its cell was worthless."""
    flows = ["1.919", "2.717", "3.867", odd, "8.08", "10.438", "13.542"]
    path = tmp_path / "curve.csv"
    rows = [f'{1500 + 300 * k},"{flow}"' for k, flow in enumerate(flows)]
    path.write_text("\n".join(["Sensor (Hz),Airflow (g/s)", *rows]) + "\n")
    if odd == "6691":
        assert any("Was a decimal sign lost?" in note for note in read_table(path)[1])
        return
    with pytest.raises(FileError, match="at 2400 the table would hold 6691") as refused:
        read_table(path)
    assert "6.691" in (refused.value.hint or "")
