"""Is it this table at all? Channels that the remaining error follows, and faults whose error has a simple shape."""

import re
from collections.abc import Callable

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord
from workbench.demo.rounds import Round, evidence_of_records
from workbench.maths.verdict.residual_screening import screen
from workbench.model.arrays import FloatArray
from workbench.model.evidence import ADVICE, Effect, Evidence

DRIVE = {"minutes": 6.0, "pulls": 2, "start_coolant_c": 80.0}
MakeRound = Callable[..., Round]
UNLOGGED = "Purge, which is not logged, can look like any of these"


def standing_out(evidence: Evidence) -> list[Effect]:
    """Give the effects that stand out, the surest first."""
    return sorted(
        (effect for effect in evidence.effects if effect.stands_out),
        key=lambda effect: -abs(effect.change) / effect.half_width,
    )


def shape_of(evidence: Evidence) -> str:
    return " ".join(note for note in evidence.notes if note.startswith("The error "))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_car_with_nothing_else_wrong_has_nothing_standing_out(round_of: MakeRound, seed: int) -> None:
    evidence = round_of(seed=seed, **DRIVE).evidence
    assert not standing_out(evidence)
    assert shape_of(evidence) == ""
    assert not any(note.startswith("The remaining error") for note in evidence.notes)
    tried = {effect.channel for effect in evidence.effects}
    assert {"intake_temperature", "engine_speed", "purge", "manifold_pressure", "time"} <= tried


@pytest.mark.parametrize(
    ("fault", "size"),
    [("intake_temperature", 0.003 * 22), ("engine_speed", 0.04 * 4000 / 2500)],
)
@pytest.mark.parametrize("seed", [1, 2])
def test_the_channel_at_fault_stands_out_most(round_of: MakeRound, seed: int, fault: str, size: float) -> None:
    """The scenario: 0.3 % a kelvin over some 22 K; 4 % in 2500 rpm over some 4000 rpm, much of it in the table."""
    evidence = round_of(seed=seed, fault=fault, **DRIVE).evidence
    worst, *others = standing_out(evidence)
    assert worst.channel == fault
    assert not others  # what only moves with it is not named
    assert 0.6 * size < worst.change < 1.3 * size
    sentence = next(note for note in evidence.notes if note.startswith(f"The remaining error follows {fault[:6]}"))
    assert ADVICE[fault][1:] in sentence
    assert f"{100 * worst.change:+.1f} %" in sentence
    assert UNLOGGED not in " ".join(evidence.notes)


def test_purge_that_is_not_logged_is_named_beside_what_it_can_look_like(round_of: MakeRound) -> None:
    evidence = round_of(seed=1, fault="intake_temperature", purge="off", **DRIVE).evidence
    assert standing_out(evidence)
    assert UNLOGGED in " ".join(evidence.notes)


def test_an_axis_of_the_table_is_not_held_against_it(round_of: MakeRound) -> None:
    """What follows engine speed goes into a grid over engine speed."""
    evidence = round_of(seed=1, kind="grid", **DRIVE).evidence
    assert {"engine_speed", "manifold_pressure"}.isdisjoint(effect.channel for effect in evidence.effects)


@pytest.mark.parametrize(
    ("fault", "words"),
    [("vacuum_leak", "shrinks as airflow grows, like that of a leak"), ("injector", "grows evenly with airflow")],
)
@pytest.mark.parametrize("scale", [0.0, 1.0])
def test_a_leak_and_weak_injectors_are_known_by_their_shape(
    round_of: MakeRound, fault: str, words: str, scale: float
) -> None:
    """A leak weighs most at low flow, an injector's shortfall at high load (common practice, no source)."""
    evidence = round_of(seed=1, fault=fault, error_scale=scale, **DRIVE).evidence
    assert words in shape_of(evidence)
    assert "before correcting the table" in shape_of(evidence)


def test_an_error_of_one_size_everywhere_is_told_with_what_else_does_that(
    round_of: MakeRound, altered: Callable[..., DriveRecord]
) -> None:
    made = round_of(seed=1, error_scale=0.0, **DRIVE)
    small = altered(made.records[0], drop=("lambda_measured",), ltft_1=lambda trim: trim + 8.0)
    evidence = evidence_of_records((small.table,), (small,))
    assert re.search(r"the same at all airflows, \+(7\.9|8\.\d) %", shape_of(evidence))
    assert "injectors of another size" in shape_of(evidence)
    assert shape_of(made.evidence) == ""


