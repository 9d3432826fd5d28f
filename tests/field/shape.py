"""What a shape is, and the small language they are written in: columns of text, and how a file is put together."""

import hashlib
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from field.car import Floats, drive

Wants = Literal["read", "either", "ask", "refuse"]
"""What a person would do with the file: read it; read it or ask; they could not know and would ask; throw it out."""

ROLES = {
    "rpm": "engine_speed", "map": "manifold_pressure", "hz": "sensor_signal", "maf": "airflow",
    "throttle": "throttle", "coolant": "coolant_temperature", "iat": "intake_temperature", "baro": "barometer",
    "volts": "battery_voltage", "status": "fuel_system", "cmd": "lambda_commanded", "lam": "lambda_measured",
    "stft": "stft_1", "ltft": "ltft_1", "stft2": "stft_2", "ltft2": "ltft_2", "purge": "purge",
    "speed": "vehicle_speed",
}  # fmt: skip
STANDARD = {
    "time": ("Time", "s", 2), "rpm": ("Engine speed", "rpm", 2), "hz": ("Airflow sensor", "Hz", 0),
    "maf": ("Airflow", "g/s", 2), "map": ("Manifold pressure", "kPa", 1), "throttle": ("Throttle", "%", 2),
    "speed": ("Vehicle speed", "km/h", 1), "coolant": ("Coolant temperature", "°C", 0),
    "iat": ("Intake temperature", "°C", 0), "status": ("Fuel system status", "", 0),
    "cmd": ("Commanded lambda", "lambda", 4), "lam": ("Measured lambda", "lambda", 3),
    "stft": ("Short trim bank 1", "%", 2), "ltft": ("Long trim bank 1", "%", 2),
    "stft2": ("Short trim bank 2", "%", 2), "ltft2": ("Long trim bank 2", "%", 2), "purge": ("Purge", "%", 1),
    "inj": ("Injector time", "ms", 3), "baro": ("Barometer", "kPa", 0), "volts": ("Battery voltage", "V", 2),
    "spark": ("Ignition advance", "deg", 1),
}  # fmt: skip
HELD_WHOLE = ("roadside",)
"""Families of which no shape is for work."""
USUAL = "time rpm hz maf map throttle speed coolant iat status cmd lam stft ltft purge inj".split()
TWO_BANKS = [*USUAL[:14], "stft2", "ltft2", *USUAL[14:]]


@dataclass(frozen=True)
class Col:
    """A column: which quantity it is (a word of its own where none), name, unit, and its cells as text."""

    key: str
    name: str
    unit: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Built:
    """Files of a shape and what to make of them.

    Attributes:
        files: name -> bytes; the first one, or the folder of them, is handed over.
        roles: role -> name of the channel that must play it.
        flags: words that the user adds to `add-log` or `new`.
        together: hand over all files in one command, not the first alone.
        folder: hand over the folder.
        table: what a table must read as: axis breakpoints, then values, flattened; empty for a log.
    """

    files: Mapping[str, bytes]
    roles: Mapping[str, str] = field(default_factory=dict)
    flags: tuple[str, ...] = ()
    together: bool = False
    folder: bool = False
    table: tuple[tuple[float, ...], ...] = ()


@dataclass(frozen=True)
class Shape:
    """A shape of the field.

    Attributes:
        name: family/what it is.
        build: gives the files; pure.
        wants: what a person would do.
        why: what makes it hard or ambiguous.
        banks: of the car driven.
        hints: a question or refusal must hold one of these words (regular expressions).
        keep: least share of the base drive's proven cells that must be proven.
        loose: values are compared by their spread only, since rows are missing.
        optional: roles that need not be found.
        any_length: the clock itself is broken, so the length of the drive is not held against it.
    """

    name: str
    build: Callable[[], Built]
    wants: Wants = "read"
    why: str = ""
    banks: int = 1
    hints: tuple[str, ...] = ()
    keep: float = 0.7
    loose: bool = False
    optional: tuple[str, ...] = ()
    any_length: bool = False

    @property
    def family(self) -> str:
        return self.name.split("/")[0]

    @property
    def split(self) -> Literal["work", "held"]:
        if self.family in HELD_WHOLE:
            return "held"
        return "held" if hashlib.sha256(self.name.encode()).digest()[0] % 3 == 0 else "work"


