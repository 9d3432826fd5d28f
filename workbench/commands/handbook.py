"""All commands together, and the table of them in the README.

Run `python -m workbench.commands.handbook README.md` to bring the table up to date.
"""

import sys
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

from workbench.commands.declaring.registry import COMMANDS, Command
from workbench.commands.evidence import acknowledging, breathing, delays, evidence, pulling, samples_of_cell
from workbench.commands.logs import inspection, logs, stating
from workbench.commands.record import (
    approving,
    branches,
    comparisons,
    copies,
    exports,
    history,
    plain_form,
    revisions,
    samples,
    settings,
    signatures,
    undoing,
    whole_sessions,
)
from workbench.commands.report import cards, reports
from workbench.commands.table import axis_names, clipboard, donors, ecu_format, hand, physics, shaping, tables
from workbench.errors import FileError

BEGIN = "<!-- commands: made by python -m workbench.commands.handbook README.md -->"
END = "<!-- end of commands -->"
MENUS = ("Session", "Log", "Evidence", "Table", "History")  # in the order of the work
MODULES = (
    tables,
    settings,
    exports,
    copies,
    plain_form,
    reports,
    logs,
    stating,
    inspection,
    evidence,
    pulling,
    breathing,
    cards,
    samples_of_cell,
    acknowledging,
    delays,
    hand,
    shaping,
    clipboard,
    donors,
    axis_names,
    ecu_format,
    physics,
    history,
    revisions,
    branches,
    approving,
    comparisons,
    whole_sessions,
    signatures,
    undoing,
    samples,
)  # importing them declares the commands


def overview() -> tuple[str, ...]:
    """Return all commands for people, by menu."""
    lines = []
    for menu, commands in groupby(_by_menu(), key=lambda command: command.menu):
        lines.append(f"{menu}:")
        lines += [f"  {command.word:<18} {command.summary}" for command in commands]
    return tuple(lines)


def command_table() -> str:
    """Return the table of all commands in Markdown, between its markers."""
    rows = [f"| `{command.word}` | {command.summary} |" for command in _by_menu()]
    return "\n".join([BEGIN, "| command | what it does |", "|---|---|", *rows, END])


def with_table(text: str, name: str) -> str:
    """Put the table of all commands into a text, between its markers.

    Raises:
        FileError: when the markers are missing.
    """
    head, begin, rest = text.partition(BEGIN)
    _, end, tail = rest.partition(END)
    if not begin or not end:
        raise FileError(f"{name} has no markers for the list of commands.", f"Add these lines:\n{BEGIN}\n{END}")
    return head + command_table() + tail


def main() -> None:
    """Bring the table in the named file up to date."""
    path = Path(sys.argv[1])
    path.write_text(with_table(path.read_text("utf-8"), path.name), "utf-8")


def _by_menu() -> Iterator[Command]:
    """Yield the commands by menu, then by module, then as they stand there: whatever was imported first."""
    menus = list(dict.fromkeys([*MENUS, *sorted(command.menu for command in COMMANDS.values())]))
    modules = [module.__name__ for module in MODULES]

    def place(command: Command) -> tuple[int, int]:
        return menus.index(command.menu), modules.index(command.function.__module__)

    yield from sorted(COMMANDS.values(), key=place)


if __name__ == "__main__":
    main()
