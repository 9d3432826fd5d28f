"""Rounds on the virtual car: correct from the drives so far, flash, drive again."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from workbench.demo.drive import DriveRecord, drive
from workbench.demo.engine import stale_table
from workbench.demo.scenario import Scenario
from workbench.maths.evidence import gather_evidence
from workbench.maths.table.correction import correction
from workbench.model.correction import Correction
from workbench.model.evidence import Delay, Evidence, Source
from workbench.model.history import History, Json, Origin, Revision
from workbench.model.log import Drive
from workbench.model.state import Settings
from workbench.model.table import Table
from workbench.work import run

PLAIN_SETTINGS = Settings()


@dataclass(frozen=True, eq=False)
class Round:
    """What is there after a correction.

    Attributes:
        scenario: the car.
        records: the drives so far, the first one with the stale table.
        tables: what was in the car for each of them, and last the corrected one.
        evidence: that the last correction rests on.
        correction: that was applied.
    """

    scenario: Scenario
    records: tuple[DriveRecord, ...]
    tables: tuple[Table, ...]
    evidence: Evidence
    correction: Correction

    @property
    def table(self) -> Table:
        """The corrected table."""
        return self.tables[-1]


def history_of(tables: tuple[Table, ...], arguments: Mapping[int, Mapping[str, Json]] | None = None) -> History:
    """Make a history in which each table was corrected to the next; `arguments` by revision."""
    recorded = arguments or {}
    ones = np.ones(tables[0].shape)
    revisions = tuple(
        Revision(
            n,
            n - 1 or None,
            table,
            "correct" if n > 1 else "new",
            recorded.get(n, {}),
            "",
            "",
            "",
            ones,
            origin=_origin(n),
        )
        for n, table in enumerate(tables, start=1)
    )
    return History(revisions, {tables[0].name: len(tables)}, {}, {})


def _origin(number: int) -> Origin:
    return "measured" if number > 1 else "brought in whole"


def drives_of(records: tuple[DriveRecord, ...]) -> tuple[Drive, ...]:
    """Tie each record to the revision of its own number."""
    return tuple(Drive(number, record.log, number) for number, record in enumerate(records, start=1))


def evidence_of_records(
    tables: tuple[Table, ...],
    records: tuple[DriveRecord, ...],
    *,
    source: Source = "both",
    settings: Settings = PLAIN_SETTINGS,
    stated: Delay | None = None,
) -> Evidence:
    """Gather evidence for the last table from drives made with the tables of their own number."""
    history = history_of(tables)
    head = history.revision(len(tables))
    return run(gather_evidence(history, head, drives_of(records), settings, source, stated))


def first_round(
    scenario: Scenario,
    *,
    source: Source = "both",
    settings: Settings = PLAIN_SETTINGS,
    record: DriveRecord | None = None,
) -> Round:
    """Drive with the stale table (or take that drive) and correct it at share 1."""
    first = drive(scenario) if record is None else record
    return _corrected(scenario, (first,), (stale_table(scenario),), source, settings)


def next_round(before: Round, *, source: Source = "both", settings: Settings = PLAIN_SETTINGS) -> Round:
    """Drive with the corrected table and correct it again at share 1, all drives pooled."""
    number = len(before.records) + 1
    record = drive(before.scenario, before.table, number=number)
    return _corrected(before.scenario, (*before.records, record), before.tables, source, settings)


def _corrected(
    scenario: Scenario,
    records: tuple[DriveRecord, ...],
    tables: tuple[Table, ...],
    source: Source,
    settings: Settings,
) -> Round:
    found = evidence_of_records(tables, records, source=source, settings=settings)
    proposed = correction(found)
    after = tables[-1].with_values(tables[-1].values * proposed.multipliers)
    return Round(scenario, records, (*tables, after), found, proposed)
