"""Shapes of people beside the road: cells as bookkeeping writes them, stamps of other programs, sheets put together.

All of them are held: they were written before anyone looked at how they are read.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from field.car import HERTZ, STALE, drive
from field.shape import Built, Col, Family, cells, col, edit, extra, log, mapped, raw, roles, std, text, with_roles
from field.tables import KPA as LOADS
from field.tables import RPM as RPMS
from field.tables import VE

SHAPES = Family("roadside")
START = datetime(2026, 3, 3, 14, 3, 1, 250000, tzinfo=UTC)


def clock(write: Callable[[float], str], name: str = "Time", unit: str = "") -> list[Col]:
    """Give the usual columns with the time written otherwise."""
    return std(replace(col("time", name, unit), cells=tuple(write(float(s)) for s in drive()["time"])))


def at(s: float) -> datetime:
    return START + timedelta(seconds=s)


def milli(moment: datetime) -> str:
    return f"{moment.microsecond // 1000:03d}"


def relabelled(names: str) -> list[Col]:
    return [replace(c, name=name) for c, name in zip(std(), names.split("|"), strict=True)]


# Clocks ---------------------------------------------------------------------------------------------------------------


def two_stamps() -> Built:
    satellite = extra("GPS Time", [f"{at(float(s)):%a %b %d %H:%M:%S} GMT+01:00 2026" for s in drive()["time"]])
    device = [f"{at(float(s)):%d-%b-%Y %H:%M:%S}.{milli(at(float(s)))}" for s in drive()["time"]]
    return log([satellite, replace(col("time", "Device Time", ""), cells=tuple(device)), *std(drop="time")])


def minutes_and_seconds(s: float) -> str:
    return f"{s:.2f}s" if s < 60 else f"{int(s // 60)}m{s % 60:.2f}s"


def frames(s: float) -> str:
    """Write a time code of 20 pictures a second, as a film's overlay does."""
    whole = int(s + 1e-6)
    return f"00:{whole // 60:02d}:{whole % 60:02d}:{round((s - whole) * 20):02d}"


def spanish_afternoon(s: float) -> str:
    moment = at(s)
    return f"{moment:%d/%m/%Y %I:%M:%S},{milli(moment)} p. m."


def paused() -> Built:
    """Stop the logger for ten minutes while the car stands; its clock runs on."""
    return log(clock(lambda s: f"{s if s < 150 else s + 600:.2f}", unit="s"))


def logger_lines() -> str:
    made = std()
    return "".join(
        f"{at(float(s)):%Y-%m-%d %H:%M:%S},{milli(at(float(s)))} INFO  ecu.poll - "
        + ", ".join(f"{c.name}={c.cells[k]}{c.unit}" for c in made[1:])
        + "\n"
        for k, s in enumerate(drive()["time"])
    )


def sorted_by_engine_speed() -> Built:
    order = np.argsort(drive()["rpm"], kind="stable").tolist()
    return log([replace(c, cells=tuple(c.cells[k] for k in order)) for c in std()])


SHAPES("phone_two_stamps", two_stamps)
SHAPES("time_minutes_and_seconds", lambda: log(clock(minutes_and_seconds, "Elapsed")), "either")
SHAPES("time_iso_duration", lambda: log(clock(lambda s: f"PT{int(s // 60)}M{s % 60:.2f}S")), "either")
SHAPES("time_code_of_pictures", lambda: log(clock(frames, "Timecode")), "either", hints=("Timecode",))
SHAPES("time_hundredths", lambda: log(clock(lambda s: f"{100 * s:.0f}", unit="1/100 s")))
SHAPES("clock_spanish_afternoon", lambda: log(clock(spanish_afternoon, "Hora"), sep=";"), "either", hints=("Hora",))
SHAPES("logger_paused", paused, any_length=True)
SHAPES("logger_lines", lambda: raw("poll.log", logger_lines(), roles=roles(std())), "either", hints=("line", "="))
SHAPES("sorted_by_engine_speed", sorted_by_engine_speed, "either", hints=("order", "sorted", "time"))

# Cells ----------------------------------------------------------------------------------------------------------------


def trailing_minus(k: int, cell: str) -> str:
    return f"{cell[1:]}-" if cell.startswith("-") else cell


