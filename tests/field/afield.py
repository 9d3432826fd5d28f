"""Further shapes of the field: clocks of other epochs, cells that a spreadsheet spoilt, richness, banks in one cell."""

import base64
import itertools
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from field.car import HERTZ, STALE, Floats, drive
from field.languages import LANGUAGES
from field.shape import (
    Built,
    Col,
    Family,
    cells,
    col,
    edit,
    extra,
    log,
    mapped,
    raw,
    roles,
    std,
    text,
    with_roles,
)
from field.tables import KPA as LOADS
from field.tables import RPM as RPMS
from field.tables import VE
from field.writers import grid, xlsx

SHAPES = Family("afield")
START = datetime(2026, 3, 3, 14, 3, 1, 250000, tzinfo=UTC)
EPOCH = START.timestamp()
MONTHS = "Jan Feb Mrz Apr Mai Jun Jul Aug Sep Okt Nov Dez".split()
ARABIC = str.maketrans("0123456789.", "٠١٢٣٤٥٦٧٨٩٫")


def seconds() -> list[float]:
    return [float(each) for each in drive()["time"]]


def clock(write: Callable[[float], str], name: str = "Time", unit: str = "") -> list[Col]:
    """Give the usual columns with the time written otherwise."""
    return std(replace(col("time", name, unit), cells=tuple(write(each) for each in seconds())))


def dated(write: Callable[[datetime], str], name: str = "Time") -> list[Col]:
    return clock(lambda s: write(START + timedelta(seconds=s)), name)


def milli(moment: datetime) -> str:
    return f"{moment.microsecond // 1000:03d}"


def summer(moment: datetime) -> str:
    local = moment + timedelta(hours=11, minutes=54, seconds=40)  # 01:57:41 in the night of the change
    local += timedelta(hours=1 if local.hour >= 2 else 0)
    return f"{local:2026-03-29 %H:%M:%S}.{milli(local)}"


SHAPES("time_mission", lambda: log(clock(lambda s: f"T+{int(s // 3600):02d}:{int(s // 60) % 60:02d}:{s % 60:06.3f}")))
SHAPES("time_100ns_since_1601", lambda: log(clock(lambda s: f"{int((EPOCH + s + 11644473600) * 1e7)}", "FileTime")),
       "either", hints=("FileTime", "--rate"))  # fmt: skip
SHAPES("time_julian_date", lambda: log(clock(lambda s: f"{2440587.5 + (EPOCH + s) / 86400:.8f}", "Julian date")),
       "either", hints=("Julian", "--"))  # fmt: skip
SHAPES("time_since_1904", lambda: log(clock(lambda s: f"{EPOCH + s + 2082844800:.2f}", "Timestamp")), "either")
SHAPES("time_since_2001", lambda: log(clock(lambda s: f"{EPOCH + s - 978307200:.3f}", "timestamp")), "either")
SHAPES("time_of_week", lambda: log(clock(lambda s: f"{223381250 + 1000 * s:.0f}", "GPS TOW", "ms")), "either")
SHAPES("time_pm_first", lambda: log(dated(lambda m: f"PM {m:%I:%M:%S}.{milli(m)}", "Clock")), "either")
SHAPES("time_iso_week", lambda: log(dated(lambda m: f"{m:%G-W%V-%uT%H:%M:%S}.{milli(m)}")), "either")
SHAPES("time_iso_day_of_year", lambda: log(dated(lambda m: f"{m:%Y-%jT%H:%M:%S}.{milli(m)}")), "either")
SHAPES("time_year_2569", lambda: log(dated(lambda m: f"{m:%d/%m/}2569 {m:%H:%M:%S}.{milli(m)}", "Date")), "either")
SHAPES("time_minutes_roll_over", lambda: log(clock(lambda s: f"{int((s + 3450) // 60) % 60:02d}:{(s + 3450) % 60:06.3f}")),
       "either")  # fmt: skip
SHAPES("time_summer_begins", lambda: log(dated(summer)), "either", any_length=True, why="an hour is missing")


def marked(choose: Callable[[float], str | None], **more: object) -> list[Col]:
    """Write the wideband's cells otherwise where `choose` gives something."""
    lam = col("lam", **more)  # type: ignore[arg-type]
    return std(replace(lam, cells=tuple(choose(v) or cell for v, cell in zip(drive()["lam"], lam.cells, strict=True))))


