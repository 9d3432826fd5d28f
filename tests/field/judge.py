"""Judges how the workbench reads a shape: through its command line, against what the drive itself shows."""

import contextlib
import io
import json
import os
import re
import signal
import tempfile
import traceback
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from field.car import HERTZ, STALE, drive
from field.shape import ROLES, Built, Shape, log, std
from workbench.cli import main

CLASSES = (
    "right", "asked", "guessed", "lost", "refused badly", "wrong-told", "WRONG-SILENT", "crashed", "slow",
)  # fmt: skip
WANTED = {"read": ("right",), "either": ("right", "asked"), "ask": ("asked",), "refuse": ("asked",)}
SLOW_S = 20.0  # a drive of 5,500 rows takes about one
ROUNDING = 0.003  # the share by which a cell may move through rounding
OVERCONFIDENT = 0.7  # of the base drive's half-widths: narrower ones count readings twice
QUESTIONS = ("questions", "asks", "open_questions")
ASKS = re.compile(r"--[a-z]|no role|which|\?")  # a sentence that leaves something to the user, not one that only tells
BASE_UNITS = {
    "rpm": 8.0, "map": 0.6, "hz": 8.0, "maf": 0.15, "throttle": 0.6, "coolant": 1.1, "iat": 1.1, "speed": 1.2,
    "cmd": 0.006, "lam": 0.006, "stft": 0.5, "ltft": 0.5, "stft2": 0.5, "ltft2": 0.5, "purge": 0.8, "baro": 1.0,
    "volts": 0.2, "status": 0.1,
}  # fmt: skip
"""Quantity -> how far its median may be off through coarse writing, in base units."""


@dataclass(frozen=True)
class Said:
    """What a command answered: exit code (None after a traceback), JSON object, standard error."""

    code: int | None
    answer: dict[str, Any]
    error: str

    @property
    def sentence(self) -> str:
        return f"{self.answer.get('error', '')} {self.answer.get('hint', '') or ''}".strip() or self.error.strip()


@dataclass(frozen=True)
class Verdict:
    """How a shape fared: its class, and the sentence that tells why."""

    shape: Shape
    kind: str
    message: str
    seconds: float = 0.0

    @property
    def good(self) -> bool:
        """Whether the workbench did what a person would have done."""
        return self.kind in WANTED[self.shape.wants]


@dataclass
class Findings:
    """What was found to be wrong with a reading."""

    moved: list[str] = field(default_factory=list)
    values: list[str] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)
    proven: int = 0
    share: float = 0.0


class TooSlowError(BaseException):
    """A shape has used up its processor time; no `except Exception` on the way swallows it."""


@contextlib.contextmanager
def limited() -> Iterator[None]:
    """Stop what takes more than `SLOW_S` of this process's processor time, where the system has such a clock."""
    if not hasattr(signal, "SIGPROF"):
        yield
        return

    def stop(number: int, frame: object) -> None:
        raise TooSlowError

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, SLOW_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def run(words: Sequence[str]) -> Said:
    """Run a command in this process."""
    out, error = io.StringIO(), io.StringIO()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(error):
            code = main([*words, "--json"])
    except (KeyboardInterrupt, TooSlowError):
        raise
    except BaseException as failure:  # noqa: BLE001 (a traceback of any kind is what is looked for)
        told = traceback.format_exception_only(failure)[-1].strip()
        where = traceback.extract_tb(failure.__traceback__)[-1]
        return Said(None, {}, f"{told} ({Path(where.filename).name}:{where.lineno})")
    try:
        answer = json.loads(out.getvalue())
    except ValueError:
        answer = {}
    return Said(code, answer if isinstance(answer, dict) else {}, error.getvalue())