def in_brackets(k: int, cell: str) -> str:
    return f"({cell[1:]})" if cell.startswith("-") else cell


def add_or_remove(k: int, cell: str) -> str:
    return f"REMOVE {cell[1:]}" if cell.startswith("-") else f"ADD {cell}"


def ditto() -> Built:
    """Write the sign for 'as above' where a cell repeats the one before it."""
    made = std()
    return log(edit(made, "*", lambda c: replace(c, cells=tuple(
        "〃" if k and cell == c.cells[k - 1] else cell for k, cell in enumerate(c.cells)))))  # fmt: skip


def starred(k: int, cell: str) -> str:
    return f"{cell}*" if k % 3 == 0 else cell


def first_with_unit() -> Built:
    made = std()
    return log([replace(c, unit="", cells=(f"{c.cells[0]} {c.unit}".strip(), *c.cells[1:])) for c in made])


def grouped(k: int, cell: str) -> str:
    return f"{float(cell):,.1f}".replace(",", "\u202f")


SHAPES("protected_cells", lambda: log(edit(std(), "*", mapped(lambda k, cell: f'="{cell}"')), sep=";"), "either")
SHAPES("negatives_in_brackets", lambda: log(edit(std(), "stft ltft", mapped(in_brackets))), "either", hints=("trim",))
SHAPES("trailing_minus", lambda: log(edit(std(), "stft ltft", mapped(trailing_minus))), "either", hints=("trim",))
SHAPES("trim_add_or_remove", lambda: log(edit(std(), "stft ltft", mapped(add_or_remove))), "either", hints=("trim",))
SHAPES("ditto_marks", ditto, "either", hints=("〃",))
SHAPES("starred_cells", lambda: log(edit(std(), "lam map", mapped(starred))), "either", hints=(r"\*",))
SHAPES("unit_in_first_cell", first_with_unit, "either")
SHAPES("narrow_spaces", lambda: log(edit(std(), "rpm hz", mapped(grouped)), sep=";"), "either")
SHAPES("carriage_returns", lambda: log(std(), eol="\r"))

# Names and units ------------------------------------------------------------------------------------------------------

HUNGARIAN = "Idő|Motorfordulatszám|Légtömegmérő frekvencia|Légtömeg|Szívócső nyomás|Fojtószelep|Sebesség|Hűtőfolyadék hőmérséklet|Beszívott levegő hőmérséklet|Üzemanyag rendszer állapot|Lambda cél|Lambda mért|Rövid távú korrekció|Hosszú távú korrekció|Tartályszellőztetés|Befecskendezési idő"  # fmt: skip
TURKISH = "Zaman|Motor devri|Hava debimetresi frekansı|Hava debisi|Emme manifoldu basıncı|Gaz kelebeği|Araç hızı|Soğutma suyu sıcaklığı|Emme havası sıcaklığı|Yakıt sistemi durumu|Hedef lambda|Ölçülen lambda|Kısa süreli yakıt düzeltmesi|Uzun süreli yakıt düzeltmesi|Kanister tahliyesi|Enjeksiyon süresi"  # fmt: skip
DANISH = "Tid|Motoromdrejninger|Luftmassemåler frekvens|Luftmasse|Indsugningstryk|Gasspjæld|Hastighed|Kølevæsketemperatur|Indsugningslufttemperatur|Brændstofsystem status|Lambda ønsket|Lambda målt|Korttidstrim|Langtidstrim|Tankventilation|Indsprøjtningstid"  # fmt: skip
GERMAN = "Zeit|Motordrehzahl|Luftmassenmesser|Luftmasse|Saugrohrdruck|Drosselklappe|Geschwindigkeit|Kühlmittel|Ansaugluft|Regelkreis|Lambda Soll|Lambda Ist|Kurzzeitkorrektur|Langzeitkorrektur|Tankentlüftung|Einspritzzeit"  # fmt: skip


def two_languages() -> list[Col]:
    return [replace(c, name=f"{german} / {c.name}") for c, german in zip(std(), GERMAN.split("|"), strict=True)]


