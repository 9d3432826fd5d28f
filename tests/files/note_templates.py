"""Finds every sentence that reading can say of a log, from the source itself: none can be added unseen."""

import ast
from collections.abc import Iterator
from pathlib import Path

FILES = Path(__file__).resolve().parents[2] / "workbench" / "files"
ROOMS = ("channels", "gaps", "moments", "text", "written", "unnamed", "formats", "vocabulary")
MODULES = ("groups.py", "logs.py", "together.py", "course/command_by_course.py")
TEMPLATES = ("phrase", "plural_phrase")
ASKED = ("Question", "Alternative", "Reading", "ask", "ask_player")
NOT_SAID = ("compile", "search", "fullmatch", "sub", "match", "findall", "execute")


def sentences() -> dict[str, str]:
    """Give template -> where it stands, of all that is said but in refusals, questions and their answers."""
    found = {}
    paths = [path for room in ROOMS for path in sorted((FILES / room).glob("*.py"))]
    for path in [*paths, *(FILES / name for name in MODULES)]:
        tree = ast.parse(path.read_text())
        parents = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                above = list(_above(node, parents))
                if _is_said(node.value, above) and not _is_asked_or_refused(above):
                    found[node.value] = f"{path.relative_to(FILES)}:{node.lineno}"
    return found


def _above(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> Iterator[ast.AST]:
    while node in parents:
        node = parents[node]
        yield node


def _is_said(text: str, above: list[ast.AST]) -> bool:
    """Tell whether a literal is a template, or a whole sentence of its own, and no docstring or pattern."""
    calls = [_name(each) for each in above if isinstance(each, ast.Call)]
    if isinstance(above[0], ast.Expr) or any(name in NOT_SAID for name in calls):
        return False
    return (bool(calls) and calls[0] in TEMPLATES and " " in text.strip()) or (
        len(text) > 15 and text.rstrip().endswith((".", "…")) and text[0].isupper() and " " in text
    )


def _is_asked_or_refused(above: list[ast.AST]) -> bool:
    for each in above:
        if isinstance(each, ast.Raise):
            return True
        if isinstance(each, ast.Call) and (_name(each) in ASKED or _name(each).endswith("Error")):
            return True
        if isinstance(each, ast.Assign) and any(_named(target) in ("why", "means", "hint") for target in each.targets):
            return True
        if isinstance(each, ast.FunctionDef) and each.name in ("no_time", "refuse_frames_as_text", "_complaint"):
            return True
    return False


def _named(target: ast.expr) -> str:
    return target.id if isinstance(target, ast.Name) else ""


def _name(call: ast.Call) -> str:
    return call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