def judge(shape: Shape) -> Verdict:
    """Write the shape's files into a folder of their own, let the workbench read them, and class what comes of it."""
    built = shape.build()
    begun = sum(os.times()[:4])
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "logs"
        folder.mkdir()
        for name, data in built.files.items():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(data)
        given = [folder] if built.folder else [folder / name for name in built.files]
        given = given if built.together else given[:1]
        judged = _judge_table if built.table else _judge_log
        try:
            with limited():
                kind, message = judged(shape, built, Path(place), [str(path) for path in given])
        except TooSlowError:
            kind, message = "slow", f"stopped after {SLOW_S:g} s"
    seconds = sum(os.times()[:4]) - begun  # of processors, children too: the machine may be busy
    if seconds > SLOW_S and kind != "crashed":
        kind = "slow"
    return Verdict(shape, kind, message, seconds)


@cache
def base(banks: int) -> tuple[dict[int, tuple[float, float, str]], tuple[str, ...]]:
    """Give the evidence of the drive in the standard log, and all that is said with it."""
    with tempfile.TemporaryDirectory() as place:
        built = log(std(banks=banks))
        path = Path(place) / "base.csv"
        path.write_bytes(next(iter(built.files.values())))
        session, _ = _session(Path(place))
        added = run(["add-log", session, str(path)])
        shown = run(["evidence", session])
        if added.code != 0 or shown.code != 0:
            raise RuntimeError(f"The standard log itself is not read: {added.sentence} {shown.sentence}")
        return _cells(shown), _warnings(added) + _warnings(shown)


def _session(place: Path) -> tuple[str, Said]:
    table = place / "stale.csv"
    lines = [f"{hertz:g},{flow:.3f}" for hertz, flow in zip(HERTZ, STALE, strict=True)]
    table.write_text("\n".join(["Airflow sensor (Hz),Airflow (g/s)", *lines]) + "\n")
    session = str(place / "car.session")
    return session, run(["new", session, str(table)])


def _judge_log(shape: Shape, built: Built, place: Path, given: list[str]) -> tuple[str, str]:
    session, _ = _session(place)
    added = run(["add-log", session, *given, *built.flags])
    alone = Path(given[0]).is_file() and len(given) == 1
    seen = run(["inspect", given[0], *_inspect_flags(built.flags)]) if alone else Said(1, {}, "")
    shown = run(["evidence", session]) if added.code == 0 else Said(1, {}, "")
    for name, said in (("add-log", added), ("evidence", shown), ("inspect", seen)):
        if said.code is None:
            return "crashed", f"{name}: {said.error}"
    if added.code != 0:
        return _refused(shape, built, added.sentence)
    asked = [question for said in (added, shown) for key in QUESTIONS for question in _texts(said.answer.get(key))]
    cells = _cells(shown) if shown.code == 0 else {}
    if not any(standing == "proven" for _, _, standing in cells.values()):
        told = asked or ([shown.sentence] if shown.code else list(_warnings(added)))
        if shape.keep == 0 and not asked:
            return "right", "too thin for evidence"
        return _refused(shape, built, "no evidence: " + " ".join(told), asked=bool(asked), mute=not asked)
    return _read(shape, built, added, shown, seen, cells)


def _inspect_flags(flags: Sequence[str]) -> list[str]:
    return [word for word in flags if not word.startswith("--wideband") and word not in ("before", "after", "--again")]


def _refused(shape: Shape, built: Built, sentence: str, *, asked: bool = False, mute: bool = False) -> tuple[str, str]:
    """Class a refusal, a question, or a log that gives no evidence."""
    if shape.wants == "read":
        return "refused badly", sentence
    names = [] if mute else [re.escape(name) for name in built.roles.values()]
    hints = shape.hints or ("--[a-z]+", *names)
    if shape.wants == "refuse":
        hints = shape.hints or (".{20}",)
    if not asked and not any(re.search(hint, sentence, re.IGNORECASE) for hint in hints):
        return "refused badly", sentence
    return "asked", sentence


