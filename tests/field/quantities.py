"""Shapes of quantities: the same channel in another measure, with and without its unit."""

from collections.abc import Callable, Sequence

import numpy as np

from field.car import Floats, drive
from field.shape import Col, Family, cells, col, edit, extra, log, mapped, std

SHAPES = Family("quantity")
N = drive().rows
PETROL = 14.7


def both(unit: str, convert: Callable[[Floats], Floats], decimals: int, names: Sequence[str]) -> list[Col]:
    """Write commanded and measured mixture in one measure."""
    return std(col("cmd", names[0], unit, convert, decimals), col("lam", names[1], unit, convert, decimals))


def trims(
    unit: str, convert: Callable[[Floats], Floats], decimals: int, names: Sequence[str] = ("Short trim", "Long trim")
) -> list[Col]:
    return std(col("stft", names[0], unit, convert, decimals), col("ltft", names[1], unit, convert, decimals))


def one(key: str, name: str, unit: str, convert: Callable[[Floats], Floats], decimals: int) -> list[Col]:
    return std(col(key, name, unit, convert, decimals))


def _mixture() -> None:
    names = ("Commanded lambda", "Measured lambda")
    SHAPES("phi", lambda: log(both("", lambda v: 1 / v, 4, ("Commanded phi", "Measured phi"))))
    SHAPES(
        "phi_words",
        lambda: log(
            both("", lambda v: 1 / v, 4, ("Target fuel-air equivalence ratio", "Measured fuel-air equivalence ratio"))
        ),
    )
    SHAPES("lambda_percent", lambda: log(both("%", lambda v: 100 * v, 2, names)))
    SHAPES("lambda_percent_unsaid", lambda: log(both("", lambda v: 100 * v, 1, names)))
    SHAPES("lambda_thousandths", lambda: log(both("", lambda v: 1000 * v, 0, names)))
    SHAPES("lambda_per_mille", lambda: log(both("‰", lambda v: 1000 * v, 0, names)))
    SHAPES("afr_both", lambda: log(both("AFR", lambda v: PETROL * v, 2, ("AFR target", "AFR measured"))))
    SHAPES("afr_both_bare", lambda: log(both("", lambda v: PETROL * v, 2, ("AFR cmd", "AFR wideband"))))
    SHAPES(
        "afr_as_lambda_name",
        lambda: log(both("", lambda v: PETROL * v, 2, names)),
        "read",
        "called lambda, but reads 14.7",
    )
    SHAPES(
        "afr_colon",
        lambda: log(
            edit(
                both("", lambda v: PETROL * v, 1, ("Target AFR", "Measured AFR")),
                "cmd lam",
                mapped(lambda k, cell: f"{cell}:1"),
            )
        ),
        "read",
        "14.7:1",
        loose=True,
    )
    SHAPES(
        "afr_colon_spaced",
        lambda: log(
            edit(
                both("", lambda v: PETROL * v, 2, ("Target AFR", "Measured AFR")),
                "cmd lam",
                mapped(lambda k, cell: f"{cell} : 1"),
            )
        ),
    )
    SHAPES(
        "afr_times_10",
        lambda: log(both("", lambda v: 10 * PETROL * v, 0, ("AFR x10 cmd", "AFR x10"))),
        "either",
        "147 for 14.7",
        loose=True,
    )
    SHAPES("afr_measured_lambda_commanded", lambda: log(std(col("lam", "AFR", "", lambda v: PETROL * v, 2))))
    for ratio in (14.1, 14.6, 9.8, 14.57):
        SHAPES(
            f"afr_{ratio}_beside_lambda",
            lambda r=ratio: log(std(col("lam", "Wideband AFR", "", lambda v: r * v, 2))),
            "either",
            f"measured as AFR of a fuel of {ratio} beside a commanded lambda",
            hints=("--afr", "AFR", "stoich"),
        )
    SHAPES(
        "afr_both_14.1",
        lambda: log(both("", lambda v: 14.1 * v, 2, ("AFR target", "AFR measured"))),
        "either",
        "both on 14.1: their ratio stays right",
        hints=("--afr", "AFR"),
    )
    SHAPES(
        "afr_mixed_14.7_and_14.1",
        lambda: log(
            std(
                col("cmd", "AFR target", "", lambda v: PETROL * v, 2),
                col("lam", "AFR measured", "", lambda v: 14.1 * v, 2),
            )
        ),
        "either",
        "commanded on 14.7, measured on 14.1",
        hints=("--afr", "AFR", "stoich"),
    )
    SHAPES(
        "fuel_air_ratio",
        lambda: log(both("", lambda v: 1 / (PETROL * v), 5, ("FAR target", "FAR measured"))),
        "either",
        "fuel over air, 0.068",
    )
    SHAPES(
        "lambda_error_percent",
        lambda: log(
            [*std(drop="lam"), extra("Lambda error", cells(100 * (drive()["lam"] / drive()["cmd"] - 1), 2), "%")]
        ),
        "either",
        "measured against commanded as a percentage",
        optional=("lambda_measured",),
        loose=True,
    )
    SHAPES(
        "excess_air_percent",
        lambda: log(std(col("lam", "Excess air", "%", lambda v: 100 * (v - 1), 2))),
        "either",
        "0 % is lambda 1",
    )
    SHAPES(
        "wideband_volts",
        lambda: log(std(col("lam", "Wideband", "V", lambda v: np.clip((PETROL * v - 10) / 2, 0, 5), 3))),
        "ask",
        "a wideband in volts without its scale",
        hints=("volt", "scale", "analog", "V"),
    )
    SHAPES(
        "wideband_volts_unsaid",
        lambda: log(std(col("lam", "AFR input", "", lambda v: np.clip((v - 0.5) / 0.2, 0, 5), 3))),
        "ask",
        "a wideband in volts without its scale and without a unit",
        hints=("volt", "scale", "analog", "V"),
    )
    SHAPES(
        "wideband_millivolts",
        lambda: log(std(col("lam", "Lambda sensor", "mV", lambda v: 1000 * np.clip((v - 0.5) / 0.2, 0, 5), 0))),
        "ask",
        "a wideband in millivolts",
        hints=("volt", "scale", "analog", "mV"),
    )
    SHAPES(
        "wideband_counts",
        lambda: log(std(col("lam", "Lambda ADC", "counts", lambda v: 1023 * np.clip((v - 0.5) / 1.0, 0, 1), 0))),
        "ask",
        "a wideband in counts",
        hints=("count", "scale", "analog"),
    )


