"""The judge: gives a car's files to the workbench as a user would, and compares its answers with the truth.

Nothing is told that a user would not know: default flags, no place, no delay. Only the command line is used. Where it
asks for the place of the wideband, `answers` says whether the user answers, rightly.

How truth is compared:
- A cell is a breakpoint (or a node of a grid). Its true ratio is true/driven table there; the true table is the one
  whose interpolation reads the intake best (least squares of the relative error), so that what a straight line
  between breakpoints cannot follow is no error of the workbench.
- Driven cells are those that the workbench calls proven. The worst cell is the largest |corrected/true - 1| over them
  after `correct` with default flags; over proven or thin cells it is given apart.
- A cell counts as full throttle when the virtual car spent more weight there at full throttle than in closed loop:
  this is known from the car, not from the workbench. All others are part throttle.
- An interval holds when |ratio - true ratio| <= half_width as `evidence` states them, over proven cells.
- Changed blindly are cells that `correct` changed although they are neither proven nor thin, or lie in the gap.
"""

import contextlib
import io
import json
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from family.air import Array, Table
from family.car import Run, run, write
from family.conditions import forced
from family.lottery import draw
from family.parts import Car, Kind


class Desk:
    """A session of the workbench, used by its command line, in this process."""

    def __init__(self, folder: Path) -> None:
        self.session = folder / "car.session"

    def ask(self, *words: str) -> dict[str, Any]:
        """Run a command on the session with --json and give its answer; a refusal or a crash has the key `error`."""
        from workbench.cli import main

        heard, aside = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(heard), contextlib.redirect_stderr(aside):
            try:
                main([words[0], str(self.session), *words[1:], "--json"])
            except Exception as crash:  # noqa: BLE001 - one car that ends the workbench must not end the table
                return {"error": f"{words[0]} CRASHED: {type(crash).__name__}: {crash}"}
        answer: dict[str, Any] = json.loads(heard.getvalue())
        return answer

    def add(self, logs: list[Path]) -> list[str]:
        """Add logs; where they are refused together, one by one. Gives the refusals."""
        answer = self.ask("add-log", *map(str, logs))
        if "error" not in answer:
            return []
        refused = []
        for log in logs if len(logs) > 1 else []:
            alone = self.ask("add-log", str(log))
            refused += [f"{log.name}: {alone['error']}"] if "error" in alone else []
        return refused or [str(answer["error"])]


@dataclass(frozen=True)
class Verdict:
    """What became of one car after one correction; errors and half-widths as ratios (0.01 is 1 %).

    Attributes:
        part, full: worst proven cell at part and at full throttle; NaN where there is none.
        part_thin, full_thin: worst over proven or thin cells.
        holds, proven: proven cells whose interval holds the truth, and how many there are.
        half_width: median over proven cells.
        blind: worst error of cells changed blindly, the half-width stated there, and how many there are.
        seconds: for evidence.
        places: where the workbench takes the wideband to sit, by drive.
        refused: what it would not do.
    """

    seed: int
    part: float
    full: float
    part_thin: float
    full_thin: float
    holds: int
    proven: int
    half_width: float
    blind: tuple[float, float, int]
    seconds: float
    places: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    described: str = ""


@dataclass(frozen=True)
class Heard:
    """All that the workbench says of a car.

    Attributes:
        cautions: kind and sentence of each.
        notes: sentences of everything else.
        lean: how lean the cylinders truly ran at full throttle for half a second, over commanded lambda, less 1.
    """

    cautions: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    lean: float


def judged(
    seed: int, condition: str, kind: Kind = "curve", *, second: bool = False, answers: bool = False
) -> list[Verdict]:
    """Drive a car, correct its table once (or twice, with a second drive), and hold the results against the truth."""
    car = forced(draw(seed, kind), condition)
    verdicts = []
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        desk = Desk(folder)
        first = run(car)
        table, logs = write(folder, first, kind, car.meter.unit, "a_")
        desk.ask("new", str(table))
        verdict, values = _round(desk, car, first, logs, answers=answers)
        verdicts.append(verdict)
        if second:
            again = run(car, Table(first.driven.axes, values), number=2)
            _, logs = write(folder, again, kind, car.meter.unit, "b_")
            verdicts.append(_round(desk, car, again, logs, answers=answers)[0])
    return verdicts


def _round(desk: Desk, car: Car, result: Run, logs: list[Path], *, answers: bool) -> tuple[Verdict, Array]:
    refused = desk.add(logs)
    began = time.perf_counter()
    evidence = desk.ask("evidence")
    seconds = time.perf_counter() - began
    if answers and (evidence.get("next_step") or {}).get("command") == "settings":
        desk.ask("settings", "--wideband", "after" if car.wideband.place == "catalyst" else "before")
        evidence = desk.ask("evidence")
    corrected = desk.ask("correct") if "error" not in evidence else evidence
    if "error" in corrected:
        nothing = float("nan")
        words = (*refused, str(corrected["error"]))
        verdict = Verdict(
            car.seed, nothing, nothing, nothing, nothing, 0, 0, nothing, (nothing, nothing, 0), seconds,
            refused=words, described=described(car),
        )  # fmt: skip
        return verdict, result.driven.values
    values = np.array(corrected["values"], float)
    return _compared(car, result, evidence, values, seconds, tuple(refused)), values


