"""All English texts of the window and the core, for translators: writes words/translations/workbench.ts.

Run `python -m workbench.window.texts` after texts changed; translations that are there already are kept. It needs the
tool lupdate, which comes with PySide6.
"""

import ast
import json
import subprocess
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

import PySide6

from workbench.commands.declaring.arguments import bare_type, choices_of
from workbench.commands.declaring.registry import COMMANDS
from workbench.commands.evidence import next_step
from workbench.commands.handbook import MODULES
from workbench.window.shell import actions as acts
from workbench.window.shell import start_page
from workbench.window.table import layers
from workbench.window.tasks import gates_task, keys_task
from workbench.window.words import wording
from workbench.window.words.translation import CORE, NAME, WORDS

WINDOW = "window"
HOUSE = Path(__file__).parents[1]
FLOORS = ("model", "maths", "files", "commands")
LEFT_OUT = (
    "units",
    "vocabulary",
    "spelling",
    "samples",
)  # words that are read, not said; and the tour, never shown here
ENDS = ("", " and its unit", " and its values")
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
        *_called(Path(__file__).parent),
        *_tables(),
        *_sentences_in_tables(Path(__file__).parent),
        *_of_commands(),
        *_next_steps(),
    ]
    return sorted({text for text in listed if text})


def core_texts() -> list[str]:
    """List what the core says, with {0}, {1} … where values stand."""
    found = set(SHORT)
    for floor in FLOORS:
        for path in sorted(path for path in (HOUSE / floor).rglob("*.py") if path.stem not in LEFT_OUT):
            found |= set(_sentences(ast.parse(path.read_text(encoding="utf-8"))))
    for command in COMMANDS.values():
        found |= {_escaped(text) for text in (command.summary, *(each.help for each in command.parameters)) if text}
    return sorted(found)


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
        wording.STANDING_WORDS, wording.PLAIN_WORDS,
    ):  # fmt: skip
        yield from table.values()
    for _, title, text in start_page.STEPS:
        yield from (title, text)
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


def _sentences(tree: ast.Module) -> Iterator[str]:
    yield from (_escaped(text) for text in _constants(tree) if _is_sentence(text))
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            text, at = "", 0
            for part in node.values:
                if isinstance(part, ast.Constant):
                    text += _escaped(str(part.value))
                else:
                    text, at = f"{text}{{{at}}}", at + 1
            if _is_sentence(text):
                yield text


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


def _escaped(text: str) -> str:
    return text.replace("{", "{{").replace("}", "}}")


def write(folder: Path = WORDS) -> Path:
    """Bring the file of texts up to date with Qt's own tool, which keeps what was translated."""
    folder.mkdir(exist_ok=True)
    file = folder / f"{NAME}.ts"
    with tempfile.TemporaryDirectory() as scratch:
        source = Path(scratch) / "texts.py"
        source.write_text("".join(_calls(WINDOW, window_texts())) + "".join(_calls(CORE, core_texts())), "utf-8")
        tool = Path(PySide6.__file__).with_name("lupdate")
        options = ["-silent", "-locations", "none", "-no-obsolete", "-source-language", "en"]
        subprocess.run([str(tool), *options, str(source), "-ts", str(file)], check=True)  # noqa: S603 - our own words
    return file


def _calls(context: str, texts: Iterable[str]) -> Iterator[str]:
    for text in texts:
        yield f"QCoreApplication.translate({json.dumps(context)}, {json.dumps(text, ensure_ascii=False)})\n"


if __name__ == "__main__":
    print(write())  # noqa: T201 - it is run by hand
