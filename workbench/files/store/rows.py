"""Model values to and from the rows of a session file."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, replace
from typing import Any

import msgspec
import numpy as np

from workbench.files.store.decoding import (
    LARGEST,
    AddedPayload,
    AppliedPayload,
    ChannelRow,
    ComputedPayload,
    CorrectedPayload,
    DriveRow,
    FormatPayload,
    HeadPayload,
    InputPayload,
    Notes,
    RevisionRow,
    Roles,
    TableAxes,
    checked_computed,
    checked_input,
    read_arguments,
    read_as,
    read_json_as,
    read_settings,
)
from workbench.model.arrays import FloatArray
from workbench.model.deed import Acknowledgement, InCar
from workbench.model.ecu_format import EcuFormat
from workbench.model.history import Approval, Export, Origin, Revision, Signed
from workbench.model.log import Channel, Drive, Log, Question
from workbench.model.packing import Column
from workbench.model.state import (
    Acknowledged,
    Applied,
    ApprovalSigned,
    Approved,
    BranchNamed,
    Change,
    ChannelComputed,
    DoneAgain,
    DriveAdded,
    DriveCorrected,
    EcuFormatSet,
    Exported,
    HeadMoved,
    InputStated,
    PutInCar,
    SettingsSet,
    TakenBack,
)
from workbench.model.table import Axis, Table
from workbench.phrases import phrase

Row = Mapping[str, Any]
KEPT = "kept:"  # begins the digest of a drive that goes over its samples as they lie in the file


def to_json(value: object) -> str:
    """Write JSON that is the same for the same value, strictly (no NaN)."""
    return json.dumps(value, sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def kind_and_payload(change: Change) -> tuple[str, dict[str, Any]]:  # noqa: C901, PLR0911, PLR0912 - one for each kind
    """Tell a change by its kind and by what is not kept in rows of its own."""
    match change:
        case Applied(revision, ecu_format):
            kept = {} if ecu_format is None else {"keeping": asdict(ecu_format)}
            fields = {"revision": revision.id, "digest": revision.digest, "origin": revision.origin}
            return "applied", {**fields, **kept}
        case HeadMoved(table, to):
            return "head-moved", {"table": table, "to": to}
        case Approved(number, approval):
            fields = asdict(approval)
            return "approved", {"revision": number, **{key: fields[key] for key in fields if fields[key] is not None}}
        case ApprovalSigned(number, signed):
            return "approval-signed", {"revision": number, **asdict(signed)}
        case Exported(export):
            return "exported", asdict(export)
        case DriveAdded(drives):
            listed = [{"id": drive.id, "digest": drive_digest(drive), **_others(drive.others)} for drive in drives]
            return "drive-added", {"drives": listed}
        case DriveCorrected():
            return "drive-corrected", _corrected(change)
        case SettingsSet(settings):
            kept = asdict(settings)
            return "settings-set", {name: kept[name] for name in kept if name != "delays" or settings.delays}
        case EcuFormatSet(table, ecu_format):
            return "keeping-set", {"table": table, "keeping": asdict(ecu_format)}
        case InputStated(channel, unit_read, scaling):
            scaled = {} if scaling is None else {"scaling": asdict(scaling)}
            return "input-stated", {"channel": channel, "unit_read": unit_read, **scaled}
        case ChannelComputed(name, computed):
            return "channel-computed", {"name": name, **({} if computed is None else {"computed": asdict(computed)})}
        case Acknowledged(acknowledgement):
            return "acknowledged", asdict(acknowledgement)
        case BranchNamed():
            return "branch-named", asdict(change)
        case PutInCar(mark):
            return "put-in-car", asdict(mark)
        case TakenBack(sequence):
            return "taken-back", {"change": sequence}
        case DoneAgain(sequence):
            return "done-again", {"change": sequence}


def _corrected(change: DriveCorrected) -> dict[str, Any]:
    """Give what was said of a drive; what was not said has no place, so that digests stay as they were."""
    rereads = {name: asdict(each) for name, each in change.reread.items()}
    return {
        "drive": change.drive,
        "revision": change.revision,
        "wideband": change.wideband,
        "roles": dict(change.roles),
        **({"reread": rereads} if rereads else {}),
        **({"answered": list(change.answered)} if change.answered else {}),
        **({"renamed": dict(change.renamed)} if change.renamed else {}),
        **({"asked": _asked(change.asked)} if change.asked else {}),
        **({"left_out": [asdict(each) for each in change.left_out]} if change.left_out is not None else {}),
        **_others(change.others),
    }


def change_of(  # noqa: C901, PLR0911, PLR0912 - one for each kind
    kind: str, payload: Row, revisions: Mapping[int, Revision], drives: Mapping[int, Drive]
) -> Change:
    """Make a change from its row, with the revisions and drives it may name.

    Raises:
        KeyError, TypeError, ValueError: when the row is not as this program writes it.
    """
    match kind:
        case "applied":
            applied = read_as(AppliedPayload, payload)
            kept, revision = applied.keeping, revisions[applied.revision]
            revision = replace(revision, origin=applied.origin or _origin_of(revision))
            return Applied(revision, None if kept is None else read_as(EcuFormat, kept))
        case "head-moved":
            moved = read_as(HeadPayload, payload)
            return HeadMoved(moved.table, moved.to)
        case "approved":
            return Approved(read_as(int, payload["revision"]), read_as(Approval, payload))
        case "approval-signed":
            return ApprovalSigned(read_as(int, payload["revision"]), read_as(Signed, payload))
        case "exported":
            return Exported(read_as(Export, payload))
        case "drive-added":
            listed = read_as(AddedPayload, payload).drives
            return DriveAdded(tuple(replace(drives[each.id], others=each.others) for each in listed))
        case "drive-corrected":
            return DriveCorrected(**msgspec.structs.asdict(read_as(CorrectedPayload, payload)))
        case "settings-set":
            return SettingsSet(read_settings(payload))
        case "keeping-set":
            kept_so = read_as(FormatPayload, payload)
            return EcuFormatSet(kept_so.table, read_as(EcuFormat, kept_so.keeping))
        case "input-stated":
            stated = read_as(InputPayload, payload)
            return InputStated(stated.channel, stated.unit_read, checked_input(stated))
        case "channel-computed":
            made = read_as(ComputedPayload, payload)
            return ChannelComputed(made.name, checked_computed(made))
        case "acknowledged":
            return Acknowledged(read_as(Acknowledgement, payload))
        case "branch-named":
            return read_as(BranchNamed, payload)
        case "put-in-car":
            return PutInCar(read_as(InCar, payload))
        case "taken-back":
            return TakenBack(read_as(int, payload["change"]))
        case "done-again":
            return DoneAgain(read_as(int, payload["change"]))
    raise ValueError(phrase("a change of the kind {kind!r}", kind=kind))


def _origin_of(revision: Revision) -> Origin:
    """Tell the origin of a revision from the time before origins were kept, by the command that made it."""
    if revision.operation == "correct":
        return "measured"
    cells = revision.table.values.size
    shape = revision.arguments.get("shape")  # of what was pasted; a curve is pasted as a row or a column
    pasted = revision.operation == "paste" and shape in ([cells, 1], [1, cells], list(revision.table.shape))
    brought_in = revision.operation in ("new", "add-table", "take-donor", "resample-donor")
    return "brought in whole" if pasted or brought_in else "by hand"


def _others(revisions: Mapping[str, int]) -> dict[str, Any]:
    """Name the revisions of a drive's other tables, where there are any."""
    return {"others": dict(revisions)} if revisions else {}


