"""Tables that are drawn with rules: lines of strokes between the rows, and strokes between their cells."""

import re
from collections.abc import Sequence

UPRIGHT = "│┃║┆┇┊┋╎╏"  # Unicode, box drawing
_RULE = re.compile(r"[\s|+:=_*\u2500-\u257f-]*[+=_*\u2500-\u257f-]{3,}[\s|+:=_*\u2500-\u257f-]*")
MOSTLY, RULED = 0.9, 0.3  # of the lines


def are_ruled(lines: Sequence[str]) -> bool:
    """Tell whether rows stand between drawn strokes, or under names between another sign, as in some wikis.

    Args:
        lines: the first ones, each byte a letter.
    """
    lines = [line.encode("latin-1", "replace").decode("utf-8", "replace") for line in lines]
    rows = [line.strip() for line in lines if not _RULE.fullmatch(line)]
    if len(rows) < 3:
        return False
    drawn = sum(any(sign in row for sign in UPRIGHT) for row in rows) >= MOSTLY * len(rows)
    barred = sum(row.startswith("|") and row.endswith("|") for row in rows) >= MOSTLY * len(rows)
    apart = len(rows) < (1 - RULED) * len(lines)
    return drawn or (barred and (apart or _is_named(rows[0])))


def _is_named(row: str) -> bool:
    return row.startswith("^") and row.endswith("^")


def without_rules(lines: Sequence[str]) -> bytes:
    """Give the rows, with bars between their cells, UTF-8."""
    rows = (line.strip() for line in lines if not _RULE.fullmatch(line))
    bars = str.maketrans(dict.fromkeys(UPRIGHT, "|"))
    made = ((row.replace("^", "|") if _is_named(row) else row.translate(bars)).strip("|") for row in rows)
    return ("\n".join(made) + "\n").encode()
