"""The sample files: two tables that are wrong and the drives that show it, made again bit for bit at every call."""

from dataclasses import replace

from workbench.demo.drive import drive
from workbench.demo.engine import stale_table
from workbench.demo.recorder import csv_text
from workbench.demo.scenario import Scenario
from workbench.files.tables.tables import write_table_text

CURVE_CAR = Scenario(seed=7, minutes=12.0, pulls=0)
"""The car with an airflow sensor, on its part-throttle drive."""

GRID_CAR = Scenario(seed=11, kind="grid", minutes=12.0, pulls=3, rate_hz=10.0)
"""The car that works its airflow out from engine speed and manifold pressure."""


def sample_files() -> dict[str, str]:
    """Make all sample files: name -> text, to be written as UTF-8 with `newline=""`.

    `airflow_stale.csv` and `efficiency_stale.csv` are the tables in the cars; `part_throttle_drive.csv` and
    `pulls_drive.csv` were driven with the first, one after the other on the same day, `efficiency_drive.csv` with the
    second.
    """
    first = drive(CURVE_CAR, number=1)
    pulls = replace(CURVE_CAR, minutes=1.5, pulls=3, start_coolant_c=84.0, start_long_trims=first.long_trims)
    return {
        "airflow_stale.csv": write_table_text(stale_table(CURVE_CAR)),
        "part_throttle_drive.csv": csv_text(first.log),
        "pulls_drive.csv": csv_text(drive(pulls, number=2).log),
        "efficiency_stale.csv": write_table_text(stale_table(GRID_CAR)),
        "efficiency_drive.csv": csv_text(drive(GRID_CAR, number=1).log),
    }
