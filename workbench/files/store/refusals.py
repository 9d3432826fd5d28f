"""What is said of a session that is not as it was recorded."""

from collections.abc import Iterable
from pathlib import Path

from workbench.errors import FileError, LostFileError
from workbench.files.disk.session_header import DAMAGED
from workbench.phrases import call, phrase

MOST_TOLD = 10  # problems in one refusal


def altered(path: Path, problems: Iterable[str]) -> FileError:
    """Report that a session is not as it was recorded, and in what."""
    listed = list(problems)
    more = f" And {len(listed) - MOST_TOLD} more." if len(listed) > MOST_TOLD else ""
    refusal = FileError(
        phrase(
            "{path} was altered after it was recorded. {listed}{more}",
            path=path,
            listed=" ".join(listed[:MOST_TOLD]),
            more=more,
        ),
        DAMAGED,
    )
    refusal.details |= {"ok": False, "problems": listed}
    return refusal


def while_open(refusal: FileError) -> LostFileError:
    """Say of a session that is open here, and no longer as it was opened, that it can be saved from memory."""
    found = LostFileError(
        refusal.message,
        phrase(
            "All that was recorded here is still in memory: save it elsewhere with {save_copy_command}, and keep the "
            "file as it is.",
            save_copy_command=call("save-copy"),
        ),
    )
    found.details |= refusal.details
    return found
