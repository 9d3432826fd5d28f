"""Calibration workbench: from drive logs and an airflow table to a corrected, approved table."""

import sys

__version__ = "1.0.0"
# How the commands are typed: in the bundle the program stands for itself.
PROGRAM = "calibration-workbench" if getattr(sys, "frozen", False) else "python -m workbench"