def in_rows(first: int, last: int, change: Callable[[Col, int], str]) -> list[Col]:
    return edit(std(), "*", lambda c: replace(c, cells=tuple(
        change(c, k) if first <= k < last else cell for k, cell in enumerate(c.cells))))  # fmt: skip


def as_date(cell: str) -> str:
    """Write what a German spreadsheet makes of a pasted number with a point: 1.02 is the first of February."""
    day, _, month = cell.partition(".")
    if day.isdigit() and 1 <= int(day) <= 31 and month.isdigit() and 1 <= int(month) <= 12:
        return f"{int(day):02d}. {MONTHS[int(month) - 1]}"
    return cell


def as_serial(cell: str) -> str:
    day, _, month = cell.partition(".")
    if day.isdigit() and 1 <= int(day) <= 28 and month.isdigit() and 1 <= int(month) <= 12:
        return str((datetime(2026, int(month), int(day), tzinfo=UTC) - datetime(1899, 12, 30, tzinfo=UTC)).days)
    return cell


SHAPES("lambda_lean_and_rich_words", lambda: log(marked(lambda v: "LEAN" if v > 1.3 else "RICH" if v < 0.75 else None)))
SHAPES("lambda_beyond_marks", lambda: log(marked(lambda v: ">1.30" if v > 1.3 else "<0.88" if v < 0.88 else None)),
       "either", hints=("Measured lambda",))  # fmt: skip
SHAPES("lambda_heating_word", lambda: log(edit(std(), "lam", mapped(lambda k, cell: "HEATING" if k < 500 else cell))))
SHAPES("lambda_not_ready_1.99997", lambda: log(edit(std(), "lam", mapped(
    lambda k, cell: "1.99997" if k < 600 or 3000 < k < 3200 else cell))))  # fmt: skip
SHAPES("connection_lost_rows_repeated", lambda: log(in_rows(1500, 1700, lambda c, k: c.cells[1500])), loose=True)
SHAPES("connection_lost_all_zero", lambda: log(in_rows(1500, 1580, lambda c, k: "0")), loose=True)
SHAPES("spreadsheet_made_dates", lambda: log(edit(std(col("lam", decimals=2)), "lam stft", mapped(
    lambda k, cell: as_date(cell))), sep=";"), "either", hints=("date", "Measured lambda"),
    why="only numbers of one kind are spoilt: what is left is one-sided")  # fmt: skip
SHAPES("spreadsheet_made_serial_days", lambda: Built({"drive.xlsx": xlsx({"Log": grid(edit(std(col("lam", decimals=2)),
    "lam stft", mapped(lambda k, cell: as_serial(cell))))})}, roles(std())), "either",
    hints=("date", "Measured lambda"))  # fmt: skip
SHAPES("lambda_of_one_decimal", lambda: log(std(col("lam", decimals=1))), "either", hints=("Measured lambda",))


def relabelled(names: str, *others: Col) -> list[Col]:
    return [replace(c, name=name) for c, name in zip(std(*others), names.split("|"), strict=True)]


def phi(key: str) -> Col:
    return col(key, unit="", convert=lambda v: 1 / v, decimals=3)


FRENCH = (
    LANGUAGES["french"].replace("Lambda consigne", "Richesse consigne").replace("Lambda mesuré", "Richesse mesurée")
)
SPANISH = LANGUAGES["spanish"].replace("Lambda objetivo", "Dosado objetivo").replace("Lambda medida", "Dosado medido")
SHORT_FRENCH = "Tps|Rég mot|Fréq débitm|Débit air|P adm|Pap|Vit vhc|T eau|T air adm|Boucle|Lbda cons|Lbda mes|Corr CT|Corr LT|Purge can|Ti"  # fmt: skip


def oxygen(v: Floats) -> Floats:
    return np.where(v > 1, 20.9 * (v - 1) / v, 0.02)


def tenths(key: str, unit: str, factor: float) -> Col:
    return col(key, unit=unit, convert=lambda v: factor * v, decimals=0)


SHAPES("richness_french", lambda: log(relabelled(FRENCH, phi("cmd"), phi("lam")), sep=";", decimal=","), "either",
       hints=("Richesse",))  # fmt: skip
