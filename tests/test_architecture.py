"""The house rules, checked by reading the source: who may import whom, and how long a file may be."""

import ast
import graphlib
import sys
from pathlib import Path

import pytest

HOUSE = Path(__file__).parent.parent / "workbench"

# The rooms of the house, from the top down: a room may use what stands above it. A room is a folder of modules, or a
# single module beside the folders (a door, or a small floor). Inside a room modules may use one another, without a
# circle.
ROOMS = """
    phrases errors work expressions
    model
    maths maths.table maths.signals maths.solve maths.drives maths.pooling maths.uncertainty maths.verdict
    maths.cautions maths.evidence
    maths.questions
    files files.disk files.store files.cache files.plain files.vocabulary files.text files.gaps files.moments
    files.written files.course files.unnamed files.channels files.formats files.export
    files.groups files.logs files.together files.tables files.identify
    session
    demo
    commands commands.declaring commands.finding commands.evidence commands.logs commands.table commands.record
    commands.report commands.handbook
    cli
    window window.words window.kit window.scene window.table window.log window.panels window.tasks window.shell
    window.app
    __main__
""".split()
# Rooms that other floors may import: the faces of their floor. What is not here is private to its floor.
FACES = {
    "maths": "table signals drives pooling verdict cautions evidence questions",
    "files": "disk store cache plain export vocabulary channels logs together tables identify",
    "commands": "declaring evidence table record report finding handbook",
    "window": "app",
}
LARGEST_ROOM = 16  # modules, besides the one line that says what belongs there

# Floors that a floor may use, besides its own.
MAY_USE = {
    "phrases": "",
    "errors": "phrases",
    "work": "phrases errors",
    "expressions": "phrases errors",
    "model": "phrases errors expressions",
    "maths": "phrases errors work model",
    "files": "phrases errors work expressions model",
    "session": "phrases errors model files",
    "demo": "phrases errors work model maths files session",
    "commands": "phrases errors work expressions model maths files session demo",
    "cli": "phrases errors work model session commands",
    "window": "phrases errors work model maths session commands",
    "__main__": "cli window errors",
}
# Faces that are all a floor may use of another: the window asks questions of the maths, and solves nothing.
ONLY = {("window", "maths"): "questions"}
THIRD_PARTY = {
    "expressions": "numpy",
    "model": "numpy",
    "maths": "numpy scipy",
    "files": "numpy pandas msgspec",
    "demo": "numpy",
    "commands": "numpy",
    "window": "numpy PySide6 pyqtgraph",
}
# Modules that are programs of their own, begun by nobody but as a process: what else they may use.
APART = {"files.export.page_writer": "PySide6", "files.export.type_setting": "PySide6"}
# Imports that may stand inside a function: (module, what it imports). Heavy or optional libraries, and what only some
# commands need of a module that all use.
LAZY = {
    ("commands.declaring.into_the_car", "maths.verdict.objections"),
    ("commands.declaring.making", "maths.verdict.objections"),
    ("commands.evidence.stated_place", "commands.evidence.gathering"),
    ("__main__", "window.app"),
    ("__main__", "cli"),
    ("cli", "commands.handbook"),
    ("window.app", "window.shell.application"),
    ("window.shell.main_window", "window.shell.controller"),
    # What most commands never need, and takes longer to import than they take in all: tests/benchmarks/start.py.
    ("cli", "difflib"),
    ("files.disk.atomic_write", "shutil"),
    ("files.disk.clock", "getpass"),
    ("files.disk.scratch", "shutil"),
    ("files.disk.scratch", "tempfile"),
}
LAZY_LIBRARIES = {
    "pandas",
    "scipy",
    "pint",
    "asammdf",
    "can",
    "cantools",
    "threadpoolctl",
    "openpyxl",
    "odf",
    "python_calamine",
    "fastparquet",
    "cryptography",
    "jinja2",
    "markupsafe",
}
LONGEST_FILE, LONGEST_FUNCTION = 400, 60


