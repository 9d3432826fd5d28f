"""All English texts of the window and the core, from which translators begin: gathered when a release is made.

`python tests/window/translation_source.py FOLDER` writes FOLDER/workbench.ts; translations that are there already are
kept. It needs the tool lupdate, which comes with PySide6. A language is installed as the file workbench_<language>.qm
(made by lrelease) in workbench/window/words/translations.
"""

import ast
import json
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TypeGuard

import PySide6

import workbench
from workbench.commands.declaring.arguments import bare_type, choices_of
from workbench.commands.declaring.registry import COMMANDS
from workbench.commands.evidence import next_step
from workbench.commands.handbook import MODULES
from workbench.window.shell import actions as acts
from workbench.window.shell import start_page
from workbench.window.table import layers
from workbench.window.tasks import gates_task, keys_task
from workbench.window.words import wording
from workbench.window.words.translation import CORE, NAME

WINDOW = "window"
HOUSE = Path(workbench.__file__).parent
FLOORS = ("model", "maths", "files", "commands")
LEFT_OUT = (
    "units",
    "vocabulary",
    "spelling",
    "samples",
)  # words that are read, not said; and the tour, never shown here
ENDS = ("", " and its unit", " and its values")
CAUTION = "Caution: "
LEAST = 12  # characters; shorter texts of the core that are shown stand in a list below
SHORT = (
    "estimated",
    "default",
    "stated",
    "warm up",
    "fuel cut",
    "purge",
    *(f"by its name{rest}" for rest in ENDS),
)


def window_texts() -> list[str]:
    """List what the window says by itself, each text once."""
    listed = [
        *_called(HOUSE / "window"),
        *_tables(),
        *_sentences_in_tables(HOUSE / "window"),
        *_of_commands(),
        *_next_steps(),
    ]
    return sorted({text for text in listed if text})


def core_texts() -> list[str]:
    """List what the core says: templates with named values, whole sentences, and counted things."""
    found = set(SHORT)
    for path in (HOUSE / "errors.py", HOUSE / "session.py", *_modules()):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        found |= {*_templates(tree), *_counted(tree), *(text for text in _constants(tree) if _is_sentence(text))}
    for command in COMMANDS.values():
        found |= {text for text in (command.summary, *(each.help for each in command.parameters)) if text}
    # What reading a log warned of is repeated among the cautions, without the word before it.
    found |= {text.removeprefix(CAUTION) for text in found}
    return sorted(found)


def _modules() -> Iterator[Path]:
    for floor in FLOORS:
        yield from (path for path in sorted((HOUSE / floor).rglob("*.py")) if path.stem not in LEFT_OUT)


def _templates(tree: ast.Module) -> Iterator[str]:
    """Give the templates of phrases."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "phrase":
            yield from (each.value for each in ast.walk(node.args[0]) if _is_text(each))


def _counted(tree: ast.Module) -> Iterator[str]:
    """Give what is counted, one of it and many."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "counted":
            things = [each.value for each in node.args[1:] if _is_text(each)]
            if things:
                yield from (f"{{n:.0f}} {thing}" for thing in (things[0], [*things, f"{things[0]}s"][1]))


def _is_text(node: ast.AST) -> TypeGuard[ast.Constant]:
    return isinstance(node, ast.Constant) and isinstance(node.value, str)


def _called(folder: Path) -> Iterator[str]:
    for path in sorted(folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "tr":
                first = node.args[0]
                if isinstance(first, ast.Constant):
                    yield str(first.value)


def _tables() -> Iterator[str]:
    """Give the texts that stand in tables and are translated where they are shown."""
    yield from acts.MENUS
    for table in (
        gates_task.NAMES, layers.NAMES, layers.TIPS, wording.ROLE_WORDS,
        wording.STANDING_WORDS, wording.PLAIN_WORDS, wording.SOURCE_WORDS,
    ):  # fmt: skip
        yield from table.values()
    for _, title, text, _, offer in start_page.STEPS:
        yield from (title, text, offer)
    for title, keys in keys_task.PLACES:
        yield title
        for pair in keys:
            yield from pair


def _sentences_in_tables(folder: Path) -> Iterator[str]:
    """Give whole sentences in tables at the head of modules, so that a new table is not forgotten."""
    for path in sorted(folder.rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
                yield from (text for text in _constants(ast.Module([ast.Expr(node.value)], [])) if _is_said(text))


def _is_said(text: str) -> bool:
    return text[:1].isupper() and text.endswith((".", "…")) and _is_sentence(text)


def _of_commands() -> Iterator[str]:
    if not MODULES:  # importing them declares the commands
        raise RuntimeError("no commands")
    for command in COMMANDS.values():
        yield from (command.title, command.menu, command.button, command.past)
        for parameter in command.parameters:
            yield from (parameter.label, parameter.called.unset)
            yield from choices_of(bare_type(parameter.type))


def _next_steps() -> Iterator[str]:
    tree = ast.parse(Path(next_step.__file__).read_text(encoding="utf-8"))
    yield from (text for text in _constants(tree) if " " in text)


def _constants(tree: ast.Module) -> Iterator[str]:
    """Give the texts of a module that are neither docstrings nor parts of others."""
    left_out = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in ast.walk(node)}
    left_out |= {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    left_out |= {id(part) for node in ast.walk(tree) if _declares(node) for part in ast.walk(node)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in left_out:
            yield node.value


def _declares(node: ast.AST) -> bool:
    """Tell whether a call declares a command or a parameter: what stands there is listed from the declarations."""
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("command", "Called")


def _is_sentence(text: str) -> bool:
    words = [word.strip(".,;:()") for word in text.split()]
    if text.lstrip().split(" ")[0] in ("SELECT", "INSERT", "CREATE", "PRAGMA", "BEGIN", "UPDATE", "DELETE"):
        return False
    plain = [word for word in words if word.isalpha()]
    return len(text) >= LEAST and len(plain) >= 2 and any(word.islower() for word in plain)


def write(folder: Path) -> Path:
    """Bring the file of texts up to date with Qt's own tool, which keeps what was translated."""
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / f"{NAME}.ts"
    with tempfile.TemporaryDirectory() as scratch:
        source = Path(scratch) / "texts.py"
        source.write_text("".join(_calls(WINDOW, window_texts())) + "".join(_calls(CORE, core_texts())), "utf-8")
        tool = Path(PySide6.__file__).with_name("lupdate")
        options = ["-silent", "-locations", "none", "-no-obsolete", "-source-language", "en"]
        subprocess.run([str(tool), *options, str(source), "-ts", str(file)], check=True)
    return file


def _calls(context: str, texts: Iterable[str]) -> Iterator[str]:
    for text in texts:
        yield f"QCoreApplication.translate({json.dumps(context)}, {json.dumps(text, ensure_ascii=False)})\n"


if __name__ == "__main__":
    print(write(Path(sys.argv[1])))
