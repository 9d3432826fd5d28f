"""Shapes with a second channel that could be taken for the right one: two widebands, two throttles, targets, totals."""

from collections.abc import Sequence

import numpy as np

from field.car import Floats, drive
from field.shape import Built, Col, Family, cells, col, extra, log, std

SHAPES = Family("decoy")
N = drive().rows
LAM = drive()["lam"]
CMD = drive()["cmd"]


def other(name: str, values: Floats, decimals: int = 3, unit: str = "") -> Col:
    return extra(name, cells(values, decimals), unit)


def beside(right: Col, decoy: Col, *, before: bool) -> list[Col]:
    """Put a decoy right before or after the right column of the standard log."""
    out: list[Col] = []
    for c in std(right):
        pair: Sequence[Col] = (decoy, c) if before else (c, decoy)
        out += pair if c.key == right.key else (c,)
    return out


def _both_ways(name: str, right: Col, decoy: Col, wants: str = "read", why: str = "", **more: object) -> None:
    for before in (True, False):
        word = "first" if before else "last"
        SHAPES(f"{name}_decoy_{word}", lambda b=before: log(beside(right, decoy, before=b)), wants, why, **more)  # type: ignore[arg-type]


def _widebands() -> None:
    rich = 0.952 * LAM
    rear = np.clip(1.0 + 0.1 * (_smooth(np.minimum(LAM, 1.1)) - 1.0), 0.9, 1.1)
    air = 1.99 + 0.0 * LAM
    _both_ways("front_rear", col("lam", "Lambda before catalyst"), other("Lambda after catalyst", rear))
    _both_ways("upstream_downstream", col("lam", "Lambda upstream", ""), other("Lambda downstream", rear), "either")
    _both_ways(
        "sensor_1_2",
        col("lam", "Lambda B1S1", ""),
        other("Lambda B1S2", rear),
        "read",
        "sensor 2 sits after the catalyst",
    )
    _both_ways(
        "wideband_free_air", col("lam", "Wideband 1", ""), other("Wideband 2", air), "either", "one hangs in free air"
    )
    _both_ways(
        "wideband_free_air_numbered_2",
        col("lam", "Wideband 2", ""),
        other("Wideband 1", air),
        "either",
        "the first hangs in free air",
    )
    _both_ways(
        "wideband_other_bank",
        col("lam", "Wideband 1", ""),
        other("Wideband 2", rich),
        "ask",
        "two widebands that differ by 4.8 %",
        hints=("wideband", "lambda_measured"),
    )
    _both_ways(
        "afr_left_right",
        col("lam", "AFR left", "", lambda v: 14.7 * v, 2),
        other("AFR right", 14.7 * rich, 2),
        "ask",
        "two banks' widebands that differ by 4.8 %; trims of one",
        hints=("AFR", "lambda_measured"),
    )
    _both_ways(
        "wideband_and_analog",
        col("lam", "Wideband lambda", ""),
        other("Wideband analog", 5 * (LAM - 0.68) / 0.68, 3, "V"),
    )
    _both_ways(
        "lambda_twice",
        col("lam", "Lambda", ""),
        other("AFR", 14.7 * LAM, 2),
        "read",
        "the same twice, as lambda and as AFR",
        optional=("lambda_measured",),
    )
    _both_ways(
        "lambda_filtered",
        col("lam", "Lambda", ""),
        other("Lambda filtered", _smooth(LAM)),
        "either",
        "smoothed over seconds",
        hints=("lambda",),
    )
    _both_ways(
        "lambda_min",
        col("lam", "Lambda", ""),
        other("Lambda min", np.minimum.accumulate(LAM)),
        "read",
        "the least so far",
    )
    _both_ways(
        "narrow_band", col("lam", "Wideband", "lambda"), other("O2 sensor", np.where(LAM < 1, 0.82, 0.12), 2, "V")
    )
    _both_ways("ecu_lambda", col("lam", "Lambda (wideband box)", ""), other("Lambda (ECU model)", CMD, 3), "either")
    _both_ways(
        "sensor_temperature", col("lam", "Lambda", ""), other("Lambda sensor temperature", 780 + 0 * LAM, 0, "°C")
    )
    _both_ways("heater_duty", col("lam", "Lambda", ""), other("Lambda heater duty", 42 + 3 * LAM, 1, "%"))
    _both_ways("error_percent", col("lam", "Lambda", ""), other("Lambda error", 100 * (LAM / CMD - 1), 2, "%"))


def _smooth(values: Floats) -> Floats:
    out, state = np.empty_like(values), float(values[0])
    for k, value in enumerate(values):
        state += 0.02 * (value - state)
        out[k] = state
    return out


def swapped(measured: str, commanded: str, *, first: bool = True) -> Built:
    """Name measured and commanded mixture, and put the measured one first."""
    cols = {c.key: c for c in std(col("lam", measured, ""), col("cmd", commanded, ""))}
    order = [key for key in cols if key not in ("lam", "cmd")]
    pair = ["lam", "cmd"] if first else ["cmd", "lam"]
    return log([cols[key] for key in [*order[:2], *pair, *order[2:]]])


