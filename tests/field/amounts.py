"""Shapes of quantities, continued: air, pressures, temperatures, engine speed, and the state of the loop."""

from dataclasses import replace

import numpy as np

from field.car import LITRES, drive
from field.quantities import SHAPES, one
from field.shape import Col, cells, col, edit, extra, log, mapped, std


def _air() -> None:
    f = drive()
    SHAPES("airflow_kg_h", lambda: log(one("maf", "Air mass", "kg/h", lambda v: 3.6 * v, 3)))
    SHAPES(
        "airflow_kg_h_unsaid",
        lambda: log(one("maf", "Air mass flow", "", lambda v: 3.6 * v, 2)),
        "either",
        "kg/h without a unit: the curve in the ECU tells",
    )
    SHAPES("airflow_lb_min", lambda: log(one("maf", "Airflow", "lb/min", lambda v: v * 60 / 453.59237, 4)))
    SHAPES("airflow_kg_s", lambda: log(one("maf", "Airflow", "kg/s", lambda v: v / 1000, 6)))
    SHAPES(
        "airflow_mg_stroke",
        lambda: log(one("maf", "Air mass", "mg/stroke", lambda v: 1000 * v * 30 / f["rpm"], 2)),
        "either",
        "per stroke of a four-cylinder engine",
        optional=("airflow",),
    )
    SHAPES(
        "airflow_g_cyl",
        lambda: log(one("maf", "Cylinder air mass", "g/cyl", lambda v: v * 30 / f["rpm"], 5)),
        "either",
        optional=("airflow",),
    )
    SHAPES(
        "airflow_g_rev",
        lambda: log(one("maf", "Engine load", "g/rev", lambda v: v * 60 / f["rpm"], 5)),
        "either",
        optional=("airflow",),
    )
    SHAPES("airflow_hundredths", lambda: log(one("maf", "Airflow", "g/s x 100", lambda v: 100 * v, 0)), "either")
    SHAPES(
        "airflow_percent_load_beside",
        lambda: log([*std(), extra("Calculated load", cells(100 * f["maf"] / (LITRES * f["rpm"] / 120 * 1.15)), "%")]),
    )
    SHAPES("sensor_period_us", lambda: log(one("hz", "Airflow sensor period", "µs", lambda v: 1e6 / v, 2)))
    SHAPES("sensor_period_ms", lambda: log(one("hz", "MAF period", "ms", lambda v: 1e3 / v, 6)))
    SHAPES("sensor_khz", lambda: log(one("hz", "MAF frequency", "kHz", lambda v: v / 1000, 4)))
    SHAPES(
        "sensor_khz_unsaid",
        lambda: log(one("hz", "Airflow sensor frequency", "", lambda v: v / 1000, 4)),
        "either",
        "2.845 for 2845 Hz: the axis of the table tells",
    )
    SHAPES("pressure_bar", lambda: log(one("map", "MAP", "bar", lambda v: v / 100, 4)))
    SHAPES("pressure_bar_unsaid", lambda: log(one("map", "MAP", "", lambda v: v / 100, 4)), "either")
    SHAPES("pressure_kg_cm2", lambda: log(one("map", "MAP", "kg/cm²", lambda v: v / 98.0665, 5)))
    SHAPES("pressure_kg_cm2_plain", lambda: log(one("map", "MAP", "kg/cm2", lambda v: v / 98.0665, 5)))
    SHAPES("pressure_kgf", lambda: log(one("map", "Manifold abs. pressure", "kgf/cm^2", lambda v: v / 98.0665, 5)))
    SHAPES("pressure_inhg", lambda: log(one("map", "MAP", "inHg", lambda v: v / 3.386389, 3)))
    SHAPES("pressure_psi", lambda: log(one("map", "MAP", "psi", lambda v: v / 6.894757, 3)))
    SHAPES("pressure_psia", lambda: log(one("map", "MAP", "psia", lambda v: v / 6.894757, 3)))
    SHAPES("pressure_hpa", lambda: log(one("map", "MAP", "hPa", lambda v: 10 * v, 0)))
    SHAPES("pressure_mmhg", lambda: log(one("map", "MAP", "mmHg", lambda v: v / 0.1333224, 1)))
    SHAPES(
        "vacuum_inhg",
        lambda: log([*one("map", "Manifold vacuum", "inHg", lambda v: (99 - v) / 3.386389, 3), col("baro")]),
        "either",
        optional=("manifold_pressure",),
    )
    SHAPES(
        "vacuum_kpa_negative",
        lambda: log([*one("map", "Intake pressure relative", "kPa", lambda v: v - 99, 1), col("baro")]),
        "either",
        optional=("manifold_pressure",),
    )
    SHAPES(
        "boost_psi",
        lambda: log([*one("map", "Boost", "psi", lambda v: (v - 99) / 6.894757, 3), col("baro")]),
        "either",
        optional=("manifold_pressure",),
    )


