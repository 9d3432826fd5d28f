"""Calibration workbench: from drive logs and an airflow table to a corrected, approved table."""

__version__ = "0.1.0"