def _commands() -> None:
    for name, measured, commanded, wants in (
        ("plain_target", "Lambda", "Lambda target", "read"), ("plain_setpoint", "Lambda", "Lambda setpoint", "read"),
        ("plain_desired", "Lambda", "Desired lambda", "read"), ("final_base", "Lambda wideband", "Lambda final", "either"),
        ("actual_requested", "Lambda actual", "Lambda requested", "read"), ("meas_ref", "Lambda meas", "Lambda ref", "read"),
        ("pv_sp", "Lambda PV", "Lambda SP", "either"), ("a_b", "Lambda A", "Lambda B", "either"),
        ("numbers", "Lambda 1", "Lambda 2", "either"), ("same_name", "Lambda", "Lambda", "either"),
        ("equivalence", "Wideband", "Commanded equivalence ratio", "either"), ("ext_int", "Lambda ext", "Lambda ECU", "either"),
        ("is_should", "lambda_is", "lambda_should", "either"), ("model", "Lambda exhaust", "Lambda table", "either"),
    ):  # fmt: skip
        for first in (True, False):
            word = "measured_first" if first else "commanded_first"
            SHAPES(
                f"{name}_{word}",
                lambda m=measured, c=commanded, f=first: swapped(m, c, first=f),
                wants,
                hints=("lambda",),
            )  # type: ignore[arg-type]


def _others() -> None:
    f = drive()
    pedal = np.clip(1.3 * f["throttle"] - 4, 0, 100)
    _both_ways("throttle_target", col("throttle", "Throttle"), other("Throttle target", pedal, 1, "%"))
    _both_ways(
        "throttle_pedal", col("throttle", "Throttle position"), other("Accelerator pedal position", pedal, 1, "%")
    )
    _both_ways(
        "throttle_two_tracks",
        col("throttle", "Throttle 1"),
        other("Throttle 2", 100 - f["throttle"], 1, "%"),
        "either",
        "the second track runs backwards",
    )
    _both_ways(
        "throttle_volts", col("throttle", "Throttle"), other("Throttle sensor", 0.5 + f["throttle"] / 25, 3, "V")
    )
    _both_ways(
        "pressure_target", col("map", "Manifold pressure"), other("Manifold pressure target", f["map"] + 6, 1, "kPa")
    )
    _both_ways("barometer", col("map", "Manifold pressure"), other("Barometric pressure", 99 + 0 * f["map"], 0, "kPa"))
    _both_ways("fuel_pressure", col("map", "Manifold pressure"), other("Fuel pressure", 350 + 0.2 * f["map"], 1, "kPa"))
    _both_ways("speed_limit", col("rpm", "RPM"), other("RPM limit", 6500 + 0 * f["rpm"], 0, "rpm"))
    _both_ways(
        "idle_target", col("rpm", "Engine speed"), other("Engine speed target idle", 780 + 0 * f["rpm"], 0, "rpm")
    )
    _both_ways("turbine_speed", col("rpm", "Engine speed"), other("Gearbox input speed", 0.97 * f["rpm"], 0, "rpm"))
    _both_ways(
        "oil_temperature", col("coolant", "Coolant temperature"), other("Oil temperature", f["coolant"] - 9, 0, "°C")
    )
    _both_ways(
        "exhaust_temperature",
        col("iat", "Intake temperature"),
        other("Exhaust gas temperature", 500 + 4 * f["map"], 0, "°C"),
    )
    _both_ways(
        "ambient_temperature",
        col("iat", "Intake temperature"),
        other("Ambient temperature", 18 + 0 * f["map"], 0, "°C"),
    )
    _both_ways(
        "wheel_speed", col("speed", "Vehicle speed"), other("Wheel speed front left", 1.01 * f["speed"], 1, "km/h")
    )
    _both_ways("airflow_model", col("maf", "Airflow"), other("Airflow model", 1.07 * f["maf"], 2, "g/s"), "either")
    _both_ways("airflow_twice", col("maf", "Mass airflow"), other("Mass airflow kg/h", 3.6 * f["maf"], 2, "kg/h"))
    _both_ways(
        "airflow_volts", col("hz", "Airflow sensor frequency"), other("Airflow sensor supply", 5 + 0 * f["hz"], 2, "V")
    )
    _both_ways(
        "vortex_frequency", col("hz", "Airflow sensor"), other("Wheel sensor frequency", 40 * f["speed"], 0, "Hz")
    )
    _both_ways(
        "trim_average", col("stft", "Short trim bank 1"), other("Short trim average", _smooth(f["stft"]), 2, "%")
    )
    _both_ways("trim_limit", col("stft", "Short trim"), other("Short trim max", 25 + 0 * f["stft"], 1, "%"))
    _both_ways("idle_trim", col("ltft", "Long trim"), other("Long trim idle", 2.3 + 0 * f["ltft"], 2, "%"), "either")
    _both_ways("total_trim", col("stft", "Short trim"), other("Total trim", f["stft"] + f["ltft"], 2, "%"))
    _both_ways(
        "ignition_trim", col("stft", "Short trim"), other("Ignition trim cylinder 1", -1 + 0 * f["stft"], 1, "deg")
    )
    _both_ways("time_of_injection", col("time", "Time"), other("Injection time", f["inj"], 3, "ms"))
    _both_ways("gps_time", col("time", "Time"), other("Time to first fix", 12 + 0 * f["inj"], 1, "s"))
    _both_ways("status_gearbox", col("status", "Fuel system status"), other("Gearbox status", 3 + 0 * f["status"], 0))
    _both_ways("purge_flow", col("purge", "Purge duty"), other("Purge flow", 0.02 * f["purge"], 3, "g/s"))


_widebands()
_commands()
_others()
