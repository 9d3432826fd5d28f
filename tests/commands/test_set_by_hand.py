"""A cell that was rolled back counts no longer as set by hand: a later correction goes on into it."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.record.revisions import roll_back
from workbench.commands.table.hand import scale
from workbench.commands.table.tables import new
from workbench.demo.engine import stale_table
from workbench.demo.scenario import Scenario
from workbench.files.tables.tables import write_table_text
from workbench.maths.table.continuing import set_by_hand
from workbench.model.cells import ALL, Cells, read_cells
from workbench.session import Session


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    (tmp_path / "curve.csv").write_text(write_table_text(stale_table(Scenario(seed=7))))
    new(tmp_path / "car.session", tmp_path / "curve.csv", name="airflow")
    with Session.open(tmp_path / "car.session") as opened:
        yield opened


def scaled(session: Session, cell: str) -> None:
    change = scale(session.state, by=1.05, cells=read_cells(cell)).change
    assert change is not None
    session.record(change)


def back(session: Session, revision: int, cells: Cells = ALL) -> None:
    change = roll_back(session.state, revision, cells=cells).change
    assert change is not None
    session.record(change)


def marked(session: Session) -> list[int]:
    return [int(at) for at in np.flatnonzero(set_by_hand(session.state.history, session.state.head()))]


def test_rolled_back_whole_it_is_as_it_was_brought_in(session: Session) -> None:
    scaled(session, "3")
    assert marked(session) == [3]
    back(session, 1)
    assert marked(session) == []


def test_rolled_back_in_part_the_other_cells_stay_set_by_hand(session: Session) -> None:
    scaled(session, "3")
    scaled(session, "5")
    back(session, 1, read_cells("3"))
    assert marked(session) == [5]


def test_rolled_back_to_where_it_was_set_it_is_set_by_hand_again(session: Session) -> None:
    scaled(session, "3")
    back(session, 1)
    back(session, 2)
    assert marked(session) == [3]
