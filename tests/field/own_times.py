"""Shapes of channels on their own time: blank, held, on change, polled in turn, long, grouped, in several files."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from field.car import drive
from field.shape import (
    Built,
    Col,
    Family,
    bare,
    col,
    edit,
    log,
    mapped,
    raw,
    roles,
    round_,
    rows,
    square,
    std,
    text,
)  # fmt: skip

SHAPES = Family("own_time")
SLOW = "coolant iat purge status speed"
STATES = "status purge"
N = drive().rows


def punched(cols: Sequence[Col], share: float, keys: str = "*", number: int = 1) -> list[Col]:
    """Blank a share of the cells of each named column, each on its own."""
    random = np.random.Generator(np.random.PCG64([number, 77]))

    def blank(c: Col) -> Col:
        hit = random.random(len(c.cells)) < share
        return replace(c, cells=tuple("" if gone else cell for cell, gone in zip(c.cells, hit, strict=True)))

    return edit(cols, keys, blank)


def every(cols: Sequence[Col], step: int, keys: str, *, held: bool, shift: int = 0) -> list[Col]:
    """Renew the named columns only every `step` rows, the first at `shift`; between, blank or held."""

    def renew(c: Col) -> Col:
        last, out = "" if not held else c.cells[0], []
        for k, cell in enumerate(c.cells):
            fresh = k % step == shift % step
            last = cell if fresh else last
            out.append(cell if fresh else (last if held else ""))
        return replace(c, cells=tuple(out))

    return edit(cols, keys, renew)


def in_turn(cols: Sequence[Col], *, held: bool, at_once: int = 1) -> list[Col]:
    """Renew `at_once` channels a row, in turn; the others stand blank or held."""
    others = [c for c in cols if c.key != "time"]
    turns = -(-len(others) // at_once)
    by_key = {c.key: k // at_once for k, c in enumerate(others)}
    return [c if c.key == "time" else every([c], turns, c.key, held=held, shift=by_key[c.key])[0] for c in cols]


def on_change(cols: Sequence[Col], keys: str, mark: str = "") -> list[Col]:
    """Write a cell only where it differs from the one before."""
    return edit(cols, keys, lambda c: replace(c, cells=(c.cells[0], *(b if b != a else mark for a, b in zip(c.cells, c.cells[1:], strict=False)))))  # fmt: skip


def late(cols: Sequence[Col], keys: str, first: int, mark: str = "") -> list[Col]:
    return edit(cols, keys, mapped(lambda k, cell: mark if k < first else cell))


def quick(cols: Sequence[Col], step: int) -> list[Col]:
    return rows(cols, range(0, N, step))


ALL_SLOW_BUT = "rpm hz maf map throttle speed coolant iat status cmd lam stft ltft purge inj"


def _blanks() -> None:
    for share in (2, 7, 14, 35, 60):
        SHAPES(
            f"blank_{share}_percent",
            lambda s=share: log(punched(std(), s / 100)),
            "read",
            f"{share} % of the cells blank",
            loose=share > 14,
            keep=0.7 if share < 20 else 0.3,
        )
    SHAPES("blank_2_percent_semicolon", lambda: log(punched(std(), 0.02), sep=";", decimal=","))
    SHAPES("blank_14_percent_dash", lambda: log(edit(punched(std(), 0.14), "*", mapped(lambda k, cell: cell or "-"))))
    SHAPES("blank_14_percent_nan", lambda: log(edit(punched(std(), 0.14), "*", mapped(lambda k, cell: cell or "NaN"))))
    SHAPES("blank_airflow_only", lambda: log(punched(std(), 0.3, "maf")))
    SHAPES("blank_trims_only", lambda: log(punched(std(), 0.4, "stft ltft")))
    SHAPES("blank_wideband_only", lambda: log(punched(std(), 0.5, "lam")))
    SHAPES("blank_two_banks", lambda: log(punched(std(banks=2), 0.14)), banks=2)
    SHAPES(
        "blank_bursts",
        lambda: log(edit(std(), "*", _bursts)),
        "read",
        "each channel drops out for a second now and then",
        loose=True,
        keep=0.5,
    )
    SHAPES(
        "blank_rows",
        lambda: log(edit(std(), "*", mapped(lambda k, cell: "" if k % 9 == 4 else cell))),
        "read",
        "every ninth row holds a time only",
    )
    for key, seconds in (
        ("coolant", 60),
        ("status", 25),
        ("lam", 45),
        ("cmd", 40),
        ("stft ltft", 30),
        ("iat purge", 100),
        ("hz", 20),
        ("maf", 18),
    ):
        name = key.replace(" ", "_")
        SHAPES(
            f"late_{name}",
            lambda k=key, s=seconds: log(late(std(), k, 20 * s)),
            "read",
            f"{key} blank for the first {seconds} s",
            loose=True,
            keep=0.5,
        )
    SHAPES("late_coolant_dashes", lambda: log(late(std(), "coolant", 1200, "---")), loose=True, keep=0.5)
    SHAPES("late_all_but_speed", lambda: log(late(std(), "hz maf map cmd lam stft ltft", 500)), loose=True, keep=0.5)
    SHAPES(
        "early_end_of_wideband",
        lambda: log(edit(std(), "lam", mapped(lambda k, cell: "" if k > 4400 else cell))),
        loose=True,
        keep=0.5,
    )
    SHAPES("empty_last_column", lambda: log([*std(), Col("none", "Oil pressure", "bar", ("",) * N)]))
    SHAPES("empty_last_column_crlf", lambda: log([*std(), Col("none", "Oil pressure", "bar", ("",) * N)], eol="\r\n"))
    SHAPES("empty_middle_column", lambda: log([*std()[:4], Col("none", "Knock", "V", ("",) * N), *std()[4:]]))
    SHAPES(
        "trailing_separator_values",
        lambda: log(std(), end=","),
        "read",
        "a separator after the last value, none after the last name",
    )
    SHAPES("trailing_separator_both", lambda: log(std(), end=",", head_end=","))
    SHAPES(
        "trailing_separator_header",
        lambda: log(std(), head_end=","),
        "read",
        "one name more than values, and it is empty",
    )
    SHAPES("name_without_values", lambda: log(std(), head_end=",Marker"), "read", "the last channel never says a thing")


def _bursts(c: Col) -> Col:
    random = np.random.Generator(np.random.PCG64([len(c.name), 5]))
    gone = np.zeros(N, bool)
    for start in random.integers(0, N - 30, 25):
        gone[start : start + 20] = True
    return mapped(lambda k, cell: "" if gone[k] else cell)(c)


def _renewed() -> None:
    SHAPES("states_on_change", lambda: log(on_change(std(), STATES)))
    SHAPES("slow_on_change", lambda: log(on_change(std(), SLOW)))
    SHAPES("all_on_change", lambda: log(on_change(std(), ALL_SLOW_BUT)))
    SHAPES(
        "all_on_change_equals_sign",
        lambda: log(on_change(std(), ALL_SLOW_BUT, "=")),
        "either",
        "a mark for a value that did not change",
    )
    SHAPES("status_once", lambda: log(on_change(std(), "status"), sep="\t"))
    SHAPES("coolant_each_10_s", lambda: log(every(std(), 200, "coolant iat", held=False)))
    SHAPES("slow_each_second", lambda: log(every(std(), 20, SLOW, held=False)))
    SHAPES("trims_at_4_hz_blank", lambda: log(every(std(), 5, "stft ltft", held=False)))
    SHAPES("trims_at_4_hz_held", lambda: log(every(std(), 5, "stft ltft", held=True)))
    SHAPES("wideband_at_5_hz_held", lambda: log(every(std(), 4, "lam", held=True)))
    SHAPES("wideband_at_5_hz_blank", lambda: log(every(std(), 4, "lam", held=False)))
    SHAPES("all_at_5_hz_held", lambda: log(every(std(), 4, ALL_SLOW_BUT, held=True)), loose=True, keep=0.3)
    SHAPES(
        "speed_and_flow_held_apart",
        lambda: log(every(every(std(), 4, "rpm map", held=True), 4, "maf hz", held=True, shift=2)),
        loose=True,
    )
    for at_once in (1, 3, 8):
        for held in (True, False):
            word = "held" if held else "blank"
            SHAPES(
                f"in_turn_{at_once}_{word}",
                lambda a=at_once, h=held: log(in_turn(std(), held=h, at_once=a)),
                "read",
                f"{at_once} channels a row are renewed, the others {word}",
                loose=True,
                keep={1: 0.0, 3: 0.2, 8: 0.5}[at_once],
            )
    SHAPES(
        "in_turn_two_banks_blank",
        lambda: log(in_turn(std(banks=2), held=False, at_once=2)),
        loose=True,
        keep=0.2,
        banks=2,
    )
    SHAPES(
        "in_turn_zero",
        lambda: log(edit(in_turn(std(), held=False, at_once=8), "*", mapped(lambda k, cell: cell or "0"))),
        "either",
        "what was not asked stands as 0",
        loose=True,
        keep=0.2,
    )


def _long() -> None:
    def order(cols: Sequence[Col], step: int) -> list[tuple[float, Col, str]]:
        moments = drive()["time"].tolist()
        found, others = [], [c for c in cols if c.key != "time"]
        for k in range(0, N, step):
            found += [(moments[k] + 0.001 * (j + 1), c, c.cells[k]) for j, c in enumerate(others)]
        return found

    def long(head: str, line: Callable[[float, Col, str], str], step: int = 1, banks: int = 1) -> Built:
        cols = std(banks=banks)
        body = "\n".join(line(*each) for each in order(cols, step))
        return raw("drive.csv", f"{head}\n{body}\n", roles=roles(cols))

    SHAPES("long_s", lambda: long("time,name,value,unit", lambda t, c, v: f"{t:.3f},{c.name},{v},{c.unit}"))
    SHAPES("long_ms", lambda: long("ms;signal;value", lambda t, c, v: f"{1000 * t:.0f};{round_(c.name, c.unit)};{v}"))
    SHAPES("long_ms_unnamed", lambda: long("t,channel,val", lambda t, c, v: f"{1000 * t:.0f},{c.name},{v}"))
    SHAPES(
        "long_10us_ticks",
        lambda: long("ticks,channel,value,unit", lambda t, c, v: f"{1e5 * t:.0f},{c.name},{v},{c.unit}"),
        "either",
        "ticks of 10 µs",
    )
    SHAPES(
        "long_epoch_ms",
        lambda: long("timestamp,pid,value", lambda t, c, v: f"{1772546581250 + 1000 * t:.0f},{c.name},{v}"),
    )
    SHAPES(
        "long_iso",
        lambda: long(
            "time\tsignal\tvalue\tunit",
            lambda t, c, v: f"2026-03-03T14:{3 + int(t // 60):02d}:{t % 60:06.3f}Z\t{c.name}\t{v}\t{c.unit}",
        ),
    )
    SHAPES("long_name_first", lambda: long("channel,unit,time,value", lambda t, c, v: f"{c.name},{c.unit},{t:.3f},{v}"))
    SHAPES(
        "long_us_5_hz",
        lambda: long("us,name,value,unit", lambda t, c, v: f"{1e6 * t:.0f},{c.name},{v},{c.unit}", 4),
        loose=True,
        keep=0.3,
    )
    SHAPES("long_glued_unit", lambda: long("time,name,value", lambda t, c, v: f"{t:.3f},{c.name},{v} {c.unit}"))
    SHAPES("long_no_header", lambda: long("# recorded by the lab", lambda t, c, v: f"{t:.3f};{c.name};{v};{c.unit}"))
    SHAPES(
        "long_two_banks",
        lambda: long("time,name,value,unit", lambda t, c, v: f"{t:.3f},{c.name},{v},{c.unit}", 1, 2),
        banks=2,
    )
    SHAPES("long_grouped_by_channel", _by_channel)
    SHAPES("own_time_columns", lambda: _own_columns(1))
    SHAPES(
        "own_time_columns_rates",
        lambda: _own_columns(4),
        "read",
        "each channel has a time column of its own and its own rate",
        loose=True,
    )
    SHAPES("one_channel_a_row", _one_a_row)
    SHAPES("name_equals_value", _pairs)


def _by_channel() -> Built:
    cols, moments = std(), std()[0].cells
    lines = [f"{c.name},{t},{v},{c.unit}" for c in cols[1:] for t, v in zip(moments, c.cells, strict=True)]
    return raw("drive.csv", "\n".join(["name,time,value,unit", *lines]) + "\n", roles=roles(cols))


def _own_columns(step: int) -> Built:
    out: list[Col] = []
    cols = std()
    for k, c in enumerate(cols[1:]):
        chosen = range(0, N, step if c.key in SLOW.split() else 1)
        times = [cols[0].cells[j] for j in chosen]
        values, gap = [c.cells[j] for j in chosen], [""] * (N - len(times))
        out += [Col(f"time{k}", f"Time {c.name}", "s", (*times, *gap)), replace(c, cells=(*values, *gap))]
    return log(out)


def _one_a_row() -> Built:
    cols = std()
    others = cols[1:]
    head = ",".join(round_(c.name, c.unit) for c in cols)
    lines = []
    for k in range(0, N, 2):
        for j, c in enumerate(others):
            gap = [""] * len(others)
            gap[j] = c.cells[k]
            lines.append(f"{k / 20 + 0.005 * j:.3f}," + ",".join(gap))
    return raw("drive.csv", "\n".join([head, *lines]) + "\n", roles=roles(cols))


def _pairs() -> Built:
    cols = std()
    lines = [cols[0].cells[k] + ";" + ";".join(f"{c.name}={c.cells[k]}" for c in cols[1:]) for k in range(N)]
    return raw("drive.txt", "\n".join(lines) + "\n", roles=roles(cols))


def _files() -> None:
    def two(first: str, step: int, second_step: int = 1, *, epoch: float = 0.0, folder: bool = False) -> Built:
        time = col("time", "Time", "s", lambda t: epoch + t, 2)
        chosen = first.split()
        one = [c for c in std(time) if c.key in ("time", *chosen)]
        other = [c for c in std(time) if c.key not in chosen]
        files = {
            "ecu.csv": text(quick(other, second_step)).encode(), "wideband.csv": text(quick(one, step)).encode(),
        }  # fmt: skip
        return Built(files, roles(std()), together=not folder, folder=folder)

    SHAPES(
        "two_files_wideband",
        lambda: two("lam", 1, epoch=1772546581.0),
        "either",
        "ECU log and wideband log of one drive",
        loose=True,
    )
    SHAPES(
        "two_files_rates",
        lambda: two("lam cmd", 1, 2, epoch=1772546581.0),
        "either",
        "two logs of one drive at different rates",
        loose=True,
        keep=0.4,
    )
    SHAPES("two_files_relative", lambda: two("lam", 1), "either", "both count from their own start", loose=True)
    SHAPES("two_files_trims", lambda: two("stft ltft status", 4, epoch=1772546581.0), "either", loose=True, keep=0.4)
    SHAPES(
        "folder_of_two",
        lambda: two("coolant iat purge status", 20, epoch=1772546581.0, folder=True),
        "either",
        loose=True,
        keep=0.4,
    )
    SHAPES(
        "one_bank_a_file",
        lambda: Built(
            {
                "bank1.csv": text(std(banks=2, drop="stft2 ltft2")).encode(),
                "bank2.csv": text(std(banks=2, keys=["time", "stft2", "ltft2"])).encode(),
            },
            roles(std(banks=2)),
            together=True,
        ),
        "either",
        loose=True,
        banks=2,
    )
    SHAPES(
        "continued_in_second",
        lambda: Built(
            {
                "part_1.csv": text(rows(std(), range(2750))).encode(),
                "part_2.csv": text(rows(std(), range(2750, N))).encode(),
            },
            roles(std()),
            together=True,
        ),
        "read",
        "one drive cut in two",
        loose=True,
        keep=0.5,
    )
    SHAPES("groups_in_one_file", _groups)
    SHAPES("square_units_blank", lambda: log(punched(std(), 0.02), head=square))
    SHAPES("bare_units_row_blank", lambda: log(punched(std(), 0.02), head=bare, units_row=True))


def _groups() -> Built:
    """Write two blocks of channels below each other, each with a header and a rate of its own."""
    cols = std()
    fast = [c for c in cols if c.key not in SLOW.split()]
    slow = quick([c for c in cols if c.key == "time" or c.key in SLOW.split()], 10)
    return raw("drive.csv", text(fast) + "\n" + text(slow), roles=roles(cols))


_blanks()
_renewed()
_long()
_files()