SHAPES(
    "richness_spanish", lambda: log(relabelled(SPANISH, phi("cmd"), phi("lam")), sep=";"), "either", hints=("Dosado",)
)
SHAPES("short_french", lambda: log(relabelled(SHORT_FRENCH), sep=";", decimal=",", encoding="cp1252"), "either")
SHAPES("commanded_phi_measured_lambda", lambda: log(std(replace(phi("cmd"), name="Commanded EQ ratio"))), "either",
       hints=("EQ ratio",))  # fmt: skip
SHAPES("airflow_by_volume", lambda: log(std(col("maf", unit="m³/h", convert=lambda v: 3.6 * v / 1.2041))), "either",
       optional=("airflow",))  # fmt: skip
SHAPES("lb_h_torr_knots", lambda: log(std(
    col("maf", unit="lb/h", convert=lambda v: v * 7.936641, decimals=1),
    col("map", unit="torr", convert=lambda v: v * 7.500617, decimals=0),
    col("speed", unit="kn", convert=lambda v: v / 1.852))))  # fmt: skip
SHAPES("megapascal_decikelvin", lambda: log(std(
    col("map", unit="MPa", convert=lambda v: v / 1000, decimals=4),
    col("coolant", unit="0.1 K", convert=lambda v: 10 * (v + 273.15), decimals=0))), "either")  # fmt: skip
SHAPES("throttle_in_volts_only", lambda: log(std(col("throttle", "TPS", "V", lambda v: 0.5 + 0.04 * v, 3))), "either",
       optional=("throttle",))  # fmt: skip
SHAPES("oxygen_instead_of_lambda", lambda: with_roles(
    log(std(col("lam", "Exhaust O2", "%", oxygen, 2, as_key="oxygen"), drop="lam")),
    roles=roles(std(drop="lam"))), "either", keep=0.4, hints=("Exhaust O2",))  # fmt: skip
SHAPES("engine_speed_raw_quarters", lambda: log(std(col("rpm", "RPM raw", "", lambda v: 4 * v, 0))), "either")
SHAPES("units_with_factors", lambda: log(std(
    tenths("hz", "0.1 Hz", 10), tenths("map", "0.1 kPa", 10), tenths("stft", "0.01 %", 100),
    tenths("ltft", "0.01 %", 100), tenths("lam", "0.001", 1000), tenths("cmd", "0.0001", 10000))), "either")  # fmt: skip
SHAPES("methanol_gauge", lambda: log(std(col("lam", "AFR", "", lambda v: 6.47 * v, 2))), "either", hints=("AFR",))


def alternating() -> Built:
    frame = drive(2)
    odd = np.arange(frame.rows) % 2 == 1
    short, long_ = (np.where(odd, frame[key + "2"], frame[key]) for key in ("stft", "ltft"))
    usual = std(keys="time rpm hz maf map throttle speed coolant iat status cmd lam purge".split(), banks=2)
    made = [*usual, extra("Bank", ["2" if second else "1" for second in odd]), extra("STFT", cells(short), "%"),
            extra("LTFT", cells(long_), "%")]  # fmt: skip
    return with_roles(log(made), roles=roles(usual))


def in_one_cell() -> Built:
    usual = std(drop="stft ltft stft2 ltft2", banks=2)
    pairs = [
        extra(f"{name} B1/B2", [" / ".join(pair) for pair in zip(col(key, banks=2).cells, col(key + "2", banks=2).cells, strict=True)], "%")
        for name, key in (("STFT", "stft"), ("LTFT", "ltft"))
    ]  # fmt: skip
    return with_roles(log([*usual, *pairs]), roles=roles(usual))


def banks_named(first: str, second: str) -> Built:
    names = {"stft": first, "stft2": second, "ltft": first, "ltft2": second}
    return log(edit(std(banks=2), " ".join(names), lambda c: replace(
        c, name=f"{'Short' if c.key[0] == 's' else 'Long'} term fuel trim, {names[c.key]}")), sep=";")  # fmt: skip


def mirrored() -> Built:
    made = std(drop="purge inj")
    copies = [replace(col(key), key=key + "2", name=col(key).name.replace("1", "2")) for key in ("stft", "ltft")]
    return log([*made, *copies])


SHAPES("banks_row_by_row", alternating, "either", banks=2, hints=("STFT", "LTFT", "[Bb]ank"))
SHAPES("banks_in_one_cell", in_one_cell, "either", banks=2, hints=("B1/B2",))
SHAPES("banks_by_cylinders", lambda: banks_named("cylinders 1-3", "cylinders 4-6"), "either", banks=2)
SHAPES("banks_odd_and_even", lambda: banks_named("odd bank", "even bank"), "either", banks=2)
SHAPES("second_bank_a_copy", mirrored, keep=0.5, why="purge is not logged: fewer cells are proven")


