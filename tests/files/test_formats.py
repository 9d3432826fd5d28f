"""Files of every format, made here: MDF, CAN captures with a DBC file, spreadsheets, gzip and zip."""

import gzip
import io
import sys
import zipfile
from pathlib import Path

import numpy as np
import pytest
from workbooks import ods, xlsb, xlsx, zipped

from workbench.errors import FileError, InputError
from workbench.files.logs import read_log, read_log_text
from workbench.files.tables.tables import read_table
from workbench.model.log import Log
from workbench.work import run

SHAPES = Path(__file__).parent / "shapes"
CSV = "Time (s),Engine Speed (rpm),MAP (kPa)\n" + "".join(f"{i / 10},{900 + i},{30 + i % 7}\n" for i in range(30))
DBC = """VERSION ""
NS_ :
BS_:
BU_: ECU
BO_ 512 Engine: 8 ECU
 SG_ EngineSpeed : 0|16@1+ (0.25,0) [0|16000] "rpm" ECU
 SG_ ManifoldPressure : 16|8@1+ (1,0) [0|255] "kPa" ECU
BO_ 513 Other: 8 ECU
 SG_ Coolant : 0|8@1+ (1,-40) [-40|215] "degC" ECU
"""


def read(path: Path, content: bytes, **options: object) -> Log:
    path.write_bytes(content)
    return run(read_log(path, **options))  # type: ignore[arg-type]


def check_plain(log: Log) -> None:
    assert log.rows == 30
    speed, pressure = log.playing("engine_speed"), log.playing("manifold_pressure")
    assert speed is not None
    assert pressure is not None
    np.testing.assert_allclose(speed, 900 + np.arange(30))
    np.testing.assert_allclose(log.time.values, np.arange(30) / 10)


@pytest.mark.parametrize("version", ["3.30", "4.10", "4.20"])
@pytest.mark.parametrize("compression", [0, 2])
def test_mdf_with_two_rates(tmp_path: Path, version: str, compression: int) -> None:
    asammdf = pytest.importorskip("asammdf")
    fast, slow = np.arange(0, 10, 0.1), np.arange(0, 10, 1.0)
    measurement = asammdf.MDF(version=version)
    measurement.append(
        [
            asammdf.Signal(samples=900 + fast, timestamps=fast, name="nEngine", unit="1/min"),
            asammdf.Signal(samples=np.arange(100, dtype=np.uint8), timestamps=fast, name="Engine Load", unit="%"),
        ]
    )
    measurement.append([asammdf.Signal(samples=20 + slow, timestamps=slow, name="CoolantTemp", unit="°C")])
    path = tmp_path / ("x.mf4" if version > "4" else "x.mdf")
    measurement.save(path, compression=compression)
    measurement.close()
    log = run(read_log(path, roles={"engine_speed": "nEngine"}))
    assert log.rows == 100
    assert log.roles == {"engine_speed": "nEngine", "load": "Engine Load", "coolant_temperature": "CoolantTemp"}
    speed, coolant = log.playing("engine_speed"), log.playing("coolant_temperature")
    assert speed is not None
    assert coolant is not None
    np.testing.assert_allclose(speed, 900 + fast)
    np.testing.assert_allclose(coolant[:11], [20, *[np.nan] * 9, 21])  # each value where it was read
    held = run(read_log(path, roles={"engine_speed": "nEngine"}, window_s=1.0)).playing("coolant_temperature")
    assert held is not None
    np.testing.assert_allclose(held[:10], 20)
    assert any("2 time bases" in note for note in log.notes)


def test_a_damaged_mdf_is_refused(tmp_path: Path) -> None:
    pytest.importorskip("asammdf")
    with pytest.raises(FileError, match="cannot be read as an MDF file"):
        read(tmp_path / "x.mf4", b"MDF     4.10    " + bytes(500))


def test_an_mdf_whose_links_lead_in_a_circle_is_refused(tmp_path: Path) -> None:
    """A block links to the next at 24 bytes (ASAM MDF 4.1, from memory); here a channel group to itself."""
    asammdf = pytest.importorskip("asammdf")
    path = tmp_path / "x.mf4"
    with asammdf.MDF(version="4.10") as made:
        made.append(asammdf.Signal(np.arange(9.0), np.arange(9.0), name="rpm"))
        made.save(path)
    content = bytearray(path.read_bytes())
    at = content.index(b"##CG")
    content[at + 24 : at + 32] = at.to_bytes(8, "little")
    with pytest.raises(FileError, match="cannot be read as an MDF file"):
        read(path, bytes(content))


