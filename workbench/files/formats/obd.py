"""On-board diagnosis answers (mode 01) found among CAN frames, and their scalings.

The scalings are those of SAE J1979 (ISO 15031-5), the segmenting of long answers that of ISO 15765-2, and the
identifiers those of ISO 15765-4: 7E8 to 7EF, and 18DAF1xx in the extended form.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from workbench.files.vocabulary.recording import Series, Tally
from workbench.phrases import phrase

Raw = Sequence[int]
Formula = Callable[[Raw], float]


@dataclass(frozen=True)
class Quantity:
    """One quantity in an answer.

    Attributes:
        name: of the channel.
        unit: of the values.
        formula: from the answer's bytes.
    """

    name: str
    unit: str
    formula: Formula


def _percent(at: int = 0) -> Formula:
    return lambda raw: raw[at] * 100 / 255


def _trim(at: int = 0) -> Formula:
    return lambda raw: float("nan") if raw[at] == 0xFF else (raw[at] - 128) * 100 / 128


def _word(factor: float, offset: float = 0.0, at: int = 0) -> Formula:
    return lambda raw: (256 * raw[at] + raw[at + 1]) * factor + offset


def _byte(factor: float = 1.0, offset: float = 0.0, at: int = 0) -> Formula:
    return lambda raw: raw[at] * factor + offset


_LAMBDA = 2 / 65536

# PID -> (bytes in the answer, quantities); those with none are only skipped over.
PIDS: dict[int, tuple[int, tuple[Quantity, ...]]] = {
    0x00: (4, ()),
    0x01: (4, ()),
    0x02: (2, ()),
    0x03: (2, (Quantity("fuel system status", "", _byte()), Quantity("fuel system 2 status", "", _byte(at=1)))),
    0x04: (1, (Quantity("calculated load", "%", _percent()),)),
    0x05: (1, (Quantity("coolant temperature", "degC", _byte(1, -40)),)),
    0x06: (1, (Quantity("short term fuel trim bank 1", "%", _trim()),)),
    0x07: (1, (Quantity("long term fuel trim bank 1", "%", _trim()),)),
    0x08: (1, (Quantity("short term fuel trim bank 2", "%", _trim()),)),
    0x09: (1, (Quantity("long term fuel trim bank 2", "%", _trim()),)),
    0x0A: (1, (Quantity("fuel pressure", "kPa", _byte(3)),)),
    0x0B: (1, (Quantity("intake manifold pressure", "kPa", _byte()),)),
    0x0C: (2, (Quantity("engine speed", "rpm", _word(0.25)),)),
    0x0D: (1, (Quantity("vehicle speed", "km/h", _byte()),)),
    0x0E: (1, (Quantity("timing advance", "deg", _byte(0.5, -64)),)),
    0x0F: (1, (Quantity("intake air temperature", "degC", _byte(1, -40)),)),
    0x10: (2, (Quantity("mass air flow", "g/s", _word(0.01)),)),
    0x11: (1, (Quantity("throttle position", "%", _percent()),)),
    0x12: (1, ()),
    0x13: (1, ()),
    0x1C: (1, ()),
    0x1D: (1, ()),
    0x1E: (1, ()),
    0x1F: (2, (Quantity("run time since engine start", "s", _word(1)),)),
    0x20: (4, ()),
    0x21: (2, (Quantity("distance with malfunction lamp", "km", _word(1)),)),
    0x22: (2, (Quantity("fuel rail pressure relative", "kPa", _word(0.079)),)),
    0x23: (2, (Quantity("fuel rail pressure", "kPa", _word(10)),)),
    0x2C: (1, (Quantity("commanded EGR", "%", _percent()),)),
    0x2D: (1, (Quantity("EGR error", "%", _byte(100 / 128, -100)),)),
    0x2E: (1, (Quantity("commanded evaporative purge", "%", _percent()),)),
    0x2F: (1, (Quantity("fuel level", "%", _percent()),)),
    0x30: (1, ()),
    0x31: (2, (Quantity("distance since codes cleared", "km", _word(1)),)),
    0x32: (2, ()),
    0x33: (1, (Quantity("barometric pressure", "kPa", _byte()),)),
    0x3C: (2, (Quantity("catalyst temperature bank 1 sensor 1", "degC", _word(0.1, -40)),)),
    0x3D: (2, (Quantity("catalyst temperature bank 2 sensor 1", "degC", _word(0.1, -40)),)),
    0x3E: (2, (Quantity("catalyst temperature bank 1 sensor 2", "degC", _word(0.1, -40)),)),
    0x3F: (2, (Quantity("catalyst temperature bank 2 sensor 2", "degC", _word(0.1, -40)),)),
    0x40: (4, ()),
    0x41: (4, ()),
    0x42: (2, (Quantity("control module voltage", "V", _word(0.001)),)),
    0x43: (2, (Quantity("absolute load", "%", _word(100 / 255)),)),
    0x44: (2, (Quantity("commanded lambda", "lambda", _word(_LAMBDA)),)),
    0x45: (1, (Quantity("relative throttle position", "%", _percent()),)),
    0x46: (1, (Quantity("ambient air temperature", "degC", _byte(1, -40)),)),
    0x47: (1, (Quantity("throttle position B", "%", _percent()),)),
    0x48: (1, (Quantity("throttle position C", "%", _percent()),)),
    0x49: (1, (Quantity("pedal position D", "%", _percent()),)),
    0x4A: (1, (Quantity("pedal position E", "%", _percent()),)),
    0x4B: (1, (Quantity("pedal position F", "%", _percent()),)),
    0x4C: (1, (Quantity("commanded throttle actuator", "%", _percent()),)),
    0x4D: (2, ()),
    0x4E: (2, ()),
    0x4F: (4, ()),
    0x50: (4, ()),
    0x51: (1, ()),
    0x52: (1, (Quantity("ethanol share of the fuel", "%", _percent()),)),
    0x53: (2, ()),
    0x54: (2, ()),
    0x55: (2, ()),
    0x56: (2, ()),
    0x57: (2, ()),
    0x58: (2, ()),
    0x59: (2, (Quantity("fuel rail absolute pressure", "kPa", _word(10)),)),
    0x5A: (1, (Quantity("relative pedal position", "%", _percent()),)),
    0x5B: (1, ()),
    0x5C: (1, (Quantity("oil temperature", "degC", _byte(1, -40)),)),
    0x5D: (2, (Quantity("injection timing", "deg", _word(1 / 128, -210)),)),
    0x5E: (2, (Quantity("fuel rate", "L/h", _word(0.05)),)),
    0x5F: (1, ()),
    0x60: (4, ()),
    0x61: (1, (Quantity("demanded torque", "%", _byte(1, -125)),)),
    0x62: (1, (Quantity("actual torque", "%", _byte(1, -125)),)),
    0x63: (2, (Quantity("reference torque", "Nm", _word(1)),)),
    0x66: (
        5,
        (
            Quantity("mass air flow sensor A", "g/s", lambda raw: _flagged(raw, 1, (256 * raw[1] + raw[2]) / 32)),
            Quantity("mass air flow sensor B", "g/s", lambda raw: _flagged(raw, 2, (256 * raw[3] + raw[4]) / 32)),
        ),
    ),
}


def _flagged(raw: Raw, bit: int, value: float) -> float:
    return value if raw[0] & bit else float("nan")


def _sensor(number: int) -> str:
    return phrase("bank {number} sensor {number_2}", number=1 + number // 4, number_2=1 + number % 4)


for _n in range(8):
    PIDS[0x14 + _n] = (
        2,
        (
            Quantity(phrase("oxygen sensor voltage {sensor}", sensor=_sensor(_n)), "V", _byte(1 / 200)),
            Quantity(phrase("oxygen sensor trim {sensor}", sensor=_sensor(_n)), "%", _trim(1)),
        ),
    )
    PIDS[0x24 + _n] = (
        4,
        (
            Quantity(phrase("measured lambda {sensor}", sensor=_sensor(_n)), "lambda", _word(_LAMBDA)),
            Quantity(phrase("lambda sensor voltage {sensor}", sensor=_sensor(_n)), "V", _word(8 / 65536, at=2)),
        ),
    )
    PIDS[0x34 + _n] = (
        4,
        (
            Quantity(phrase("measured lambda {sensor}", sensor=_sensor(_n)), "lambda", _word(_LAMBDA)),
            Quantity(phrase("lambda sensor current {sensor}", sensor=_sensor(_n)), "mA", _word(1 / 256, -128, at=2)),
        ),
    )


@dataclass(frozen=True, eq=False)
class Frames:
    """CAN frames in the order they were seen.

    Attributes:
        time: s, shape (frames,).
        identifier: shape (frames,); bit 31 set for the extended form.
        payload: the data bytes of each.
    """

    time: np.ndarray
    identifier: np.ndarray
    payload: Sequence[bytes]


EXTENDED = 1 << 31


def is_answer(identifier: int) -> bool:
    """Return whether frames with this identifier carry a diagnosis answer."""
    return 0x7E8 <= identifier <= 0x7EF or (identifier & ~0xFF) == (EXTENDED | 0x18DAF100)


def identifier_text(identifier: int) -> str:
    """Write an identifier as the trade does: hexadecimal."""
    return f"{identifier & ~EXTENDED:08X}" if identifier & EXTENDED else f"{identifier:03X}"


@dataclass
class _Long:
    """A long answer being put together."""

    wanted: int
    data: bytearray
    next: int = 1


@dataclass
class _Collected:
    """Values of one quantity of one ECU."""

    unit: str
    time: list[float] = field(default_factory=list)
    values: list[float] = field(default_factory=list)


@dataclass
class Answers:
    """What the diagnosis answers of a capture hold.

    Attributes:
        series: one per quantity and ECU.
        count: answers of mode 01.
        notes: what was odd.
    """

    series: list[Series]
    count: int
    notes: list[str]


def decode_answers(frames: Frames) -> Answers:
    """Decode every mode 01 answer among the frames."""
    found: dict[tuple[int, str], _Collected] = {}
    pending: dict[int, _Long] = {}
    unknown: dict[int, int] = {}
    broken = Tally()
    count = 0
    rescaled: set[str] = set()
    for time, identifier, payload in zip(frames.time.tolist(), frames.identifier.tolist(), frames.payload, strict=True):
        if not payload or not is_answer(identifier):
            continue
        message = _assemble(payload, pending, identifier, broken, time)
        if message is None or len(message) < 2 or message[0] != 0x41:
            continue
        count += 1
        at = 1
        while at < len(message):
            pid = message[at]
            length, quantities = PIDS.get(pid, (0, ()))
            if length == 0 or at + 1 + length > len(message):
                if length == 0:
                    unknown[pid] = unknown.get(pid, 0) + 1
                break
            raw = message[at + 1 : at + 1 + length]
            rescaled |= _rescaled(pid, raw)
            for quantity in quantities:
                box = found.setdefault((identifier, quantity.name), _Collected(quantity.unit))
                box.time.append(time)
                box.values.append(quantity.formula(raw))
            at += 1 + length
    sure = {key: box for key, box in found.items() if not any(key[1].startswith(name) for name in rescaled)}
    left_out = sorted({name for _, name in found} - {name for _, name in sure})
    return Answers(_series(sure), count, _notes(count, found, unknown, broken, left_out))


def _rescaled(pid: int, raw: Raw) -> set[str]:
    """Name what a car sends on a full scale of its own, where it states one: parameters 4F and 50 of SAE J1979.

    A byte of 0 means the usual one. Which parameters another one applies to is not sure enough to rest cells on it.
    """
    usual = {
        0x4F: (((0, 2), ("measured lambda", "commanded lambda")), None, None, ((0,), ("intake manifold pressure",))),
        0x50: (((0,), ("mass air flow",)), None, None, None),
    }.get(pid, ())
    return {
        name for value, known in zip(raw, usual, strict=False) if known is not None and value not in known[0]
        for name in known[1]
    }  # fmt: skip


def _assemble(payload: bytes, pending: dict[int, _Long], identifier: int, broken: Tally, time: float) -> bytes | None:
    """Put a message together from its frames; None while it is not whole."""
    kind = payload[0] >> 4
    if kind == 0:
        length = payload[0] & 0x0F
        return payload[1 : 1 + length] if 0 < length < len(payload) else None
    if kind == 1 and len(payload) > 2:
        pending[identifier] = _Long((payload[0] & 0x0F) << 8 | payload[1], bytearray(payload[2:]))
        return None
    whole = pending.get(identifier)
    if kind != 2 or whole is None:
        return None
    if payload[0] & 0x0F != whole.next:
        broken.add(phrase("at {time:.6g} s", time=time))
        del pending[identifier]
        return None
    whole.next = (whole.next + 1) % 16
    whole.data += payload[1:]
    if len(whole.data) < whole.wanted:
        return None
    del pending[identifier]
    return bytes(whole.data[: whole.wanted])


def _series(found: Mapping[tuple[int, str], _Collected]) -> list[Series]:
    several = len({identifier for identifier, _ in found}) > 1
    by_ecu: dict[str, list[int]] = {}
    for identifier, name in found:
        by_ecu.setdefault(name, []).append(identifier)
    series = []
    for (identifier, name), box in found.items():
        shown = f"{name} ({identifier_text(identifier)})" if several and len(by_ecu[name]) > 1 else name
        time = np.array(box.time)
        order = np.argsort(time, kind="stable")
        series.append(Series(shown, box.unit, time[order], np.array(box.values)[order]))
    return series


def _notes(
    count: int,
    found: Mapping[tuple[int, str], _Collected],
    unknown: Mapping[int, int],
    broken: Tally,
    left_out: Sequence[str],
) -> list[str]:
    ecus = sorted({identifier for identifier, _ in found})
    notes = []
    if count:
        notes.append(
            phrase(
                "{count} diagnostic responses of {ecus} were decoded by SAE J1979.",
                count=count,
                ecus=", ".join(identifier_text(ecu) for ecu in ecus),
            )
        )
    if unknown:
        shown = ", ".join(f"{pid:02X}" for pid in sorted(unknown)[:8])
        notes.append(phrase("Unknown parameters were left out: {shown}.", shown=shown))
    if broken.count:
        notes.append(
            phrase(
                "{count} multi-frame responses with a missing frame were dropped ({broken}).",
                count=broken.count,
                broken=broken,
            )
        )
    if left_out:
        notes.append(
            phrase(
                "The car states full scales of its own (parameters 4F or 50), so these are left out: {names}. "
                "Export them decoded by a tool that knows the car.",
                names=", ".join(left_out),
            )
        )
    return notes
