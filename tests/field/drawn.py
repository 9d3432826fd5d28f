"""Shapes drawn by lot: language, names, units, numbers, clock, rate, gaps, codes, encoding and container at once.

One file of the field is seldom odd in one way only. Each number draws one file; what it draws is its own, so that more
of them can be drawn at any time that nobody has looked at.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from field.car import Floats, drive
from field.languages import LANGUAGES
from field.own_times import every, late, on_change, punched
from field.shape import Built, Col, Family, bare, cells, col, edit, extra, mapped, roles, rows, square, std, text
from field.writers import grid, xlsx, zipped

SHAPES = Family("drawn")
DRAWN = 120
START = datetime(2026, 3, 3, 14, 3, 1, 250000, tzinfo=UTC)
ENGLISH = "Time|Engine RPM|MAF frequency|MAF|MAP|TPS|Vehicle speed|ECT|IAT|Fuel system status|Lambda target|Lambda|STFT|LTFT|Evap purge|Injector pulse width"  # fmt: skip
LONG = "Time|Engine speed|Mass airflow sensor frequency|Mass airflow rate|Intake manifold absolute pressure|Throttle position|Vehicle speed|Engine coolant temperature|Intake air temperature|Fuel system status|Commanded lambda|Wideband lambda|Short term fuel trim bank 1|Long term fuel trim bank 1|Commanded evaporative purge|Injection time"  # fmt: skip
Change = tuple[str, Callable[[Floats], Floats], int]

UNITS: dict[str, tuple[Change, ...]] = {
    "map": (("psi", lambda v: v / 6.894757, 2), ("mbar", lambda v: 10 * v, 0), ("bar", lambda v: v / 100, 3),
            ("inHg", lambda v: v / 3.386389, 2)),
    "coolant": (("°F", lambda v: 1.8 * v + 32, 0), ("K", lambda v: v + 273.15, 1)),
    "iat": (("°F", lambda v: 1.8 * v + 32, 0),),
    "maf": (("kg/h", lambda v: 3.6 * v, 1), ("lb/min", lambda v: v / 7.5598728, 2)),
    "speed": (("mph", lambda v: v / 1.609344, 1), ("m/s", lambda v: v / 3.6, 2)),
    "lam": (("AFR", lambda v: 14.7 * v, 2),),
    "cmd": (("AFR", lambda v: 14.7 * v, 2),),
    "hz": (("kHz", lambda v: v / 1000, 3),),
    "rpm": (("1/min", lambda v: v, 0),),
}  # fmt: skip
SIGNS = ((",", "."), (";", "."), (";", ","), ("\t", "."), ("\t", ","), (", ", "."), ("|", "."))


def drawn(number: int) -> Built:
    """Draw a file."""
    random = np.random.Generator(np.random.PCG64([number, 2026]))

    def one(*choices: object) -> object:
        return choices[int(random.integers(len(choices)))]

    language = str(one("", "", "", "long", *LANGUAGES))
    words = {"": ENGLISH, "long": LONG}.get(language, LANGUAGES.get(language, ENGLISH)).split("|")
    cols = [replace(_in_unit(c, random), name=name) for c, name in zip(std(), words, strict=True)]
    cols = _rate(cols, random)
    cols = _gaps(cols, random)
    cols[0] = _clock(cols[0], random, words[0])
    cols = _codes(cols, random)
    cols = _more(cols, random)
    return _written(cols, random, language)


def _in_unit(c: Col, random: np.random.Generator) -> Col:
    choices = UNITS.get(c.key, ())
    if not choices or random.random() < 0.6:
        return c
    unit, convert, places = choices[int(random.integers(len(choices)))]
    return col(c.key, unit=unit, convert=convert, decimals=places)


def _gaps(cols: list[Col], random: np.random.Generator) -> list[Col]:
    kind = int(random.integers(8))
    if kind == 0:
        return punched(cols, 0.05, number=int(random.integers(99)))
    if kind == 1:
        return every(cols, 10, "coolant iat purge speed", held=bool(random.random() < 0.5))
    if kind == 2:
        return on_change(cols, "status purge coolant iat")
    if kind == 3:
        return late(cols, "lam", 300, "")
    if kind == 4:
        return every(cols, 4, "stft ltft", held=bool(random.random() < 0.5))
    return cols


def _rate(cols: list[Col], random: np.random.Generator) -> list[Col]:
    return rows(cols, range(0, drive().rows, int(random.choice([1, 1, 1, 2, 4]))))


def _clock(c: Col, random: np.random.Generator, name: str) -> Col:
    seconds = [float(cell) for cell in c.cells]
    moments = [START + timedelta(seconds=each) for each in seconds]
    ways: dict[int, Callable[[], list[str]]] = {
        0: lambda: [f"{1000 * each:.0f}" for each in seconds],
        1: lambda: [each.replace(tzinfo=None).isoformat(timespec="milliseconds") for each in moments],
        2: lambda: [f"{each:%H:%M:%S}.{each.microsecond // 1000:03d}" for each in moments],
        3: lambda: [f"{each:%d.%m.%Y %H:%M:%S}.{each.microsecond // 1000:03d}" for each in moments],
        4: lambda: [f"{1772546581.25 + each:.2f}" for each in seconds],
        5: lambda: [f"{int(each // 60):02d}:{each % 60:06.3f}" for each in seconds],
    }
    kind = int(random.integers(9))
    if kind not in ways:
        return replace(c, name=name)
    return replace(c, name=name, unit="ms" if kind == 0 else "", cells=tuple(ways[kind]()))


def _codes(cols: list[Col], random: np.random.Generator) -> list[Col]:
    kind = int(random.integers(7))
    if kind == 0:
        return edit(cols, "lam", mapped(lambda k, cell: "---" if k % 37 == 5 else cell))
    if kind == 1:
        return edit(cols, "lam", mapped(lambda k, cell: "9999" if k % 53 in (4, 5) else cell))
    if kind == 2:
        return edit(cols, "coolant", mapped(lambda k, cell: "-999" if k % 97 == 8 else cell))
    return cols


def _more(cols: list[Col], random: np.random.Generator) -> list[Col]:
    count = len(cols[0].cells)
    kind = int(random.integers(8))
    if kind == 0:
        return [extra("#", [str(k) for k in range(count)]), *cols]
    if kind == 1:
        return [*cols, extra("Gear", ["3"] * count), extra("Oil pressure", cells(np.full(count, 3.1), 1), "bar")]
    if kind == 2:
        return [*cols, extra("Battery", cells(14 + 0.02 * random.normal(size=count), 2), "V", key="volts"),
                extra("Knock retard", ["0.0"] * count, "°")]  # fmt: skip
    if kind == 3:
        order = random.permutation(len(cols) - 1) + 1
        return [cols[0], *(cols[k] for k in order)]
    return cols


def _written(cols: Sequence[Col], random: np.random.Generator, language: str) -> Built:
    sep, decimal = SIGNS[int(random.integers(len(SIGNS)))]
    heads: tuple[Callable[[str, str], str], ...] = (
        lambda n, u: f"{n} ({u})" if u else n, square, bare, lambda n, u: f"{n}, {u}" if u and "," not in sep else n,
    )  # fmt: skip
    style = int(random.integers(5))
    units_row = style == 4
    head = bare if units_row else heads[style]
    if style in (2, 3) and sep.startswith(","):
        head = square
    pages = {"polish": "cp1250", "czech": "cp1250"}
    encoding = str(random.choice(["utf-8", "utf-8-sig", "utf-16", pages.get(language, "cp1252")]))
    titles = [[], [], ["Logger 3, export"], ["# engine log", "# car 7"]][int(random.integers(4))]
    body = text(cols, sep=sep, decimal=decimal, head=head, units_row=units_row, titles=titles,
                eol=str(random.choice(["\n", "\r\n"])), quote=str(random.choice(["", "", "", '"'])))  # fmt: skip
    named = roles(cols)
    kind = int(random.integers(8))
    if kind == 0:
        return Built({"drive.xlsx": xlsx({"Log": grid(cols)})}, named)
    if kind == 1:
        return Built({"drive.zip": zipped({"drive.csv": body.encode(encoding, "replace")})}, named)
    return Built({"drive.csv": body.encode(encoding, "replace")}, named)


for _number in range(DRAWN):
    SHAPES(f"lot_{_number:03d}", lambda n=_number: drawn(n), "either", loose=True, keep=0.3,
           optional=("battery_voltage",))  # fmt: skip