def coded() -> tuple[list[Col], list[str]]:
    """Give columns named by numbers of their own, and the lines that say what these mean."""
    made = std()
    legend = [f"C{k:02d} = {c.name} [{c.unit}]" for k, c in enumerate(made, 1)]
    return [replace(c, name=f"C{k:02d}", unit="") for k, c in enumerate(made, 1)], legend


def with_legend(*, above: bool) -> Built:
    made, legend = coded()
    body = text(made)
    lines = "\n".join(legend) + "\n"
    return raw("drive.csv", f"{lines}\n{body}" if above else f"{body}\n{lines}", roles=dict.fromkeys(roles(made), ""))


def each_cylinder() -> Built:
    random = np.random.Generator(np.random.PCG64(7))
    lam = drive()["lam"]
    spread = (0.99, 1.005, 1.012, 0.994)
    made = [
        extra(f"Lambda cyl {k}", cells(lam * share + 0.001 * random.normal(size=lam.size), 3), "lambda")
        for k, share in enumerate(spread, 1)
    ]
    return with_roles(log([*std(drop="lam"), *made]), roles=roles(std(drop="lam")))


def narrowbands() -> list[Col]:
    lam = drive()["lam"]
    before = 0.45 - 0.4 * np.tanh((lam - 1) * 60)
    after = np.full(lam.size, 0.68) + 0.02 * np.sin(np.arange(lam.size) / 300)
    return [extra("O2 B1S1", cells(before, 3), "V"), extra("O2 B1S2", cells(after, 3), "V")]


def side_by_side() -> Built:
    """Put the second half of the drive beside the first, under the same names, as two runs in one sheet."""
    half = drive().rows // 2
    made = std()
    first = [replace(c, cells=c.cells[:half]) for c in made]
    second = [replace(c, cells=c.cells[half : 2 * half]) for c in made]
    return log([*first, extra("", [""] * half), *second])


def footnoted() -> Built:
    marks = {"lam": "¹", "stft": "²", "ltft": "²", "map": "³"}
    made = edit(std(), " ".join(marks), lambda c: replace(c, name=c.name + marks[c.key]))
    notes = ["¹ sensor new", "² as the scan tool shows it", "³ at the plenum"]
    return log(made, foot=notes)


def error_only() -> Built:
    error = np.round(drive()["lam"] - drive()["cmd"], 3)
    made = [*std(drop="lam"), extra("Lambda deviation", cells(error, 3), "lambda")]
    return with_roles(log(made), roles=roles(std(drop="lam")))


for _name, _words, _page in (
    ("hungarian", HUNGARIAN, "cp1250"), ("turkish", TURKISH, "cp1254"), ("danish", DANISH, "cp1252"),
):  # fmt: skip
    SHAPES(_name, lambda w=_words, p=_page: log(relabelled(w), sep=";", decimal=",", encoding=p), "either",
           hints=("--encoding", "--role", "no role"))  # fmt: skip
SHAPES("two_languages_a_name", lambda: log(two_languages()))
SHAPES("legend_above", lambda: with_legend(above=True), "either")
SHAPES("legend_below", lambda: with_legend(above=False), "either")
SHAPES("footnote_marks", footnoted, "either")
SHAPES("pressure_times_ten", lambda: log(std(col("map", "MAP kPa x10", "", lambda v: 10 * v, 0))), "either",
       hints=("MAP",))  # fmt: skip
SHAPES("pressure_relative", lambda: log(std(col("map", "Saugrohrdruck rel.", "bar", lambda v: v / 100 - 0.99, 3))),
       "either", hints=("Saugrohrdruck",))  # fmt: skip
SHAPES("airflow_per_minute", lambda: log(std(col("maf", unit="g/min", convert=lambda v: 60 * v, decimals=0))))
SHAPES("lambda_of_sixteen_bits", lambda: log(std(col("lam", "Lambda raw", "", lambda v: v * 32768, 0))), "either",
       hints=("Lambda raw",))  # fmt: skip
SHAPES("lambda_of_each_cylinder", each_cylinder, "either", hints=("cyl",))
SHAPES("lambda_difference_only", error_only, "either", hints=("deviation", "lambda_measured"), keep=0.4)
SHAPES("wideband_beside_narrowbands", lambda: log([*std(), *narrowbands()]))
SHAPES("two_runs_side_by_side", side_by_side, "either", loose=True, any_length=True, keep=0.2, hints=("twice", "same name", "side"))  # fmt: skip

