"""Cautions of what a log shows itself: injectors, knock, heat, fuel pressure, banks; each with its limit."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord
from workbench.demo.rounds import Round
from workbench.maths.cautions.cautions import find_cautions
from workbench.maths.signals.gating import engine_gates
from workbench.maths.signals.ratio import signals
from workbench.model.arrays import FloatArray
from workbench.model.evidence import Caution
from workbench.model.gate import Gates, Limits
from workbench.model.log import Channel, Drive
from workbench.model.packing import Column

MakeRound = Callable[..., Round]
DRIVE = {"seed": 5, "minutes": 6.0, "pulls": 2, "start_coolant_c": 85.0}


@pytest.fixture(scope="module")
def right(round_of: MakeRound) -> DriveRecord:
    """A drive on a table that is right."""
    return round_of(error_scale=0.0, **DRIVE).records[0]


def cautions(record: DriveRecord, channel: Channel | None = None, limits: Limits | None = None) -> list[Caution]:
    """Look through the drive, with one more channel."""
    log = record.log if channel is None else replace(record.log, channels=(*record.log.channels, channel))
    seen = signals(Drive(1, log, 1), record.table, Gates())
    gates = engine_gates(seen, record.table, Gates())
    return list(find_cautions(log, seen, gates, "", limits or Limits(), record.table))


def flow(record: DriveRecord) -> FloatArray:
    """Airflow as a share of the largest."""
    airflow = record.log.playing("airflow")
    assert airflow is not None
    return np.asarray(airflow / airflow.max())


def channel(name: str, unit: str, values: FloatArray) -> Channel:
    return Channel(name, unit, Column(values), unit)


@pytest.mark.parametrize(
    ("name", "unit", "top", "calm", "limit", "kind", "words", "found"),
    [
        (
            "Injector duty",
            "%",
            92.0,
            80.0,
            "injector_duty_percent",
            "danger",
            "Injector duty reached 92 %",
            "over-limit",
        ),
        ("Knock retard", "°", 6.0, 3.0, "knock_retard_deg", "danger", "retarded by up to 6.0° for knock", "over-limit"),
        ("Knock correction", "°", -6.0, -3.0, "knock_retard_deg", "danger", "retarded by up to 6.0°", "over-limit"),
        ("Rail pressure", "kPa", -0.15, -0.03, "fuel_pressure_drop", "danger", "falls by 15 %", "fuel-pressure"),
    ],
)
def test_each_is_told_beyond_its_limit_with_its_figures_and_not_within_it(
    right: DriveRecord, name: str, unit: str, top: float, calm: float, limit: str, kind: str, words: str, found: str
) -> None:
    def logged(most: float) -> Channel:
        if unit == "kPa":
            return channel(name, unit, 400.0 * (1 + most * np.clip((flow(right) - 0.55) / 0.35, 0, 1)))
        return channel(name, unit, most * flow(right))

    assert cautions(right, logged(calm)) == []
    (caution,) = cautions(right, logged(top))
    assert caution.name == found
    assert caution.kind == kind
    assert words in caution.sentence
    assert caution.limit == getattr(Limits(), limit)
    assert abs(caution.value) > caution.limit
    assert caution.unit
    assert caution.source == "common practice, no source"
    assert np.isfinite(caution.at)
    assert cautions(right, logged(top), replace(Limits(), **{limit: 1000.0})) == []


def test_hot_intake_air_is_told(right: DriveRecord) -> None:
    names = {each.name: each for each in right.log.channels}
    player = right.log.roles["intake_temperature"]
    hot = channel(player, "degC", names[player].values + 50.0)
    others = tuple(each for each in right.log.channels if each.name != player)
    record = replace(right, log=replace(right.log, channels=others))
    (caution,) = (each for each in cautions(record, hot) if each.name == "over-limit")
    assert caution.passes
    assert "heat soak" in caution.sentence
    assert caution.value > caution.limit == Limits().intake_c


def test_banks_that_need_other_fuel_are_told(right: DriveRecord) -> None:
    short = right.log.playing("stft_1")
    assert short is not None
    roles = {**right.log.roles, "stft_2": "Second bank"}
    two = replace(right, log=replace(right.log, roles=roles))
    (caution,) = cautions(two, channel("Second bank", "%", short + 4.0))
    assert caution.name == "banks-apart"
    assert "Bank 2 takes 4" in caution.sentence
    assert caution.value == pytest.approx(0.04, abs=0.004)
    assert cautions(two, channel("Second bank", "%", short + 1.0)) == []
