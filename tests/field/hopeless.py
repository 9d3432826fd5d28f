"""Shapes that nothing can be made of: they must be refused with a sentence that says what was seen."""

import gzip
import json
import random
import struct
import zlib

from field.car import HERTZ, STALE, drive
from field.shape import Built, Col, Family, col, edit, extra, log, mapped, raw, rows, std, text
from field.writers import xlsx, zipped

SHAPES = Family("hopeless")
N = drive().rows


def _files() -> None:
    SHAPES(
        "json_settings",
        lambda: raw("settings.json", json.dumps({"theme": "dark", "units": {"pressure": "kPa"}, "recent": ["a", "b"]})),
        "refuse",
        hints=("JSON",),
    )
    SHAPES(
        "json_geo",
        lambda: raw(
            "way.geojson",
            json.dumps(
                {
                    "type": "FeatureCollection",
                    "features": [
                        {
                            "type": "Feature",
                            "geometry": {"type": "Point", "coordinates": [11.5, 48.1]},
                            "properties": {},
                        }
                    ],
                }
            ),
        ),
        "refuse",
        hints=("JSON",),
    )
    SHAPES(
        "can_text",
        lambda: raw(
            "bus.txt",
            "\n".join(
                f"{k / 1000:.3f} 1 {0x200 + k % 5:03X} Rx d 8 {k % 256:02X} 10 27 00 FF 3A 00 {k % 7:02X}"
                for k in range(3000)
            )
            + "\n",
        ),
        "refuse",
        "frames without a description of their signals",
        hints=("CAN", "frame", "--dbc"),
    )
    SHAPES(
        "can_csv",
        lambda: raw(
            "bus.csv",
            "time,id,dlc,d0,d1,d2,d3,d4,d5,d6,d7\n"
            + "\n".join(
                f"{k / 1000:.3f},0x{0x200 + k % 5:03X},8," + ",".join(f"{(k * j) % 256:02X}" for j in range(1, 9))
                for k in range(3000)
            )
            + "\n",
        ),
        "refuse",
        "frames as a table",
        hints=("CAN", "frame", "--dbc"),
    )
    SHAPES(
        "can_hash",
        lambda: raw(
            "bus.log",
            "\n".join(
                f"({1772546581 + k / 1000:.6f}) can0 {0x200 + k % 5:03X}#{(k * 7919) % 2**64:016X}" for k in range(3000)
            )
            + "\n",
        ),
        "refuse",
        "frames of a capture",
        hints=("CAN", "frame", "--dbc"),
    )
    SHAPES(
        "serial_hex",
        lambda: raw(
            "port.txt", "\n".join(f"TX 01 0C\nRX 41 0C {k % 256:02X} {k * 3 % 256:02X}" for k in range(1500)) + "\n"
        ),
        "refuse",
        "requests and answers without times",
    )
    SHAPES("picture", lambda: raw("screen.png", _png()), "refuse", hints=("picture", "PNG", "image"))
    SHAPES("picture_named_csv", lambda: raw("drive.csv", _png()), "refuse", hints=("picture", "PNG", "image"))
    SHAPES(
        "pdf",
        lambda: raw(
            "report.pdf", b"%PDF-1.4\n1 0 obj\n<< /Type /Catalog >>\nendobj\ntrailer << /Root 1 0 R >>\n%%EOF\n"
        ),
        "refuse",
        hints=("PDF",),
    )
    SHAPES("empty", lambda: raw("drive.csv", b""), "refuse", hints=("empty",))
    SHAPES("only_header", lambda: raw("drive.csv", text(rows(std(), range(0)))), "refuse")
    SHAPES("one_row", lambda: log(rows(std(), range(1))), "refuse")
    SHAPES("nul_bytes", lambda: raw("drive.csv", b"\0" * 20000), "refuse")
    SHAPES("chance_bytes", lambda: raw("drive.csv", random.Random(4).randbytes(30000)), "refuse")
    SHAPES(
        "prose",
        lambda: raw("notes.txt", "We drove out in the morning.\nThe car ran lean at the lights, then better.\n" * 60),
        "refuse",
    )
    SHAPES(
        "source_text",
        lambda: raw(
            "read.py", "import csv\n\nfor row in csv.reader(open('drive.csv')):\n    print(row[0], row[1])\n" * 20
        ),
        "refuse",
    )
    SHAPES("zip_of_pictures", lambda: raw("pictures.zip", zipped({"a.png": _png(), "b.png": _png()})), "refuse")
    SHAPES(
        "gz_cut",
        lambda: raw("drive.csv.gz", gzip.compress(text(std()).encode(), mtime=0)[:4000]),
        "refuse",
        hints=("unpack", "damaged", "end"),
    )
    SHAPES("zip_cut", lambda: raw("drive.zip", zipped({"drive.csv": text(std()).encode()})[:9000]), "refuse")
    SHAPES("book_empty", lambda: raw("book.xlsx", xlsx({"Sheet1": []})), "refuse")
    SHAPES(
        "web_page_error",
        lambda: raw(
            "drive.csv", "<!DOCTYPE html><html><head><title>404</title></head><body><h1>Not found</h1></body></html>"
        ),
        "refuse",
        hints=("HTML", "web page"),
    )
    SHAPES(
        "certificate",
        lambda: raw("drive.txt", "-----BEGIN DATA-----\n" + "QUJDREVGR0g=\n" * 40 + "-----END DATA-----\n"),
        "refuse",
    )
    SHAPES(
        "xml_settings",
        lambda: raw("car.xml", "<?xml version='1.0'?><car><gear n='1'>3.4</gear><gear n='2'>2.1</gear></car>"),
        "refuse",
        hints=("XML",),
    )
    SHAPES(
        "table_as_log",
        lambda: raw(
            "airflow.csv",
            "Airflow sensor (Hz),Airflow (g/s)\n"
            + "\n".join(f"{h:g},{f:.3f}" for h, f in zip(HERTZ, STALE, strict=True))
            + "\n",
        ),
        "refuse",
        "the table itself, given as a log",
    )