def _trims() -> None:
    SHAPES("trim_factor", lambda: log(trims("", lambda v: 1 + v / 100, 4)))
    SHAPES("trim_factor_names", lambda: log(trims("", lambda v: 1 + v / 100, 4, ("STFT factor", "LTFT factor"))))
    SHAPES("trim_fraction", lambda: log(trims("", lambda v: v / 100, 4)), "read", "0.05 for 5 %")
    SHAPES(
        "trim_fraction_marked_percent",
        lambda: log(trims("%", lambda v: v / 100, 4)),
        "either",
        "0.05 under a % heading",
    )
    SHAPES("trim_100_based", lambda: log(trims("%", lambda v: 100 + v, 2)))
    SHAPES("trim_100_based_unsaid", lambda: log(trims("", lambda v: 100 + v, 2, ("STFT", "LTFT"))))
    SHAPES("trim_per_mille", lambda: log(trims("‰", lambda v: 10 * v, 1)))
    SHAPES(
        "trim_128_based",
        lambda: log(trims("", lambda v: np.round(128 + 1.28 * v), 0, ("STFT", "LTFT"))),
        "either",
        "raw bytes",
        loose=True,
    )
    SHAPES(
        "trim_raster",
        lambda: log(trims("%", lambda v: np.round(v * 1.28) / 1.28, 4)),
        "read",
        "on the raster of 100/128 %",
        loose=True,
    )
    SHAPES(
        "trim_whole_percent",
        lambda: log(trims("%", np.round, 0)),
        "read",
        "rounded to whole percent",
        loose=True,
    )
    SHAPES(
        "trim_percent_signs",
        lambda: log(edit(trims("", lambda v: v, 2), "stft ltft", mapped(lambda k, cell: f"{cell} %"))),
    )
    SHAPES(
        "trim_plus_signs",
        lambda: log(
            edit(
                trims("%", lambda v: v, 2),
                "stft ltft",
                mapped(lambda k, cell: cell if cell.startswith("-") else "+" + cell),
            )
        ),
    )
    total = 100 * ((1 + drive()["stft"] / 100) * (1 + drive()["ltft"] / 100) - 1)
    SHAPES(
        "trim_total",
        lambda: log([*std(drop="stft ltft"), extra("Total fuel trim", cells(total), "%")]),
        "either",
        "short and long trim in one",
        hints=("trim",),
    )
    SHAPES(
        "trim_total_factor",
        lambda: log([*std(drop="stft ltft"), extra("Fuel correction total", cells(1 + total / 100, 4))]),
        "either",
        hints=("correction", "trim"),
    )
    SHAPES(
        "trim_total_beside",
        lambda: log([extra("Total trim", cells(total), "%"), *std()]),
        "read",
        "total beside short and long: it must not count twice",
    )
    SHAPES(
        "trim_total_sum_two_banks",
        lambda: log([*std(banks=2), extra("Fuel trim sum bank 1", cells(drive(2)["stft"] + drive(2)["ltft"]), "%")]),
        banks=2,
    )
    SHAPES(
        "trim_inverted",
        lambda: log(trims("%", lambda v: -v, 2)),
        "ask",
        "signs turned round: positive means less fuel",
        hints=("sign", "trim"),
    )
    SHAPES(
        "trim_mixed_forms",
        lambda: log(std(col("stft", "STFT", "", lambda v: 1 + v / 100, 4), col("ltft", "LTFT", "%", lambda v: v, 2))),
        "read",
        "short as factor, long as percent",
    )
    SHAPES(
        "trim_two_banks_factor",
        lambda: log(
            std(
                *(
                    col(k, n, "", lambda v: 1 + v / 100, 4, banks=2)
                    for k, n in (("stft", "STFT1"), ("ltft", "LTFT1"), ("stft2", "STFT2"), ("ltft2", "LTFT2"))
                ),
                banks=2,
            )
        ),
        banks=2,
    )


_mixture()
_trims()
