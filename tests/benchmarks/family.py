"""How well the workbench does on virtual cars whose physics is drawn by lot. Prints tables, asserts nothing.

    python tests/benchmarks/family.py [--seeds 1:20] [--condition NAME]... [--grid] [--second-drive] [--answered]
                                      [--jobs N] [--each]
    python tests/benchmarks/family.py --faults [--fault NAME]... [--seeds 1:20]

Seeds count both ends. Seeds 1 to 100 are for work, 1001 to 1060 are looked at once, at the end. A condition is one of
tests/family/conditions.py, several joined by + ('catalyst + 5 min'). How truth is compared stands in
tests/family/judge.py; in short:

- `none` counts cars without a proven cell; they are in no other column;
- `part` and `full` are the worst proven cell after one correction with default flags, in %: median of the cars, what
  90 % of cars stay under, worst car; `thin` the same over proven or thin cells, worst car only;
- `holds` is the share of proven cells whose 95 % interval holds the truth, over all cells and in the worst car; `±` the
  median half-width in %;
- `blind` are cells changed that are neither proven nor thin, or lie in a gap: how many, worst error, ± stated there;
- `s` is the median and the longest time for the evidence.

With --faults, `named` counts cars in which a caution, note or effect matches words that mean the fault, `alarmed` the
same words on the same cars without it, `new` the cars in which any caution or note kind is new beside the car without
the fault. The raw names are printed so that a person can judge. Alarms of lean full throttle on clean cars are held
against how lean the cylinders truly ran.
"""

import argparse
import os
import re
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
sys.path.insert(1, str(Path(__file__).resolve().parent.parent.parent))

import numpy as np  # noqa: E402
from family.conditions import CONDITIONS  # noqa: E402
from family.faults import FAULTS  # noqa: E402
from family.judge import Heard, Verdict, heard_of, judged  # noqa: E402

# Words in a caution, note or effect that would tell a reader of the fault.
MEANS = {
    "leak before sensor": r"unsteady|nois|leak|disturbed",
    "leak after sensor": r"leak|unmetered|false air|not metered",
    "exhaust leak": r"exhaust.*leak|leak.*(exhaust|wideband)|(wideband|reads).*(idle|low flow|leaner)|contradict",
    "weak pump": r"fuel pressure|pump|fuel supply",
    "lazy wideband": r"slow\b|lazy|sluggish|\blag",
    "misread injector": r"inject|pulse|dead time|dead-time",
    "lean spike": r"lean(er)? .*(pull|full throttle|spike)|(pull|full throttle|spike).* lean|^lean",
    "lifted pull": r"lift|eased|slip|interrupt|broke off|throttle.*clos|closed.*pull",
    "free air": r"free air|not in the exhaust|limit|stuck|pinned|out of range|outside|contradict|does not move",
}
LEAN = re.compile("^Full throttle ran more than|^At full throttle measured and commanded")
HEAD = (
    f"{'condition':24}{'cars':>5}{'none':>5}  {'part: med  90 %  worst':>24}{'full: med  90 %  worst':>25}"
    f"{'thin: p   f':>13}{'holds  worst car':>18}{'±':>6}{'proven':>8}{'blind: n worst ±':>20}{'s':>11}"
)


