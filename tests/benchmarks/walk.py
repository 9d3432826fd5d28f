"""How far one walks through the code on three ways: stays, places and returns, by module and by room.

    python tests/benchmarks/walk.py

Every function counts once, when it is first called. A stay is a run of such calls in one place, a return a stay in a
place where the walk has been before. November 2026, before the rooms: reading 28 modules with 47 returns, evidence 51
with 100, a multiplier and its undo 19 with 32.
"""

import os
import shutil
import sys
import tempfile
import threading
from collections.abc import Callable
from itertools import groupby
from pathlib import Path
from types import FrameType
from typing import Any

import workbench
from workbench.commands.handbook import COMMANDS
from workbench.files.logs import read_log
from workbench.session import Session
from workbench.work import run

os.environ["WORKBENCH_CACHE"] = "off"  # what was found before would be no walk
HOUSE = Path(workbench.__file__).parent
SAMPLES = HOUSE.parent / "sample_sessions"


def walked(act: Callable[[], Any]) -> list[str]:
    """Do something and list the modules of the functions that were called, each function once, in order."""
    order: list[str] = []
    seen: set[tuple[str, int]] = set()

    def note(frame: FrameType, event: str, _: Any) -> None:
        code = frame.f_code
        key = (code.co_filename, code.co_firstlineno)
        if event == "call" and code.co_filename.startswith(f"{HOUSE}/") and code.co_name[0] != "<" and key not in seen:
            seen.add(key)
            order.append(str(Path(code.co_filename).relative_to(HOUSE).with_suffix("")))

    threading.setprofile(note)
    sys.setprofile(note)
    try:
        act()
    finally:
        sys.setprofile(None)
        threading.setprofile(None)
    return order


def room(module: str) -> str:
    """Give the room of a module; a module beside the rooms is one itself."""
    return module.rsplit("/", 1)[0] if module.count("/") > 1 else module


def line(name: str, order: list[str]) -> str:
    """Write one way as a row of the table."""
    columns = []
    for places in (order, [room(each) for each in order]):
        stays = [place for place, _ in groupby(places)]
        columns.append(f"{len(set(stays)):4d} {len(stays) - len(set(stays)):4d}")
    return f"{name:<44}" + "   ".join(columns)


def main() -> None:
    """Print the table."""
    print(f"{'way':<44}modules, returns   rooms, returns")
    print(line("a log from CSV to channels", walked(lambda: run(read_log(SAMPLES / "part_throttle_drive.csv")))))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "copy.session"
        shutil.copy(SAMPLES / "enlarged_intake.session", path)
        session = Session.open(path)

        def there_and_back() -> None:
            for word, values in (("scale", {"by": 1.01}), ("undo", {})):
                session.record(COMMANDS[word].function(session.state, **values).change)

        print(line("drives to evidence", walked(lambda: run(COMMANDS["evidence"].function(session.state)))))
        print(line("a multiplier to the store and back by undo", walked(there_and_back)))
        session.close()


if __name__ == "__main__":
    main()
