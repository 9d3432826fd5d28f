"""Shapes of time: how a row says when it was."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import numpy as np

from field.car import Floats, drive
from field.shape import Built, Col, Family, cells, col, edit, extra, log, mapped, round_, rows, std

SHAPES = Family("time")
START = datetime(2026, 3, 3, 14, 3, 1, 250_000, UTC)
EPOCH = START.timestamp()
SERIAL = EPOCH / 86400.0 + 25569.0  # days since 30 December 1899, as spreadsheets count


def clock(name: str, unit: str, convert: Callable[[Floats], Floats], decimals: int) -> Col:
    return col("time", name, unit, convert, decimals)


def spoken(name: str, say: Callable[[datetime], str], start: datetime = START) -> Col:
    """Give a time column in words: each moment as `say` writes it."""
    moments = drive()["time"].tolist()
    return Col("time", name, "", tuple(say(start + timedelta(seconds=second)) for second in moments))


def span(name: str, say: Callable[[float], str], unit: str = "") -> Col:
    return Col("time", name, unit, tuple(say(second) for second in drive()["time"].tolist()))


def _ms(moment: datetime) -> str:
    return f"{moment.microsecond // 1000:03d}"


def _numbers() -> None:
    plain = [
        ("epoch_s_ts", "ts", "", lambda t: EPOCH + t, 3), ("epoch_ms_timestamp", "timestamp", "", lambda t: 1e3 * (EPOCH + t), 0),
        ("epoch_us_unixtime", "unixtime", "", lambda t: 1e6 * (EPOCH + t), 0), ("epoch_ms_date", "date", "", lambda t: 1e3 * (EPOCH + t), 0),
        ("epoch_s_zeit", "Zeit", "", lambda t: EPOCH + t, 2), ("epoch_us_clock", "clock", "", lambda t: 1e6 * (EPOCH + t), 0),
        ("epoch_s_recorded_at", "recorded_at", "", lambda t: EPOCH + t, 4), ("epoch_ms_utc", "utcMillis", "", lambda t: 1e3 * (EPOCH + t), 0),
        ("epoch_s_x", "x", "", lambda t: EPOCH + t, 2), ("ms_t", "t", "", lambda t: 1e3 * t, 0), ("ms_time", "Time", "", lambda t: 1e3 * t, 0),
        ("us_time", "Time", "", lambda t: 1e6 * t + 81_220_000, 0), ("ms_elapsed", "elapsed", "", lambda t: 1e3 * t + 3, 0),
        ("minutes", "Time", "min", lambda t: t / 60, 6), ("hours", "Run time", "h", lambda t: t / 3600, 8),
        ("day_fraction", "Time", "", lambda t: SERIAL % 1 + t / 86400, 9), ("serial_days", "Timestamp", "", lambda t: SERIAL + t / 86400, 9),
        ("serial_days_datum", "Datum", "", lambda t: SERIAL + t / 86400, 8), ("serial_days_absolute", "AbsTime", "", lambda t: SERIAL + t / 86400, 10),
        ("matlab_days", "datenum", "", lambda t: EPOCH / 86400 + 719529 + t / 86400, 9),
        ("since_midnight", "Time of day", "s", lambda t: 50581.25 + t, 2), ("since_midnight_long", "SecondsOfDay", "", lambda t: 86300 + t, 2),
        ("ticks_of_64th", "Ticks", "1/64 s", lambda t: 64 * t, 1), ("from_minus", "Time", "s", lambda t: t - 100, 2),
        ("hundredths", "Time", "1/100 s", lambda t: 100 * t, 0), ("epoch_text_exponent", "stamp", "", lambda t: EPOCH + t, 2),
    ]  # fmt: skip
    for name, head, unit, convert, decimals in plain:
        SHAPES(name, lambda h=head, u=unit, f=convert, d=decimals: log(std(clock(h, u, f, d))))
    SHAPES("epoch_ns", lambda: log(std(span("time_ns", lambda t: f"{round((EPOCH + t) * 1000)}000000"))))
    SHAPES(
        "ticks_10us_alone", lambda: log(std(clock("Counter", "", lambda t: 1e5 * t, 0))), "ask",
        "a counter of 100,000 a second could be microseconds or anything", hints=("--rate", "tick", "unit", "time"),
    )  # fmt: skip
    SHAPES("ticks_10us_with_clock", lambda: _two_clocks("Ticks", 1e5), "either", "a second clock tells the tick")
    SHAPES("ticks_32768_with_clock", lambda: _two_clocks("RTC", 32768.0), "either", "a second clock tells the tick")
    SHAPES(
        "serial_days_comma", lambda: log(std(clock("Zeit", "", lambda t: SERIAL + t / 86400, 9)), sep=";", decimal=",")
    )
    SHAPES("thousands", lambda: log(std(span("Time", lambda t: f"{1e3 * t:,.0f}", "ms")), sep=";"))
    SHAPES("hhmmss_number", lambda: log(std(spoken("UTC", lambda m: m.strftime("%H%M%S.") + _ms(m)))))
    SHAPES("compact_digits", lambda: log(std(spoken("Stamp", lambda m: m.strftime("%Y%m%d%H%M%S") + _ms(m)))))
    SHAPES("interval_ms", lambda: log(std(span("dt", lambda t: "50", "ms"))), "either", "each row tells only the step")


def _two_clocks(name: str, a_second: float) -> Built:
    ticks = clock(name, "", lambda t: a_second * t + 4_000_000, 0)
    coarse = extra("Clock", [(START + timedelta(seconds=t)).strftime("%H:%M:%S") for t in drive()["time"].tolist()])
    return log([ticks, coarse, *std()[1:]])


def _words() -> None:
    said: list[tuple[str, str, Callable[[datetime], str]]] = [
        ("weekday_words", "Time", lambda m: f"{m:%a} {m.day} {m:%b %Y %H:%M:%S}.{_ms(m)}"),
        ("month_word", "Date and time", lambda m: f"{m:%d-%b-%Y %H:%M:%S}.{_ms(m)}"),
        ("month_word_long", "When", lambda m: f"{m:%B} {m.day}, {m:%Y} {m:%I:%M:%S}.{_ms(m)} {m:%p}"),
        ("iso_z", "timestamp", lambda m: f"{m:%Y-%m-%dT%H:%M:%S}.{_ms(m)}Z"),
        ("iso_offset", "time", lambda m: f"{m:%Y-%m-%dT%H:%M:%S}.{_ms(m)}+01:00"),
        ("iso_micro", "recordedAt", lambda m: f"{m:%Y-%m-%d %H:%M:%S.%f}"),
        ("iso_zone_word", "time", lambda m: f"{m:%Y-%m-%d %H:%M:%S}.{_ms(m)} UTC"),
        ("clock_ms", "Time", lambda m: f"{m:%H:%M:%S}.{_ms(m)}"),
        ("clock_colon_ms", "Time", lambda m: f"{m:%H:%M:%S}:{_ms(m)}"),
        ("clock_pm", "Time", lambda m: f"{m:%I:%M:%S}.{_ms(m)} {m:%p}"),
        ("clock_pm_dots", "Time", lambda m: f"{m:%I:%M:%S}.{_ms(m)} p.m."),
        ("clock_h_m_s", "Time", lambda m: f"{m:%H}h{m:%M}m{m:%S}.{_ms(m)}s"),
        ("slashes_day_first", "Date", lambda m: f"{m:%d/%m/%Y %H:%M:%S}.{_ms(m)}"),
        ("slashes_year_first", "Time", lambda m: f"{m:%Y/%m/%d %H:%M:%S}.{_ms(m)}"),
        ("compact_t", "time", lambda m: f"{m:%Y%m%dT%H%M%S}.{_ms(m)}Z"),
        ("two_digit_year", "Time", lambda m: f"{m:%d.%m.%y %H:%M:%S}.{_ms(m)}"),
    ]  # fmt: skip
    for name, head, say in said:
        SHAPES(name, lambda h=head, s=say: log(std(spoken(h, s))))
    SHAPES(
        "german", lambda: log(std(spoken("Zeit", lambda m: f"{m:%d.%m.%Y %H:%M:%S},{_ms(m)}")), sep=";", decimal=",")
    )
    spans: list[tuple[str, Callable[[float], str]]] = [
        ("days_words", lambda t: f"0 days 00:{int(t // 60):02d}:{t % 60:09.6f}"),
        ("minutes_seconds", lambda t: f"{int(t // 60):02d}:{t % 60:06.3f}"),
        ("run_time_iso", lambda t: f"PT{int(t // 60)}M{t % 60:.2f}S"),
        ("seconds_glued", lambda t: f"{t:.2f}s"),
        ("plus_sign", lambda t: f"+{t:.3f}"),
        ("days_dot", lambda t: f"0.00:{int(t // 60):02d}:{t % 60:010.7f}"),
        ("words_min_s", lambda t: f"{int(t // 60)} min {t % 60:.2f} s"),
    ]  # fmt: skip
    for name, tell in spans:
        SHAPES(name, lambda f=tell: log(std(span("Time", f))))
    SHAPES(
        "date_then_time",
        lambda: log(
            [spoken("Date", lambda m: f"{m:%Y-%m-%d}"), spoken("Time", lambda m: f"{m:%H:%M:%S}.{_ms(m)}"), *std()[1:]]
        ),
    )
    SHAPES(
        "parts",
        lambda: log(
            [
                *(
                    spoken(n, lambda m, f=f: format(m, f))
                    for n, f in (
                        ("Year", "%Y"),
                        ("Month", "%m"),
                        ("Day", "%d"),
                        ("Hour", "%H"),
                        ("Minute", "%M"),
                        ("Second", "%S"),
                    )
                ),
                spoken("Millisecond", _ms),
                *std()[1:],
            ]
        ),
    )
    SHAPES(
        "whole_seconds",
        lambda: log(std(spoken("Time", lambda m: f"{m:%H:%M:%S}"))),
        "either",
        "20 rows share a stamp",
        loose=True,
    )
    SHAPES(
        "whole_epoch",
        lambda: log(std(span("time", lambda t: str(int(EPOCH + t))))),
        "either",
        "20 rows share a stamp",
        loose=True,
    )


def _order() -> None:
    n = drive().rows
    SHAPES("newest_first", lambda: log(rows(std(), range(n - 1, -1, -1))))
    SHAPES(
        "newest_first_epoch",
        lambda: log(rows(std(clock("time", "", lambda t: 1e3 * (EPOCH + t), 0)), range(n - 1, -1, -1))),
    )
    SHAPES(
        "newest_first_clock",
        lambda: log(rows(std(spoken("Time", lambda m: f"{m:%H:%M:%S}.{_ms(m)}")), range(n - 1, -1, -1))),
    )
    late = datetime(2026, 3, 3, 23, 58, 30, 0, UTC)
    SHAPES("midnight", lambda: log(std(spoken("Time", lambda m: f"{m:%H:%M:%S}.{_ms(m)}", late))))
    SHAPES("midnight_pm", lambda: log(std(spoken("Time", lambda m: f"{m:%I:%M:%S}.{_ms(m)} {m:%p}", late))))
    SHAPES("midnight_fraction", lambda: log(std(clock("Time", "", lambda t: (86310 / 86400 + t / 86400) % 1.0, 9))))
    SHAPES(
        "noon_without_pm",
        lambda: log(std(spoken("Time", lambda m: f"{m:%I:%M:%S}.{_ms(m)}", late - timedelta(hours=11)))),
        "either",
        "12:59 turns to 01:00",
    )
    SHAPES("none", lambda: log(std(drop="time")), "ask", "no time at all", hints=("--rate",))
    SHAPES("none_with_rate", lambda: log(std(drop="time"), flags=("--rate", "20")))
    SHAPES(
        "record_number",
        lambda: log([extra("Record", [str(k + 1) for k in range(n)]), *std()[1:]]),
        "ask",
        "rows are numbered only",
        hints=("--rate",),
    )
    SHAPES(
        "record_number_rate",
        lambda: log([extra("Record", [str(k + 1) for k in range(n)]), *std()[1:]], flags=("--rate", "20")),
    )
    SHAPES(
        "rate_in_title",
        lambda: log(std(drop="time"), titles=("Sample rate: 20 Hz", "")),
        "either",
        "the title tells the rate",
        hints=("--rate",),
    )
    SHAPES(
        "start_in_title",
        lambda: log(std(clock("Offset", "s", lambda t: t, 2)), titles=("Start: 2026-03-03 14:03:01", "Car: test", "")),
    )
    SHAPES(
        "duplicates",
        lambda: log(std(span("Time", lambda t: f"{np.floor(t * 10) / 10:.1f}", "s"))),
        "either",
        "two rows share each stamp",
    )
    SHAPES(
        "doubled_rows",
        lambda: log(rows(std(), [k // 2 for k in range(2 * n)])),
        "read",
        "each row stands twice; it counts once",
    )
    SHAPES(
        "jump_ahead",
        lambda: log(std(span("time", lambda t: f"{EPOCH + t + 3600 * (t > 150):.2f}"))),
        "either",
        "the clock was set while logging",
        any_length=True,
    )
    SHAPES(
        "jump_back",
        lambda: log(std(span("time", lambda t: f"{EPOCH + t - 3600 * (t > 150):.2f}"))),
        "either",
        "the clock was set back while logging",
        any_length=True,
    )
    SHAPES(
        "small_step_back",
        lambda: log(std(span("Time", lambda t: f"{t - 0.18 * (t > 99.98):.2f}", "s"))),
        "either",
        "one step back of 0.18 s",
    )
    SHAPES(
        "restart",
        lambda: log(std(span("Time", lambda t: f"{t % 137.5:.2f}", "s"))),
        "either",
        "the clock starts again half way",
        any_length=True,
    )
    SHAPES(
        "hole",
        lambda: log(rows(std(), [*range(2400), *range(3200, n)])),
        "read",
        "40 s are missing",
        loose=True,
        keep=0.5,
    )
    SHAPES("jitter", lambda: log(std(clock("Time", "s", lambda t: t + 0.02 * np.sin(t * 137.0), 3))))
    SHAPES("last_column", lambda: log([*std()[1:], std()[0]]))
    SHAPES("three_header_rows", lambda: log(std(), head=lambda name, unit: name, under=_under()))
    SHAPES("destroyed_with_second", _destroyed)
    SHAPES(
        "frozen_clock",
        lambda: log(std(span("Time", lambda t: "14:03:01"))),
        "ask",
        "the clock stands still",
        hints=("--rate", "time"),
    )
    SHAPES("two_clocks_agree", lambda: log([clock("Time", "s", lambda t: t, 2), _gps(), *std()[1:]]))
    SHAPES(
        "two_clocks_drift",
        lambda: log(
            [
                clock("Logger time", "s", lambda t: t, 2),
                clock("ECU time", "s", lambda t: 1000 + t * 1.0006, 2),
                *std()[1:],
            ]
        ),
    )
    SHAPES("odometer_first", lambda: log([extra("Distance", cells(np.cumsum(drive()["speed"]) / 72, 1), "m"), *std()]))
    SHAPES(
        "counter_wraps",
        lambda: log(std(span("Time", lambda t: str(round(1e3 * t + 9000) % 65536), "ms"))),
        "either",
        "a 16-bit millisecond counter wraps each 65.5 s",
    )
    SHAPES(
        "torn_stamps",
        lambda: log(edit(std(), "time", mapped(lambda k, cell: "" if k % 97 == 5 else cell))),
        "read",
        "some stamps are blank",
        loose=True,
    )


def _gps() -> Col:
    return extra(
        "GPS time",
        [f"{START + timedelta(seconds=t):%H%M%S}.{int(t * 1000) % 1000:03d}" for t in drive()["time"].tolist()],
    )


def _under() -> tuple[str, ...]:
    cols = std()
    return ",".join(c.unit for c in cols), ",".join("20 Hz" for _ in cols)


def _destroyed() -> Built:
    broken = extra("Timestamp", ["1,77255E+12"] * drive().rows)
    return log(
        [broken, span("Run time", lambda t: f"00:{int(t // 60):02d}:{t % 60:06.3f}"), *std()[1:]], sep=";", head=round_
    )


_numbers()
_words()
_order()