def _png() -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows_ = b"".join(b"\0" + bytes((x * 3 + y) % 256 for x in range(64)) for y in range(64))
    head = struct.pack(">IIBBBBB", 64, 64, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows_)) + chunk(b"IEND", b"")


def _logs() -> None:
    SHAPES(
        "no_mixture_channel",
        lambda: log(std(drop="cmd lam stft ltft status")),
        "refuse",
        "neither trims nor lambda",
        hints=("trim", "lambda", "mixture"),
    )
    SHAPES(
        "no_axis_channel",
        lambda: log(std(drop="hz")),
        "refuse",
        "nothing feeds the axis of the table",
        hints=("sensor_signal",),
    )
    SHAPES(
        "engine_off",
        lambda: log(edit(std(), "rpm hz maf speed stft ltft inj", mapped(lambda k, cell: "0"))),
        "refuse",
        "the engine stood",
    )
    SHAPES("cold_throughout", lambda: log(std(col("coolant", None, None, lambda v: v - 55))), "refuse", "never warm")
    SHAPES(
        "gps_only",
        lambda: log(
            [
                std()[0],
                extra("Latitude", [f"{48.1 + k * 1e-6:.6f}" for k in range(N)]),
                extra("Longitude", [f"{11.5 + k * 1e-6:.6f}" for k in range(N)]),
                col("speed"),
            ]
        ),
        "refuse",
    )
    SHAPES(
        "random_numbers",
        lambda: log([_chance(c) if c.key != "time" else c for c in std()]),
        "refuse",
        "chance under the usual names",
    )
    SHAPES("rows_shuffled", lambda: log(_shuffled()), "either", "rows in chance order, each with its time")
    SHAPES(
        "values_shuffled",
        lambda: log([_shuffled([c])[0] if c.key != "time" else c for c in std()]),
        "refuse",
        "each channel in chance order",
    )
    SHAPES(
        "all_constant",
        lambda: log(edit(std(), "*", lambda c: Col(c.key, c.name, c.unit, (c.cells[3000],) * N))),
        "refuse",
        "every channel stands still",
    )
    SHAPES("all_blank", lambda: log(edit(std(), "*", mapped(lambda k, cell: ""))), "refuse")
    SHAPES("ten_rows", lambda: log(rows(std(), range(3000, 3010))), "refuse", "half a second")
    SHAPES("rate_impossible", lambda: log(std(col("time", "Time", "s", lambda t: t / 43200.0, 9))), "refuse", "864 kHz")
    SHAPES("rate_word", lambda: log(std(drop="time"), flags=("--rate", "864000")), "refuse", "a rate no logger has")
    SHAPES("averages_a_minute", lambda: log(rows(std(), range(0, N, 1200))), "refuse", "one row a minute")
    SHAPES(
        "statistics",
        lambda: raw(
            "summary.csv",
            "Channel,Unit,Min,Mean,Max\n"
            + "\n".join(f"{c.name},{c.unit},{min(c.cells)},{c.cells[2000]},{max(c.cells)}" for c in std()[1:])
            + "\n",
        ),
        "refuse",
        "a summary, not a log",
    )
    SHAPES(
        "fault_codes",
        lambda: raw("codes.csv", "Code,Text,State\nP0171,System too lean,stored\nP0174,System too lean,pending\n"),
        "refuse",
    )
    SHAPES(
        "other_car",
        lambda: log(std(col("maf", None, None, lambda v: 2.4 * v + 3))),
        "refuse",
        "airflow does not follow the table by far",
    )


def _chance(c: Col) -> Col:
    dice = random.Random(len(c.name))
    return Col(c.key, c.name, c.unit, tuple(f"{dice.uniform(0, 100):.2f}" for _ in c.cells))


def _shuffled(cols: list[Col] | None = None) -> list[Col]:
    order = list(range(N))
    random.Random(8 if cols is None else len(cols[0].name)).shuffle(order)
    return rows(std() if cols is None else cols, order)


_files()
_logs()
SHAPES(
    "folder_empty_of_logs", lambda: Built({"notes.txt": b"Two pulls.\n", "screen.png": _png()}, folder=True), "refuse"
)