def candump(path: Path) -> Path:
    lines = []
    for i in range(20):
        speed = f"{(4 * (900 + i)) & 0xFF:02X}{(4 * (900 + i)) >> 8:02X}"
        lines.append(f"({1700000000 + i / 10:.6f}) can0 200#{speed}{30 + i:02X}0000000000")
        lines.append(f"({1700000000 + i / 10 + 0.01:.6f}) can0 201#{120 + i % 2:02X}")
    lines.append("(1700000002.5) can0 200#R")
    path.write_text("\n".join(lines) + "\n")
    return path


def test_a_capture_is_decoded_by_a_dbc_file(tmp_path: Path) -> None:
    pytest.importorskip("cantools")
    dbc = tmp_path / "car.dbc"
    dbc.write_text(DBC)
    log = run(read_log(candump(tmp_path / "x.log"), dbc=dbc))
    assert log.roles == {
        "engine_speed": "EngineSpeed",
        "manifold_pressure": "ManifoldPressure",
        "coolant_temperature": "Coolant",
    }
    speed, coolant = log.playing("engine_speed"), log.playing("coolant_temperature")
    assert speed is not None
    assert coolant is not None
    assert speed[0] == 900
    assert coolant[1] == 80
    assert any("by car.dbc" in note for note in log.notes)


def test_candump_is_read_as_logged_and_as_shown(tmp_path: Path) -> None:
    logged, shown = tmp_path / "logged.log", tmp_path / "shown.log"
    rows = [(i / 10, f"04410C{4 * (900 + i):04X}AAAAAA") for i in range(20)]
    logged.write_text("".join(f"({1000 + at:.6f}) can0 7E8#{data}\n" for at, data in rows))
    spaced = [(at, " ".join(data[i : i + 2] for i in range(0, 16, 2))) for at, data in rows]
    shown.write_text("".join(f" ({1000 + at:.6f})  can0  7E8   [8]  {data}\n" for at, data in spaced))
    one, other = run(read_log(logged)), run(read_log(shown))
    speed, again = one.playing("engine_speed"), other.playing("engine_speed")
    assert speed is not None
    assert again is not None
    np.testing.assert_array_equal(speed, 900 + np.arange(20))
    np.testing.assert_array_equal(speed, again)
    np.testing.assert_array_equal(one.time.values, other.time.values)


def test_a_capture_that_nothing_describes_says_what_it_holds(tmp_path: Path) -> None:
    pytest.importorskip("cantools")
    path = candump(tmp_path / "x.log")
    with pytest.raises(FileError, match=r"40 frames of 2 identifiers: 200 \(20\), 201 \(20\)") as refusal:
        run(read_log(path))
    assert "--dbc" in refusal.value.hint
    other = tmp_path / "other.dbc"
    other.write_text(DBC.replace("512", "700").replace("513", "701"))
    with pytest.raises(FileError, match=r"other\.dbc describes none"):
        run(read_log(path, dbc=other))
    other.write_text("no dbc at all {")
    with pytest.raises(FileError, match=r"other\.dbc cannot be read as a DBC file"):
        run(read_log(path, dbc=other))
    with pytest.raises(FileError, match="no file"):
        run(read_log(path, dbc=tmp_path / "none.dbc"))


def cells() -> list[list[object]]:
    lines = [line.split(",") for line in CSV.splitlines()]
    return [list(lines[0])] + [[float(cell) for cell in line] for line in lines[1:]]


def test_spreadsheets_are_read(tmp_path: Path) -> None:
    pytest.importorskip("python_calamine")
    check_plain(read(tmp_path / "x.xlsx", xlsx({"Log": cells(), "Notes": []})))
    check_plain(read(tmp_path / "x.xlsb", xlsb({"Log": cells(), "Notes": []})))
    check_plain(read(tmp_path / "x.ods", ods(cells())))
    check_plain(read(tmp_path / "x.zip", zipped({"in/x.xlsx": xlsx({"Log": cells()})})))