def chain(sequence: int, kind: str, payload: str, before: str) -> str:
    """Compute the digest of a change after that of the change before."""
    return hashlib.sha256(to_json([sequence, kind, payload, before]).encode()).hexdigest()


def revision_row(revision: Revision, sequence: int) -> dict[str, Any]:
    """Return the row of a revision."""
    table = revision.table
    return {
        "id": revision.id,
        "sequence": sequence,
        "parent": revision.parent,
        "table_name": table.name,
        "value_name": table.value_name,
        "unit": table.unit,
        "axes": to_json([[axis.name, axis.unit, len(axis)] for axis in table.axes]),
        "breakpoints": b"".join(_bytes(axis.breakpoints) for axis in table.axes),
        "cell_values": _bytes(table.values),
        "multipliers": _bytes(revision.multipliers),
        "operation": revision.operation,
        "arguments": to_json(dict(revision.arguments)),
        "note": revision.note,
        "author": revision.author,
        "time": revision.time,
        "digest": revision.digest,
    }


def read_revision(row: Row) -> Revision:
    """Make a revision from its row.

    Raises:
        InputError, KeyError, TypeError, ValueError: when the row is not as this program writes it.
    """
    fields = read_as(RevisionRow, row)
    axes, points, at = [], _array(fields.breakpoints), 0
    for name, unit, length in read_json_as(TableAxes, fields.axes):
        axes.append(Axis(name, unit, points[at : at + length]))
        at += length
    if at != points.size:
        raise ValueError(phrase("{points} breakpoints are kept for axes with {at}", points=points.size, at=at))
    shape = tuple(len(axis) for axis in axes)
    values = _array(fields.cell_values).reshape(shape)
    if points.size and max(np.abs(points).max(), np.abs(values).max()) > LARGEST:
        raise ValueError(phrase("a number in it is larger than {largest:g}", largest=LARGEST))
    return Revision(
        id=fields.id,
        parent=fields.parent,
        table=Table(fields.table_name, fields.value_name, fields.unit, tuple(axes), values),
        operation=fields.operation,
        arguments=read_arguments(fields.arguments),
        note=fields.note,
        author=fields.author,
        time=fields.time,
        multipliers=_array(fields.multipliers).reshape(shape),
        digest=fields.digest,
    )


