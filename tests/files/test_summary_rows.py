"""Lines at the end of a log that are no moments of the drive are left out, and told (invented data)."""

from pathlib import Path

import numpy as np
import pytest
from logs_by_hand import AT, COLUMNS, PLAIN, ROWS, check, read, written

from workbench.files.moments.summary_rows import summary_lines
from workbench.files.vocabulary.recording import Field

MEAN = [f"{values.mean():.4f}" for values in COLUMNS.values()]
MOST = [f"{values.max():.4f}" for values in COLUMNS.values()]
LEAST = [f"{values.min():.4f}" for values in COLUMNS.values()]
ENDINGS = {
    "the mean": [MEAN],
    "the maximum": [MOST],
    "the total": [[f"{values.sum():.3f}" for values in COLUMNS.values()]],
    "the mean behind the duration": [["11.9", *MEAN[1:]]],
    "the mean behind a later time": [["60", *MEAN[1:]]],
    "the mean behind 0": [["0", *MEAN[1:]]],
    "the mean behind a word": [["Mean", *MEAN[1:]]],
    "the mean behind nothing": [["", *MEAN[1:]]],
    "three": [LEAST, MOST, MEAN],
    "words and an empty line": [[""], ["Average", *MEAN[1:]], ["Max", *MOST[1:]]],
}


@pytest.mark.parametrize("ending", ENDINGS)
def test_a_summary_is_left_out_and_told(ending: str, tmp_path: Path) -> None:
    log = read(tmp_path, PLAIN + [",".join(cells) for cells in ENDINGS[ending]])
    check(log)
    assert any("not part of the drive" in note or "without a time stamp" in note for note in log.notes), log.notes


def test_a_summary_behind_clock_times_is_left_out(tmp_path: Path) -> None:
    def cell(label: str, value: float) -> str:
        return f"14:05:{20 + value:06.3f}" if "Time" in label else f"{value:.4f}"

    for time in ("14:05:26.000", "00:00:11.900", "0:00:00"):
        check(read(tmp_path, [*written(cell=cell), ",".join([time, *MEAN[1:]])]))


def test_midnight_close_to_the_end_is_no_step_back() -> None:
    stamps = np.concatenate([86_399.7 - 0.1 * np.arange(40)[::-1], [0.1, 0.2]])
    assert summary_lines(stamps, [], of_day=True) == (0, "")
    assert summary_lines(stamps, [])[0] == 2


def test_another_trip_and_a_clock_that_wavers_are_kept() -> None:
    trip = np.arange(40) / 10
    assert summary_lines(np.concatenate([trip, trip[:9]]), [])[0] == 0
    wavering = trip.copy()
    wavering[[10, 39]] -= 0.15
    assert summary_lines(wavering, [])[0] == 0


def test_an_engine_that_stops_or_peaks_in_the_last_row_is_kept() -> None:
    """All at their least, or all at their most while the time goes on: that is how drives and pulls end."""
    time = np.arange(60.0)
    for last in (0.0, 9000.0):
        fields = [Field(str(at), "", np.append(1000 + AT[:59] * at, last)) for at in range(1, 6)]
        assert summary_lines(time, fields)[0] == 0


def test_whole_numbers_near_their_mean_are_no_summary() -> None:
    time = np.arange(200) / 10
    fields = [Field(str(at), "", 800.0 + (np.arange(200) // at) % 2) for at in range(1, 7)]
    assert summary_lines(time, fields)[0] == 0
    assert ROWS > 20


@pytest.mark.parametrize("word", ["Average", "MAX:", "min"])
def test_a_summary_under_the_header_is_left_out_and_changes_no_number(word: str, tmp_path: Path) -> None:
    first = [word, *MEAN[1:-1], "2.382"]
    log = read(tmp_path, [PLAIN[0], ",".join(first), *PLAIN[1:]])
    check(log)
    assert any("not part of the drive" in note and "line 2." in note for note in log.notes), log.notes
    assert not any("thousands" in note for note in log.notes)