def _read(
    shape: Shape, built: Built, added: Said, shown: Said, seen: Said, cells: dict[int, tuple[float, float, str]]
) -> tuple[str, str]:
    if shape.wants == "refuse":
        return "WRONG-SILENT", f"{len(cells)} cells of evidence from a file that holds none"
    found = _compare(shape, built, added, seen, cells)
    fresh = _fresh(shape, added, shown)
    bad = found.moved + found.values
    if bad:
        told = [note for note in fresh if _about(note, shape, built, found)]
        message = "; ".join(bad[:3]) + (f" | told: {told[0]}" if told else "")
        return ("wrong-told" if told else "WRONG-SILENT"), message
    left_out = [note for note in fresh if ASKS.search(note) and _about(note, shape, built, found)]
    if shape.wants != "read" and found.lost and left_out:
        return "asked", left_out[0]
    if shape.wants == "ask" and not found.lost:
        return "guessed", "read as it was, though the file does not tell" + (f" | told: {fresh[0]}" if fresh else "")
    if found.lost or found.share < shape.keep:
        thin = [f"{found.share:.0%} of the base's proven cells"] if found.share < shape.keep else []
        return "lost", "; ".join(found.lost + thin)
    return "right", ""


def _compare(
    shape: Shape, built: Built, added: Said, seen: Said, cells: dict[int, tuple[float, float, str]]
) -> Findings:
    found = Findings()
    expected, _ = base(shape.banks)
    narrower = []
    for index, (ratio, half, standing) in cells.items():
        if standing != "proven" or index not in expected:
            continue
        base_ratio, base_half, base_standing = expected[index]
        found.proven += 1
        if base_standing != "proven":
            continue
        narrower.append(half / max(base_half, 1e-6))
        if abs(ratio - base_ratio) > float(np.hypot(half, base_half)) + ROUNDING:
            found.moved.append(f"{HERTZ[index]:g} Hz {100 * (ratio / base_ratio - 1):+.1f} %")
    proven = sum(standing == "proven" for _, _, standing in expected.values())
    found.share = found.proven / proven
    if found.moved:
        found.moved[0] = f"{len(found.moved)} of {found.proven} proven cells moved: {found.moved[0]}"
    if narrower and float(np.median(narrower)) < OVERCONFIDENT:
        found.moved.append(f"intervals {np.median(narrower):.2f} times as wide as the drive's own")
    _compare_roles(shape, built, added, found)
    _compare_values(shape, built, added, seen, found)
    return found


def _compare_roles(shape: Shape, built: Built, added: Said, found: Findings) -> None:
    plays = {each.get("role"): str(each.get("name")) for each in _channels(added) if each.get("role")}
    for role, name in built.roles.items():
        if role in shape.optional:
            continue
        if role not in plays:
            found.lost.append(f"{role} has no channel ({name})")
        elif name and not _same(plays[role], name):
            found.values.append(f"{role} is played by {plays[role]}, not {name}")


def _channels(added: Said) -> list[dict[str, Any]]:
    logs = added.answer.get("logs") or [added.answer]
    return [each for one in logs for each in one.get("channels", ())]


def _compare_values(shape: Shape, built: Built, added: Said, seen: Said, found: Findings) -> None:
    """Hold the medians of what was read, and the length of the drive, against the drive."""
    frame = drive(shape.banks)
    stamps = [one.get("time", {}) for one in added.answer.get("logs") or [added.answer]]
    lasted = max(float(t.get("last") or 0) for t in stamps) - min(float(t.get("first") or 0) for t in stamps)
    whole = float(frame["time"][-1])
    if not shape.any_length and abs(lasted - whole) > (0.25 if shape.loose else 0.03) * whole:
        found.values.append(f"the drive lasts {lasted:.6g} s, not {whole:g}")
    keys = {role: key for key, role in ROLES.items()}
    for each in seen.answer.get("channels", ()):
        key = keys.get(each.get("role") or "")
        if key is None or key not in frame.of or each.get("median") is None or each["role"] not in built.roles:
            continue
        if each["role"] in shape.optional:
            continue
        spread = float(np.ptp(np.quantile(frame[key], [0.05, 0.95])))
        middle = float(np.median(frame[key]))
        room = BASE_UNITS[key] + (0.35 * spread if shape.loose else 0.004 * abs(middle))
        if abs(float(each["median"]) - middle) > room:
            found.values.append(f"{each['role']} is {float(each['median']):.5g} in the median, not {middle:.5g}")


