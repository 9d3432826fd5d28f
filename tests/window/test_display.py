"""Where no window can be opened, a sentence says why and what to do, and nothing aborts."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from workbench.window.kit import display_check as display

HOUSE = Path(__file__).parents[2]


def start(**variables: str) -> subprocess.CompletedProcess[str]:
    """Start the window in an environment of its own."""
    kept = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY")}
    kept.pop("QT_QPA_PLATFORM", None)
    return subprocess.run(
        [sys.executable, "-m", "workbench"],
        env={**kept, **variables},
        cwd=HOUSE,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="displays are a matter of X and Wayland")
@pytest.mark.parametrize("variables", [{}, {"DISPLAY": ":4711"}, {"QT_QPA_PLATFORM": "wayland"}])
def test_without_a_display_it_says_so_and_exits_with_1(variables: dict[str, str]) -> None:
    done = start(**variables)
    assert done.returncode == 1
    assert "display" in done.stderr.lower() or "library" in done.stderr
    assert "python -m workbench --help" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_missing_library_is_named_with_its_package() -> None:
    def load() -> None:
        raise OSError("libxcb-cursor.so.0: cannot open shared object file: No such file or directory")

    said = display._missing_library(load)
    assert "libxcb-cursor.so.0" in said
    assert "apt-get install libxcb-cursor0" in said
    assert "command line" in said


def test_a_missing_library_that_no_list_knows_is_named_all_the_same() -> None:
    def load() -> None:
        raise ImportError("libwhatever.so.3: cannot open shared object file")

    assert "libwhatever.so.3" in display._missing_library(load)


def test_the_offscreen_platform_needs_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    assert display.trouble() == ""
