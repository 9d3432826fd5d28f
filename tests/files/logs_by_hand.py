"""A small invented drive, written as text in whatever way a test asks for, and held against what was read of it."""

from collections.abc import Callable
from pathlib import Path

import numpy as np

from workbench.files.logs import read_log
from workbench.model.arrays import FloatArray
from workbench.model.log import Log
from workbench.work import run

ROWS = 120
AT = np.arange(ROWS)
SWING = np.sin(AT / 9)
COLUMNS: dict[str, FloatArray] = {
    "Time (s)": AT * 0.1,
    "Engine speed (rpm)": 1800 + 900 * SWING,
    "Airflow (g/s)": 18 + 9 * SWING,
    "STFT bank 1 (%)": 2.5 + 2 * np.sin(AT / 3),
    "LTFT bank 1 (%)": np.where(AT > 60, -2.3, -3.1),
    "Lambda commanded": np.where(AT % 40 < 30, 1.0, 0.88),
    "Lambda measured": np.where(AT % 40 < 30, 1.0, 0.88) * (1 + 0.02 * np.sin(AT)),
    "Coolant (°C)": 88 + AT / 100,
    "Throttle (%)": 22 + 15 * SWING,
}
ROLES = {
    "engine_speed": "Engine speed",
    "airflow": "Airflow",
    "stft_1": "STFT bank 1",
    "ltft_1": "LTFT bank 1",
    "lambda_commanded": "Lambda commanded",
    "lambda_measured": "Lambda measured",
    "coolant_temperature": "Coolant",
    "throttle": "Throttle",
}


def written(
    swapped: dict[str, tuple[str, FloatArray]] | None = None,
    *,
    delimiter: str = ",",
    cell: Callable[[str, float], str] = lambda _, value: f"{value:.4f}",
) -> list[str]:
    """Write the columns, some of them swapped for (label, values), as header and lines."""
    columns = [(swapped or {}).get(label, (label, values)) for label, values in COLUMNS.items()]
    lines = [delimiter.join(label for label, _ in columns)]
    return lines + [delimiter.join(cell(label, float(values[row])) for label, values in columns) for row in range(ROWS)]


def read(tmp_path: Path, lines: list[str] | bytes) -> Log:
    path = tmp_path / "x.csv"
    path.write_bytes(lines if isinstance(lines, bytes) else ("\n".join(lines) + "\n").encode())
    return run(read_log(path))


def check(log: Log, but: tuple[str, ...] = ()) -> None:
    """Hold all roles and their values against what was written."""
    assert log.rows == ROWS
    np.testing.assert_allclose(log.time.values - log.time.values[0], COLUMNS["Time (s)"], atol=0.0011)
    known = {label.split(" (")[0]: values for label, values in COLUMNS.items()}
    for role, name in ROLES.items():
        if role not in but:
            assert log.roles.get(role) == name, role  # type: ignore[call-overload]
            np.testing.assert_allclose(log.playing(role), known[name], rtol=0.002, atol=0.06)  # type: ignore[arg-type]


PLAIN = written()