def _compared(
    car: Car, result: Run, evidence: dict[str, Any], values: Array, seconds: float, refused: tuple[str, ...]
) -> Verdict:
    shape = result.driven.values.shape
    cells = evidence["cells"]
    ratio = np.array([c["ratio"] if c["ratio"] is not None else np.nan for c in cells]).reshape(shape)
    half = np.array([c["half_width"] if c["half_width"] is not None else np.nan for c in cells]).reshape(shape)
    standing = np.array([c["standing"] for c in cells]).reshape(shape)
    off = np.abs(values / result.true.values - 1)
    proven, known = standing == "proven", np.isin(standing, ["proven", "thin"])
    off_stated = np.abs(ratio - result.true.values / result.driven.values)
    moved = values != result.driven.values
    blind = moved & (~known | result.gap)
    at = int(np.argmax(np.where(blind, off, -1)))
    return Verdict(
        seed=car.seed,
        part=_worst(off[proven & ~result.full]),
        full=_worst(off[proven & result.full]),
        part_thin=_worst(off[known & ~result.full]),
        full_thin=_worst(off[known & result.full]),
        holds=int((off_stated[proven] <= half[proven]).sum()),
        proven=int(proven.sum()),
        half_width=float(np.median(half[proven])) if proven.any() else float("nan"),
        blind=(_worst(off[blind]), float(half.flat[at]) if blind.any() else float("nan"), int(blind.sum())),
        seconds=seconds,
        places=tuple(evidence.get("wideband", {}).values()),
        refused=refused,
        described=described(car),
    )


def heard_of(seed: int, condition: str, fault: str | None, kind: Kind = "curve") -> Heard:
    """Drive a car with or without a fault, and listen to all that the workbench says of it."""
    car = forced(draw(seed, kind), condition)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        desk = Desk(folder)
        result = run(car, fault=fault)
        table, logs = write(folder, result, kind, car.meter.unit)
        desk.ask("new", str(table))
        notes = [f"refused: {each}" for each in desk.add(logs)]
        cautions = desk.ask("cautions")
        evidence = desk.ask("evidence")
        notes += [str(each) for each in evidence.get("notes", [])]
        notes += [
            f"effect: {e['channel']} {100 * e['change']:+.1f} %" for e in evidence.get("effects", []) if e["stands_out"]
        ]
        notes += [f"refused: {evidence['error']}"] if "error" in evidence else []
        found, driven = len(desk.ask("pulls").get("pulls", [])), car.route.pulls
        notes += [f"{'fewer' if found < driven else 'more'} pulls found than driven"] if found != driven else []
        corrected = desk.ask("correct", "--preview")
        notes += [str(each) for key in ("notes", "doubts") for each in corrected.get(key, [])]
    named = tuple((str(c["kind"]), str(c["sentence"])) for c in cautions.get("cautions", []))
    return Heard(named, tuple(dict.fromkeys(notes)), _leanest(result))


def _leanest(result: Run) -> float:
    inner = result.inner
    full = inner["full"] > 0
    if not full.any():
        return 0.0
    ratio = 1 / np.maximum(inner["phi"] * inner["commanded"], 0.5)
    steady = np.convolve(ratio, np.ones(50) / 50, "same")
    return float(np.max(steady[full & (np.convolve(full, np.ones(100), "same") > 99)], initial=1.0)) - 1


def _worst(errors: Array) -> float:
    return float(errors.max()) if errors.size else float("nan")


def described(car: Car) -> str:
    """Say on one line what was drawn."""
    band, route = car.wideband, car.route
    store = f" + {band.oxygen:.1f} g O2" if band.place == "catalyst" else ""
    sits = "trims only" if band.place == "none" else f"{band.place} {band.gas:.1f} g{store}"
    return (
        f"{car.engine.displacement:.1f} l, {car.meter.breakpoints} {car.meter.unit}, {car.loop.kind} loop "
        f"({100 * (car.loop.centre - 1):+.1f} %), long trim {car.long.kind}, {car.long.at_full}, "
        f"purge {car.purge.kind} (logged: {car.purge.logged}), wideband {sits}, {car.logger.kind} "
        f"{car.logger.rate:g} Hz, {route.seconds / 60:.0f} min, {route.pulls} pulls"
        f"{', from cold' if route.coolant < 70 else ''}"
    )