def _rest() -> None:
    SHAPES(
        "temperatures_f", lambda: log(std(*(col(k, None, "°F", lambda v: 32 + 1.8 * v, 1) for k in ("coolant", "iat"))))
    )
    SHAPES(
        "temperatures_f_unsaid",
        lambda: log(std(*(col(k, None, "", lambda v: 32 + 1.8 * v, 0) for k in ("coolant", "iat")))),
        "either",
        "154 to 192: degrees Fahrenheit without a unit",
    )
    SHAPES(
        "coolant_f_intake_c_unsaid",
        lambda: log(std(col("coolant", None, "", lambda v: 32 + 1.8 * v, 0), col("iat", None, "", None, 0))),
        "either",
        "two temperatures in two units",
    )
    SHAPES(
        "coolant_f_said_intake_bare",
        lambda: log(
            std(col("coolant", None, "F", lambda v: 32 + 1.8 * v, 0), col("iat", None, "", lambda v: 32 + 1.8 * v, 0))
        ),
        "either",
        "one says °F, the other nothing",
    )
    SHAPES(
        "temperatures_k", lambda: log(std(*(col(k, None, "K", lambda v: v + 273.15, 2) for k in ("coolant", "iat"))))
    )
    SHAPES(
        "temperatures_k_unsaid",
        lambda: log(std(*(col(k, None, "", lambda v: v + 273.15, 1) for k in ("coolant", "iat")))),
        "either",
    )
    SHAPES(
        "temperature_raw_40",
        lambda: log(std(*(col(k, None, "", lambda v: v + 40, 0) for k in ("coolant", "iat")))),
        "ask",
        "raw bytes 40 too high: 108 to 129 could be °C of a hot engine, or °F",
        hints=("unit", "°", "degC", "temperature"),
    )
    SHAPES("throttle_fraction", lambda: log(one("throttle", "Throttle", "", lambda v: v / 100, 4)))
    SHAPES(
        "throttle_fraction_percent",
        lambda: log(one("throttle", "Throttle", "%", lambda v: v / 100, 4)),
        "either",
        "0.97 under a % heading",
    )
    SHAPES(
        "throttle_degrees",
        lambda: log(one("throttle", "Throttle angle", "deg", lambda v: 0.84 * v, 2)),
        "either",
        optional=("throttle",),
    )
    SHAPES("throttle_byte", lambda: log(one("throttle", "Throttle", "", lambda v: np.round(2.55 * v), 0)), "either")
    SHAPES("rpm_thousands", lambda: log(one("rpm", "Engine speed", "rpm x1000", lambda v: v / 1000, 4)))
    SHAPES("rpm_thousands_unsaid", lambda: log(one("rpm", "RPM", "", lambda v: v / 1000, 4)), "either")
    SHAPES("rpm_rev_s", lambda: log(one("rpm", "Engine speed", "1/s", lambda v: v / 60, 3)))
    SHAPES("rpm_rad_s", lambda: log(one("rpm", "Engine speed", "rad/s", lambda v: v * 2 * np.pi / 60, 3)))
    SHAPES("speed_mph", lambda: log(one("speed", "Vehicle speed", "mph", lambda v: v / 1.609344, 2)))
    SHAPES("speed_m_s", lambda: log(one("speed", "Vehicle speed", "m/s", lambda v: v / 3.6, 3)))
    SHAPES("purge_fraction", lambda: log(one("purge", "Purge duty", "", lambda v: v / 100, 3)))
    SHAPES(
        "units_glued",
        lambda: log(
            edit(
                std(),
                "rpm map maf coolant speed",
                lambda c: replace(c, unit="", cells=tuple(f"{v}{c.unit}" for v in c.cells)),
            )
        ),
    )
    SHAPES("scientific", lambda: log(edit(std(), "*", mapped(lambda k, cell: f"{float(cell):.5E}"))))


