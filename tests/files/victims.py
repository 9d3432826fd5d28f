"""Whole files of every format, as a start for damaging them."""

import gzip
import json
import tempfile
from pathlib import Path

import numpy as np
from workbooks import ods, xlsb, xlsx, zipped

SHAPES = Path(__file__).parent / "shapes"
REAL = Path(__file__).parents[2].parent / "shared" / "logs"


def small_files() -> dict[str, bytes]:
    """Give the shape files and a small file of every other format: name -> content."""
    found = {path.name: path.read_bytes() for path in sorted(SHAPES.iterdir()) if path.stat().st_size}
    rows: list[list[object]] = [["Time (s)", "Engine RPM (rpm)"], *([i / 5, 900.0 + i] for i in range(20))]
    found["x.xlsx"] = xlsx({"Log": rows})
    found["x.xlsb"] = xlsb({"Log": rows})
    found["x.ods"] = ods(rows)
    plain = found["01_units_glued.csv"]
    found["x.csv.gz"] = gzip.compress(plain)
    found["x.zip"] = zipped({"a.csv": plain})
    found["x.log"] = candump()
    found["x.asc"] = ASC
    found |= rejoined()
    found |= measurements()
    return found


def rejoined() -> dict[str, bytes]:
    """Write a drive in the forms whose rows stand on several lines, in blocks, in elements, or behind other signs."""
    names = ["Time", "Engine RPM", "STFT", "Lambda"]
    rows = [[f"{i / 5:g}", f"{900 + i}", f"{i % 7 - 3}", f"{1 + i % 3 / 100:g}"] for i in range(40)]
    tags = [name.replace(" ", "_") for name in names]
    elements = "".join(
        "<s>" + "".join(f"<{tag} unit=''>{c}</{tag}>" for tag, c in zip(tags, row, strict=True)) + "</s>"
        for row in rows
    )
    book = "".join(
        "<Row>" + "".join(f"<Cell><Data>{c}</Data></Cell>" for c in row) + "</Row>" for row in [names, *rows]
    )
    points = "\n".join(f"car,a=b rpm={row[1]},stft={row[2]} {1_772_546_581 + i}000000000" for i, row in enumerate(rows))
    pairs = [", ".join(part) for row in [names, *rows] for part in (row[:2], row[2:])]
    blocks = "\n".join(
        f"[{i}]\n" + "\n".join(f"{n} = {c}" for n, c in zip(names, row, strict=True)) for i, row in enumerate(rows)
    )
    diary = [
        f"2026-03-03 14:03:{i:02d},250 INFO poll - " + ", ".join(f"{n}={c}" for n, c in zip(names, row, strict=True))
        for i, row in enumerate(rows)
    ]
    arrays = [
        f"log.{tag} = [{' '.join(column)}]; % s" for tag, column in zip(tags, zip(*rows, strict=True), strict=True)
    ]
    frames = [f"{i / 10:.3f} 1 2{i:02X} Rx d 8 00 1{i % 10} 27 00 FF 3A 00 0A" for i in range(40)]
    texts = {
        "x.diary": "\n".join(diary),
        "x.m": "\n".join(arrays),
        "x.frames": "\n".join(frames),
        "x.xml": f'<?xml version="1.0"?><log>{elements}</log>',
        "x.fods": f'<?xml version="1.0"?><Workbook><Table>{book}</Table></Workbook>',
        "x.points": points,
        "x.pairs": "\n".join(pairs),
        "x.blocks": blocks,
        "x.records": "\n".join(f"- Time: {row[0]}\n  RPM: {row[1]}\n  STFT: {row[2]}" for row in rows),
        "x.separated": "\n".join("\x1f".join(row) for row in [names, *rows]),
        "x.json": json.dumps([dict(zip(names, row, strict=True)) for row in rows]),
        "x.html": "<table>" + "".join("<tr><td>" + "<td>".join(row) for row in [names, *rows]) + "</table>",
    }
    return {name: text.encode() for name, text in texts.items()}


def real_files(largest: int) -> dict[str, bytes]:
    """Give the real logs, where they are, cut to their first `largest` bytes if they are text."""
    if not REAL.is_dir():
        return {}
    found = {}
    for path in sorted(REAL.iterdir()):
        if path.suffix != ".md":
            content = path.read_bytes()
            found[path.name] = content if path.suffix in (".mf4", ".blf") else content[:largest]
    return found


def candump() -> bytes:
    lines = []
    for i in range(60):
        lines.append(f"({1700000000 + i / 10:.6f}) can0 7E0#02010C5555555555")
        lines.append(f"({1700000000 + i / 10 + 0.01:.6f}) can0 7E8#04410C{(4 * (900 + i)):04X}AAAAAA")
        lines.append(f"({1700000000 + i / 10 + 0.02:.6f}) can0 7E8#100A410C0BB80B65")
        lines.append(f"({1700000000 + i / 10 + 0.03:.6f}) can0 7E8#2106800780555555")
    return ("\n".join(lines) + "\n").encode()


ASC = b"date Tue Nov 24 10:00:00.000 2026\nbase hex  timestamps absolute\ninternal events logged\n" + b"".join(
    b" %.6f 1  7E8             Rx   d 8 04 41 0C 0E %02X AA AA AA\n" % (i / 10, i) for i in range(40)
)


def measurements() -> dict[str, bytes]:
    """Write MDF 3 and 4 and a BLF capture, where the libraries for them are installed."""
    found: dict[str, bytes] = {}
    try:
        import asammdf
        import can
    except ImportError:
        return found
    time = np.arange(0, 3, 0.1)
    with tempfile.TemporaryDirectory() as folder:
        for version, name in (("3.30", "x.mdf"), ("4.10", "x.mf4")):
            path = Path(folder) / name
            measurement = asammdf.MDF(version=version)
            signals = [
                asammdf.Signal(samples=900 + time, timestamps=time, name="Engine RPM", unit="rpm"),
                asammdf.Signal(samples=np.arange(30, dtype=np.uint8), timestamps=time, name="Load", unit="%"),
            ]
            measurement.append(signals)
            measurement.append([asammdf.Signal(samples=80 + time[::5], timestamps=time[::5], name="ECT", unit="°C")])
            measurement.save(path, compression=2 if version > "4" else 0)
            measurement.close()
            found[name] = path.read_bytes()
        path = Path(folder) / "x.blf"
        with can.BLFWriter(path) as writer:
            for i in range(50):
                data = bytes([4, 0x41, 0x0C, 0x0E, i, 0, 0, 0])
                writer.on_message_received(
                    can.Message(timestamp=1.7e9 + i / 10, arbitration_id=0x7E8, is_extended_id=False, data=data)
                )
        found["x.blf"] = path.read_bytes()
    return found
