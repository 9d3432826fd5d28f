"""A session: the one object that changes, and only through `record`."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Self

from workbench.errors import FileError, WorkbenchError
from workbench.files.disk.atomic_write import write_whole
from workbench.files.disk.clock import now, user_name
from workbench.files.disk.plain_files import read_bytes
from workbench.files.disk.session_header import is_session
from workbench.files.store.store import Store
from workbench.model.ecu_format import AS_IS, EcuFormat
from workbench.model.history import History, Json, brought_in
from workbench.model.state import Applied, Change, State
from workbench.model.step import step
from workbench.model.table import Table
from workbench.phrases import call, phrase

Subscriber = Callable[[Change | None, State], None]


def looks_like_session(path: Path) -> bool:
    """Tell a session file by how it begins."""
    try:
        return is_session(path)
    except (OSError, FileError):
        return False


def copy_shipped(shipped: Path, path: Path) -> None:
    """Copy a session that came along with the program.

    Raises:
        FileError: when it cannot be read or written.
    """
    try:
        content = read_bytes(shipped)
    except OSError as error:
        raise FileError(
            phrase("{shipped} cannot be read: {strerror}.", shipped=shipped, strerror=error.strerror),
            "Install the program again.",
        ) from error
    write_whole(path, content)


class Session:
    """A session file and the state it is in.

    Use as a context manager, or call `close`.
    """

    def __init__(self, store: Store, state: State) -> None:
        """Use `Session.create` or `Session.open`; this only keeps the two."""
        self._store = store
        self._state = state
        self._ahead: State | None = None  # what another process wrote, where it was read and not taken in
        self._subscribers: list[Subscriber] = []

    @classmethod
    def create(
        cls,
        path: Path,
        first: Table,
        *,
        author: str = "",
        note: str = "",
        arguments: Mapping[str, Json] | None = None,
        ecu_format: EcuFormat | None = None,
    ) -> "Session":
        """Make a session file with a first table as revision 1, and open it.

        Args:
            path: where; nothing may be there yet.
            first: the table as the ECU holds it today.
            author: by default who is logged in.
            note: in the user's words.
            arguments: where the table came from and what was assumed in reading it.
            ecu_format: how the ECU keeps it.

        Raises:
            InputError: when the ECU format does not fit the table.
            FileError: when the path is taken or cannot be written.
        """
        revision = brought_in(1, first, "new", arguments or {}, note, author or user_name(), now())
        (ecu_format or AS_IS).check(first)
        Store.create(path, Applied(revision, ecu_format))
        return cls.open(path)

    @classmethod
    def open(cls, path: Path) -> "Session":
        """Open a session file.

        Raises:
            FileError: when it is missing, a directory, not a session, of a newer version, or damaged.
        """
        store = Store.open(path)
        try:
            return cls(store, _replayed(store, State(str(path), History((), {}, {}, {}))))
        except BaseException:
            store.close()
            raise

    @property
    def state(self) -> State:
        """The session as it is now, as a frozen value."""
        return self._state

    @property
    def read_only(self) -> str:
        """Why nothing can be recorded; empty when it can."""
        return self._store.read_only

    def wait_for_others(self, longest_s: float) -> None:
        """Say how long recording waits for another program that is just writing; who draws a window cannot wait."""
        self._store.wait_for_others(longest_s)

    def record(self, change: Change) -> State:
        """Check a change, write it, take it over, and tell the subscribers.

        Raises:
            InputError: when it does not fit the state.
            StaleError: when the head moved, or another process wrote, since the change was made.
            FileError: when the file cannot be written; the session is then as it was.
        """
        after = step(self._state, change)
        self._store.append(self._state.sequence, change)
        self._state = after
        self._tell(change)
        return after

    def subscribe(self, callback: Subscriber) -> Callable[[], None]:
        """Call back after every change with the change and the new state (the change is None after a reload).

        Returns:
            A function that ends the subscription.
        """
        self._subscribers.append(callback)
        return lambda: self._subscribers.remove(callback) if callback in self._subscribers else None

    def reload(self) -> bool:
        """Take in what another process wrote meanwhile; tell whether there was anything.

        Raises:
            FileError: when the file is damaged.
        """
        if self._store.sequence() == self._state.sequence:
            return False
        self._state, self._ahead = _replayed(self._store, self._ahead or self._state), None
        self._tell(None)
        return True

    def ahead(self) -> State | None:
        """Return the session as the file has it where another process wrote meanwhile; nothing is taken in.

        Raises:
            FileError: when the file is damaged.
        """
        if self._store.sequence() == self._state.sequence:
            return None
        self._ahead = _replayed(self._store, self._ahead or self._state)  # the store gives each change once
        return self._ahead

    def find_file(self) -> None:
        """See whether all that is known here lies on the disk.

        Raises:
            FileError: when the file is not there any more, cannot be read, or another lies in its place.
        """
        path = Path(self._state.path)
        self._store.find()
        if not looks_like_session(path):
            raise FileError(phrase("{path} does not hold this session any more.", path=path))

    def close(self) -> None:
        """Close the file."""
        self._subscribers.clear()
        self._store.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _tell(self, change: Change | None) -> None:
        for subscriber in tuple(self._subscribers):
            subscriber(change, self._state)


def _replayed(store: Store, state: State) -> State:
    """Run the changes of the file that a state has not seen yet."""
    for change in store.changes(state.sequence):
        try:
            state = step(state, change)
        except (LookupError, TypeError, ValueError, WorkbenchError) as error:
            raise FileError(
                phrase(
                    "{path} is damaged: change {sequence} does not follow from the changes before it ({error}).",
                    path=store.path,
                    sequence=state.sequence + 1,
                    error=error,
                ),
                "Copy the damaged file first, then go back to your last good copy.",
            ) from error
    if not state.history.revisions:
        raise FileError(
            phrase("{path} holds no table.", path=store.path),
            phrase("Make a session with: {new_command}", new_command=call("new", "SESSION", "TABLE.csv")),
        )
    return state
