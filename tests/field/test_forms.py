"""Every form of a log or table that is promised to be read, and the shapes of the field that are written in it.

Shapes for work that fared as a person would have it are listed in right.txt, and all are judged by
`tests/benchmarks/field.py`; here it is held that no form is without its shape, and that none of them was lost.
"""

from pathlib import Path

import pytest

from field.shapes import all_shapes

SHAPES = {shape.name: shape for shape in all_shapes()}
RIGHT = frozenset((Path(__file__).parent / "right.txt").read_text().split())
FORMS = {
    # Time
    "seconds, ms and µs since 1970, under any name": "time/epoch_s_ts time/epoch_us_unixtime time/epoch_ms_date "
    "time/epoch_s_x time/epoch_ns",
    "parts of a day, and days of a spreadsheet": "time/day_fraction time/serial_days time/serial_days_comma",
    "moments in words": "time/days_words time/weekday_words time/month_word_long roadside/clock_spanish_afternoon",
    "ticks, found by a second clock or asked for": "time/ticks_10us_with_clock time/ticks_32768_with_clock "
    "time/ticks_10us_alone own_time/long_10us_ticks",
    "three header rows": "time/three_header_rows header/names_then_kinds",
    "newest first": "time/newest_first time/newest_first_epoch time/newest_first_clock",
    # Header
    "one name more than values": "own_time/trailing_separator_header own_time/name_without_values "
    "own_time/empty_last_column",
    "trailing separators": "own_time/trailing_separator_values own_time/trailing_separator_both",
    "titles and blank lines above": "header/titles header/titles_as_wide header/header_line_12 trade/double_blank_head",
    "units in a row of their own": "header/unit_row header/unit_row_bracketed header/unit_row_above table/curve_units_row",
    "marker columns": "header/marker_column header/event_column_middle header/comment_column",
    "ways of writing names": "header/snake header/dots header/brackets header/camel header/pascal header/upper",
    "abbreviations and whole words": "header/abbreviations header/long_names header/described header/words_run_together",
    "German, French, Spanish, Italian, Portuguese": "header/german header/french_bare header/spanish header/italian "
    "header/portuguese",
    "Dutch, Polish, Czech, Swedish": "header/dutch header/polish header/czech header/swedish",
    "short names of an ECU program's variables, by their structure": "header/structure header/structure_units",
    # Quantities
    "fuel over air": "quantity/phi quantity/phi_words quantity/fuel_air_ratio",
    "lambda in percent and thousandths": "quantity/lambda_percent quantity/lambda_thousandths quantity/lambda_per_mille",
    "air-fuel ratios": "quantity/afr_both quantity/afr_colon quantity/afr_measured_lambda_commanded",
    "trims as factor, fraction, percent, around 100": "quantity/trim_factor quantity/trim_fraction quantity/trim_raster "
    "quantity/trim_100_based quantity/trim_fraction_marked_percent",
    "both trims in one": "quantity/trim_total quantity/trim_total_factor trade/total_trim_only",
    "throttle as a fraction": "quantity/throttle_fraction quantity/throttle_fraction_percent",
    "vacuum, inches of mercury, kg/cm²": "quantity/vacuum_inhg quantity/vacuum_kpa_negative quantity/pressure_inhg "
    "quantity/pressure_kg_cm2 quantity/pressure_kg_cm2_plain",
    "frequency as a period, engine speed in thousands": "quantity/sensor_period_us quantity/rpm_thousands",
    "airflow in kg/h, lb/min, mg a stroke, g a cylinder": "quantity/airflow_kg_h quantity/airflow_lb_min "
    "quantity/airflow_mg_stroke quantity/airflow_g_cyl",
    "status as word, bits, hexadecimal, enumeration": "quantity/status_words quantity/status_bits quantity/status_hex "
    "quantity/status_enumeration_0_1",
    # Containers
    "Parquet, JSON, SQLite, NumPy, MAT": "container/parquet container/json_lines container/json_records container/sqlite "
    "container/npz container/mat",
    "several sheets or groups": "container/xlsx_channels_on_two_sheets own_time/groups_in_one_file trade/clock_a_group",
    "two logs of one drive at different rates": "own_time/two_files_rates own_time/two_files_wideband "
    "trade/wideband_file_late",
    "transposed": "container/transposed container/transposed_tabs",
    "a folder of files": "container/folder_one own_time/folder_of_two trade/folder_in_a_row",
    # Tables
    "title and units rows, a leading empty column": "table/curve_title table/grid_title_wide table/grid_units_row "
    "table/grid_leading_empty_column",
    "thousands in all signs": "table/curve_thousands_comma table/curve_thousands_apostrophe table/curve_thousands_space "
    "table/curve_thousands_narrow_space table/curve_thousands_dot table/curve_thousands_underscore",
    "percent and units in cells": "table/grid_percent_cells table/curve_units_in_cells table/grid_units_on_axes",
    "corners": "table/grid_corner_slash table/grid_corner_backslash table/grid_corner_bar",
    "names of axes in rows and columns of their own": "table/grid_axis_names_apart table/grid_column_name_above",
    "axes repeated at right and bottom": "table/grid_axes_repeated table/grid_axis_repeated_right "
    "afield/grid_axis_at_bottom",
    "falling axes": "table/grid_falling_rows table/grid_falling_columns table/grid_falling_both table/curve_falling",
    "several tables in one file": "table/grid_two_in_one_file table/curve_two_in_one_file container/xlsx_two_logs",
    "one breakpoint": "table/curve_one_breakpoint table/grid_one_row",
}


@pytest.mark.parametrize("form", FORMS)
def test_a_form_has_its_shapes_and_those_for_work_fare_as_wanted(form: str) -> None:
    names = FORMS[form].split()
    assert names
    assert [name for name in names if name not in SHAPES] == []
    assert [name for name in names if SHAPES[name].split == "work" and name not in RIGHT] == []
