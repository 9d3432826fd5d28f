"""Logs as calibrators bring them from the field (invented data): none is misread in silence."""

from pathlib import Path

import numpy as np
import pytest
from logs_by_hand import AT, COLUMNS, PLAIN, ROWS, check, read, written

from workbench.errors import FileError, WorkbenchError
from workbench.model.log import Log


def clock(start: float, hours: int) -> list[str]:
    """Write the drive with clock times from `start` s on, whose hours begin anew after so many (0: no hours)."""

    def cell(label: str, value: float) -> str:
        if "Time" not in label:
            return f"{value:.4f}"
        told = start + value
        hour = int(told // 3600)
        shown = "" if hours == 0 else f"{(hour - 1) % 12 + 1 if hours == 12 else hour % 24}:"
        return f"{shown}{int(told // 60) % 60:02d}:{told % 60:04.1f}"

    return written(cell=cell)


def said(log: Log, words: str) -> bool:
    return any(words in note for note in log.notes)


NO_BREAK = "\u00a0"
QUOTED = [f'"{label}"'.replace(" (", "\n(") for label in COLUMNS]
READ_RIGHT = {
    "hours of a twelve-hour clock without am and pm": (clock(12 * 3600 + 3595, 12), "passes twelve hours at row 51"),
    "minutes and seconds over the hour": (clock(3595, 0), "passes the hour at row 51"),
    "hours over midnight": (clock(86395, 24), "passes midnight at row 51"),
    "line ends inside the names": ([",".join(QUOTED), *PLAIN[1:]], ""),
    "names by commas, values by semicolons": (
        [PLAIN[0], *(line.replace(",", ";") for line in PLAIN[1:])],
        "channel names are separated by ','",
    ),
    "units in the first row of values": (
        [",".join(label.split(" (")[0] for label in COLUMNS), "s,rpm,g/s,%,%,,,°C,%", *PLAIN[1:]],
        "",
    ),
    "blanks that do not break, around numbers and between thousands": (
        written(
            delimiter=";",
            cell=lambda _, value: f" {value:,.3f} ".replace(",", " ").replace(".", ",").replace(" ", NO_BREAK),
        ),
        "decimal comma",
    ),
    "lambda with its sign behind it": (
        written(
            delimiter=";",
            cell=lambda label, value: f"{value:.3f} λ".replace(".", ",") if "Lambda" in label else f"{value:.4f}",
        ),
        "Units attached to the cells were removed: Lambda commanded (λ), Lambda measured (λ)",
    ),
    "a row number without a name before the time": (
        [f"#,{PLAIN[0]}", *(f"{at},{line}" for at, line in enumerate(PLAIN[1:], 1))],
        "",
    ),
    "milliseconds since the logger was switched on, past a hundred million": (
        written(
            {"Time (s)": ("millis", 123_456_789 + 100 * AT)},
            cell=lambda label, value: f"{value:.0f}" if label == "millis" else f"{value:.4f}",
        ),
        "millis was read as milliseconds",
    ),
    "descriptions below the names": (
        [PLAIN[0], "elapsed,crank,hot film,bank one,bank one,target,sensor,thermostat,plate", *PLAIN[1:]],
        "line between the channel names and their values was skipped",
    ),
    "thin blanks between thousands": (
        written(
            delimiter=";",
            cell=lambda _, value: f"{value:,.3f}".replace(",", "\u2009").replace(".", ","),
        ),
        "thousands separators",
    ),
    "dashes for minus signs": ([line.replace("-", "\u2013") for line in PLAIN], ""),
    "statistics above the values": (
        [PLAIN[0], *(f"{word}{',1' * 8}" for word in ("Min", "Max", "Average")), *PLAIN[1:]],
        "a mean, maximum or total: line 2, line 3, line 4.",
    ),
}


@pytest.mark.parametrize("shape", READ_RIGHT)
def test_a_log_from_the_field_is_read_right(shape: str, tmp_path: Path) -> None:
    lines, words = READ_RIGHT[shape]
    log = read(tmp_path, lines)
    check(log)
    assert not words or said(log, words), log.notes


def test_a_rate_that_changes_keeps_its_times(tmp_path: Path) -> None:
    time = np.concatenate([AT[:60] * 0.1, 6 + AT[:60] * 0.02])
    log = read(tmp_path, written({"Time (s)": ("Time (s)", time)}))
    np.testing.assert_allclose(log.time.values, time)


def test_a_drive_appended_to_an_old_file_is_a_trip_of_its_own(tmp_path: Path) -> None:
    other = written({"Coolant (°C)": ("Coolant (°C)", 91 + AT / 100)})
    log = read(tmp_path, ["Unit,7", "Date,2024-05-01", *PLAIN, "", "Unit,7", "Date,2024-05-02", *other])
    assert log.rows == 2 * ROWS
    assert said(log, "restarts at row 121: 2 drives")
    assert said(log, "2 rows were dropped, not padded")


def test_a_drive_pasted_twice_counts_once(tmp_path: Path) -> None:
    log = read(tmp_path, [*PLAIN, "", *PLAIN])
    assert log.rows == ROWS
    assert said(log, "120 rows repeat earlier ones in every channel")


@pytest.mark.parametrize("level", [0.0, 0.68, 1.0, 1.99])
def test_of_two_widebands_the_one_that_lives_is_taken(level: float, tmp_path: Path) -> None:
    lines = [
        line.replace(",Lambda measured", ",Wideband 1 lambda,Wideband 2 lambda") if at == 0 else line
        for at, line in enumerate(PLAIN)
    ]
    place = list(COLUMNS).index("Lambda measured")
    for at in range(1, len(lines)):
        cells = lines[at].split(",")
        lines[at] = ",".join([*cells[:place], f"{level:g}", *cells[place:]])
    log = read(tmp_path, lines)
    assert log.roles["lambda_measured"] == "Wideband 2 lambda"
    if level:
        assert "Wideband 1 lambda (stands still)" in log.guesses["lambda_measured"]


def test_of_least_greatest_and_average_the_average_is_taken_in_its_unit(tmp_path: Path) -> None:
    words = ("Min", "Max", "Avg")
    flow = 3.6 * COLUMNS["Airflow (g/s)"]
    lines = [f"Time (s),Throttle (%) Avg,{','.join(f'Airflow (kg/h) {word}' for word in words)}"]
    lines += [f"{at / 10},20,{flow[at] * 0.9:.4f},{flow[at] * 1.1:.4f},{flow[at]:.4f}" for at in range(ROWS)]
    log = read(tmp_path, lines)
    assert log.roles["airflow"] == "Airflow Avg"
    np.testing.assert_allclose(log.playing("airflow"), COLUMNS["Airflow (g/s)"], rtol=1e-4)
    assert "throttle" in log.roles


def test_a_name_whose_values_do_not_fit_is_told(tmp_path: Path) -> None:
    counts = {"Lambda measured": ("Lambda measured", 3000 * COLUMNS["Lambda measured"])}
    log = read(tmp_path, written(counts))
    check(log, but=("lambda_measured",))
    assert said(
        log, "Lambda measured has the name of lambda_measured, but most of its values, around 2968.3, are impossible"
    )
    assert not said(read(tmp_path, PLAIN), "has the name of")


REFUSED: dict[str, tuple[list[str], type[WorkbenchError], str, str]] = {
    "a drive with one more channel, appended": (
        [*PLAIN, f"{PLAIN[0]},Boost (kPa)", *(f"{line},101" for line in PLAIN[1:])],
        FileError,
        "Line 122 of x.csv names other channels",
        "Split the file there",
    ),
    "decimal commas among commas": (
        [PLAIN[0], *(line.replace(".", ",") for line in written(cell=lambda _, value: f"{value:.3f}")[1:])],
        FileError,
        "twice as many cells as the header",
        "with semicolons or tabs",
    ),
}


@pytest.mark.parametrize("shape", REFUSED)
def test_what_would_be_half_read_or_read_backwards_is_refused(shape: str, tmp_path: Path) -> None:
    lines, kind, words, remedy = REFUSED[shape]
    with pytest.raises(kind, match=words) as refused:
        read(tmp_path, lines)
    assert remedy in refused.value.hint


def test_rows_that_come_newest_first_are_turned_round(tmp_path: Path) -> None:
    log = read(tmp_path, [PLAIN[0], *PLAIN[:0:-1]])
    check(log)
    assert any("newest first" in note for note in log.notes)
