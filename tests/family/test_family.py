"""The family of virtual cars: its physics holds, draws repeat, conditions and faults are really there."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from family import air, exhaust
from family.air import STEP_S
from family.car import Run, run, tables_of, write
from family.conditions import CONDITIONS, forced
from family.faults import FAULTS
from family.fuel import FuelFault, delivered, injected, wall
from family.judge import Desk
from family.lottery import draw
from family.parts import Car, Kind

WORK = range(1, 101)


def short(seed: int, condition: str = "A", kind: Kind = "curve", seconds: float = 90.0) -> Car:
    """A car whose drive is short, warm, and has a pull."""
    car = forced(draw(seed, kind), f"warm+{condition}")
    return replace(car, route=replace(car.route, seconds=seconds, pulls=1))


@pytest.fixture(scope="module")
def first() -> Run:
    return run(short(3))


def test_what_is_drawn_repeats_and_lies_in_its_range() -> None:
    cars = [draw(seed) for seed in WORK]
    assert cars == [draw(seed) for seed in WORK]
    for car in cars:
        assert 1.4 <= car.engine.displacement <= 6.0
        assert 32 <= car.meter.breakpoints <= 85
        assert 0.04 <= car.stale.largest <= 0.15
        assert abs(car.loop.centre - 1) <= 0.003
        assert 300 <= car.route.seconds <= 1200
        assert 2 <= car.route.pulls <= 4
        assert all(0.04 <= lag <= 0.2 for lag in car.wideband.lags)
        assert 1 <= len(car.wideband.lags) <= 2
        assert 0.001 <= car.wideband.step <= 0.01
        low, high = (0.3, 1.2) if car.wideband.place == "port" else (2, 9)
        assert low <= car.wideband.gas <= high
        assert (0.4 <= car.wideband.oxygen <= 1.6) == (car.wideband.place == "catalyst")
    assert np.std([car.wideband.gain for car in cars]) == pytest.approx(0.003, rel=0.3)


def test_every_kind_is_drawn() -> None:
    cars = [draw(seed) for seed in WORK]
    assert {car.loop.kind for car in cars} == {"jumping", "integrating", "proportional"}
    assert {car.long.kind for car in cars} == {"single", "flow", "speed and load"}
    assert {car.long.at_full for car in cars} == {"held", "held if positive", "dropped"}
    assert {car.purge.kind for car in cars} == {"none", "steady", "episode", "emptying"}
    assert {car.purge.logged for car in cars} == {"duty", "flag", "no"}
    assert {car.wideband.place for car in cars} == {"port", "pipe", "catalyst"}
    assert {car.logger.kind for car in cars} == {"at once", "polled held", "polled blanks", "1 Hz"}
    assert {car.meter.unit for car in cars} == {"Hz", "V"}
    assert {car.long.start == 0 for car in cars} == {True, False}
    assert {car.route.coolant < 70 for car in cars} == {True, False}
    assert {car.route.apart for car in cars} == {True, False}


@pytest.mark.parametrize("kind", ["curve", "grid"])
def test_the_stale_table_is_wrong_by_what_was_drawn(kind: Kind) -> None:
    for seed in range(1, 7):
        car = draw(seed, kind)
        true, stale = tables_of(car)
        wrong = np.abs(true.values / stale.values - 1).max()
        assert 0.5 * car.stale.largest < wrong < 1.1 * car.stale.largest
        assert (np.diff(true.values, axis=-1) > 0).all()


def test_a_drive_repeats_and_another_route_is_another_drive(first: Run) -> None:
    again, other = run(short(3)), run(short(3), number=2)
    for name, rows in first.files.items():
        for channel, values in rows.items():
            np.testing.assert_array_equal(values, again.files[name][channel])
    speeds = first.inner["speed"], other.inner["speed"]
    count = min(map(len, speeds))
    assert np.abs(speeds[0][:count] - speeds[1][:count]).max() > 5


def test_air_is_conserved(first: Run) -> None:
    # ideal gas: what came in and did not go into the cylinders is in the manifold
    inner, engine = first.inner, short(3).engine
    gained = (inner["metered"] + inner["purge"] - inner["cylinders"]) * STEP_S
    stored = np.cumsum(gained) - gained / 2  # in the middle of each step, as the pressure
    kelvin = engine.ambient + air.WARMING + 273.15
    held = inner["pressure"] * engine.manifold / (air.GAS * kelvin)
    np.testing.assert_allclose(stored - stored[0], held - held[0], atol=1e-6)
    assert np.sum(inner["metered"] + inner["purge"]) == pytest.approx(np.sum(inner["cylinders"]), rel=1e-3)


def test_the_manifold_settles_where_throttle_and_engine_agree() -> None:
    engine = draw(5).engine
    rpm, opening = np.full(400, 2500.0), np.full(400, 0.05)
    through, cylinders, _, pressure = air.manifold(engine, rpm, opening, np.zeros(400))
    assert through[-1] == pytest.approx(cylinders[-1], rel=1e-6)
    ratio = pressure[-1:] / engine.barometer
    assert through[-1] == pytest.approx(0.05 * air.throttle_size(engine) * float(air.nozzle(ratio)[0]), rel=1e-3)


def test_walls_keep_no_fuel_and_an_ecu_that_makes_up_for_all_of_one_film_leaves_none() -> None:
    car = draw(1)
    coolant, rpm = np.full(4000, 90.0), np.full(4000, 2000.0)
    wet, give, deliver = wall(car, coolant), injected(car), delivered(car, rpm, FuelFault())
    wanted = np.where(np.arange(4000) < 500, 1.0, 2.0)
    reached = np.array([wet(i, deliver(i, give(float(w)))) for i, w in enumerate(wanted)])
    assert reached[-1] == pytest.approx(2.0, rel=1e-3)  # nothing stays on the walls for good
    assert reached[510] < 1.99  # but they take part of a rise
    fuel = replace(car.fuel, films=((0.2, 0.3), (0.0, 1.0)), made_up=1.0)
    wet, give = wall(replace(car, fuel=fuel), coolant), injected(replace(car, fuel=fuel))
    reached = np.array([wet(i, give(float(w))) for i, w in enumerate(wanted)])
    np.testing.assert_allclose(reached, wanted, rtol=1e-9)


def test_gas_arrives_when_its_volume_has_passed() -> None:
    time = np.arange(1000) * STEP_S
    left = exhaust.arrival(time, np.full(1000, 10.0), np.full(1000, 3000.0), gas=5.0)
    assert time[800] - left[800] == pytest.approx(5 / 10 + 90 / 3000)  # plug flow: volume over flow


def test_a_catalyst_holds_one_until_its_oxygen_is_spent() -> None:
    flow, phi = np.full(1000, 40.0), np.where(np.arange(1000) < 100, 1.0, 1 / 0.86)
    behind = exhaust.behind_catalyst(phi, flow, 1.5, 0.02)
    spent = int(np.argmax(behind > 1.1))
    demand = 0.2314 * 40 * (1 / 0.86 - 1)  # g/s of oxygen that rich gas takes; half of 1.5 g is there
    assert (spent - 100) * STEP_S == pytest.approx(0.75 / demand, rel=0.1)
    assert behind[-1] == pytest.approx(1 / 0.86)


@pytest.mark.parametrize("kind", ["curve", "grid"])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_right_table_and_perfect_instruments_leave_nothing_to_correct(seed: int, kind: Kind) -> None:
    car = short(seed, "perfect no purge", kind)
    true, _ = tables_of(car)
    inner = run(car, true).inner
    held = (inner["closed"] > 0) & (inner["coolant"] > 70)
    factor = (1 + inner["short"]) * (1 + inner["long"])
    shown = (factor * inner["seen"] / inner["commanded"])[held]
    assert np.median(shown) == pytest.approx(1, abs=0.002)
    assert np.mean(shown) == pytest.approx(1, abs=0.006)  # films and overruns stand in the mean of so short a drive


@pytest.mark.parametrize("kind", ["curve", "grid"])
def test_factor_times_mixture_is_the_airflow_ratio_where_the_table_is_stale(kind: Kind) -> None:
    inner = run(short(4, "perfect no purge", kind)).inner
    held = inner["closed"] > 0
    factor = (1 + inner["short"]) * (1 + inner["long"])
    shown = (factor / inner["phi"] / inner["commanded"])[held]
    assert np.mean(shown / (inner["swallowed"] / inner["believed"])[held]) == pytest.approx(1, abs=0.004)
    assert np.abs(inner["swallowed"] / inner["believed"] - 1)[held].max() > 0.03


@pytest.mark.parametrize("loop", ["jumping", "integrating", "proportional"])
def test_each_loop_holds_its_centre(loop: str) -> None:
    car = short(2, "perfect no purge", seconds=200.0)
    car = replace(car, loop=replace(car.loop, kind=loop, centre=0.99))
    inner = run(car).inner
    held = (inner["closed"] > 0) & (inner["time"] > 40)
    assert np.median(inner["seen"][held]) == pytest.approx(0.99, abs=0.003)


def test_long_trims_do_at_full_throttle_what_was_drawn() -> None:
    car = short(6, "perfect no purge")
    single = replace(car.long, kind="single", start=1.0)
    for at_full in ("held", "held if positive", "dropped"):
        inner = run(replace(car, long=replace(single, at_full=at_full))).inner
        full, before = inner["full"] > 0, inner["long"][np.argmax(inner["full"] > 0) - 1]
        expected = {"held": before, "held if positive": max(before, 0.0), "dropped": 0.0}[at_full]
        np.testing.assert_allclose(inner["long"][full], expected, atol=2e-4)


def test_what_was_learnt_is_gone_after_a_flash() -> None:
    car = short(6, "no purge")
    car = replace(car, long=replace(car.long, kind="single", start=1.0))
    assert abs(run(car).inner["long"][0]) > 0.01
    assert run(car, number=2).inner["long"][0] == 0


def test_conditions_force_what_they_are_called_and_nothing_else() -> None:
    for seed in range(1, 11):
        car = draw(seed)
        for name in CONDITIONS:
            changed = forced(car, name)
            assert (
                replace(
                    changed,
                    wideband=car.wideband,
                    purge=car.purge,
                    logger=car.logger,
                    route=car.route,
                    loop=car.loop,
                    meter=car.meter,
                )
                == car
            )
        assert forced(car, "B cat").wideband.oxygen == 1.5
        assert (forced(car, "B").wideband.gas, forced(car, "B").logger.rate) == (9.0, 20.0)
        assert (forced(car, "B").purge.kind, forced(car, "B").purge.logged) == ("episode", "flag")
        short_b = forced(car, "B 5 min at 10 Hz")
        assert (short_b.route.seconds, short_b.logger.rate, short_b.wideband.gas) == (300.0, 10.0, 9.0)
        assert forced(car, "port").wideband.gas <= 1.2
        assert forced(car, "catalyst + 5 min").route.seconds == 300.0
    with pytest.raises(KeyError):
        forced(car, "no such")


def test_without_a_wideband_none_is_logged() -> None:
    assert any(name.startswith("Wideband") for name in run(short(8)).files["drive.csv"])
    assert not any(name.startswith("Wideband") for name in run(short(8, "trims only")).files["drive.csv"])


def test_a_gap_is_driven_by_nobody() -> None:
    result = run(short(8, "C"))
    axis = result.driven.axes[0][np.flatnonzero(result.gap)]
    assert len(axis) == 5
    for rows in result.files.values():
        signal = next(values for name, values in rows.items() if name.startswith(("MAF Freq", "MAF Volt")))
        assert not ((signal > axis[0]) & (signal < axis[-1])).any()
        assert (signal < axis[0]).any()


def test_polled_logs_renew_one_channel_a_row() -> None:
    held = run(short(8, "polled held")).files["drive.csv"]
    blanks = run(short(8, "polled blanks")).files["drive.csv"]
    names = [name for name in blanks if name != "Time (s)"]
    there = np.array([np.isfinite(blanks[name]) for name in names])
    assert (there.sum(axis=0) == 1).all()
    moved = np.array([np.diff(held[name]) != 0 for name in names])
    assert moved.sum(axis=0).max() == 1


def test_purge_brings_fuel_and_air_that_nobody_metered() -> None:
    car = short(8, "purge by episode")
    inner = run(replace(car, route=replace(car.route, seconds=400.0))).inner
    on = (inner["duty"] > 0.3) & (inner["closed"] > 0)
    assert on.any()
    assert (inner["vapour"][on] > 0).all()
    np.testing.assert_allclose(
        inner["cylinders"], inner["swallowed"] + inner["vapour"], rtol=1e-9
    )  # what came with the purge is swallowed too


@pytest.fixture(scope="module")
def sound() -> Run:
    return run(short(9, "pipe+no purge", seconds=200.0))


@pytest.mark.parametrize("name", FAULTS)
def test_every_fault_changes_what_it_is_about(name: str, sound: Run) -> None:
    broken = run(short(9, "pipe+no purge", seconds=200.0), fault=name)
    a, b = sound.inner, broken.inner
    if name in ("exhaust leak", "lazy wideband", "free air"):
        np.testing.assert_array_equal(a["phi"], b["phi"])  # the engine itself is sound
        assert np.abs(a["seen"] - b["seen"]).max() > 0.02
    elif name == "leak after sensor":
        idle = (b["closed"] > 0) & (b["speed"] < 1)
        assert np.median((b["swallowed"] - b["metered"])[idle]) > 0.1
    elif name == "leak before sensor":
        assert np.std(np.log(b["believed"] / a["believed"])) > 0.01
    elif name == "lifted pull":
        assert b["metered"][b["full"] > 0].sum() < a["metered"][a["full"] > 0].sum()
    elif name == "misread injector":
        idle = (a["closed"] > 0) & (a["speed"] < 1)
        assert abs(np.mean((b["short"] + b["long"] - a["short"] - a["long"])[idle])) > 0.01
    else:
        # the walls keep it, so compare what burns: less (or more) of it for the same air
        where = (a["full"] > 0) & (b["full"] > 0)
        assert np.abs(b["phi"] / a["phi"] - 1)[where].max() > 0.02


def test_files_hold_the_driven_table_and_the_logs(first: Run, tmp_path: object) -> None:
    car = short(3)
    table, logs = write(tmp_path, first, "curve", car.meter.unit)  # type: ignore[arg-type]
    values = np.genfromtxt(table, delimiter=",", skip_header=1)
    np.testing.assert_array_equal(values[:, 1], first.driven.values)
    assert [log.name for log in logs] == list(first.files)
    assert all(log.read_text(encoding="utf-8").startswith("Time (s),Engine Speed (rpm)") for log in logs)


@pytest.mark.parametrize("seed", [16, 7016])
def test_swings_that_come_back_half_a_swing_late_contradict_no_trims(seed: int, tmp_path: Path) -> None:
    """Of these cars they stand upside down at some delays (-0.58 and -0.74) and upright at others (0.35)."""
    car = draw(seed, "curve")
    table, logs = write(tmp_path, run(car), "curve", car.meter.unit)
    desk = Desk(tmp_path)
    desk.ask("new", str(table))
    assert desk.add(logs) == []
    assert not [each for each in desk.ask("cautions")["cautions"] if "contrary" in each["name"]]
