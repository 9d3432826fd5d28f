"""The recorder of the demo: channels in the steps that OBD gives them, as a log or as text."""

import hashlib
from collections.abc import Mapping

import numpy as np

from workbench.model.arrays import FloatArray
from workbench.model.log import Channel, Log, Role
from workbench.model.packing import Column

# Name, unit in the log, unit in the text, step, decimals in the text. Steps: SAE J1979 (formulas from public copies of
# its table); a step of its own where the channel is none of its parameters.
CHANNELS: Mapping[Role, tuple[str, str, str, float, int]] = {
    "engine_speed": ("Engine speed", "rpm", "rpm", 0.25, 2),  # PID 0C
    "sensor_signal": ("Airflow sensor", "Hz", "Hz", 1.0, 0),
    "airflow": ("Airflow", "g/s", "g/s", 0.01, 2),  # PID 10
    "manifold_pressure": ("Manifold pressure", "kPa", "kPa", 1.0, 0),  # PID 0B
    "throttle": ("Throttle", "%", "%", 100 / 255, 2),  # PID 11
    "vehicle_speed": ("Vehicle speed", "km/h", "km/h", 1.0, 0),  # PID 0D
    "coolant_temperature": ("Coolant temperature", "degC", "°C", 1.0, 0),  # PID 05
    "intake_temperature": ("Intake temperature", "degC", "°C", 1.0, 0),  # PID 0F
    "barometer": ("Barometer", "kPa", "kPa", 1.0, 0),  # PID 33
    "battery_voltage": ("Battery voltage", "V", "V", 0.01, 2),  # PID 42 has 0.001 V, its sensor less
    "fuel_system": ("Fuel system status", "", "", 1.0, 0),  # PID 03
    "lambda_commanded": ("Commanded lambda", "lambda", "lambda", 2 / 65536, 5),  # PID 44
    "lambda_measured": ("Measured lambda", "lambda", "lambda", 0.001, 5),  # the step is the scenario's
    "stft_1": ("Short trim bank 1", "%", "%", 100 / 128, 5),  # PID 06
    "ltft_1": ("Long trim bank 1", "%", "%", 100 / 128, 5),  # PID 07
    "stft_2": ("Short trim bank 2", "%", "%", 100 / 128, 5),  # PID 08
    "ltft_2": ("Long trim bank 2", "%", "%", 100 / 128, 5),  # PID 09
    "purge": ("Purge", "%", "%", 100 / 255, 2),  # PID 2E
}


def in_steps(values: FloatArray, step: float, decimals: int) -> FloatArray:
    """Round to the nearest whole step, then to the decimals that are written."""
    return np.round(np.round(values / step) * step, decimals) + 0.0


def record(name: str, time: FloatArray, rows: Mapping[Role, FloatArray], lambda_step: float) -> Log:
    """Make a log of what was measured, every value in its channel's step.

    Args:
        name: of the log.
        time: s, shape (rows,).
        rows: role -> values, shape (rows,).
        lambda_step: of the wideband.
    """
    channels, digest = [], hashlib.sha256(np.round(time, 3).tobytes())
    for role, (title, unit, _, step, decimals) in CHANNELS.items():
        if role in rows:
            values = in_steps(rows[role], lambda_step if role == "lambda_measured" else step, decimals)
            digest.update(values.tobytes())
            channels.append(Channel(title, unit, Column(values), unit))
    return Log(
        name=name,
        sha256=digest.hexdigest(),
        time=Column(np.round(time, 3)),
        channels=tuple(channels),
        roles={role: CHANNELS[role][0] for role in CHANNELS if role in rows},
        notes=("Made by the demo's virtual engine.",),
    )


def csv_text(log: Log) -> str:
    """Write a demo log as delimited text (RFC 4180, lines end in CR LF), numbers as short as they read back equal."""
    written = {title: (unit, decimals) for title, _, unit, _, decimals in CHANNELS.values()}
    heads, columns = ["Time (s)"], [_texts(log.time.values)]
    for channel in log.channels:
        unit = written[channel.name][0]
        heads.append(f"{channel.name} ({unit})" if unit else channel.name)
        columns.append(_texts(channel.values))
    lines = [",".join(heads), *map(",".join, zip(*columns, strict=True))]
    return "\r\n".join(lines) + "\r\n"


def _texts(values: FloatArray) -> list[str]:
    return ["" if value != value else repr(value).removesuffix(".0") for value in values.tolist()]  # noqa: PLR0124 - NaN
