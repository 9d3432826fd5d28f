"""A session saved elsewhere, also when the file it came from is gone."""

from pathlib import Path

from workbench.commands.declaring.kinds import NewFile
from workbench.commands.declaring.registry import Answer, command
from workbench.files.store.verifying import copy_session
from workbench.model.counting import counted
from workbench.model.state import State
from workbench.phrases import phrase


@command("Save a copy of the session", menu="Session", icon="export")
def save_copy(state: State, file: NewFile) -> Answer[Path]:
    """Write the whole session to a new file: every revision, log, approval and export, just as they were recorded.

    It needs nothing of the file that the session was opened from, which may have been moved, deleted or written over
    meanwhile.

    Args:
        file: where to write it; nothing may be there yet.

    Example:
        save-copy car.session car_copy.session
    """
    changes = copy_session(Path(state.path), state.sequence, file)
    line = phrase(
        "{file}: a copy of the session with {changes}. Go on with that file: open it.",
        file=file,
        changes=counted(changes, "change"),
    )
    return Answer(file, lambda: {"path": str(file), "changes": changes, "session": str(file)}, (line,), stands=True)
