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
from workbench.window.tasks import gates_task, help_task
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


def plurals() -> list[tuple[str, str]]:
    """List the texts that a language puts into several forms by a number: context, and the text for any but one."""
    found = {(WINDOW, text) for text in _many(HOUSE / "window", "plural")}
    for floor in FLOORS:
        found |= {(CORE, text) for text in _many(HOUSE / floor, "plural_phrase")}
        for path in (each for each in sorted((HOUSE / floor).rglob("*.py")) if each.stem != "counting"):
            found |= {(CORE, text) for text in _counted(ast.parse(path.read_text(encoding="utf-8")))}
    return sorted(found)


def _many(folder: Path, function: str) -> Iterator[str]:
    """Give what a function is told to say of any number but one."""
    for path in sorted(folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == function:
                yield from (each.value for each in ast.walk(node.args[2]) if _is_text(each))


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
        found |= {*_templates(tree), *(text for text in _constants(tree) if _is_sentence(text))}
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
    """Give what is counted, in the words for many."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "counted":
            if len(node.args) > 2:
                yield from (f"{{n}} {text}" for text in _said_of(node.args[2]))
            else:
                yield from (f"{{n}} {text}s" for text in _said_of(node.args[1]))


def _said_of(node: ast.expr) -> list[str]:
    """Give the texts that an expression may be: itself, either side of a choice, or with a name of cells in it."""
    if isinstance(node, ast.IfExp):
        return [*_said_of(node.body), *_said_of(node.orelse)]
    if isinstance(node, ast.JoinedStr):
        ends = "".join(str(part.value) for part in node.values if isinstance(part, ast.Constant))
        return [f"{what}{ends}" for what in ("cell", "place")]
    return [node.value] if _is_text(node) else []


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
    for title, keys in help_task.PLACES:
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
            yield from (wording.CHOICE_WORDS.get(word, word) for word in choices_of(bare_type(parameter.type)))


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
        numbered = plurals()
        several = {text for _, text in numbered}
        whole = [(WINDOW, text) for text in window_texts()] + [(CORE, text) for text in core_texts()]
        calls = [*_calls((context, text) for context, text in whole if text not in several), *_calls(numbered, 1)]
        source.write_text("".join(calls), "utf-8")
        tool = Path(PySide6.__file__).with_name("lupdate")
        options = ["-silent", "-locations", "none", "-no-obsolete", "-source-language", "en"]
        subprocess.run([str(tool), *options, str(source), "-ts", str(file)], check=True)
    return file


def _calls(texts: Iterable[tuple[str, str]], number: int | None = None) -> Iterator[str]:
    """Write the calls that Qt's tool looks for; with a number it asks for a form for each kind of number."""
    forms = "" if number is None else f', "", {number}'
    for context, text in texts:
        yield f"QCoreApplication.translate({json.dumps(context)}, {json.dumps(text, ensure_ascii=False)}{forms})\n"


if __name__ == "__main__":
    print(write(Path(sys.argv[1])))