# Containers -----------------------------------------------------------------------------------------------------------


def python_dicts() -> str:
    made = std()
    return "".join(
        "{" + ", ".join(f"'{c.name} ({c.unit})': {c.cells[k] or None}" for c in made) + "}\n"
        for k in range(drive().rows)
    )


def script_arrays() -> str:
    """Write each channel as an array of a script, its unit behind the sign of a remark."""
    made = (f"log.{c.name.replace(' ', '_')} = [{' '.join(c.cells)}]; % {c.unit}" for c in std())
    return "\n".join(["% engine log", *made]) + "\n"


def track() -> str:
    """Write points of a track, each with what the engine did there."""
    made, out = std(), ['<?xml version="1.0"?>', '<gpx version="1.1" creator="own"><trk><trkseg>']
    for k in range(0, drive().rows, 2):
        moment = at(float(drive()["time"][k]))
        inner = "".join(f"<{c.name.replace(' ', '_')}>{c.cells[k]}</{c.name.replace(' ', '_')}>" for c in made[1:])
        out.append(f'<trkpt lat="47.{k:05d}" lon="8.{k:05d}"><time>{moment:%Y-%m-%dT%H:%M:%S}.{milli(moment)}Z</time>'
                   f"<extensions>{inner}</extensions></trkpt>")  # fmt: skip
    return "\n".join([*out, "</trkseg></trk></gpx>"]) + "\n"


SHAPES(
    "python_dicts", lambda: raw("drive.txt", python_dicts(), roles=roles(std())), "either", hints=("{", "JSON", "line")
)
SHAPES(
    "script_arrays",
    lambda: raw("drive.m", script_arrays(), roles=roles(std())),
    "either",
    hints=("array", r"\[", "script"),
)
SHAPES("track_with_engine", lambda: raw("drive.gpx", track()), "either", loose=True, hints=("XML", "<", "track"))

# Tables ---------------------------------------------------------------------------------------------------------------

CURVE = (tuple(HERTZ), tuple(round(v, 3) for v in STALE))
GRID = (tuple(RPMS), tuple(LOADS), tuple(np.asarray(VE).ravel()))


def curve(lines: list[str]) -> Built:
    return raw("curve.csv", "\n".join(lines) + "\n", table=CURVE)


def bold_grid() -> Built:
    corner = "Engine speed (rpm) / Manifold pressure (kPa) / Volumetric efficiency (%)"
    lines = [
        f"| **{corner}** | " + " | ".join(f"**{load:g}**" for load in LOADS) + " |",
        "|---" * (len(LOADS) + 1) + "|",
        *(f"| **{rpm:g}** | " + " | ".join(f"{v:g}" for v in row) + " |" for rpm, row in zip(RPMS, np.asarray(VE), strict=True)),
    ]  # fmt: skip
    return raw("grid.md", "\n".join(lines) + "\n", table=GRID)


def falling_and_unsorted() -> list[str]:
    points = [f"{a:g},{b:.3f}" for a, b in zip(HERTZ, STALE, strict=True)]
    return ["Airflow sensor (Hz),Airflow (g/s)", *points[9:], *points[:9]]


POINTS = [f"({a:g}; {b:.3f})" for a, b in zip(HERTZ, STALE, strict=True)]
SHAPES("grid_bold", bold_grid, "either")
SHAPES("curve_points_in_brackets", lambda: curve(POINTS), "either")
SHAPES("curve_two_units", lambda: curve(["Airflow sensor (Hz),Airflow (g/s),Airflow (kg/h)", *(
    f"{a:g},{b:.3f},{3.6 * b:.3f}" for a, b in zip(HERTZ, STALE, strict=True))]), "either", hints=("column", "which"))  # fmt: skip
SHAPES("curve_before_and_after", lambda: curve(["Airflow sensor (Hz),Before (g/s),After (g/s)", *(
    f"{a:g},{b:.3f},{1.05 * b:.3f}" for a, b in zip(HERTZ, STALE, strict=True))]), "ask", hints=("column", "which"))  # fmt: skip
SHAPES("curve_rows_out_of_order", lambda: curve(falling_and_unsorted()), "either", hints=("order", "rise", "line"))
