"""How two tables differ, as rows of a small table: in lines of text, narrow panels would break every one."""

from html import escape
from typing import Any

import numpy as np

from workbench.commands.declaring.registry import Answer
from workbench.commands.record.comparisons import Difference
from workbench.model.state import Applied
from workbench.model.table import Table
from workbench.phrases import join_phrases
from workbench.window.panels.history_rail import reach_words
from workbench.window.words.wording import MINUS, NO_BREAK, THIN_SPACE, number, percent, plain, tr

MOST = 400  # rows; who compares more cells looks at the picture
DIGITS = 4  # of a value that are shown


def lines_and_rows(answer: Answer[Any]) -> tuple[tuple[str, ...], str]:
    """Return the lines of an answer, and the cells that differ, if it is about those, as rows of rich text."""
    found = answer.value
    rows = difference_rows(found) if isinstance(found, Difference) and found.cells.moved.any() else ""
    return (answer.lines[: len(found.remarks) + 1] if rows else answer.lines), rows


def difference_rows(found: Difference) -> str:
    """Return the cells that differ, with both values and the change, as rich text."""
    cells, table = found.cells, found.later.table
    places = [tuple(int(i) for i in index) for index in np.argwhere(cells.moved)]
    head = (", ".join(axis.unit or axis.name for axis in table.axes), "", "", "", "")
    rows = [
        (_name(table, at), _short(cells.earlier[at]), "→", _short(cells.later[at]), _change(found, at))
        for at in places[:MOST]
    ]
    text = "".join(f"<tr>{''.join(_cell(cell, i) for i, cell in enumerate(row))}</tr>" for row in (head, *rows))
    left = len(places) - len(rows)
    more = "" if not left else f"<p>{escape(tr('{n} more cells differ.').format(n=left))}</p>"
    return f"<table cellspacing='0' cellpadding='2'>{text}</table>{more}"


def _name(table: Table, at: tuple[int, ...]) -> str:
    """Name a cell by its breakpoints; their units stand in the heading."""
    return ", ".join(plain(float(axis.breakpoints[i])) for axis, i in zip(table.axes, at, strict=True))


def _cell(text: str, column: int) -> str:
    """Write a cell whose text stays in one line; names stand left, figures right."""
    kept = escape(text).replace(" ", NO_BREAK).replace(THIN_SPACE, NO_BREAK)  # Qt breaks lines at a thin space
    return f"<td align='{'right' if column else 'left'}'>{kept}</td>"


def _short(value: float) -> str:
    """Write a value with a few digits; the whole value stands in the table."""
    return plain(float(f"{value:.{DIGITS}g}"))


def _change(found: Difference, at: tuple[int, ...]) -> str:
    cells = found.cells
    if found.show == "values":
        change = float(cells.change[at])
        return f"{'' if change < 0 else '+'}{_short(change)}".replace("-", MINUS)
    if not np.isfinite(cells.ratio[at]):
        return tr("from zero")
    return percent(float(cells.ratio[at])) if found.show == "percent" else number(float(cells.ratio[at]), 4)


def draft_words(answer: Answer[Any]) -> str:
    """Describe what a draft would do: which cells it moves how far, then what else the command says."""
    moved = reach_words(answer.change.revision.multipliers) if isinstance(answer.change, Applied) else ""
    return join_phrases("\n", [f"{moved}." if moved else answer.lines[0], *answer.lines[1:]])
