"""What to drive next is said as a driver drives: engine speed and throttle, as the logs tell them."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.rounds import Round
from workbench.maths.verdict.plan import Running, plan, way_to
from workbench.model.table import Axis, Table

MakeRound = Callable[..., Round]
POINTS = np.arange(1000.0, 11000, 1000)
CURVE = Table("airflow", "airflow", "g/s", (Axis("Sensor", "Hz", POINTS),), POINTS / 100)
GRID = Table(
    "efficiency",
    "efficiency",
    "%",
    (Axis("Engine speed", "rpm", np.arange(1000.0, 4001, 1000)), Axis("Pressure", "kPa", np.array([30.0, 60, 90]))),
    np.full((4, 3), 80.0),
)
PROVEN, THIN, UNDRIVEN = 2, 1, 0


def running(
    position: np.ndarray, speed: np.ndarray, throttle: float, *, full: bool = False, steady: bool = True
) -> Running:
    """Give rows that are alike but for where they are."""
    rows = speed.size
    place = position[:, None] if position.ndim == 1 else position
    return Running(place, speed, np.full(rows, throttle), np.full(rows, full), np.full(rows, steady))


def asked(how: Running | None, lacking: int, *, full: bool = False) -> str:
    """Return the first sentence where one cell of the curve lacks evidence."""
    codes = np.full(10, PROVEN)
    codes[lacking] = THIN
    at_full = np.full(10, full)
    return plan(CURVE, codes, np.where(codes == THIN, 0.05, 0.005), np.full(10, 9), at_full, 0.02, how)[0]


def test_a_cell_is_asked_for_by_the_speed_and_throttle_that_reached_it() -> None:
    rows = np.tile(POINTS, 20)
    said = asked(running(rows, rows * 0.7, 0.12), 3)
    assert said == (
        "Hold about 2800 rpm at light throttle: about 10 s in all, on two occasions (sensor 4000 Hz: 1 thin)."
    )


@pytest.mark.parametrize(
    ("throttle", "speed", "begins"),
    [
        (0.01, 0.2, "Let the engine idle, about 800 rpm: "),
        (0.01, 0.7, "Coast at closed throttle, about 2800 rpm: "),
        (0.3, 0.7, "Hold about 2800 rpm at moderate throttle: "),
        (0.8, 0.7, "Hold about 2800 rpm at heavy throttle: "),
        (np.nan, 0.7, "Hold about 2800 rpm: about 10 s"),
    ],
)
def test_throttle_is_named_as_far_as_it_is_logged(throttle: float, speed: float, begins: str) -> None:
    rows = np.tile(POINTS, 20)
    assert asked(running(rows, rows * speed, throttle), 3).startswith(begins)


def test_steady_rows_tell_before_those_in_passing() -> None:
    calm, passing = np.full(20, 4000.0), np.full(60, 4000.0)
    both = [running(calm, calm * 0.5, 0.1), running(passing, passing * 1.2, 0.7, steady=False)]
    columns = zip(*((r.position, r.speed, r.throttle, r.full, r.steady) for r in both), strict=True)
    assert asked(Running(*(np.concatenate(each) for each in columns)), 3).startswith("Hold about 2000 rpm at light")


def test_a_cell_that_was_hardly_reached_is_reached_as_its_neighbours_are() -> None:
    rows = np.tile(POINTS[[2, 4]], 20)
    assert asked(running(rows, rows * 0.7, 0.12), 3).startswith("Hold between 2100 and 3500 rpm at light throttle")


def test_where_no_log_tells_the_axis_itself_is_named() -> None:
    far = np.full(40, 10_000.0)
    for how in (None, running(far, far * 0.7, 0.1)):
        assert asked(how, 1).startswith("Drive sensor 2000 Hz: about 10 s in all, as steady as traffic allows")


def test_pulls_are_asked_for_through_the_speeds_that_pulls_had() -> None:
    rows = np.linspace(8000, 10_000, 40)
    said = asked(running(rows, rows * 0.6, 1.0, full=True), 8, full=True)
    assert said.startswith("Make pulls at full throttle through 5100 to 5700 rpm, each through the whole range")


def test_a_cell_past_the_end_of_the_pulls_is_not_asked_for_by_more_of_the_same() -> None:
    rows = np.linspace(8000, 9700, 40)
    said = asked(running(rows, rows * 0.6, 1.0, full=True), 9, full=True)
    assert said.startswith("Sensor 10000 Hz: the pulls ended short of it, at 5800 rpm")
    assert "more pulls like them add nothing there" in said
    reached = np.linspace(8000, 10_200, 40)
    assert asked(running(reached, reached * 0.6, 1.0, full=True), 9, full=True).startswith("Make pulls")


def test_a_grid_over_engine_speed_tells_it_itself() -> None:
    place = np.tile([[3000.0, 60.0], [2000.0, 60.0]], (20, 1))
    cells = np.ravel_multi_index(([1, 2], [1, 1]), GRID.shape)
    way = way_to(GRID, cells, running(place, place[:, 0] + 333, 0.1), in_pulls=False)
    assert way is not None
    assert (way.low_rpm, way.high_rpm, way.throttle) == (2000.0, 3000.0, "light throttle")


def test_cells_of_a_grid_that_ask_for_other_throttles_are_asked_for_one_after_the_other() -> None:
    place = np.tile([[2000.0, 30.0], [2000.0, 60.0]], (20, 1))
    how = replace(running(place, place[:, 0], 0.1), throttle=np.tile([0.1, 0.6], 20))
    codes = np.full(GRID.shape, PROVEN)
    codes[1, :2] = THIN
    half = np.where(codes == THIN, 0.05, 0.005)
    nowhere = np.zeros(GRID.shape, dtype=np.bool_)
    said = plan(GRID, codes, half, np.ones(GRID.shape, dtype=np.int64), nowhere, 0.02, how)
    assert [line.split(":")[0] for line in said[:2]] == [
        "Hold about 2000 rpm at light throttle",
        "Hold about 2000 rpm at heavy throttle",
    ]


def test_a_real_log_tells_how_a_cell_was_reached(round_of: MakeRound) -> None:
    """On the virtual car: rows nearest to the cell that is asked for ran about as the sentence says."""
    made = round_of(seed=1, minutes=3.0, pulls=0, start_coolant_c=80.0, wideband="none")
    idling = [sentence for sentence in made.evidence.plan if sentence.startswith("Let the engine idle, about 750 rpm")]
    assert len(idling) == 1
    assert "airflow sensor 2437 to " in idling[0]  # it idled once: one pass proves nothing
