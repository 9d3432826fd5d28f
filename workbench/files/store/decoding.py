"""What comes back from a file, taken only where every part is of the type it must be.

Nothing here trusts what it reads: a list for a mapping, a text for a number, nesting without end, a number that no car
has. The types are those of the model; `msgspec` holds the values against them.
"""

from collections.abc import Mapping
from itertools import pairwise
from typing import Any, TypeVar

import msgspec

from workbench.errors import InputError
from workbench.expressions import read_expression
from workbench.model.derived import ComputedChannel
from workbench.model.gate import limits_of
from workbench.model.history import Json, Origin
from workbench.model.log import AnalogueInput, LeftOut, Question, Role, Wideband
from workbench.model.state import Reread, Settings
from workbench.phrases import phrase

DEEPEST = 30  # lists and mappings within one another
LARGEST = 1e100  # of a number in a table; its square is still a number

T = TypeVar("T")


class RevisionRow(msgspec.Struct, frozen=True):
    """A row of the table `revision`."""

    id: int
    sequence: int
    parent: int | None
    table_name: str
    value_name: str
    unit: str
    axes: str
    breakpoints: bytes
    cell_values: bytes
    multipliers: bytes
    operation: str
    arguments: str
    note: str
    author: str
    time: str
    digest: str


class DriveRow(msgspec.Struct, frozen=True):
    """A row of the table `drive`."""

    id: int
    sequence: int
    revision: int
    wideband: Wideband
    added: str
    file: str
    sha256: str
    row_count: int
    time: bytes
    roles: str
    guesses: str
    notes: str


class ChannelRow(msgspec.Struct, frozen=True):
    """A row of the table `channel`."""

    drive: int
    position: int
    name: str
    unit: str
    unit_read: str
    samples: bytes


class AppliedPayload(msgspec.Struct, frozen=True):
    """What a change of the kind `applied` tells besides its revision."""

    revision: int
    digest: str
    keeping: Mapping[str, Any] | None = None
    origin: Origin | None = None


class HeadPayload(msgspec.Struct, frozen=True):
    """What a change of the kind `head-moved` tells."""

    table: str
    to: int


class AddedDrive(msgspec.Struct, frozen=True):
    """A drive that a change names, with what its row does not tell."""

    id: int
    digest: str
    others: dict[str, int] = {}


class AddedPayload(msgspec.Struct, frozen=True):
    """What a change of the kind `drive-added` tells besides its drives."""

    drives: tuple[AddedDrive, ...]


class CorrectedPayload(msgspec.Struct, frozen=True):
    """What a change of the kind `drive-corrected` tells."""

    drive: int
    revision: int
    wideband: Wideband
    roles: dict[Role, str]
    reread: dict[str, Reread] = {}
    others: dict[str, int] = {}
    answered: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] | None = None
    renamed: dict[str, str] = {}
    asked: tuple[Question, ...] = ()


class InputPayload(msgspec.Struct, frozen=True):
    """What a change of the kind `input-stated` tells."""

    channel: str
    unit_read: str
    scaling: AnalogueInput | None = None


class ComputedPayload(msgspec.Struct, frozen=True):
    """What a change of the kind `channel-computed` tells."""

    name: str
    computed: ComputedChannel | None = None


class FormatPayload(msgspec.Struct, frozen=True):
    """What a change of the kind `keeping-set` tells."""

    table: str
    keeping: Mapping[str, Any]


def read_json(text: str) -> Any:
    """Read strict JSON.

    Raises:
        ValueError: when it is none, or nested too deep.
    """
    try:
        value = msgspec.json.decode(text)
    except RecursionError:
        raise ValueError("it is nested without end") from None
    except msgspec.DecodeError as error:  # which older versions of msgspec make no ValueError
        raise ValueError(str(error)) from error
    _check_depth(value, DEEPEST)
    return value


def read_as(kind: type[T], value: Any) -> T:
    """Take a value as one of a type.

    Raises:
        msgspec.ValidationError: naming the part that is not of the type it must be.
    """
    return msgspec.convert(value, kind, builtin_types=(bytes,))


def read_json_as(kind: type[T], text: str) -> T:
    """Read strict JSON as a value of a type.

    Raises:
        ValueError, msgspec.ValidationError: when it is none.
    """
    return read_as(kind, read_json(text))


def read_arguments(text: str) -> dict[str, Json]:
    """Read what a command was told.

    Raises:
        ValueError, msgspec.ValidationError: when it is no mapping.
    """
    return read_as(dict[str, Any], read_json(text))


def checked_input(stated: InputPayload) -> AnalogueInput | None:
    """Take how an input is scaled, where its points rise.

    Raises:
        ValueError: when they do not, or are too few.
    """
    scaling = stated.scaling
    if scaling is not None and scaling.points:
        read = [point[0] for point in scaling.points]
        numbers = [number for point in scaling.points for number in point]
        if len(read) < 2 or any(b <= a for a, b in pairwise(read)) or max(map(abs, numbers)) > LARGEST:
            raise ValueError("the points of an input do not rise")
    return scaling


def checked_computed(stated: ComputedPayload) -> ComputedChannel | None:
    """Take a computed channel, where its expression can be read.

    Raises:
        ValueError: when it cannot.
    """
    if stated.computed is not None:
        try:
            read_expression(stated.computed.expression)
        except InputError as error:
            raise ValueError(error.message) from error
    return stated.computed


def read_settings(recorded: Mapping[str, Any]) -> Settings:
    """Take settings; a limit that this version has no more is left out.

    Raises:
        KeyError, ValueError, msgspec.ValidationError: when they are not of that form, or no car can have them.
    """
    settings = read_as(Settings, {**recorded, "gates": recorded["gates"]})
    for name, value, most in (
        ("part_throttle_target", settings.part_throttle_target, 1.0),
        ("full_throttle_target", settings.full_throttle_target, 1.0),
        ("stoichiometric_afr", settings.stoichiometric_afr, 100.0),
    ):
        if not 0 < value <= most:
            raise ValueError(f"{name} is {value:g}")
    for name, value in (*limits_of(settings.gates).items(), *limits_of(settings.limits).items()):
        if not 0 <= value < 1e6:
            raise ValueError(phrase("the limit {name} is {value:g}", name=name, value=value))
    for kept in settings.delays:
        if kept.drive < 0 or not (0 <= kept.fixed_s <= 5 and 0 <= kept.volume_g <= 50 and 0 <= kept.lag_s <= 2):
            raise ValueError(phrase("the delay of drive {drive}", drive=kept.drive))
    for gate in settings.gates.channels:
        ends = [end for end in (gate.low, gate.high) if end is not None]
        if not ends or max(map(abs, ends)) > LARGEST or ends != sorted(ends) or not 0 <= gate.hold_s < 1e6:
            raise ValueError(phrase("the range of the gate on {channel!r}", channel=gate.channel))
    return settings


def _check_depth(value: Any, left: int) -> None:
    if not isinstance(value, list | dict):
        return
    if not left:
        raise ValueError(phrase("it is nested more than {deepest} deep", deepest=DEEPEST))
    for each in value.values() if isinstance(value, dict) else value:
        if isinstance(each, list | dict):
            _check_depth(each, left - 1)


TableAxes = tuple[tuple[str, str, int], ...]
Roles = dict[Role, str]
Notes = tuple[str | Question, ...]
