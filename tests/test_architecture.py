"""The house rules, checked by reading the source: who may import whom, and how long a file may be."""

import ast
import sys
from pathlib import Path

import pytest

HOUSE = Path(__file__).parent.parent / "workbench"

# One staircase: a module may import only modules that stand above it in this list.
STAIRS = """
    errors
    work
    model.arrays model.counting model.packing model.table model.log model.cells model.gate model.evidence
    model.correction model.keeping model.history model.state model
    maths maths.scale maths.smooth maths.renewal maths.fuel maths.interpolation maths.series maths.pairing
    maths.axes maths.ratio maths.gating maths.delay maths.disturbances maths.vapour maths.sampling maths.symmetric
    maths.roughness maths.resolution maths.design maths.accumulate maths.likelihood maths.solve maths.align maths.driven
    maths.pooling maths.agreement
    maths.unlogged maths.standing maths.screen maths.findings maths.provenance maths.plan maths.pulls maths.cautions
    maths.gather
    maths.correction maths.promise maths.filling maths.resample maths.effect maths.storage maths.joining
    maths.high_load maths.case maths.driven_against maths.objections maths.outliers maths.physics
    files files.clock files.rows files.header files.placing files.store files.exporting files.report files.reading
    files.foreign files.containers files.sheet_reader files.sheets
    files.words files.units files.vocabulary files.recording files.roles files.numbers
    files.layout files.gathering files.delimited files.clocks files.stamps files.endings files.moments files.measured
    files.mixture files.suspects files.states files.defaults files.recasting files.merging files.meaning files.longform
    files.obd files.mdf_reader files.mdf files.captures files.logs files.cells files.tables files.recognising
    files.conversion files.clipboard
    session
    demo demo.scenario demo.engine demo.driver demo.exhaust demo.ecu demo.recorder demo.drive demo.samples
    demo.judging demo.handwork demo.rounds
    commands.registry commands.making commands.next_step commands.evidence_report commands.evidence commands.tables
    commands.logs commands.inspection commands.hand commands.shaping commands.clipboard commands.donors commands.keeping
    commands.physics commands.settings commands.revisions commands.exports commands.reports commands.samples
    commands.arguments commands.handbook commands
    cli
    window window.guard window.theme window.style window.wording window.translation window.voice window.turns
    window.acts window.display window.crash window.controls window.flow window.elided window.plots window.scene
    window.curve_view window.drawer window.jobs window.pyramid window.spans window.lane_plot window.lane_stack
    window.lanes window.prepared window.log_view window.evidence_panel window.heat window.layers window.grid_view
    window.picture_card window.branches window.history_rail window.notice window.entry window.table_model
    window.sections window.table_view window.numbers_card window.next_step window.status_strip window.bench
    window.bridge window.memory window.watching window.opening window.palette window.keys_task window.runner
    window.story window.approve_task window.correct_task window.gates_task window.form window.log_tasks window.tasks
    window.routes window.start_page window.texts window.work_line window.recall window.fetching window.workshop
    window.main_window window.collecting window.running window.app
    __main__
""".split()

# Floors that a floor may use, besides its own.
MAY_USE = {
    "errors": "",
    "work": "errors",
    "model": "errors",
    "maths": "errors work model",
    "files": "errors work model",
    "session": "errors model files",
    "demo": "errors work model maths files session",
    "commands": "errors work model maths files session demo",
    "cli": "errors work session commands",
    "window": "errors work model session commands",
    "__main__": "cli window errors",
}
THIRD_PARTY = {
    "model": "numpy",
    "maths": "numpy scipy",
    "files": "numpy pandas",
    "demo": "numpy",
    "commands": "numpy",
    "window": "numpy PySide6 pyqtgraph",
}
# Imports that may stand inside a function: (module, what it imports). Heavy or optional libraries only.
LAZY = {
    ("__main__", "window.app"),
    ("__main__", "cli"),
    ("window.app", "window.running"),
    ("window.main_window", "window.workshop"),
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


def test_the_staircase_lists_every_module() -> None:
    assert sorted(STAIRS) == sorted(MODULES)


@pytest.mark.parametrize("name", MODULES)
def test_a_module_imports_only_what_stands_above_it(name: str) -> None:
    floor = name.split(".")[0]
    for imported in imports_of(TREES[name]):
        if imported == "workbench":  # the version
            continue
        if imported.startswith("workbench."):
            other = imported.removeprefix("workbench.")
            assert STAIRS.index(other) < STAIRS.index(name), f"{name} reaches down to {other}"
            assert other.split(".")[0] in [floor, *MAY_USE[floor].split()], f"{floor} may not use {other}"
        elif (top := imported.split(".")[0]) not in sys.stdlib_module_names:
            assert top in {*THIRD_PARTY.get(floor, "").split(), *LAZY_LIBRARIES}, f"{floor} may not use {top}"


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