def joined(second: list[Col]) -> Built:
    """Put the first half of the usual log and the second half of other columns into one file, with both headers."""
    half, usual = drive().rows // 2, std()
    first = text([replace(c, cells=c.cells[:half]) for c in usual])
    then = text([replace(c, cells=c.cells[half:]) for c in second])
    return raw("drive.csv", first + then, roles=roles(usual))


def shifted() -> Built:
    lines = text(std()).splitlines()
    for k in range(400, len(lines), 450):
        parts = lines[k].split(",")
        lines[k] = ",".join([*parts[:2], "note: here", *parts[2:]])
    return raw("drive.csv", "\n".join(lines) + "\n", roles=roles(std()))


def pairs_line(k: int, made: list[Col]) -> str:
    moment = START + timedelta(seconds=seconds()[k])
    said = " ".join(f"{c.name.replace(' ', '_')}:{c.cells[k]}" for c in made[1:])
    return f"{moment:%H:%M:%S}.{milli(moment)} -> {said}"


def captured() -> str:
    made = std()
    return "".join(f"{pairs_line(k, made)}\n" for k in range(drive().rows))


def line_protocol() -> str:
    made = std()
    return "".join(
        "engine,car=blue " + ",".join(f"{c.name.lower().replace(' ', '_')}={c.cells[k]}" for c in made[1:])
        + f" {round((EPOCH + s) * 1000)}000000\n"
        for k, s in enumerate(seconds())
    )  # fmt: skip


def snake(c: Col) -> str:
    return f"{c.name.lower().replace(' ', '_')}{'_' + c.unit.replace('/', '_per_') if c.unit.isascii() and c.unit not in ('', '%') else ''}"


def yaml(*, blocks: bool = False) -> str:
    made, out = std(), []
    for k in range(0, drive().rows, 2):
        out.append(f"[sample {k}]" if blocks else f"- time_s: {made[0].cells[k]}")
        out += (
            [f"{snake(c)}={c.cells[k]}" for c in made] if blocks else [f"  {snake(c)}: {c.cells[k]}" for c in made[1:]]
        )
    return "\n".join(out) + "\n"


def json_in_cell() -> str:
    made = std()
    lines = ["timestamp,event,payload"]
    for k, s in enumerate(seconds()):
        payload = json.dumps({c.name: float(c.cells[k]) for c in made[1:]}).replace('"', '""')
        lines.append(f'{EPOCH + s:.3f},sample,"{payload}"')
    return "\n".join(lines) + "\n"


def letter() -> bytes:
    body = base64.encodebytes(text(std()).encode())
    head = b"From: a@example.org\r\nTo: b@example.org\r\nSubject: log\r\nMIME-Version: 1.0\r\n"
    part = b'Content-Type: text/csv; name="drive.csv"\r\nContent-Transfer-Encoding: base64\r\n\r\n'
    return head + b'Content-Type: multipart/mixed; boundary="x1"\r\n\r\n--x1\r\n' + part + body + b"\r\n--x1--\r\n"


def rich_text() -> str:
    rows = text(std(), sep="\\tab ").splitlines()[:400]
    return "{\\rtf1\\ansi\\deff0\n" + "\\par\n".join(rows) + "\\par\n}"


def suffixed(cell: str) -> str:
    return f"{float(cell) / 1000:.3f}k" if float(cell) >= 1000 else cell


SHAPES(
    "second_header_other_order", lambda: joined([std()[0], *reversed(std()[1:])]), "either", hints=("header", "line")
)
SHAPES("second_header_other_units", lambda: joined(std(
    col("map", unit="psi", convert=lambda v: v / 6.894757, decimals=2), col("maf", unit="lb/min", convert=lambda v: v / 7.5598728),
    col("lam", "Measured AFR", "AFR", lambda v: 14.7 * v), col("coolant", unit="°F", convert=lambda v: 1.8 * v + 32))),
    "either", hints=("header", "line"))  # fmt: skip
