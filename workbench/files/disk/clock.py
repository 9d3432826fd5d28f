"""What the machine knows: the time, and who sits at it."""

import os
import re
from datetime import UTC, datetime
from pathlib import Path

from workbench.errors import InputError
from workbench.phrases import phrase


def now() -> str:
    """Return the time as ISO 8601 in UTC, to the second.

    The variable SOURCE_DATE_EPOCH (seconds since 1970, reproducible-builds.org) stands in for the clock, so that
    sample sessions can be made again bit for bit.

    Raises:
        InputError: when the variable is set to something else than seconds.
    """
    fixed = os.environ.get("SOURCE_DATE_EPOCH")
    try:
        moment = datetime.now(UTC) if fixed is None else datetime.fromtimestamp(int(fixed), UTC)
    except (ValueError, OverflowError, OSError):
        raise InputError(
            phrase(
                "The variable SOURCE_DATE_EPOCH is {fixed!r}, which is not a number of seconds since 1970.", fixed=fixed
            ),
            "Unset it.",
        ) from None
    return moment.replace(microsecond=0).isoformat().replace("+00:00", "Z")


def moment_of(text: str) -> str:
    """Understand a time of day (14:10, today) or an ISO 8601 time, local where it says no zone; gives ISO 8601, UTC.

    Raises:
        InputError: when it is neither.
    """
    here = datetime.fromisoformat(now()).astimezone()
    try:
        if re.fullmatch(r"\d{1,2}:\d{2}(:\d{2})?", text.strip()):
            parts = [int(part) for part in text.split(":")]
            moment = here.replace(hour=parts[0], minute=parts[1], second=parts[2] if len(parts) > 2 else 0)
        else:
            moment = datetime.fromisoformat(text.strip())
        return moment.astimezone(UTC).replace(microsecond=0).isoformat().replace("+00:00", "Z")
    except (ValueError, OverflowError, OSError):
        raise InputError(
            phrase("The time {text!r} cannot be read.", text=text),
            "Write it as 14:10 (today), or as 2026-11-27T14:10.",
        ) from None


def last_written(path: Path) -> str:
    """Return when a file was last written, ISO 8601, UTC; empty where that cannot be told."""
    try:
        moment = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    except (OSError, ValueError, OverflowError):
        return ""
    return moment.replace(microsecond=0).isoformat().replace("+00:00", "Z")


def user_name() -> str:
    """Return the login name, or empty where the machine has none."""
    import getpass

    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""