def coded(words: dict[int, str]) -> list[Col]:
    return std(extra("Fuel system status", [words[int(v)] for v in drive()["status"]], key="status"))


def _status() -> None:
    SHAPES("status_words", lambda: log(coded({1: "OL cold", 2: "CL", 4: "OL load"})))
    SHAPES(
        "status_long_words",
        lambda: log(coded({1: "Open loop - engine cold", 2: "Closed loop", 4: "Open loop - load or deceleration"})),
    )
    SHAPES("status_open_closed", lambda: log(coded({1: "open", 2: "closed", 4: "open"})), loose=True)
    SHAPES("status_hex", lambda: log(coded({1: "0x01", 2: "0x02", 4: "0x04"})))
    SHAPES("status_hex_plain", lambda: log(coded({1: "01", 2: "02", 4: "04"})))
    SHAPES("status_hex_two_systems", lambda: log(coded({1: "0100", 2: "0200", 4: "0400"})), "either")
    SHAPES("status_bits", lambda: log(coded({1: "00000001", 2: "00000010", 4: "00000100"})))
    SHAPES("status_bits_prefixed", lambda: log(coded({1: "0b001", 2: "0b010", 4: "0b100"})))
    SHAPES(
        "status_enumeration_0_1",
        lambda: log(
            [
                *std(drop="status"),
                extra("Closed loop", ["1" if v == 2 else "0" for v in drive()["status"]], key="status"),
            ]
        ),
        loose=True,
    )
    SHAPES(
        "status_enumeration_true",
        lambda: log(
            [
                *std(drop="status"),
                extra("closed_loop_active", ["TRUE" if v == 2 else "FALSE" for v in drive()["status"]], key="status"),
            ]
        ),
        loose=True,
    )
    SHAPES(
        "status_open_flag",
        lambda: log(
            [*std(drop="status"), extra("Open loop", ["0" if v == 2 else "1" for v in drive()["status"]], key="status")]
        ),
        "either",
        loose=True,
    )
    SHAPES(
        "status_enumeration_index",
        lambda: log(coded({1: "0", 2: "1", 4: "2"})),
        "ask",
        "0, 1, 2 instead of 1, 2, 4: closed loop reads 1, which J1979 calls open loop, cold",
        hints=("status", "loop", "fuel_system"),
    )
    SHAPES("status_pair", lambda: log(coded({1: "1/0", 2: "2/0", 4: "4/0"})), "either")
    SHAPES("status_number_and_word", lambda: log(coded({1: "1 (OL)", 2: "2 (CL)", 4: "4 (OL-Drive)"})))
    SHAPES(
        "status_german",
        lambda: log(coded({1: "Offener Kreis", 2: "Geschlossener Kreis", 4: "Offener Kreis"})),
        "either",
        loose=True,
    )
    SHAPES(
        "status_three_flags",
        lambda: log(
            [
                *std(drop="status"),
                *(
                    extra(n, ["1" if v == s else "0" for v in drive()["status"]], key="flag")
                    for n, s in (("OL cold", 1), ("CL", 2), ("OL load", 4))
                ),
            ]
        ),
        "either",
        loose=True,
    )


_air()
_rest()
_status()