SHAPES("shifted_by_notes", shifted)
SHAPES("comma_for_all", lambda: log(std(), sep=",", decimal=","), "either", hints=("comma",))
SHAPES("kilo_suffix", lambda: log(edit(std(), "rpm hz", mapped(lambda k, cell: suffixed(cell)))), "either")
SHAPES("middle_dot", lambda: log(edit(std(), "*", mapped(lambda k, cell: cell.replace(".", "·")))), "either")
SHAPES("arabic_digits", lambda: log([replace(c, cells=tuple(cell.translate(ARABIC) for cell in c.cells)) for c in std()], sep=";"), "either")  # fmt: skip
SHAPES("thousands_comma_quoted", lambda: log(edit(std(), "rpm hz", mapped(lambda k, cell: f"{float(cell):,.1f}"))))
SHAPES("terminal_capture", lambda: raw("capture.log", captured()), "either")  # fmt: skip
SHAPES("line_protocol", lambda: raw("drive.lp", line_protocol()), "either", hints=("line", "="))
SHAPES("yaml_records", lambda: raw("drive.yaml", yaml()), "either", loose=True, hints=("YAML", "key"))
SHAPES("ini_blocks", lambda: raw("drive.ini", yaml(blocks=True)), "either", loose=True, hints=("key", "section", "="))
SHAPES("json_in_a_cell", lambda: raw("events.csv", json_in_cell()), "either", hints=("JSON", "payload"))
SHAPES("letter_with_attachment", lambda: raw("log.eml", letter()), "either", hints=("mail", "attach", "message"))
SHAPES("rich_text", lambda: raw("log.rtf", rich_text()), "refuse", hints=("[Rr]ich text", "RTF", "word processor"))
SHAPES("plot_blocks", lambda: raw("drive.dat", "# " + text(std(), sep=" ", head=lambda n, u: n.replace(" ", "_")).replace(
    "\n100.00 ", "\n\n\n100.00 ").replace("\n200.00 ", "\n\n\n200.00 "), roles={}))  # fmt: skip

JAPANESE = "時間|エンジン回転数|エアフロセンサ周波数|吸入空気量|吸気管圧力|スロットル開度|車速|冷却水温|吸気温|燃料系状態|目標ラムダ|実測ラムダ|短期燃料補正|長期燃料補正|パージ|噴射時間"  # fmt: skip
CHINESE = "时间|发动机转速|空气流量计频率|空气流量|进气压力|节气门开度|车速|冷却液温度|进气温度|燃油系统状态|目标过量空气系数|实测过量空气系数|短期燃油修正|长期燃油修正|碳罐脱附|喷油时间"  # fmt: skip
KOREAN = "시간|엔진 회전수|공기량 센서 주파수|흡입 공기량|흡기 압력|스로틀 개도|차속|냉각수 온도|흡기 온도|연료 시스템 상태|목표 람다|측정 람다|단기 연료 보정|장기 연료 보정|퍼지|분사 시간"  # fmt: skip
CROATIAN = "Vrijeme|Broj okretaja motora|Frekvencija mjerača zraka|Protok zraka|Tlak usisne grane|Leptir gasa|Brzina|Temperatura rashladne tekućine|Temperatura usisnog zraka|Status sustava goriva|Lambda zadana|Lambda izmjerena|Kratkoročna korekcija|Dugoročna korekcija|Odzračivanje|Vrijeme ubrizgavanja"  # fmt: skip
UKRAINIAN = "Час|Оберти двигуна|Частота витратоміра|Витрата повітря|Тиск у колекторі|Дросель|Швидкість|Температура охолоджувальної рідини|Температура повітря на впуску|Стан паливної системи|Лямбда задана|Лямбда виміряна|Короткострокова корекція|Довгострокова корекція|Продувка адсорбера|Час впорскування"  # fmt: skip
for _name, _words, _page in (("japanese", JAPANESE, "shift_jis"), ("chinese", CHINESE, "gb18030"), ("korean", KOREAN, "euc_kr"),
                             ("croatian", CROATIAN, "cp1250"), ("ukrainian", UKRAINIAN, "cp1251")):  # fmt: skip
    SHAPES(_name, lambda w=_words, p=_page: log(relabelled(w, *(
        replace(col(key), unit="degC") for key in ("coolant", "iat"))), encoding=p), "either",
        hints=("--encoding", "--role", "no role"))  # fmt: skip

CURVE = (tuple(HERTZ), tuple(round(v, 3) for v in STALE))
GRID = (tuple(RPMS), tuple(LOADS), tuple(np.asarray(VE).ravel()))
CORNER = "Engine speed (rpm) / Manifold pressure (kPa) / Volumetric efficiency (%)"


