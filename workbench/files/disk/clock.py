"""What the machine knows: the time, and who sits at it."""

import getpass
import os
from datetime import UTC, datetime

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


def user_name() -> str:
    """Return the login name, or empty where the machine has none."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""
