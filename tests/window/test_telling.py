"""Who listens to the scene hears of the latest one last, also where a listener changes it in answer."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication

from workbench.session import Session
from workbench.window.scene.bridge import Bridge
from workbench.window.scene.scene import Scene


@pytest.fixture
def bridge(session: Session, qapp: QApplication) -> Iterator[Bridge]:
    del qapp
    path, parent = Path(session.state.path), QObject()
    session.close()
    made = Bridge(parent)
    made.open(Session.open(path))
    yield made
    made.close()


def test_what_a_listener_changes_is_told_last_to_all(bridge: Bridge) -> None:
    """Told in between, who listens later would hear of the older scene after the newer one, and go on showing it."""
    first, last = list[Scene](), list[Scene]()

    def answer(scene: Scene) -> None:
        first.append(scene)
        if not scene.puzzle:
            bridge.put_evidence(None, "why")

    bridge.shown.connect(answer)
    bridge.shown.connect(last.append)
    bridge.focus(layer="change")
    assert last[-1] is first[-1] is bridge.scene
    assert [scene.puzzle for scene in last] == ["", "why"]
    assert {scene.focus.layer for scene in last} == {"change"}


def test_each_change_is_told_once(bridge: Bridge) -> None:
    heard = list[Scene]()
    bridge.shown.connect(heard.append)
    bridge.focus(layer="change")
    bridge.focus(layer="value")
    assert [scene.focus.layer for scene in heard] == ["change", "value"]
    assert not bridge._telling