def _judge_table(shape: Shape, built: Built, place: Path, given: list[str]) -> tuple[str, str]:
    session = str(place / "car.session")
    made = run(["new", session, *given, *built.flags])
    if made.code is None:
        return "crashed", f"new: {made.error}"
    if made.code != 0:
        return _refused(shape, built, made.sentence)
    out = place / "out.csv"
    wrote = run(["export", session, str(out), "--draft"])
    if wrote.code != 0:
        return ("crashed" if wrote.code is None else "refused badly"), f"export: {wrote.sentence}"
    read = _table_of(out)
    if shape.wants == "refuse":
        return "WRONG-SILENT", f"read as {[len(part) for part in read]}"
    told = [text for key in ("assumed", "warnings", "notes", *QUESTIONS) for text in _texts(made.answer.get(key))]
    wrong = _table_wrong(read, built)
    if wrong:
        return ("wrong-told" if told else "WRONG-SILENT"), wrong + (f" | told: {told[0]}" if told else "")
    return ("guessed" if shape.wants == "ask" else "right"), ""


def _table_wrong(read: list[list[float]], built: Built) -> str:
    """Say what of a table is not what the file held; nothing where all is."""
    if len(read) != len(built.table):
        return f"read with {len(read) - 1} axes"
    names = ("axis", "values") if len(read) == 2 else ("row axis", "column axis", "values")
    for have, want, what in zip(read, built.table, names, strict=True):
        if len(have) != len(want) or not np.allclose(have, want, rtol=2e-5, atol=1e-9):
            return f"{what}: {have[:4]}… for {list(want[:4])}…"
    return ""


def _table_of(path: Path) -> list[list[float]]:
    """Give axes, then values, of an exported table: the project's own plain CSV."""
    found = next(iter(sorted(path.parent.glob(f"{path.stem}*{path.suffix}"))))
    lines = [line.split(",") for line in found.read_text().splitlines()]
    if len(lines[1]) == 2 and "/" not in re.sub(r"\([^)]*\)", "", lines[0][0]):
        return [[float(a) for a, _ in lines[1:]], [float(b) for _, b in lines[1:]]]
    body = [[float(cell) for cell in line] for line in lines[1:]]
    return [[row[0] for row in body], [float(cell) for cell in lines[0][1:]], [v for row in body for v in row[1:]]]


def _cells(shown: Said) -> dict[int, tuple[float, float, str]]:
    out = {}
    for cell in shown.answer.get("cells", ()):
        if cell.get("ratio") is not None and cell.get("half_width") is not None:
            out[int(cell["index"])] = (float(cell["ratio"]), float(cell["half_width"]), str(cell.get("standing")))
    return out


def _texts(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return [" ".join(_texts(list(value.values())))]
    return [text for each in value for text in _texts(each)] if isinstance(value, list) else []


def _warnings(said: Said) -> tuple[str, ...]:
    keys = ("warnings", "notes", "findings", "cautions", *QUESTIONS)
    return tuple(text for key in keys for text in _texts(said.answer.get(key)))


def _fresh(shape: Shape, added: Said, shown: Said) -> list[str]:
    """Give the sentences that the standard log does not bring, numbers and file names aside."""
    known = {_shape_of(note) for note in base(shape.banks)[1]}
    return [note for note in (*_warnings(added), *_warnings(shown)) if _shape_of(note) not in known]


def _shape_of(note: str) -> str:
    return re.sub(r"\S+\.(csv|txt|xlsx|json)|[-+]?\d[\d.,]*", "#", note)


def _about(note: str, shape: Shape, built: Built, found: Findings) -> bool:
    """Say whether a sentence could have told the user of what is wrong: it names a channel or what the shape is about."""
    bad = " ".join(found.values + found.lost)
    names = [name for role, name in built.roles.items() if role in bad or found.moved]
    words = [*(re.escape(name) for name in names if len(name) > 1), *shape.hints]
    return any(re.search(word, note, re.IGNORECASE) for word in words)


def _same(one: str, other: str) -> bool:
    plain = [re.sub(r"[\W_]+", "", name).lower() for name in (one, other)]
    return plain[0] in plain[1] or plain[1] in plain[0]
