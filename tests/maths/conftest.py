"""Rounds on the virtual car, each worked out once for all tests that look at it."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

import workbench.commands.handbook  # noqa: F401 - declares the commands, whose origins revisions carry
from workbench.demo.drive import DriveRecord, drive
from workbench.demo.rounds import Round, first_round, next_round
from workbench.demo.scenario import Scenario
from workbench.model.arrays import FloatArray
from workbench.model.evidence import Source
from workbench.model.log import Log
from workbench.model.packing import Column

MakeRound = Callable[..., Round]
MakeRecord = Callable[..., DriveRecord]


@cache
def _record(scenario: Scenario) -> DriveRecord:
    return drive(scenario)


@cache
def _first(scenario: Scenario, source: Source) -> Round:
    return first_round(scenario, source=source, record=_record(scenario))


@cache
def _second(scenario: Scenario) -> Round:
    return next_round(_first(scenario, "both"))


@pytest.fixture(scope="session")
def record_of() -> MakeRecord:
    """Makes the first drive of a scenario."""
    return lambda **chosen: _record(Scenario(**chosen))


@pytest.fixture(scope="session")
def round_of() -> MakeRound:
    """Makes the round after the first drive of a scenario."""
    return lambda source="both", **chosen: _first(Scenario(**chosen), source)


@pytest.fixture(scope="session")
def second_of() -> MakeRound:
    """Makes the round after two drives of a scenario, the second one with the table that the first one gave."""
    return lambda **chosen: _second(Scenario(**chosen))


@pytest.fixture(scope="session")
def altered() -> Callable[..., DriveRecord]:
    """Makes the same drive as if its log lacked some roles, or as if the channels of some roles read otherwise."""

    def alter(
        record: DriveRecord, drop: tuple[str, ...] = (), **changes: Callable[[FloatArray], FloatArray]
    ) -> DriveRecord:
        log: Log = record.log
        by_name = {name: changes[role] for role, name in log.roles.items() if role in changes}
        channels = tuple(
            replace(each, column=Column(by_name[each.name](each.values))) if each.name in by_name else each
            for each in log.channels
        )
        roles = {role: name for role, name in log.roles.items() if role not in drop}
        return replace(record, log=replace(log, channels=channels, roles=roles))

    return alter