def table(content: str, which: tuple[tuple[float, ...], ...] = GRID, name: str = "table.csv") -> Built:
    return raw(name, content, table=which)


def body() -> list[list[str]]:
    return [[f"{rpm:g}", *(f"{v:g}" for v in row)] for rpm, row in zip(RPMS, np.asarray(VE), strict=True)]


def joined_rows(rows: list[list[str]]) -> str:
    return "\n".join(",".join(row) for row in rows) + "\n"


def head(corner: str = CORNER) -> list[str]:
    return [corner, *(f"{load:g}" for load in LOADS)]


def averages() -> str:
    rows = [[*row, f"{np.mean([float(v) for v in row[1:]]):.1f}"] for row in body()]
    last = [f"{np.mean([float(row[k]) for row in rows]):.1f}" for k in range(1, len(rows[0]))]
    return joined_rows([[*head(), "Average"], *rows, ["Average", *last]])


def ranges() -> str:
    edges = [f"{a:g}-{b:g}" for a, b in itertools.pairwise(RPMS)]
    return joined_rows([head(), *([edge, *row[1:]] for edge, row in zip(edges, body(), strict=False))])


def newspaper() -> str:
    points = [f"{a:g},{b:.3f}" for a, b in zip(HERTZ, STALE, strict=True)]
    third = len(points) // 3
    top = ",".join(["Airflow sensor (Hz),Airflow (g/s)"] * 3)
    return "\n".join([top, *(",".join(points[k::third]) for k in range(third))]) + "\n"


def pairs() -> list[str]:
    return [f"{a:g}:{b:.3f}" for a, b in zip(HERTZ, STALE, strict=True)]


SHAPES("grid_with_averages", lambda: table(averages()), "either", hints=("Average",))
SHAPES("grid_axis_at_bottom", lambda: table(joined_rows([*body(), head()])), "either")
SHAPES("grid_axis_at_right", lambda: table(joined_rows([[*head()[1:], CORNER], *([*row[1:], row[0]] for row in body())])), "either")  # fmt: skip
SHAPES("grid_axis_of_ranges", lambda: table(ranges()), "refuse", hints=("axis", "breakpoint", "number", "range"))
SHAPES("grid_padded_with_zeros", lambda: table(joined_rows([head(), *body(), *[["0"] * len(head())] * 3])), "either",
       hints=("0", "line"))  # fmt: skip
SHAPES("grid_as_source_array", lambda: table("const float ve[] = {\n" + ",\n".join("{" + ",".join(r[1:]) + "}" for r in body()) + "};\n", GRID, "ve.c"),
       "refuse", hints=("axis", "breakpoint", "number", "header", "table"))  # fmt: skip
SHAPES("curve_newspaper", lambda: table(newspaper(), CURVE), "either", hints=("column", "several", "which"))
SHAPES("curve_pairs_in_a_line", lambda: table("; ".join(pairs()) + "\n", CURVE), "either")
SHAPES("curve_json", lambda: table(json.dumps({"Airflow sensor (Hz)": list(HERTZ), "Airflow (g/s)": [round(v, 3) for v in STALE]}), CURVE, "curve.json"), "either")  # fmt: skip
SHAPES("curve_kilo_suffix", lambda: table("Airflow sensor (Hz),Airflow (g/s)\n" + "".join(f"{a / 1000:g}k,{b:.3f}\n" for a, b in zip(HERTZ, STALE, strict=True)), CURVE), "either")  # fmt: skip
SHAPES("curve_hex_counts", lambda: table("Airflow sensor (Hz),Airflow (g/s)\n" + "".join(f"0x{int(a):04X},0x{int(100 * b):04X}\n" for a, b in zip(HERTZ, STALE, strict=True)), CURVE),
       "refuse", hints=("hex", "0x", "number"))  # fmt: skip
SHAPES("curve_index_and_units_in_book", lambda: Built({"curve.xlsx": xlsx({"Curve": [
    ["", "MAF transfer", None, None], [], ["", "No.", "Sensor", "Airflow"], ["", None, "Hz", "kg/h"],
    *(["", float(k), float(a), round(3.6 * float(b), 3)] for k, (a, b) in enumerate(zip(HERTZ, STALE, strict=True)))]})},
    table=(tuple(HERTZ), tuple(round(3.6 * float(b), 3) for b in STALE))), "either")  # fmt: skip