def name_of(path: Path) -> str:
    parts = path.relative_to(HOUSE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {name_of(p): p for p in sorted(HOUSE.rglob("*.py")) if name_of(p)}
TREES = {name: ast.parse(path.read_text()) for name, path in MODULES.items()}
FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)


def imports_of(tree: ast.AST) -> list[str]:
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            whole = [f"{node.module}.{alias.name}".removeprefix("workbench.") for alias in node.names]
            found += [f"workbench.{w}" for w in whole if w in MODULES] or [node.module or "relative"]
    return found


def room_of(name: str) -> str:
    """The room a module stands in: the longest listed prefix of its name."""
    return max((room for room in ROOMS if f"{name}.".startswith(f"{room}.")), key=len, default="")


INSIDE = {name: [other for other in imports_of(tree) if other.startswith("workbench.")] for name, tree in TREES.items()}


def test_every_module_stands_in_a_room() -> None:
    assert [name for name in MODULES if not room_of(name)] == []
    folders = {name_of(path) for path in HOUSE.rglob("__init__.py") if name_of(path)}
    assert sorted(folders - set(ROOMS)) == []


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_is_small_and_says_what_belongs_there(room: str) -> None:
    members = [name for name in MODULES if room_of(name) == room and name != room]
    assert len(members) <= LARGEST_ROOM
    assert (ast.get_docstring(TREES[room]) or "" if room in TREES else "").strip()


@pytest.mark.parametrize("name", MODULES)
def test_a_module_uses_only_rooms_above_its_own(name: str) -> None:
    floor, room = name.split(".")[0], room_of(name)
    for imported in imports_of(TREES[name]):
        if imported == "workbench":  # the version
            continue
        if imported.startswith("workbench."):
            other = imported.removeprefix("workbench.")
            there, theirs = room_of(other), other.split(".")[0]
            assert ROOMS.index(there) <= ROOMS.index(room), f"{name} reaches down to {other}"
            assert theirs in [floor, *MAY_USE[floor].split()], f"{floor} may not use {theirs}"
            if theirs != floor and theirs in FACES:
                faces = ONLY.get((floor, theirs), FACES[theirs]).split()
                assert there.removeprefix(f"{theirs}.") in faces, f"{there} is no face of {theirs} for {floor}"
        elif (top := imported.split(".")[0]) not in sys.stdlib_module_names:
            assert top in {*THIRD_PARTY.get(floor, "").split(), *APART.get(name, "").split(), *LAZY_LIBRARIES}, (
                f"{floor} may not use {top}"
            )


def test_what_draws_pages_is_a_process_of_its_own() -> None:
    """The command line works where Qt's libraries are missing: nothing that it imports leads to them."""
    inside = {f"workbench.{name}" for name in (*APART, "files.export.pages", "files.export.ruling")}
    users = {name for name, others in INSIDE.items() if inside & set(others)}
    assert users <= {name.removeprefix("workbench.") for name in inside}


def test_no_circle_of_imports() -> None:
    sorter = graphlib.TopologicalSorter(
        {name: [other.removeprefix("workbench.") for other in others] for name, others in INSIDE.items()}
    )
    sorter.prepare()


@pytest.mark.parametrize("name", MODULES)
def test_imports_stand_at_the_top(name: str) -> None:
    for function in (n for n in ast.walk(TREES[name]) if isinstance(n, FUNCTIONS)):
        for imported in imports_of(function):
            if imported.split(".")[0] not in LAZY_LIBRARIES:
                assert (name, imported.removeprefix("workbench.")) in LAZY, f"{name} hides {imported}"


@pytest.mark.parametrize("name", MODULES)
def test_files_and_functions_are_short(name: str) -> None:
    assert len(MODULES[name].read_text().splitlines()) <= LONGEST_FILE
    for function in (n for n in ast.walk(TREES[name]) if isinstance(n, FUNCTIONS)):
        length = (function.end_lineno or 0) - function.lineno
        assert length < LONGEST_FUNCTION, f"{name}.{function.name} is too long"
