"""What was looked at in each session: layer, cells, drive, lanes and zoom are as they were when it is opened again."""

import json
from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import QObject, QTimer

from workbench.model.state import State
from workbench.model.table import Table
from workbench.window.log.lane_shapes import LaneShape
from workbench.window.log.log_view import LogView
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.preferences import Memory
from workbench.window.scene.scene import LAYERS, Scene

SESSIONS = 20
SETTLE_MS = 1500
KEY = "looked-at"


class Recall(QObject):
    """Notes what is looked at, and gives it back."""

    def __init__(self, bridge: Bridge, log: LogView, memory: Memory, parent: QObject) -> None:
        """Watch the bridge, and tell it what was looked at in a session that it opens."""
        super().__init__(parent)
        self._bridge, self._log, self._memory, self._scene = bridge, log, memory, Scene()
        self.outside: tuple[str, ...] = ()  # tables from elsewhere that the session which is open was left with
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(SETTLE_MS)
        self._soon.timeout.connect(self.save)
        bridge.looked_at, bridge.made_elsewhere = self.looked_at, self.made_elsewhere
        bridge.shown.connect(self._on_shown)
        log.looked.connect(self._soon.start)

    def _on_shown(self, scene: Scene) -> None:
        before, now = self._scene.state, scene.state
        if before is not None and (now is None or now.path != before.path):
            self.save()
        self._scene = scene
        if now is not None:
            self._soon.start()

    def save(self) -> None:
        """Write down what is looked at."""
        self._soon.stop()
        state, focus = self._scene.state, self._scene.focus
        if state is None:
            return
        known = self._known()
        known.pop(state.path, None)
        names = {drive.log.sha256 for drive in state.drives}
        known[state.path] = {
            "table": focus.table,
            "cell": focus.cell,
            "blocks": focus.blocks,
            "layer": focus.layer,
            "against": focus.against,
            "drive": focus.drive,
            "known": state.sequence,
            "foreign": sorted(self._bridge.foreign & {deed.sequence for deed in state.done}),
            "outside": [each.name for each in focus.outside],
            "lanes": {name: lanes for name, lanes in self._log.wanted.items() if name in names},
            "seen": {name: seen for name, seen in self._log.seen.items() if name in names},
            "shapes": {
                name: {lane: [shape.height, shape.limits] for lane, shape in shapes.items()}
                for name, shapes in self._log.shapes.items()
                if name in names
            },
        }
        latest = dict(list(known.items())[-SESSIONS:])
        self._memory.keep(KEY, json.dumps(latest))

    def looked_at(self, state: State) -> Mapping[str, Any]:
        """Return the fields of the focus that still make sense, and let the log show its lanes as they were."""
        remembered = self._known().get(state.path)
        self.outside = ()
        if not isinstance(remembered, dict):
            return {}
        outside = remembered.get("outside")
        self.outside = tuple(str(name) for name in outside) if isinstance(outside, list) else ()
        self._log.recall(
            _lanes_of(remembered.get("lanes")),
            _stretches_of(remembered.get("seen")),
            {name: _shapes_of(each) for name, each in _entries(remembered.get("shapes"))},
        )
        table = remembered.get("table")
        if table not in state.history.table_names:
            return {}
        found: dict[str, Any] = {"table": table}
        cell, blocks = (
            _cell_of(remembered.get("cell"), state.table(table)),
            _blocks_of(remembered.get("blocks"), state.table(table)),
        )
        if cell:
            found |= {"cell": cell, "blocks": blocks}
        if remembered.get("layer") in LAYERS and (
            remembered["layer"] != "storage" or state.ecu_format(table).storage is not None
        ):
            found["layer"] = remembered["layer"]
        against, drive = remembered.get("against"), remembered.get("drive")
        if isinstance(against, int) and 1 <= against <= len(state.history.revisions):
            found["against"] = against
        if any(each.id == drive for each in state.drives):
            found["drive"] = drive
        return found

    def made_elsewhere(self, state: State) -> frozenset[int]:
        """Return the changes of a session that this window did not make, as far as it remembers the session."""
        remembered = self._known().get(state.path)
        if not isinstance(remembered, dict) or not isinstance(known := remembered.get("known"), int):
            return frozenset()
        listed = remembered.get("foreign")
        before = (each for each in listed if isinstance(each, int)) if isinstance(listed, list) else ()
        return frozenset((*before, *range(known + 1, state.sequence + 1)))

    def _known(self) -> dict[str, Any]:
        try:
            read = json.loads(self._memory.text(KEY, "{}"))
        except (ValueError, RecursionError):
            return {}
        return read if isinstance(read, dict) else {}


def _cell_of(remembered: object, table: Table) -> tuple[int, ...]:
    """Read a cell; empty where the table does not have it."""
    if not isinstance(remembered, list) or len(remembered) != len(table.axes):
        return ()
    fits = all(isinstance(i, int) and 0 <= i < n for i, n in zip(remembered, table.shape, strict=True))
    return tuple(remembered) if fits else ()


def _blocks_of(remembered: object, table: Table) -> tuple[tuple[tuple[int, int], ...], ...]:
    """Read blocks of cells; none where the table does not have all of them."""
    blocks = []
    for block in remembered if isinstance(remembered, list) else []:
        if not isinstance(block, list) or len(block) != len(table.axes):
            return ()
        spans = [_cell_of(list(ends), table) for ends in _turned(block)]
        if len(spans) != 2 or not all(spans):
            return ()
        blocks.append(tuple((low, high) for low, high in zip(*spans, strict=True)))
    return tuple(blocks)


def _turned(block: list[Any]) -> list[tuple[Any, ...]]:
    """Return the first corner of a block and its last."""
    if not all(isinstance(ends, list) and len(ends) == 2 for ends in block):
        return []
    return list(zip(*block, strict=True))


def _lanes_of(remembered: object) -> dict[str, tuple[tuple[str, ...], ...]]:
    if not isinstance(remembered, dict):
        return {}
    return {
        str(name): tuple(tuple(str(channel) for channel in lane) for lane in lanes if isinstance(lane, list))
        for name, lanes in remembered.items()
        if isinstance(lanes, list)
    }


def _entries(remembered: object) -> list[tuple[str, object]]:
    return [(str(name), each) for name, each in remembered.items()] if isinstance(remembered, dict) else []


def _shapes_of(remembered: object) -> dict[str, LaneShape]:
    """Read heights and scales of lanes; what makes no sense is left out."""
    found = {}
    for lane, parts in _entries(remembered):
        height, limits = parts if isinstance(parts, list) and len(parts) == 2 else (None, None)
        if not isinstance(height, int | float) or not 0 < height < 100:
            continue
        ends = _stretches_of({lane: limits}).get(lane)
        found[lane] = LaneShape(float(height), ends if ends is not None and ends[0] < ends[1] else None)
    return found


def _stretches_of(remembered: object) -> dict[str, tuple[float, float]]:
    if not isinstance(remembered, dict):
        return {}
    return {
        str(name): (float(ends[0]), float(ends[1]))
        for name, ends in remembered.items()
        if isinstance(ends, list) and len(ends) == 2 and all(isinstance(end, int | float) for end in ends)
    }