def test_the_sheet_is_asked_for(tmp_path: Path) -> None:
    pytest.importorskip("python_calamine")
    content = xlsx({"First": cells(), "Second": cells()[:10]})
    with pytest.raises(InputError, match="2 sheets") as refusal:
        read(tmp_path / "x.xlsx", content)
    assert "First, Second" in refusal.value.hint
    assert read(tmp_path / "x.xlsx", content, part="Second").rows == 9
    with pytest.raises(InputError, match="no sheet 'Third'"):
        read(tmp_path / "x.xlsx", content, part="Third")
    with pytest.raises(FileError, match="cannot be read as a spreadsheet"):
        read(tmp_path / "x.xlsx", content[: len(content) // 2] + content[len(content) // 2 + 200 :])


def test_tables_are_read_from_spreadsheets_and_wrappings(tmp_path: Path) -> None:
    pytest.importorskip("python_calamine")
    sheets: dict[str, list[list[object]]] = {"VE": [["rpm / kPa / VE (%)", 20, 60], [500, 41.5, 50], [900, 60, 70.25]]}
    for name, content in (("ve.xlsx", xlsx(sheets)), ("ve.xlsb", xlsb(sheets))):
        path = tmp_path / name
        path.write_bytes(content)
        table, _ = read_table(path)
        assert (table.name, table.kind, table.unit) == ("ve", "grid", "%")
        assert table.values.tolist() == [[41.5, 50], [60, 70.25]]
    path = tmp_path / "maf.csv.gz"
    path.write_bytes(gzip.compress(b"f (Hz),flow (g/s)\n1000,2\n2000,9\n"))
    table, notes = read_table(path)
    assert (table.name, table.values.tolist()) == ("maf", [2, 9])
    assert any("gzip" in note for note in notes)


def test_wrappings_are_taken_off(tmp_path: Path) -> None:
    plain = CSV.encode()
    for name, content in (
        ("x.csv.gz", gzip.compress(plain)),
        ("x.zip", zipped({"drive.csv": plain, "__MACOSX/._drive.csv": b"x"})),
        ("x.zip.gz", gzip.compress(zipped({"drive.csv": plain}))),
    ):
        log = read(tmp_path / name, content)
        check_plain(log)
        assert log.name == name
        assert len(log.sha256) == 64


def test_a_zip_with_several_files_asks(tmp_path: Path) -> None:
    content = zipped({"a.csv": CSV.encode(), "b.csv": CSV.encode()})
    with pytest.raises(InputError, match="2 files") as refusal:
        read(tmp_path / "x.zip", content)
    assert "a.csv, b.csv" in refusal.value.hint
    check_plain(read(tmp_path / "x.zip", content, part="b.csv"))


def test_damaged_and_deep_wrappings_are_refused(tmp_path: Path) -> None:
    plain = CSV.encode()
    whole = gzip.compress(plain)
    for content in (whole[:-20], whole[:30] + b"\xff" + whole[31:], zipped({"a.csv": plain})[:-40], zipped({})):
        with pytest.raises(FileError):
            read(tmp_path / "x.gz", content)
    deep = plain
    for _ in range(5):
        deep = gzip.compress(deep)
    with pytest.raises(FileError, match="packed more than"):
        read(tmp_path / "x.gz", deep)


def test_text_is_read_from_the_clipboard() -> None:
    check_plain(run(read_log_text(CSV.replace(",", "\t"), "clipboard")))


@pytest.mark.parametrize(
    ("library", "name", "content"),
    [
        ("can", "x.blf", b"LOGG" + bytes(200)),
        ("can", "x.asc", b"date Tue Nov 24 10:00:00.000 2026\nbase hex  timestamps absolute\n"),
    ],
)
def test_a_missing_library_is_named(
    library: str, name: str, content: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(FileError, match="is not installed") as refusal:
        read(tmp_path / name, content)
    assert "pip install" in refusal.value.hint


@pytest.mark.parametrize(
    ("library", "name", "content"),
    [("asammdf", "x.mf4", b"MDF     4.10    " + bytes(500)), ("python_calamine", "x.ods", ods([["a", 1.0]]))],
)
def test_a_missing_library_of_a_reader_apart_is_named(
    library: str, name: str, content: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / f"{library}.py").write_text("raise ImportError\n")
    monkeypatch.syspath_prepend(tmp_path)
    with pytest.raises(FileError, match=f"needs the library {library.replace('_', '-')}"):
        read(tmp_path / name, content)


def test_a_missing_dbc_library_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "cantools", None)
    dbc = tmp_path / "car.dbc"
    dbc.write_text(DBC)
    with pytest.raises(FileError, match="needs the library cantools"):
        run(read_log(candump(tmp_path / "x.log"), dbc=dbc))


@pytest.mark.parametrize("version", ["3.30", "4.10"])
@pytest.mark.parametrize("kind", ["conversion", "text"])
def test_texts_of_a_fuel_system_state_in_mdf_are_read_as_codes(tmp_path: Path, version: str, kind: str) -> None:
    """Codes of SAE J1979, parameter 03: 1 is open loop and cold, 2 closed, 4 open by load or fuel cut."""
    asammdf = pytest.importorskip("asammdf")
    time = np.arange(0, 10, 0.1)
    raw = (np.arange(100) // 34).astype(np.uint8)
    words = {0: b"open", 1: b"closed", 2: b"open, fuel cut"}
    if kind == "conversion":
        told = {f"val_{at}": at for at in words} | {f"text_{at}": word for at, word in words.items()}
        state = asammdf.Signal(
            samples=raw, timestamps=time, name="Fuel system status", conversion={**told, "default": b"?"}
        )
    else:
        texts = np.array([words[at] for at in raw.tolist()])
        state = asammdf.Signal(samples=texts, timestamps=time, name="Fuel system status", encoding="utf-8")
    gear = asammdf.Signal(samples=np.array([b"first"] * 100), timestamps=time, name="Gear", encoding="utf-8")
    speed = asammdf.Signal(samples=900 + time, timestamps=time, name="Engine speed", unit="rpm")
    measurement = asammdf.MDF(version=version)
    measurement.append([speed, state, gear])
    path = tmp_path / ("x.mf4" if version > "4" else "x.mdf")
    measurement.save(path)
    measurement.close()
    log = run(read_log(path))
    found = log.playing("fuel_system")
    assert found is not None
    np.testing.assert_array_equal(found, np.array([1.0, 2.0, 4.0])[raw])
    assert any("states of the fuel system or of purge: Fuel system status" in note for note in log.notes)
    assert any("left out: Gear" in note for note in log.notes)


@pytest.mark.parametrize(
    ("name", "content", "words", "remedy"),
    [
        ("x.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000), r"old format \(\.xls\)", ".xlsx or CSV"),
        ("x.xls", b"<html><body><table><tr><td>1</td></tr></table></body></html>\n", "web page", "Export the log"),
        ("x.fods", b'<?xml version="1.0"?>\n<office:document></office:document>\n', "XML document", ".xlsx or CSV"),
        ("x.parquet", b"PAR1" + bytes(range(256)), "Parquet", "CSV"),
        ("x.7z", b"7z\xbc\xaf\x27\x1c" + bytes(range(256)), "7z archive", "Unpack"),
    ],
)
def test_formats_that_are_not_read_are_named_with_a_remedy(
    tmp_path: Path, name: str, content: bytes, words: str, remedy: str
) -> None:
    with pytest.raises(FileError, match=words) as told:
        read(tmp_path / name, content)
    assert name in told.value.message
    assert remedy in told.value.hint


def test_an_opendocument_sheet_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    whole = ods([["a", 1.0]])
    with pytest.raises(FileError, match=r"OpenDocument spreadsheet \(\.ods\)") as told:
        read(tmp_path / "x.ods", whole.replace(b"office:spreadsheet", b"office:spreadsheep"))
    assert ".xlsx or CSV" in told.value.hint


def test_a_cell_far_from_all_others_is_no_crash(tmp_path: Path) -> None:
    """The library lays a sheet out whole: up to its last cell, here some 400 GB of nothing."""
    whole = io.BytesIO()
    near = io.BytesIO(xlsx({"Log": [["Time (s)", "Engine speed (rpm)"], [0, 800], [1, 900]]}))
    with zipfile.ZipFile(near) as plain, zipfile.ZipFile(whole, "w") as far:
        for name in plain.namelist():
            content = plain.read(name)
            far.writestr(name, content.replace(b"<row><c><v>1</v>", b'<row r="1048576"><c r="XFD1048576"><v>1</v>'))
    with pytest.raises(FileError, match="one cell lies far from all others") as told:
        read(tmp_path / "x.xlsx", whole.getvalue())
    assert "CSV" in told.value.hint
