"""Long work: off the window's thread, reported, refused, cancelled, and never silent when the program is at fault."""

import sys
import threading
import time
from collections.abc import Generator

import pytest
from PySide6.QtCore import QObject
from pytestqt.qtbot import QtBot

from workbench.errors import InputError
from workbench.window.kit.worker import Heartbeat, Jobs
from workbench.window.shell.preload import LIBRARIES, fetch
from workbench.work import Progress


@pytest.fixture
def jobs(qtbot: QtBot, qapp: object) -> Generator[Jobs, None, None]:
    host = QObject()
    made = Jobs(host)
    yield made
    made.finish()


def counting(steps: int, cleaned: list[str] | None = None) -> Generator[Progress, None, int]:
    try:
        for step in range(steps):
            time.sleep(0.002)
            yield Progress(step, steps, "counting")
        return threading.get_ident()
    finally:
        if cleaned is not None:
            cleaned.append("closed")


def test_a_job_runs_elsewhere_and_its_result_comes_here(jobs: Jobs, qtbot: QtBot) -> None:
    done: list[tuple[int, int]] = []
    titles: list[str] = []
    jobs.working.connect(lambda title, _: titles.append(title))
    jobs.start("Count", counting(40), lambda result: done.append((result, threading.get_ident())), pytest.fail)
    qtbot.waitUntil(lambda: bool(done), timeout=5000)
    worked, told = done[0]
    assert worked != threading.get_ident() == told
    assert titles[0] == "Count"
    assert titles[-1] == ""
    assert not jobs.busy


def test_a_refusal_is_handed_over(jobs: Jobs, qtbot: QtBot) -> None:
    def refusing() -> Generator[Progress, None, None]:
        yield Progress(0, 1)
        raise InputError("No.", "Do this.")

    refused: list[object] = []
    jobs.start("Refuse", refusing(), pytest.fail, refused.append)
    qtbot.waitUntil(lambda: bool(refused), timeout=5000)
    assert str(refused[0]) == "No. Do this."


def test_a_fault_is_told_as_a_fault(jobs: Jobs, qtbot: QtBot) -> None:
    def faulty() -> Generator[Progress, None, None]:
        yield Progress(0, 1)
        raise ZeroDivisionError

    broke: list[object] = []
    jobs.broke.connect(broke.append)
    jobs.start("Fail", faulty(), pytest.fail, pytest.fail)
    qtbot.waitUntil(lambda: bool(broke), timeout=5000)
    assert isinstance(broke[0], ZeroDivisionError)


def test_a_cancelled_job_cleans_up_and_says_nothing(jobs: Jobs, qtbot: QtBot) -> None:
    cleaned: list[str] = []
    ended: list[bool] = []
    cancel = jobs.start("Count", counting(100_000, cleaned), pytest.fail, pytest.fail, lambda: ended.append(True))
    qtbot.wait(30)
    cancel()
    qtbot.waitUntil(lambda: bool(ended), timeout=5000)
    assert cleaned == ["closed"]


def test_jobs_take_turns(jobs: Jobs, qtbot: QtBot) -> None:
    order: list[str] = []
    jobs.start("One", counting(20), lambda _: order.append("one"), pytest.fail)
    jobs.start("Two", counting(1), lambda _: order.append("two"), pytest.fail)
    qtbot.waitUntil(lambda: len(order) == 2, timeout=5000)
    assert order == ["one", "two"]


def test_the_heartbeat_sees_a_blocked_thread(qtbot: QtBot, qapp: object) -> None:
    host = QObject()
    beat = Heartbeat(host)
    qtbot.wait(50)
    beat.restart()
    time.sleep(0.08)
    qtbot.wait(30)
    assert beat.longest_s >= 0.08


def test_libraries_are_fetched_without_a_word(jobs: Jobs, qtbot: QtBot) -> None:
    """What is waited for is shown, what is fetched ahead is not; one that is missing is left to who needs it."""
    done, titles = list[str](), list[str]()
    jobs.working.connect(lambda title, _: titles.append(title))
    jobs.start("", fetch(), lambda _: done.append("fetched"), pytest.fail)
    assert titles == [""]
    jobs.start("Count", counting(3), lambda _: done.append("counted"), pytest.fail)
    assert titles == ["", "Count"]
    qtbot.waitUntil(lambda: len(done) == 2, timeout=60_000)
    assert done == ["fetched", "counted"]
    assert set(LIBRARIES) <= set(sys.modules)
    assert set(titles[2:]) == {"Count", ""}
    assert titles[-1] == ""


def test_a_missing_library_is_left_to_who_needs_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pandas", None)
    assert len(list(fetch())) == len(LIBRARIES)
