"""`1.000` and `1,000`, which may be one or a thousand: read by what the channel can be, and told (invented data)."""

from pathlib import Path

import numpy as np
import pytest
from logs_by_hand import AT, COLUMNS, ROWS, check, read, written

from workbench.files.text.numbers import Style, column_style
from workbench.model.arrays import FloatArray

FLOW = ("Airflow (g/s)", 12 + AT / 50)
ONE = ("Lambda commanded", np.ones(ROWS))
TURNS = ("Engine speed (rpm)", 1000 + 10.0 * AT)
OTHER = ("Counts", 1000 + 10.0 * AT)


def lines(label: str, values: FloatArray, decimal: str, *, thousands: bool) -> list[str]:
    """Write one column with the sign in the third place, and all others with the decimal sign."""
    sign = "," if decimal == "." else "."

    def cell(name: str, value: float) -> str:
        if name == label:
            return f"{value:,.0f}".replace(",", sign) if thousands else f"{value:.3f}".replace(".", sign)
        return f"{value:.4f}".replace(".", decimal)

    column = next(known for known in COLUMNS if label in (known, "Counts"))
    return written({("Coolant (°C)" if label == "Counts" else column): (label, values)}, delimiter=";", cell=cell)


@pytest.mark.parametrize("decimal", [",", "."])
@pytest.mark.parametrize(
    ("label", "values", "thousands", "shown"),
    [
        (*FLOW, False, "it was read as 12."),
        (*ONE, False, "it was read as 1."),
        (*TURNS, True, "it was read as 1000."),
        (*OTHER, True, "it was read as 1000."),
    ],
)
def test_the_values_decide_and_the_doubt_is_told(
    label: str, values: FloatArray, thousands: bool, shown: str, decimal: str, tmp_path: Path
) -> None:
    log = read(tmp_path, lines(label, values, decimal, thousands=thousands))
    name = label.split(" (")[0]
    channel = log.channel(name)
    assert channel is not None
    np.testing.assert_allclose(channel.values, values, atol=0.0006)
    doubts = [note for note in log.notes if "a decimal sign or a thousands separator" in note]
    assert len(doubts) == 1
    assert doubts[0].startswith(name)
    assert doubts[0].endswith(shown)
    assert any("read with thousands separators" in note for note in log.notes) == thousands


@pytest.mark.parametrize("decimal", [",", "."])
def test_three_decimals_all_over_leave_no_doubt(decimal: str, tmp_path: Path) -> None:
    log = read(tmp_path, written(delimiter=";", cell=lambda _, value: f"{value:.3f}".replace(".", decimal)))
    check(log)
    assert not any("thousands" in note for note in log.notes)


def test_thousands_that_are_parted_and_broken_leave_no_doubt(tmp_path: Path) -> None:
    def cell(label: str, value: float) -> str:
        text = f"{value:,.1f}" if "speed" in label else f"{value:.4f}"
        return text.replace(",", "#").replace(".", ",").replace("#", ".")

    log = read(tmp_path, written(delimiter=";", cell=cell))
    check(log)
    assert not any("may hold a decimal sign" in note for note in log.notes)


def test_a_column_that_mixes_both_signs_is_never_a_thousand_times_too_high(tmp_path: Path) -> None:
    """One column parts its thousands, so the file does; `1.000` among `0,98` is still no thousand lambdas."""

    def cell(label: str, value: float) -> str:
        if "speed" in label:
            return f"{value:,.1f}".replace(",", "#").replace(".", ",").replace("#", ".")
        return f"{value:.3f}" if label == "Lambda measured" and value >= 1 else f"{value:.4f}".replace(".", ",")

    log = read(tmp_path, written(delimiter=";", cell=cell))
    check(log, but=("lambda_measured",))
    measured = log.playing("lambda_measured")
    assert measured is not None
    assert np.nanmax(measured) < 1
    assert any(note.startswith("Lambda measured: no number in line") for note in log.notes)


@pytest.mark.parametrize("sign", [".", ","])
def test_thousands_that_come_late_among_whole_numbers_are_thousands(sign: str, tmp_path: Path) -> None:
    """An idle of more rows than the reader samples, then a drive: `1.050` behind `998` is no single turn."""
    speed = np.concatenate([np.full(400, 950) + np.arange(400) % 40, 950 + 10 * np.arange(300)])
    lines = ["Time (ms);Engine speed (rpm);Throttle (%)"]
    lines += [f"{100 * at % 1000};{value:,};{at % 30}".replace(",", sign) for at, value in enumerate(speed.tolist())]
    lines = [line if at == 0 else f"{100 * at};{line.split(';', 1)[1]}" for at, line in enumerate(lines)]
    log = read(tmp_path, lines)
    np.testing.assert_array_equal(log.playing("engine_speed"), speed)
    assert any("'1" + sign in note and "read as 1" in note for note in log.notes)


def test_a_column_of_all_kinds_of_cells_still_has_a_style() -> None:
    """`12.5` among parted thousands reads as no number, so it cannot be the cell that shows the doubt."""
    for fitting in (True, False, None):
        style = column_style(["12.5", "1.000", "7,25"], Style(",", "."), lambda _, told=fitting: told)
        assert style.number(style.doubtful or "1,5") == (1000 if fitting else 1.5)


def test_whole_numbers_with_a_few_decimals_stay_what_they_are_where_the_point_is_proven(tmp_path: Path) -> None:
    def cell(label: str, value: float) -> str:
        return ("12.345" if value == 1100 else f"{value:.0f}") if label == "Counts" else f"{value:.4f}"

    log = read(tmp_path, written({"Coolant (°C)": OTHER}, cell=cell))
    channel = log.channel("Counts")
    assert channel is not None
    assert channel.values[10] == 12.345
