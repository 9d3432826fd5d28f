"""One drive, however it is written, gives the same evidence within its intervals, and never more of it than was read.

Whole, with blanks, polled in turn (held or blank), only on change, each group on a clock of its own, in blocks, long,
and in two files of different rates: each cell that is proven in both agrees within its intervals, and no interval is
narrower than the whole log's own, as it would be where a held value counted twice.
"""

from dataclasses import replace

import pytest

from field.judge import judge
from field.shapes import all_shapes

BY_NAME = {shape.name: shape for shape in all_shapes()}
ONE_FILE = [
    "own_time/blank_2_percent",
    "own_time/blank_14_percent",
    "own_time/in_turn_3_blank",
    "own_time/in_turn_8_held",
    "own_time/all_on_change",
    "own_time/states_on_change",
    "own_time/wideband_at_5_hz_held",
    "own_time/own_time_columns_rates",
    "own_time/groups_in_one_file",
    "own_time/long_s",
    "own_time/long_grouped_by_channel",
    "own_time/one_channel_a_row",
    "trade/clock_a_group",
    "trade/two_rows_a_moment",
]
TWO_FILES = {
    "own_time/two_files_wideband": (),
    "own_time/two_files_rates": (),
    "own_time/two_files_trims": (),
    "own_time/one_bank_a_file": ("--later", "0"),
    "own_time/two_files_relative": ("--later", "0"),
    "trade/wideband_file_late": (),
    "trade/wideband_file_jitter": (),
}


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("name", ONE_FILE)
def test_one_file(name: str) -> None:
    verdict = judge(BY_NAME[name])
    assert verdict.kind == "right", verdict.message


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("name", TWO_FILES)
def test_two_files_that_are_said_to_be_of_one_drive(name: str) -> None:
    shape = BY_NAME[name]
    built = shape.build()
    flags = ("--together", *TWO_FILES[name])
    verdict = judge(replace(shape, build=lambda: replace(built, flags=flags), keep=0.5))
    assert verdict.kind == "right", verdict.message