def main() -> None:
    """Read the words, and print what was asked for."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--seeds", default="1:20")
    words.add_argument("--condition", action="append", help="A, B, ...: " + ", ".join(CONDITIONS))
    words.add_argument("--grid", action="store_true")
    words.add_argument("--second-drive", action="store_true")
    words.add_argument("--answered", action="store_true", help="asked for the wideband's place, the user says it")
    words.add_argument("--jobs", type=int, default=1)
    words.add_argument("--each", action="store_true", help="print every car")
    words.add_argument("--faults", action="store_true")
    words.add_argument("--fault", action="append", choices=list(FAULTS))
    said = words.parse_args()
    first, _, last = said.seeds.partition(":")
    seeds = range(int(first), int(last or first) + 1)
    kind = "grid" if said.grid else "curve"
    if said.faults or said.fault:
        for condition in said.condition or ["A"]:
            print_faults(seeds, condition, said.fault or list(FAULTS), kind, said.jobs)
        return
    print(HEAD)
    for condition in said.condition or ["A"]:
        task = partial(judged, condition=condition, kind=kind, second=said.second_drive, answers=said.answered)
        rounds = list(zip(*over(task, seeds, said.jobs), strict=True))
        for number, verdicts in enumerate(rounds, 1):
            print(line(condition + (f", drive {number}" if len(rounds) > 1 else ""), verdicts), flush=True)
            told(verdicts, each=said.each)


def over(task: "partial[Any]", seeds: Iterable[int], jobs: int) -> Iterator[Any]:
    """Do something for each seed, in processes of their own where several at once are asked for."""
    if jobs <= 1:
        yield from map(task, seeds)
        return
    with ProcessPoolExecutor(jobs) as pool:
        yield from pool.map(task, seeds)


def line(name: str, verdicts: Sequence[Verdict]) -> str:
    """Give one line of the table."""
    proven = sum(v.proven for v in verdicts)
    shares = [v.holds / v.proven for v in verdicts if v.proven]
    holds = f"{100 * sum(v.holds for v in verdicts) / proven:.0f} %" if proven else "–"
    worst_car = f"{100 * min(shares):.0f} %" if shares else "–"
    half = quantile([v.half_width for v in verdicts], 0.5)
    many = sum(v.blind[2] for v in verdicts)
    blind = max(verdicts, key=lambda v: v.blind[0] if v.blind[2] else -1.0).blind
    blindly = f"{many} {100 * blind[0]:.1f} {100 * blind[1]:.1f}" if many else "0"
    thin = f"{spread([v.part_thin for v in verdicts])[2]:.1f} {spread([v.full_thin for v in verdicts])[2]:.1f}"
    times = [v.seconds for v in verdicts]
    part, full = three([v.part for v in verdicts]), three([v.full for v in verdicts])
    return (
        f"{name:24}{len(verdicts):5d}{len(verdicts) - len(shares):5d}  {part:>24}{full:>25}{thin:>13}"
        f"{holds + '  ' + worst_car:>18}{100 * half:6.2f}{proven:8d}{blindly:>20}"
        f"{np.median(times):6.1f}{max(times):5.1f}"
    )


def spread(errors: Sequence[float]) -> tuple[float, float, float]:
    """Median, what 90 % of cars stay under, and the worst, in %."""
    return 100 * quantile(errors, 0.5), 100 * quantile(errors, 0.9), 100 * quantile(errors, 1.0)


def three(errors: Sequence[float]) -> str:
    """The same as text."""
    return "  ".join(f"{each:5.2f}" for each in spread(errors))


def quantile(values: Sequence[float], share: float) -> float:
    """Quantile of those values that are numbers."""
    there = [v for v in values if np.isfinite(v)]
    return float(np.quantile(there, share, method="inverted_cdf")) if there else float("nan")


def told(verdicts: Sequence[Verdict], *, each: bool) -> None:
    """Print every car, or only those that were refused something."""
    for v in verdicts:
        if each:
            print(
                f"    {v.seed:5d}: part {100 * v.part:5.2f} full {100 * v.full:5.2f} holds {v.holds}/{v.proven} "
                f"±{100 * v.half_width:.2f} {v.seconds:.1f} s, taken as {'/'.join(v.places)} | {v.described}"
            )
        for refusal in v.refused:
            print(f"    {v.seed:5d} refused: {refusal}")


def print_faults(seeds: Iterable[int], condition: str, names: Sequence[str], kind: str, jobs: int) -> None:
    """Print what is said of cars with each fault and without."""
    seeds = list(seeds)
    clean = list(over(partial(_hear, condition, None, kind), seeds, jobs))
    lean = sum(h.lean > 0.03 for h in clean)
    print(
        f"{condition}: {sum(bool(h.cautions) for h in clean)} of {len(clean)} clean cars raise a caution; with their "
        f"stale tables {lean} truly ran more than 3 % lean at full throttle: that is no false alarm"
    )
    of_lean = [(any(LEAN.search(sentence) for _, sentence in h.cautions), h.lean) for h in clean]
    print(
        f"lean at full throttle: alarmed in {sum(a and by > 0.03 for a, by in of_lean)} of them, falsely in "
        f"{sum(a and by <= 0.03 for a, by in of_lean)}; more than 5 % lean and not alarmed: "
        f"{sum(not a and by > 0.05 for a, by in of_lean)}"
    )
    _print_names(clean)
    for name in names:
        heard = list(over(partial(_hear, condition, name, kind), seeds, jobs))
        means = re.compile(MEANS[name], re.IGNORECASE)
        named = sum(any(map(means.search, sentences(h))) for h in heard)
        alarmed = sum(any(map(means.search, sentences(h))) for h in clean)
        new = sum(bool(kinds(a) - kinds(b)) for a, b in zip(heard, clean, strict=True))
        print(f"\n{name} ({FAULTS[name]}): named {named}/{len(heard)}, alarmed {alarmed}/{len(clean)}, new {new}")
        _print_names(heard)


def _hear(condition: str, fault: str | None, kind: str, seed: int) -> Heard:
    return heard_of(seed, condition, fault, kind)


def sentences(heard: Heard) -> list[str]:
    """All that was said, kinds of cautions included."""
    return [f"{name}: {sentence}" for name, sentence in heard.cautions] + list(heard.notes)


def kinds(heard: Heard) -> set[str]:
    """What was said, numbers taken out."""
    return {name for name, _ in heard.cautions} | {plain(note) for note in heard.notes}


def plain(note: str) -> str:
    """A sentence without what differs from car to car: numbers and file names."""
    return re.sub(r"\S+\.csv|[-+]?\d[\d.,]*", "#", note)


def _print_names(heard: Sequence[Heard]) -> None:
    cautions = Counter(name for h in heard for name in {name for name, _ in h.cautions})
    notes = Counter(note for h in heard for note in {plain(note) for note in h.notes})
    for name, many in cautions.most_common():
        example = next(s for h in heard for n, s in h.cautions if n == name)
        print(f"  {many:3d} x caution {name}: {example}")
    for note, many in notes.most_common(12):
        print(f"  {many:3d} x {note[:170]}")


if __name__ == "__main__":
    main()
