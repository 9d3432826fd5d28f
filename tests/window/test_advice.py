"""What is said of the chosen cells: no step that would be lost in the ECU's step, or is far inside the target."""

from dataclasses import replace

import numpy as np
import pytest

from workbench.model.evidence import Evidence, Target
from workbench.model.table import Table
from workbench.window.panels.evidence_panel import advice, told_first

PART, FULL = (Target(limit, 1.0, 1.0, 0.0, None, 0.0, measured=True) for limit in (0.05, 0.01))


def seen(table: Table, ratio: float, half_width: float) -> Evidence:
    ones = np.ones(table.shape)
    return Evidence(
        table=table, revision=1, drives=(1,), source="both", ratio=ones * ratio, half_width=ones * half_width,
        samples=ones * 50, visits=np.full(table.shape, 3), standing=np.full(table.shape, 2), mean=ones, median=ones,
        spread=ones, count=np.full(table.shape, 50), full_throttle=np.zeros(table.shape, dtype=np.bool_), delay={},
        gates=(), kept=(), samples_used=250, part_target=PART, full_target=FULL, wideband={},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("ratio", "half", "step", "told"),
    [
        (1.031, 0.004, 0.0, "The table reads low here: raise it by 3.1"),
        (0.969, 0.004, 0.0, "The table reads high here: lower it by 3.1"),
        (0.999, 0.0008, 0.0, "The table reads 0.1\N{NARROW NO-BREAK SPACE}% high here, far inside its target"),
        (1.008, 0.004, 1.0, "The table reads 0.8\N{NARROW NO-BREAK SPACE}% low here, less than one storage step"),
        (1.003, 0.004, 0.0, "The table is right here within the uncertainty (±0.4\N{NARROW NO-BREAK SPACE}%)"),
        (1.03, 0.08, 0.0, "Too uncertain to tell whether the table is off here (±8.0\N{NARROW NO-BREAK SPACE}%)"),
    ],
)
def test_only_a_step_worth_taking_is_advised(curve: Table, ratio: float, half: float, step: float, told: str) -> None:
    chosen = np.zeros(curve.shape, dtype=np.bool_)
    chosen[2] = True
    assert advice(seen(curve, ratio, half), chosen, step)[0].startswith(told)


def test_where_to_drive_is_told_first_only_of_cells_that_were_not_driven(curve: Table) -> None:
    found = replace(seen(curve, 1.031, 0.004), plan=("Hold about 2000 rpm.",))
    chosen = np.arange(5) == 2
    assert told_first(advice(found, chosen), found, chosen) == advice(found, chosen)[:1]
    undriven = replace(found, standing=np.where(chosen, 0, 2), samples=np.where(chosen, 0.0, 50.0))
    told = told_first(advice(undriven, chosen), undriven, chosen)
    assert told == ["Undriven: nothing was measured here.", "What to drive next stands first in the notes."]


def test_what_was_not_driven_yet_is_expected(curve: Table) -> None:
    chosen = np.arange(5) == 2
    found = seen(curve, 1.031, 0.004)
    found = replace(found, part_target=replace(PART, measured=False), full_target=replace(FULL, measured=False))
    assert advice(found, chosen)[0].startswith("Expected, not driven yet: The table reads low here")
    assert not advice(found, np.zeros(5, dtype=np.bool_))


def test_full_throttle_has_its_own_target(curve: Table) -> None:
    chosen = np.ones(curve.shape, dtype=np.bool_)
    found = seen(curve, 1.003, 0.001)
    assert "far inside" in advice(found, chosen)[0]
    assert "raise it" in advice(replace(found, full_throttle=np.arange(5) == 4), chosen)[0]


def test_a_dispute_between_drives_is_said_where_it_is(curve: Table) -> None:
    found = seen(curve, 1.02, 0.03)
    disputed = replace(found, disputed=np.arange(5) == 2)
    assert any("drives disagree here" in line for line in advice(disputed, np.arange(5) == 2))
    for evidence, chosen in ((disputed, np.arange(5) == 3), (found, np.arange(5) == 2)):
        assert not any("disagree" in line for line in advice(evidence, chosen))


def test_a_cell_that_was_read_and_is_too_uncertain_is_not_said_to_be_unmeasured(curve: Table) -> None:
    found = replace(seen(curve, 1.0, 0.2), standing=np.array([0, 0, 2, 2, 2]), samples=np.array([0.0, 90, 90, 90, 90]))
    chosen = np.arange(5) == 1
    assert advice(found, chosen)[0] == "Read here, but too uncertain to count as driven: the notes say why."
    assert advice(found, np.arange(5) == 0)[0] == "Undriven: nothing was measured here."
    assert advice(found, np.arange(5) < 2)[:2] == [
        "1 cell is undriven: nothing was measured there.",
        "1 cell was read, but is too uncertain to count as driven: the notes say why.",
    ]
