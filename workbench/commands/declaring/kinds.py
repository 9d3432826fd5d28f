"""What a parameter is: the types of signatures, which forms, parsers and help are made from."""

from dataclasses import dataclass
from enum import Enum, auto
from pathlib import Path
from typing import Annotated, NewType

TableName = NewType("TableName", str)
"""Names a table of the session; filled from the focus in the window, the flag --table on the command line."""

FIRST = TableName("")
"""Stands for the session's first table."""


Reference = NewType("Reference", str)
"""Names a table: a revision of this session, a file, or a revision of another session."""


class Kind(Enum):
    """What a value stands for, where its type does not tell."""

    VALUE = auto()
    EXISTING_FILE = auto()
    NEW_FILE = auto()
    FOLDER = auto()
    REVISION = auto()
    BRANCH = auto()  # a revision with which a branch begins, or may begin
    DRIVE = auto()
    CHANNEL = auto()  # of any log of the session
    SHARE = auto()  # of 1
    LINE = auto()  # what people sign with and write beside it: it stands in papers and histories
    BLOCK = auto()  # several lines of text


@dataclass(frozen=True)
class Between:
    """Bounds of a number, both included; goes into `Annotated[float, Between(0, 1)]`."""

    low: float
    high: float


@dataclass(frozen=True)
class Called:
    """How a parameter is called; goes into `Annotated[...]`.

    Attributes:
        label: of its field; by default its name.
        metavar: what stands for its value in usage lines; by default as its type says.
        unset: what it means to leave it out, where a list offers that.
        typed: what can be typed for it on the command line besides, which a form has no place for.
    """

    label: str = ""
    metavar: str = ""
    unset: str = ""
    typed: str = ""


ExistingFile = Annotated[Path, Kind.EXISTING_FILE]
NewFile = Annotated[Path, Kind.NEW_FILE]
Folder = Annotated[Path, Kind.FOLDER]
RevisionId = Annotated[int, Kind.REVISION]
BranchStart = Annotated[int, Kind.BRANCH]
TableReference = Annotated[Reference, Kind.REVISION]
DriveId = Annotated[int, Kind.DRIVE]
ChannelName = Annotated[str, Kind.CHANNEL]
Share = Annotated[float, Kind.SHARE, Between(0, 1)]
Line = Annotated[str, Kind.LINE]
Note = Annotated[str, Kind.LINE, Called(metavar="TEXT")]
Signature = Annotated[str, Kind.LINE, Called("Your name", "NAME")]
Block = Annotated[str, Kind.BLOCK]
Drives = Annotated[str, Called("Drives", "all|latest|LOG,...")]
DelayParts = Annotated[str, Called(metavar="S,G,S")]
Roles = Annotated[tuple[str, ...], Called("Roles", "ROLE=CHANNEL")]
Units = Annotated[tuple[str, ...], Called("Unit of a channel", "CHANNEL=UNIT")]
Renames = Annotated[tuple[str, ...], Called("New name of a channel", "CHANNEL=NAME")]
AirFuelRatios = Annotated[tuple[str, ...], Called("Air-fuel ratio of a channel", "CHANNEL=NUMBER")]
RowsASecond = Annotated[float | None, Between(0.01, 100_000), Called("Rows per second")]
LongestHold = Annotated[float | None, Between(0, 3600), Called("Longest hold time")]
SheetOrPart = Annotated[str, Called("Sheet or part")]
PastedFile = Annotated[ExistingFile | None, Called(typed="- reads it from standard input")]
DbcFile = Annotated[ExistingFile | None, Called("DBC file")]
Replace = Annotated[bool, Called("Replace an existing file")]
UnitsAreOurs = Annotated[bool, Called("Without conversion")]
AgainstLogs = Annotated[bool, Called("It is so all the same")]
NoneOfIt = Annotated[bool, Called("Clear the settings")]
