"""What the workbench says when it refuses: a sentence that tells what, and one that tells what to do."""

from workbench.phrases import join_phrases


class WorkbenchError(Exception):
    """A refusal that the user can act on; anything else that is raised is a fault of the program."""

    def __init__(self, message: str, hint: str = "") -> None:
        """Keep the message (what is wrong, and where) and the hint (what to do about it)."""
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.details: dict[str, object] = {}  # what a program may want to know besides, for --json

    def __str__(self) -> str:
        """Return message and hint as one text."""
        return join_phrases(" ", (part for part in (self.message, self.hint) if part))


class FileError(WorkbenchError):
    """A file that is missing, cannot be read or written, or is not what it should be."""


class LostFileError(FileError):
    """The file of an open session went away or is another one now; what it held is still in memory."""


class InputError(WorkbenchError):
    """A value, name or choice that cannot be used here."""


class StaleError(WorkbenchError):
    """The session changed since it was read; the command must be run again."""


class NothingToUndoError(WorkbenchError):
    """There is no revision to go back or forward to."""


class UsageError(WorkbenchError):
    """Words on the command line that do not make up a command."""