def drive_row(drive: Drive, sequence: int) -> dict[str, Any]:
    """Return the row of a drive, without its channels."""
    log = drive.log
    return {
        "id": drive.id,
        "sequence": sequence,
        "revision": drive.revision,
        "wideband": drive.wideband,
        "added": drive.added,
        "file": log.name,
        "sha256": log.sha256,
        "row_count": log.rows,
        "time": log.time.pack(),
        "roles": to_json(dict(log.roles)),
        "guesses": to_json(dict(log.guesses)),
        "notes": to_json(_notes(log)),
    }


def _notes(log: Log) -> list[Any]:
    """Give what was said in reading, as texts, and behind it what was asked, as objects.

    Digests go over it: what questions came to hold later stands there only where it says something.
    """
    return [*log.notes, *_asked(log.questions)]


def _asked(questions: Iterable[Question]) -> list[dict[str, Any]]:
    asked = [asdict(question) for question in questions]
    for alternative in (each for question in asked for each in question["alternatives"] if not each["held"]):
        del alternative["held"]
    return asked


def channel_rows(drive: Drive) -> list[dict[str, Any]]:
    """Return the rows of a drive's channels."""
    return [
        {
            "drive": drive.id,
            "position": position,
            "name": channel.name,
            "unit": channel.unit,
            "unit_read": channel.unit_read,
            "samples": channel.column.pack(),
        }
        for position, channel in enumerate(drive.log.channels)
    ]


def read_drive(row: Row, channels: Iterable[Row]) -> Drive:
    """Make a drive from its row and those of its channels; samples are unpacked when they are first asked for.

    Raises:
        KeyError, TypeError, ValueError: when the rows are not as this program writes them.
    """
    fields = read_as(DriveRow, row)
    time = Column(packed=fields.time, rows=fields.row_count)
    moments = time.unpacked()
    if not np.isfinite(moments).all() or np.any(moments[1:] < moments[:-1]):
        raise ValueError("its time falls, or is missing in places")
    remarks = read_json_as(Notes, fields.notes)
    return Drive(
        fields.id,
        Log(
            name=fields.file,
            sha256=fields.sha256,
            time=time,
            channels=tuple(_channel(read_as(ChannelRow, each), fields.row_count) for each in channels),
            roles=read_json_as(Roles, fields.roles),
            guesses=read_json_as(Roles, fields.guesses),
            notes=tuple(each for each in remarks if isinstance(each, str)),
            questions=tuple(each for each in remarks if not isinstance(each, str)),
        ),
        fields.revision,
        fields.wideband,
        fields.added,
    )


def _channel(fields: ChannelRow, rows: int) -> Channel:
    return Channel(fields.name, fields.unit, Column(packed=fields.samples, rows=rows), fields.unit_read)


def drive_digest(drive: Drive) -> str:
    """Digest over everything in a drive as it was added, in the form that is written today: over the kept bytes."""
    whole = _head_digest(drive)
    for column in _columns(drive):
        packed = column.pack()
        whole.update(len(packed).to_bytes(8, "big"))
        whole.update(packed)
    return KEPT + whole.hexdigest()


def fits_digest(drive: Drive, digest: str) -> bool:
    """Return whether a drive is as it was added, by a digest of either form.

    The form of earlier versions goes over the values of short channels, however they were deflated, and over the kept
    bytes of long ones. It stays as it was written.

    Raises:
        FileError: when samples cannot be unpacked.
    """
    if digest.startswith(KEPT):
        return drive_digest(drive) == digest
    whole = _head_digest(drive)
    for column in _columns(drive):
        whole.update(column.digested())
    return whole.hexdigest() == digest


def _columns(drive: Drive) -> tuple[Column, ...]:
    return (drive.log.time, *(channel.column for channel in drive.log.channels))


def _head_digest(drive: Drive) -> "hashlib._Hash":
    log = drive.log
    head = [
        [drive.id, drive.revision, drive.wideband, drive.added, log.name, log.sha256, log.rows],
        [dict(log.roles), dict(log.guesses), _notes(log)],
        [[channel.name, channel.unit, channel.unit_read] for channel in log.channels],
    ]
    return hashlib.sha256(to_json(head).encode())


def _bytes(array: FloatArray) -> bytes:
    return array.astype("<f8").tobytes()


def _array(blob: bytes) -> FloatArray:
    return np.frombuffer(blob, dtype="<f8").astype(np.float64)