def made_up(random: np.random.Generator, slope: float) -> tuple[FloatArray, dict[str, FloatArray]]:
    """Residuals over 60 stretches of 100 samples whose errors hang together within each, and three channels."""
    together = np.repeat(random.normal(0, 0.004, 60), 100)
    channels = {
        name: np.repeat(random.uniform(0, 10, 60), 100) + random.normal(0, 0.5, 6000)
        for name in ("intake_temperature", "purge", "battery_voltage")
    }
    return together + random.normal(0, 0.01, 6000) + slope * channels["purge"], channels


def screened(random: np.random.Generator, slope: float) -> dict[str, Effect]:
    residual, channels = made_up(random, slope)
    cell, block = random.integers(0, 12, 6000), np.repeat(np.arange(60), 100)
    return {effect.channel: effect for effect in screen(residual, np.ones(6000), cell, block, channels)}


def test_the_interval_of_an_effect_holds_it_and_false_alarms_are_rare() -> None:
    """All tried channels counted (Bonferroni): of drives without any effect about one in twenty raises an alarm."""
    random = np.random.default_rng(11)
    alarms, held = 0, 0
    for _ in range(120):
        alarms += any(abs(effect.change) > effect.half_width for effect in screened(random, 0.0).values())
        effect = screened(random, 0.002)["purge"]
        held += abs(effect.change - 0.002 * (effect.high - effect.low)) <= effect.half_width
    assert alarms <= 14
    assert held >= 110


def test_a_companion_of_the_culprit_is_not_named_but_a_second_culprit_is() -> None:
    random = np.random.default_rng(8)
    residual, channels = made_up(random, 0.002)
    cell, block = random.integers(0, 12, 6000), np.repeat(np.arange(60), 100)
    companion = channels["purge"] + np.repeat(random.normal(0, 2.0, 60), 100)
    tried = {"coolant_temperature": companion, "purge": channels["purge"]}
    alone = screen(residual, np.ones(6000), cell, block, {"coolant_temperature": companion})
    assert alone[0].stands_out
    found = {effect.channel: effect for effect in screen(residual, np.ones(6000), cell, block, tried)}
    assert found["purge"].stands_out
    assert found["purge"].beside == ()
    assert not found["coolant_temperature"].stands_out
    assert found["coolant_temperature"].beside == ("purge",)
    second = residual + 0.003 * channels["battery_voltage"]
    both = screen(second, np.ones(6000), cell, block, channels)
    assert {effect.channel for effect in both if effect.stands_out} == {"purge", "battery_voltage"}
    later = next(effect for effect in both if effect.beside)
    assert "The remaining error also follows" in later.sentence


def test_dependence_in_time_is_counted() -> None:
    """The same errors spread independently over the stretches give a narrower interval."""
    random = np.random.default_rng(5)
    residual, channels = made_up(random, 0.0)
    cell, block = random.integers(0, 12, 6000), np.repeat(np.arange(60), 100)
    together = screen(residual, np.ones(6000), cell, block, channels)[0]
    apart = screen(random.permutation(residual), np.ones(6000), cell, block, channels)[0]
    assert together.half_width > 2 * apart.half_width


def test_what_stands_still_or_is_missing_is_not_tried() -> None:
    random = np.random.default_rng(6)
    residual, channels = made_up(random, 0.0)
    cell, block = random.integers(0, 12, 6000), np.repeat(np.arange(60), 100)
    dull = {"purge": np.full(6000, 3.0), "battery_voltage": np.full(6000, np.nan)}
    found = screen(residual, np.ones(6000), cell, block, {**channels, **dull})
    assert [effect.channel for effect in found] == ["intake_temperature"]
    few = screen(residual, np.ones(6000), cell, np.zeros(6000, dtype=np.int64), channels)
    assert few == ()


def test_small_effects_are_left_alone() -> None:
    """Under 1 % over a channel's range: common practice, no source."""
    assert not Effect("purge", 0.009, 0.001, 0, 60).stands_out
    assert Effect("purge", 0.011, 0.001, 0, 60).stands_out
    assert not Effect("purge", 0.011, 0.012, 0, 60).stands_out
    assert "Purge fuel reached the engine" in Effect("purge", -0.02, 0.001, 0, 60).sentence


def test_what_one_stretch_of_time_carries_alone_is_no_channel_that_the_error_follows() -> None:
    random = np.random.default_rng(5)
    block = np.repeat(np.arange(40), 150)
    cell = np.zeros(6000, dtype=np.int64)
    moving = np.repeat(random.normal(0.0, 1.0, 40), 150)
    moving[block == 7] = 6.0
    residual = random.normal(0.0, 0.004, 6000)
    residual[block == 7] += 0.05
    (moment,) = screen(residual, np.ones(6000), cell, block, {"engine_speed": moving})
    assert not moment.stands_out
    (throughout,) = screen(residual + 0.01 * moving, np.ones(6000), cell, block, {"engine_speed": moving})
    assert throughout.stands_out
