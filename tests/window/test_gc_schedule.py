"""Libraries are set aside, garbage is still found, and Python's own way comes back."""

import gc
import sys
import types
import weakref
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication

from workbench.window.kit.gc_schedule import COLLECT_EVERY, GROWN, Collector


@pytest.fixture
def collector(qapp: QApplication) -> Iterator[Collector]:
    host = QObject()
    made = Collector(host)
    yield made
    made.stop()
    host.deleteLater()


class Knot:
    """Something that refers to itself."""

    def __init__(self) -> None:
        self.me = self


def test_what_came_with_a_library_is_set_aside(collector: Collector, monkeypatch: pytest.MonkeyPatch) -> None:
    before = gc.get_freeze_count()
    assert before > 1000
    kept = [Knot() for _ in range(500)]
    collector.look()
    assert gc.get_freeze_count() <= before
    for number in range(GROWN):
        monkeypatch.setitem(sys.modules, f"made_up_{number}", types.ModuleType(f"made_up_{number}"))
    collector.look()
    assert gc.get_freeze_count() >= before + len(kept)


def test_garbage_is_found_once_a_minute(collector: Collector) -> None:
    gone = weakref.ref(Knot())
    for _ in range(COLLECT_EVERY):
        collector.look()
    assert gone() is None


def test_pythons_own_way_comes_back(qapp: QApplication) -> None:
    before = gc.get_threshold()
    host = QObject()
    made = Collector(host)
    made.stop()
    assert gc.get_threshold() == before
    assert gc.get_freeze_count() == 0
    host.deleteLater()
