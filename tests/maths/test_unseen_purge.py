"""Purge that nothing tells of: what it usually does is counted, unless it is stated that it was off."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from workbench.demo.drive import DriveRecord
from workbench.demo.rounds import evidence_of_records
from workbench.maths.pooling.unseen_purge import USUALLY
from workbench.model.evidence import Evidence
from workbench.model.log import Channel, Column

UNSEEN = "purge unseen"


def size_of(found: Evidence) -> float:
    return float(sum(np.max(item.size) for item in found.budget if item.name == UNSEEN))


def test_unlogged_purge_is_counted_on_unless_it_is_stated_off(record_of: Callable[..., DriveRecord]) -> None:
    hidden = record_of(seed=1, purge="off", minutes=5.0, pulls=1, start_coolant_c=80.0)
    log = hidden.log
    valve = Channel("Purge off", "%", Column(np.zeros(log.rows)))
    stated = replace(log, channels=(*log.channels, valve), roles={**log.roles, "purge": "Purge off"})
    counted = evidence_of_records((hidden.table,), (hidden,))
    off = evidence_of_records((hidden.table,), (replace(hidden, log=stated),))
    assert any("say so with" in note for note in counted.notes)
    assert not any("purge is not logged" in note for note in off.notes)
    assert size_of(counted) > USUALLY
    assert size_of(off) == 0
    part = counted.driven & ~counted.full_throttle & off.driven
    assert part.any()
    more = (counted.ratio / off.ratio - 1)[part]
    assert np.all(more > -1e-5)
    assert np.median(more) > USUALLY / 3