class Family:
    """Collects the shapes of one family: call it with name, builder and what else a shape holds."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.shapes: list[Shape] = []

    def __call__(
        self, name: str, build: Callable[[], Built], wants: Wants = "read", why: str = "", **more: object
    ) -> None:
        shape = Shape(f"{self.name}/{name}", build, wants, why)
        self.shapes.append(replace(shape, **more))  # type: ignore[arg-type]


def col(
    key: str, name: str | None = None, unit: str | None = None, convert: Callable[[Floats], Floats] | None = None,
    decimals: int | None = None, *, banks: int = 1, as_key: str | None = None,
) -> Col:  # fmt: skip
    """Give a column of the drive, by default as the standard log names and writes it.

    Args:
        key: quantity of the drive.
        name: heading.
        unit: as the heading gives it.
        convert: from base units to what is written.
        decimals: written.
        banks: of the car.
        as_key: another key for it, where it does not play the quantity's role.
    """
    usual = STANDARD[key]
    values = drive(banks)[key]
    values = values if convert is None else convert(values)
    places = usual[2] if decimals is None else decimals
    return Col(
        as_key or key, usual[0] if name is None else name, usual[1] if unit is None else unit, cells(values, places)
    )


def cells(values: Iterable[float], decimals: int = 2) -> tuple[str, ...]:
    return tuple("" if math.isnan(value) else f"{value:.{decimals}f}" for value in np.asarray(values, float).tolist())


def extra(name: str, values: Sequence[str], unit: str = "", key: str = "extra") -> Col:
    """Give a column that is no quantity of the drive."""
    return Col(key, name, unit, tuple(values))


def std(*others: Col, keys: Sequence[str] | None = None, banks: int = 1, drop: str = "") -> list[Col]:
    """Give the columns of the standard log; those given stand in place of the standard ones of the same key.

    Args:
        others: replacements; a key that the log does not have is put at the end.
        keys: quantities; the usual ones by default.
        banks: of the car.
        drop: quantities left out, with blanks between.
    """
    keys = list(keys or (TWO_BANKS if banks == 2 else USUAL))
    keys = [key for key in keys if key not in drop.split()]
    by_key = {other.key: other for other in others if other.key in keys}
    more = [other for other in others if other.key not in keys]
    return [by_key.get(key) or col(key, banks=banks) for key in keys] + more


def edit(cols: Sequence[Col], keys: str, change: Callable[[Col], Col]) -> list[Col]:
    """Change the columns of the named quantities ('*' for all but time)."""
    chosen = keys.split()
    return [change(c) if c.key in chosen or (keys == "*" and c.key != "time") else c for c in cols]


def mapped(change: Callable[[int, str], str]) -> Callable[[Col], Col]:
    """Make a change of a column from one of its cells: row and text -> text."""
    return lambda c: replace(c, cells=tuple(change(k, cell) for k, cell in enumerate(c.cells)))


def rows(cols: Sequence[Col], chosen: Sequence[int] | slice) -> list[Col]:
    """Keep the chosen rows, in that order."""
    if isinstance(chosen, slice):
        return [replace(c, cells=c.cells[chosen]) for c in cols]
    return [replace(c, cells=tuple(c.cells[k] for k in chosen)) for c in cols]


def round_(name: str, unit: str) -> str:
    return f"{name} ({unit})" if unit else name


def square(name: str, unit: str) -> str:
    return f"{name} [{unit}]" if unit else name


def bare(name: str, unit: str) -> str:
    return name


def text(
    cols: Sequence[Col], *, sep: str = ",", decimal: str = ".", head: Callable[[str, str], str] = round_,
    units_row: bool = False, titles: Sequence[str] = (), eol: str = "\n", quote: str = "", end: str = "",
    head_end: str = "", under: Sequence[str] = (), foot: Sequence[str] = (), header: bool = True,
) -> str:  # fmt: skip
    """Put columns together as delimited text.

    Args:
        cols: the columns.
        sep: separator.
        decimal: sign.
        head: makes a heading of name and unit.
        units_row: units in a row of their own under the names.
        titles: lines above the header.
        eol: line end.
        quote: around every cell.
        end: at the end of every line of values.
        head_end: at the end of the header line.
        under: lines between header and values.
        foot: lines at the end.
        header: whether there is one.
    """
    styled = bare if units_row else head
    lines = list(titles)
    if header:
        lines.append(sep.join(_safe(styled(c.name, c.unit), sep, quote) for c in cols) + head_end)
    if units_row:
        lines.append(sep.join(f"{quote}{c.unit}{quote}" for c in cols) + head_end)
    lines += under
    columns = [c.cells if decimal == "." else _with_comma(c.cells) for c in cols]
    lines += [sep.join(_safe(cell, sep, quote) for cell in row) + end for row in zip(*columns, strict=True)]
    return eol.join([*lines, *foot]) + eol


def _safe(cell: str, sep: str, quote: str) -> str:
    return f'"{cell}"' if not quote and sep in cell else f"{quote}{cell}{quote}"


def _with_comma(written: Sequence[str]) -> list[str]:
    return [cell.replace(".", ",") if cell.replace(".", "", 1).lstrip("-").isdigit() else cell for cell in written]


def roles(cols: Sequence[Col]) -> dict[str, str]:
    """Give the roles that the columns must play."""
    return {ROLES[c.key]: c.name for c in cols if c.key in ROLES}


def log(
    cols: Sequence[Col], name: str = "drive.csv", *, encoding: str = "utf-8", flags: Sequence[str] = (), **more: object
) -> Built:
    """Build a log of one delimited file."""
    written = text(cols, **more)  # type: ignore[arg-type]
    return Built({name: written.encode(encoding, "replace")}, roles(cols), tuple(flags))


def raw(name: str, content: str | bytes, **more: object) -> Built:
    """Build a file of the given content."""
    data = content.encode() if isinstance(content, str) else content
    return Built({name: data}, **more)  # type: ignore[arg-type]


def with_roles(built: Built, **changes: object) -> Built:
    return replace(built, **changes)  # type: ignore[arg-type]
