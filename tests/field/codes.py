"""Shapes of codes that stand for 'no value', and of channels that are there but dead."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from field.car import drive
from field.shape import Col, Family, col, edit, log, mapped, std

SHAPES = Family("codes")
N = drive().rows


def some(mark: str, number: int = 3, share: float = 0.03) -> Callable[[Col], Col]:
    """Put the mark in place of a share of the cells, each alone."""
    hit = np.random.Generator(np.random.PCG64([number, 9])).random(N) < share
    return mapped(lambda k, cell: mark if hit[k] else cell)


def stretch(mark: str, first: int = 1000, last: int = 1600) -> Callable[[Col], Col]:
    return mapped(lambda k, cell: mark if first <= k < last else cell)


def start(mark: str, first: int = 200) -> Callable[[Col], Col]:
    return mapped(lambda k, cell: mark if k < first else cell)


def dead(key: str, name: str, unit: str, mark: str) -> Col:
    return Col(key, name, unit, (mark,) * N)


def _sentinels() -> None:
    for mark in ("-999", "-9999", "9999", "65535", "6553.5", "32767", "-32768", "-1", "1e30", "4294967295", "-999.25"):
        for key in ("lam", "coolant", "stft"):
            if (key, mark) == ("stft", "-1"):
                continue
            SHAPES(
                f"{key}_{mark}",
                lambda k=key, m=mark: log(edit(std(), k, some(m))),
                "read",
                f"{mark} in 3 % of the cells",
            )
    for mark in (
        "NaN",
        "---",
        "#N/A",
        "off",
        "null",
        "n/a",
        "Inf",
        "-",
        "?",
        "ERR",
        "***",
        "nodata",
        "#DIV/0!",
        "1.#QNAN",
        "invalid",
        "None",
        "N.A.",
    ):
        SHAPES(
            f"lam_word_{mark.replace('/', '_')}",
            lambda m=mark: log(edit(std(), "lam", some(m))),
            "read",
            f"{mark} in 3 % of the cells",
        )
    for key, mark in (
        ("hz", "0"),
        ("maf", "0"),
        ("map", "255"),
        ("map", "0"),
        ("maf", "655.35"),
        ("maf", "-1"),
        ("hz", "65535"),
        ("rpm", "16383.75"),
        ("lam", "0"),
        ("lam", "2"),
        ("cmd", "0"),
        ("cmd", "1.999"),
        ("coolant", "0"),
        ("coolant", "-40"),
        ("coolant", "215"),
        ("stft", "99.22"),
        ("stft", "-100"),
        ("ltft", "99.2"),
        ("speed", "255"),
        ("throttle", "-1"),
    ):
        SHAPES(
            f"{key}_now_and_then_{mark}",
            lambda k=key, m=mark: log(edit(std(), k, some(m))),
            "read",
            f"{mark} where it cannot be, in 3 % of the cells",
        )
    SHAPES(
        "all_9999_apart",
        lambda: log([edit([c], "*", some("9999", number=j))[0] for j, c in enumerate(std())]),
        loose=True,
    )
    SHAPES(
        "all_nan_apart",
        lambda: log([edit([c], "*", some("nan", number=j))[0] for j, c in enumerate(std())]),
        loose=True,
    )
    SHAPES("lam_stretch_9999", lambda: log(edit(std(), "lam", stretch("9999"))))
    SHAPES("lam_stretch_0", lambda: log(edit(std(), "lam", stretch("0.000"))))
    SHAPES(
        "lam_stretch_1",
        lambda: log(edit(std(), "lam", stretch("1.000"))),
        "either",
        "the wideband stands at exactly 1 for 30 s: a code, or a box that shows its start value",
    )
    SHAPES("lam_cold_0", lambda: log(edit(std(), "lam", start("0.000"))), "read", "wideband not warm yet")
    SHAPES("lam_cold_8", lambda: log(edit(std(), "lam", start("8.000"))), "read", "wideband not warm yet, saturated")
    SHAPES(
        "afr_cold_20",
        lambda: log(edit(std(col("lam", "AFR", "", lambda v: 14.7 * v, 2)), "lam", start("20.90"))),
        "read",
        "air in the exhaust while the wideband warms",
    )
    SHAPES("all_minus_1_at_start", lambda: log(edit(std(), "lam cmd stft ltft coolant iat maf map", start("-1", 40))))
    SHAPES(
        "all_zero_at_start",
        lambda: log(edit(std(), "*", start("0", 30))),
        "read",
        "nothing was received yet in the first 1.5 s",
    )
    SHAPES(
        "all_zero_at_end",
        lambda: log(edit(std(), "*", mapped(lambda k, cell: "0" if k >= N - 30 else cell))),
        "read",
        "the bus went to sleep",
    )
    SHAPES(
        "cut_of_5",
        lambda: log(edit(std(), "lam", mapped(lambda k, cell: "5.000" if cell >= "1.9" else cell))),
        "read",
        "beyond its range the wideband gives 5",
    )
    SHAPES(
        "cut_of_0",
        lambda: log(edit(std(), "lam", mapped(lambda k, cell: "0.000" if cell >= "1.9" else cell))),
        "read",
        "beyond its range the wideband gives 0",
    )
    SHAPES(
        "trim_codes_open_loop",
        lambda: log(_open("99.22", "stft")),
        "read",
        "short trim reads 99.2 while the loop is open",
        loose=True,
    )
    SHAPES(
        "trim_blank_open_loop",
        lambda: log(_open("", "stft ltft")),
        "read",
        "trims blank while the loop is open",
        loose=True,
    )
    SHAPES("decimal_comma_codes", lambda: log(edit(std(), "lam maf", some("-999.0")), sep=";", decimal=","))


def _open(mark: str, keys: str) -> list[Col]:
    status = drive()["status"]
    return edit(std(), keys, mapped(lambda k, cell: mark if status[k] != 2 else cell))


def _dead() -> None:
    two = ("stft2", "Short trim bank 2"), ("ltft2", "Long trim bank 2")

    def bank(short: str, long: str, unit: str = "%") -> list[Col]:
        return [*std(), dead("dead", two[0][1], unit, short), dead("dead", two[1][1], unit, long)]

    why = "a second bank that does not exist"
    SHAPES("dead_bank_0", lambda: log(bank("0", "0")), "either", why)
    SHAPES("dead_bank_0.00", lambda: log(bank("0.00", "0.00")), "either", why)
    SHAPES("dead_bank_99.2", lambda: log(bank("99.2", "99.2")), "read", why)
    SHAPES("dead_bank_99.22_and_0", lambda: log(bank("99.22", "0")), "read", why)
    SHAPES("dead_bank_minus_100", lambda: log(bank("-100", "-100")), "read", why)
    SHAPES("dead_bank_-0.8", lambda: log(bank("-0.8", "-0.8")), "either", why + ", code scaled as a signed value")
    SHAPES("dead_bank_blank", lambda: log(bank("", "")), "read", why)
    SHAPES("dead_bank_raw", lambda: log(_raw_trims()), "either", "raw bytes, 255 for the bank that is not there")
    SHAPES(
        "dead_bank_factor",
        lambda: log(
            [
                *std(
                    col("stft", "STFT B1", "", lambda v: 1 + v / 100, 4),
                    col("ltft", "LTFT B1", "", lambda v: 1 + v / 100, 4),
                ),
                dead("dead", "STFT B2", "", "1.0000"),
                dead("dead", "LTFT B2", "", "1.0000"),
            ]
        ),
        "either",
        why,
    )
    SHAPES(
        "dead_bank_1_of_2",
        lambda: log(
            [
                *std(col("stft", "Short trim bank 2", "%"), col("ltft", "Long trim bank 2", "%")),
                dead("dead", "Short trim bank 1", "%", "0"),
                dead("dead", "Long trim bank 1", "%", "0"),
            ]
        ),
        "either",
        "bank 1 is dead, bank 2 lives",
        optional=("stft_1", "ltft_1"),
    )
    SHAPES(
        "dead_long_2_lives_short_2",
        lambda: log([*std(banks=2, drop="ltft2"), dead("dead", "Long trim bank 2", "%", "0")]),
        "either",
        "long trim of bank 2 stands at 0, the short one moves",
        banks=2,
        optional=("ltft_2", "ltft_1", "stft_1", "stft_2"),
    )
    for mark in ("-40", "215", "0", "-999", "255"):
        SHAPES(
            f"dead_coolant_{mark}",
            lambda m=mark: log(std(dead("coolant", "Coolant temperature", "°C", m))),
            "either",
            "the coolant sensor is dead: nobody knows whether the engine was warm",
            optional=("coolant_temperature",),
        )
    SHAPES("dead_second_coolant", lambda: log([*std(), dead("dead", "Coolant temperature 2", "°C", "-40")]))
    SHAPES(
        "dead_airflow",
        lambda: log(std(dead("maf", "Airflow", "g/s", "2.00"))),
        "either",
        "airflow stands still",
        optional=("airflow",),
    )
    SHAPES(
        "dead_speed",
        lambda: log(std(dead("speed", "Vehicle speed", "km/h", "0"))),
        "either",
        "the speed is not received",
        optional=("vehicle_speed",),
    )
    SHAPES(
        "dead_commanded_0",
        lambda: log(std(dead("cmd", "Commanded lambda", "lambda", "0.0000"))),
        "either",
        "0 throughout: not supported",
        optional=("lambda_commanded",),
    )
    SHAPES(
        "dead_commanded_1",
        lambda: log(std(dead("cmd", "Commanded lambda", "lambda", "1.0000"))),
        "ask",
        "commanded stands at 1 though pulls run rich: it is not what the ECU commands",
        hints=("command",),
    )
    SHAPES(
        "dead_status_0",
        lambda: log(std(dead("status", "Fuel system status", "", "0"))),
        "either",
        "status is not supported",
        optional=("fuel_system",),
    )
    SHAPES(
        "dead_wideband_1",
        lambda: log(std(dead("lam", "Measured lambda", "lambda", "1.000"))),
        "either",
        "a wideband box that shows its start value",
        optional=("lambda_measured",),
    )
    SHAPES(
        "dead_wideband_air",
        lambda: log(std(dead("lam", "Measured lambda", "lambda", "1.990"))),
        "either",
        "the wideband hangs in free air",
        optional=("lambda_measured",),
    )
    SHAPES(
        "dead_map_255",
        lambda: log(std(dead("map", "Manifold pressure", "kPa", "255"))),
        optional=("manifold_pressure",),
    )
    SHAPES("dead_purge", lambda: log(std(dead("purge", "Purge", "%", "0.0"))), optional=("purge",))
    SHAPES(
        "dead_iat_word",
        lambda: log(std(dead("iat", "Intake temperature", "°C", "not supported"))),
        optional=("intake_temperature",),
    )
    SHAPES(
        "dead_extra_channels",
        lambda: log(
            [
                *std(),
                dead("d", "AFR 2", "", "7.35"),
                dead("d", "MAF 2", "g/s", "0"),
                dead("d", "Boost target", "kPa", "0"),
            ]
        ),
        "read",
        "channels of fittings that are not there",
    )


def _raw_trims() -> list[Col]:
    raw_short = col("stft", "STFT1 raw", "", lambda v: np.round(v * 1.28 + 128), 0)
    raw_long = col("ltft", "LTFT1 raw", "", lambda v: np.round(v * 1.28 + 128), 0)
    return [*std(raw_short, raw_long), dead("d", "STFT2 raw", "", "255"), dead("d", "LTFT2 raw", "", "255")]


def _second_bank_late(c: Col) -> Col:
    return replace(c, cells=("99.22",) * 600 + c.cells[600:])


_sentinels()
_dead()
SHAPES(
    "second_bank_late",
    lambda: log(edit(std(banks=2), "stft2 ltft2", _second_bank_late)),
    "read",
    "bank 2 joins after 30 s; before, its code",
    banks=2,
)
