"""Times in every dress: what is read, what is repaired, and what is told."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from field.shape import log, std
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from workbench.errors import InputError
from workbench.files.logs import read_log
from workbench.files.moments.stamps import make_clock
from workbench.files.moments.time_axis import find_moments
from workbench.files.text.timestamps import read_stamps
from workbench.files.vocabulary.recording import Field, Recording
from workbench.work import run

RPM = Field("rpm", "", np.full(40, 900.0))


def recording(name: str, unit: str, values: list[float] | np.ndarray) -> Recording:
    array = np.asarray(values, dtype=float)
    return Recording("x.csv", (Field(name, unit, array), Field("rpm", "", np.full(array.size, 900.0))))


def texts(name: str, cells: list[str]) -> Recording:
    field = Field(name, "", np.full(len(cells), np.nan), np.array(cells, dtype=object))
    return Recording("x.csv", (field, Field("rpm", "", np.full(len(cells), 900.0))))


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("1985-04-12T23:20:50.52Z", 482196050.52),
        ("1996-12-19T16:39:57-08:00", 851042397),
        ("1990-12-31T23:59:60Z", 662688000),
    ],
)
def test_rfc_3339_examples(text: str, seconds: float) -> None:
    """RFC 3339, section 5.8; the leap second counts as the one after it."""
    stamps = read_stamps([text], "t")
    assert stamps is not None
    assert stamps.seconds[0] == pytest.approx(seconds, abs=1e-6)


@pytest.mark.parametrize(
    ("cells", "seconds", "said"),
    [
        (["12:03:04.567"], 43384.567, "time of day"),
        (["12:03:04,567"], 43384.567, "time of day"),
        (["12:03:04:567"], 43384.567, "time of day"),
        (["1:02:03 PM"], 46923, "time of day"),
        (["12:00:01 am"], 1, "time of day"),
        (["05:12.3"], 312.3, "time of day"),
        (["5' 12.3\""], 312.3, "time of day"),
        (["1h 05\u203212,3\u2033"], 3912.3, "time of day"),
        (["17.03.2024 10:00:00,250"], 1710669600.25, "day-month-year"),
        (["03/25/2024 1:00:00 PM"], 1711371600, "month-day-year"),
        (["03/04/2024 1:00:00 PM"], 1709557200, "assumed month-day-year"),
        (["03.04.2024 13:00:00"], 1712149200, "assumed day-month-year"),
        (["14-Mar-2024 10:00:00"], 1710410400, "day-month-year"),
        (["14.03.24 10.00.00.25"], 1710410400.25, "day-month-year"),
        (["[14.03.2024 10:00:00]"], 1710410400, "day-month-year"),
        (["20240314T100000,250+0100"], 1710406800.25, "with its time zone"),
        (["(05:12.3)"], 312.3, "time of day"),
        (["2024/03/14 10:00:00"], 1710410400, "year-month-day"),
        (["14-03-24 10:00:00"], 1710410400, "day-month-year"),
    ],
)
def test_texts_are_read_as_times(cells: list[str], seconds: float, said: str) -> None:
    stamps = read_stamps(cells, "t")
    assert stamps is not None
    assert stamps.seconds[0] == pytest.approx(seconds, abs=1e-6)
    assert said in stamps.note


@pytest.mark.parametrize(
    "cell",
    [
        "Tue 3 Mar 2026 14:03:01.25", "Tuesday, 3 March 2026, 14:03:01.25", "Tue Mar  3 14:03:01.25 2026",
        "Di., 3. März 2026 14:03:01,25", "mar. 3 mars 2026 14:03:01.25", "martes 3 de marzo de 2026, 14:03:01.25",
        "mar 3 mar 2026 14:03:01.25", "ter, 3 de março de 2026 14:03:01.25", "di 3 mrt 2026 14:03:01.25",
        "wt. 3 marca 2026 14:03:01.25", "út 3. března 2026 14:03:01.25", "tis 3 mars 2026 14:03:01.25",
        "3rd March 2026 14:03:01.25", "14:03:01.25 3 March 2026", "14:03:01.25 03.03.2026", "2026-03-03_14-03-01-25",
        "2026.03.03 14.03.01.25", "03 Mar 2026 at 2:03:01.25 PM", "2026-03-03 14:03:01.25 CET",
        "Tue, 03 Mar 2026 14:03:01.25 +0000", "3 mars 2026 14:03:01,250", "Tuesday, 3 March 2026, 14:03:01.250 (UTC)",
        "3.3.2026 14:03:01.25 (CET)",
    ],
)  # fmt: skip
def test_a_moment_in_words_is_read_in_every_order_and_language(cell: str) -> None:
    stamps = read_stamps([cell], "t")
    assert stamps is not None
    assert not stamps.of_day
    assert stamps.seconds[0] == 1772546581.25


@pytest.mark.parametrize(
    "cell",
    [
        "0 days 00:04:34.95",
        "0d 00h 04m 34.95s",
        "0 h 4 min 34.95 sec",
        "+00 00:04:34.95",
        "00:00:04:34.95",
        "4 min 34,95 s", "PT274.95S", "PT4M34.95S",
    ],
)  # fmt: skip
def test_a_span_in_words_is_read(cell: str) -> None:
    stamps = read_stamps([cell], "t")
    assert stamps is not None
    assert stamps.seconds[0] == pytest.approx(274.95)


@pytest.mark.parametrize("cell", ["14:03:01 May", "3 March 14:03:01 7", "March 2026", "2026-13-41_14-03-01"])
def test_half_a_moment_is_none(cell: str) -> None:
    stamps = read_stamps([cell], "t")
    assert stamps is None or stamps.of_day or np.isnan(stamps.seconds).all()


@pytest.mark.parametrize(("unit", "count"), [("ns", 1e-9), ("cs", 0.01), ("ds", 0.1), ("100 us", 1e-4), ("d", 86400.0)])
def test_a_clock_counts_in_the_unit_it_states(unit: str, count: float) -> None:
    moments = find_moments(recording("Time", unit, np.arange(40) * 0.05 / count), None)
    assert moments.clock.time[-1] == pytest.approx(1.95)
    assert not moments.questions


@pytest.mark.parametrize("name", ["Time (jf)", "Time (3 MHz)"])
def test_a_clock_in_a_unit_that_nobody_knows_is_asked_about(name: str) -> None:
    (question,) = find_moments(recording(name, "", np.arange(40) * 0.5), None).questions
    assert question.channel == name
    assert len(question.alternatives) > 1


def test_a_count_of_a_clock_may_be_stated_as_any_number_of_a_unit_of_time(tmp_path: Path) -> None:
    rows = "".join(f"{round(k * 32768 / 10)},{900 + k},{20 + k % 7}\n" for k in range(60))
    (tmp_path / "x.csv").write_text("ticks,rpm,MAP (kPa)\n" + rows)
    log = run(read_log(tmp_path / "x.csv", units={"ticks": "30.517578125us"}))
    assert log.time.values[-1] == pytest.approx(5.9, abs=1e-3)


def test_microseconds_are_no_seconds_however_their_sign_is_written() -> None:
    for sign in ("µ", "\u03bc"):
        moments = find_moments(recording(f"t {sign}s", "", np.arange(40) * 5e4), None)
        assert moments.clock.time[-1] == pytest.approx(1.95)


def test_what_was_logged_before_the_date_was_set_comes_before_the_rest() -> None:
    time = np.where(np.arange(40) < 10, 0.0, 1.77e9) + np.arange(40) * 0.05
    moments = find_moments(recording("time", "s", time), None)
    assert moments.clock.time[[0, 9, 10, -1]] == pytest.approx(
        [1.77e9 - 60 + 0.05, 1.77e9 - 59.5, 1.77e9 + 0.5, 1.77e9 + 1.95]
    )
    assert moments.recorded is not None
    assert "date is set" in " ".join(moments.notes)


def test_counts_of_100_ns_since_1601_are_known() -> None:
    counts = (1772546581.0 + 11644473600 + np.arange(40) / 10) * 1e7
    moments = find_moments(recording("Timestamp", "", counts), None)
    assert moments.clock.time[[0, -1]] == pytest.approx([1772546581.0, 1772546584.9], abs=1e-5)


@pytest.mark.parametrize(("a_row", "asked"), [(1.0, False), (0.05, True)])
def test_a_clock_in_counts_of_one_may_only_count_rows(a_row: float, *, asked: bool) -> None:
    rpm = Field("rpm", "", 2200 + 900 * np.sin(np.arange(400) * a_row * 0.8))
    fields = (Field("Time", "", np.arange(400.0)), rpm)
    moments = find_moments(Recording("x.csv", fields), None)
    assert bool(moments.questions) == asked
    unknown = (fields[0], Field("Airflow", "g/s", 20 + rpm.values / 100))
    assert find_moments(Recording("x.csv", unknown), None).questions


def test_ticks_are_asked_about_however_well_one_count_fits() -> None:
    time = np.arange(400) * 0.1
    rpm = Field("rpm", "", 1800 + 900 * np.sin(time))
    fields = (Field("ticks", "", np.rint(time * 32768)), rpm)
    (question,) = find_moments(Recording("x.csv", fields), None).questions
    assert any("3.05176e-05" in each.flag for each in question.alternatives)


def test_rows_that_repeat_earlier_ones_count_once() -> None:
    time = np.append(np.arange(300), np.arange(200, 420)) * 0.1
    fields = (Field("Time", "s", time), Field("rpm", "", 1800 + 900 * np.sin(time)))
    moments = find_moments(Recording("x.csv", fields), None)
    assert moments.clock.time == pytest.approx(np.arange(420) * 0.1)
    assert any("100 rows repeat earlier ones" in note for note in moments.notes)
    other = (fields[0], Field("rpm", "", 1800 + 900 * np.sin(np.arange(520) * 0.1)))
    assert find_moments(Recording("x.csv", other), None).clock.time.size == 520


@pytest.mark.parametrize("day", [46084.5, 61102.5, 740044.5, 2461103.0])
def test_days_since_any_date_tell_when_a_log_was_recorded(day: float) -> None:
    """3 March 2026, noon: as a spreadsheet, modified Julian, since the year 0, and Julian (day counts from memory)."""
    recorded = find_moments(recording("Date", "", day + np.arange(40) / 864000), None).recorded
    assert recorded is not None
    assert recorded.first == pytest.approx(1772539200, abs=1)


@pytest.mark.parametrize("half", ["p. m.", "p.m.", "P. M.", "pm", "p.\u00a0m.", "\u202fPM"])
def test_a_half_of_the_day_is_read_however_it_is_dotted(half: str) -> None:
    cells = [f"03/03/2026 02:03:01,25 {half}", f"03/03/2026 02:03:02,50 {half}"]
    found = read_stamps(cells, "Hora")
    assert found is not None
    assert found.seconds[0] % 86400 == 14 * 3600 + 181.25
    assert np.diff(found.seconds) == pytest.approx([1.25])


@pytest.mark.parametrize("cells", [["hello"], [""], [], ["12:99:00"] * 3 + ["x"] * 4, ["99-99-9999 10:00:00"]])
def test_texts_that_are_no_times(cells: list[str]) -> None:
    stamps = read_stamps(cells, "t")
    assert stamps is None or np.isnan(stamps.seconds).all()


@pytest.mark.parametrize(
    ("name", "unit", "values", "first", "last", "said"),
    [
        ("Time", "s", np.arange(40) / 10, 0, 3.9, ""),
        ("Time", "ms", np.arange(40) * 100, 0, 3.9, ""),
        ("Zeit", "min", np.arange(40) / 600, 0, 3.9, ""),
        ("Time", "", np.arange(40) * 100, 0, 3.9, "milliseconds"),
        ("time_ms", "", np.arange(40) * 2, 0, 0.078, "milliseconds"),
        ("Zeit in Minuten", "", np.arange(40) / 600, 0, 3.9, "minutes"),
        ("Timestamp", "", 1.7e9 + np.arange(40) / 10, 1.7e9, 1.7e9 + 3.9, "seconds since 1970"),
        ("Timestamp", "", 1.7e12 + np.arange(40) * 100, 1.7e9, 1.7e9 + 3.9, "milliseconds since 1970"),
        ("Timestamp", "", 1.7e15 + np.arange(40) * 1e5, 1.7e9, 1.7e9 + 3.9, "microseconds since 1970"),
        ("Date", "h", np.arange(40) / 3600, 0, 39, ""),
        ("time", "", 45000 + np.arange(40) / 864000, 1678838400, 1678838403.9, "spreadsheet date"),
        ("column 1", "", np.arange(40) / 10, 0, 3.9, "read as seconds"),
        ("ENGINE_RUN_TINE", "", np.arange(40.0), 0, 39, "run time ENGINE_RUN_TINE is used as time"),
    ],
)
def test_columns_are_read_as_time(
    name: str, unit: str, values: np.ndarray, first: float, last: float, said: str
) -> None:
    moments = find_moments(recording(name, unit, values), None)
    assert moments.clock.time[[0, -1]] == pytest.approx([first, last], abs=1e-5)
    assert said in " ".join(moments.notes)


def test_the_finer_of_two_time_columns_is_taken() -> None:
    fine = Field("Elapsed (s)", "s", np.arange(40) / 10)
    coarse = Field("Run time", "s", np.floor(np.arange(40) / 10))
    moments = find_moments(Recording("x.csv", (coarse, fine, RPM)), None)
    assert moments.field is fine


@pytest.mark.parametrize("name", ["Time since codes cleared", "Injection time", "rpm", "Time run with MIL on"])
def test_other_columns_are_no_time(name: str) -> None:
    field = Field(name, "s", np.arange(40) / 10)
    with pytest.raises(InputError, match="no column usable as time"):
        find_moments(Recording("x.csv", (RPM, field)), None)


def test_a_destroyed_time_column_is_named() -> None:
    with pytest.raises(InputError, match=r"Timestamp cannot be the time: it reads 1\.51336e\+12 in every row"):
        find_moments(recording("Timestamp", "", [1.51336e12] * 20), None)
    with pytest.raises(InputError, match="keeps falling"):
        find_moments(recording("Time", "s", np.tile([5.0, 4, 3, 2, 1], 20)), None)


def test_clock_times_pass_midnight() -> None:
    moments = find_moments(texts("Clock", ["23:59:58", "23:59:59", "00:00:00", "00:00:01"]), None)
    assert np.diff(moments.clock.time).tolist() == [1, 1, 1]
    assert any("midnight at row 3" in note for note in moments.notes)


def test_trips_are_put_behind_each_other() -> None:
    clock = make_clock(np.array([0.0, 1, 2, 3, 0, 1, 2]))
    assert clock.time.tolist() == [0, 1, 2, 3, 63, 64, 65]
    assert any("restarts at row 5: 2 drives" in note for note in clock.notes)


def test_rows_without_a_stamp_are_dropped_and_told() -> None:
    clock = make_clock(np.array([0.0, np.nan, 2.0]))
    assert clock.kept.tolist() == [True, False, True]
    assert clock.notes == ("1 row without a time stamp dropped.",)


def test_a_hole_is_told_and_kept() -> None:
    clock = make_clock(np.concatenate([np.arange(10), 100 + np.arange(10.0)]))
    assert clock.time[10] - clock.time[9] == 91
    assert any("the longest hole is 91 s, after row 10" in note for note in clock.notes)


def test_whole_seconds_are_refined_by_the_pace_of_the_rows() -> None:
    """Rows every 0.49 s, stamped with whole seconds: the true times come back within a few hundredths."""
    true = 5 + 0.49 * np.arange(1000)
    clock = make_clock(np.floor(true))
    off = clock.time - true
    inner = slice(60, -60)
    assert np.std(off[inner]) < 0.06
    assert np.all(np.floor(clock.time[inner]) - np.floor(true)[inner] <= 1)
    assert any("stand still" in note for note in clock.notes)


@given(arrays(float, st.integers(1, 60), elements=st.floats(-1e6, 1e6) | st.just(float("nan"))))
def test_a_clock_never_falls(stamps: np.ndarray) -> None:
    clock = make_clock(stamps)
    assert clock.time.size == int(np.isfinite(stamps).sum())
    assert np.all(np.diff(clock.time) >= 0)
    assert np.isfinite(clock.time).all()


@given(st.lists(st.floats(0.001, 10), min_size=2, max_size=50))
def test_a_clock_that_rises_is_left_alone(steps: list[float]) -> None:
    stamps = np.cumsum(steps)
    np.testing.assert_array_equal(make_clock(stamps).time, stamps)


PARTS = [(8, 59, second, 40 * part) for second in range(58, 60) for part in range(25)] + [
    (9, 0, second, 40 * part) for second in range(2) for part in range(25)
]


@pytest.mark.parametrize("names", [("Hour", "Minute", "Second", "Millisecond"), ("hh", "mm", "ss", "ms"),
                                   ("Stunde", "Minute", "Sekunde", "ms")])  # fmt: skip
def test_a_clock_whose_parts_stand_in_columns_is_put_together(tmp_path: Path, names: tuple[str, ...]) -> None:
    head = ",".join(["Year", "Day", *names, "Engine speed (rpm)"])
    rows = [f"2026,3,{h},{m},{s},{ms},{1000 + 10 * i}" for i, (h, m, s, ms) in enumerate(PARTS)]
    path = tmp_path / "parts.csv"
    path.write_text("\n".join([head, *rows]))
    log = run(read_log(path))
    assert np.allclose(np.diff(log.time.values), 0.04)
    assert log.roles["engine_speed"] == "Engine speed"
    assert any("put together" in note for note in log.notes)


def test_parts_of_a_day_go_on_after_midnight(tmp_path: Path) -> None:
    rows = [f"{(86390 + i / 10) / 86400 % 1:.9f},{1000 + i}" for i in range(200)]
    path = tmp_path / "midnight.csv"
    path.write_text("\n".join(["Time,Engine speed (rpm)", *rows]))
    log = run(read_log(path))
    assert np.allclose(np.diff(log.time.values), 0.1, atol=1e-4)


def test_frames_behind_a_semicolon_are_parts_of_a_second() -> None:
    """As of 30 pictures a second of which some numbers are left out."""
    stamps = read_stamps([f"13:00:{at // 30:02d};{at % 30:02d}" for at in range(300)], "Timecode")
    assert stamps is not None
    np.testing.assert_allclose(stamps.seconds - stamps.seconds[0], np.arange(300) / 30, atol=1e-3)


@pytest.mark.parametrize(("name", "count"), [("usec", 1e-6), ("micros", 1e-6), ("nsec", 1e-9)])
def test_a_clock_that_is_named_by_its_unit_alone(name: str, count: float) -> None:
    moments = find_moments(recording(name, "", np.arange(40) * 0.1 / count), None)
    assert moments.clock.time[-1] - moments.clock.time[0] == pytest.approx(3.9)


def test_rows_that_follow_too_quickly_for_any_logger_are_asked_about() -> None:
    """Seconds under a header of milliseconds: the drive would last half a second."""
    rows = np.arange(6000) / 10
    speed = Field("Engine speed", "rpm", 2000 + 900 * np.sin(rows / 3))
    moments = find_moments(Recording("x.csv", (Field("Time", "ms", rows), speed)), None)
    (question,) = moments.questions
    assert "--unit 'Time=s'" in [each.flag for each in question.alternatives]


@pytest.mark.parametrize(
    ("name", "count"), [("ms", 1000), ("Millisecond", 1000), ("usec", 1_000_000), ("1/100 s", 100)]
)
def test_a_column_that_begins_anew_with_each_second_tells_its_parts(name: str, count: int) -> None:
    steps = np.cumsum(np.tile([0.08, 0.31, 0.13, 0.1], 100)) + 36000.05
    clock = [f"{int(s // 3600):02d}:{int(s // 60 % 60):02d}:{int(s % 60):02d}" for s in steps]
    parts = Field(name, "", np.floor((steps % 1) * count))
    log = Recording("x.csv", (*texts("Time", clock).fields, parts))
    moments = find_moments(log, None)
    assert np.abs(moments.clock.time - steps).max() <= 1.001 / count
    assert any("tells the parts of each second" in note for note in moments.notes)


def test_a_column_that_rises_over_seconds_tells_no_parts_of_one() -> None:
    steps = np.arange(400) * 0.25 + 36000
    clock = [f"{int(s // 3600):02d}:{int(s // 60 % 60):02d}:{int(s % 60):02d}" for s in steps]
    rising = Field("Distance", "", np.floor(np.arange(400) * 7.0 % 1000))
    plain = find_moments(texts("Time", clock), None).clock.time
    seen = find_moments(Recording("x.csv", (*texts("Time", clock).fields, rising)), None)
    assert np.array_equal(seen.clock.time, plain)


@pytest.mark.parametrize("name", ["ms of day (ms)", "TOW (s)"])
def test_a_column_that_rises_in_a_unit_of_time_is_the_clock_whatever_it_is_called(tmp_path: Path, name: str) -> None:
    """It was refused, and its unit asked for though the file gives it."""
    first, *others = std()
    times = 1000 if "(ms)" in name else 1
    cells = tuple(f"{(46921.25 + float(cell)) * times:.2f}" for cell in first.cells)
    clock = replace(first, name=name.split(" (")[0], unit=name.split("(")[1].strip(")"), cells=cells)
    path = tmp_path / "drive.csv"
    path.write_bytes(log([*others, clock]).files["drive.csv"])
    found = run(read_log(path))
    assert found.time.values[-1] - found.time.values[0] == pytest.approx(float(first.cells[-1]), abs=0.01)
    assert any("taken for the time" in note for note in found.notes)
