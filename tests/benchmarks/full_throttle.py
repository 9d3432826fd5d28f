"""How far full throttle is off after one drive with three pulls and one default correction. Asserts nothing.

    python tests/benchmarks/full_throttle.py [--seeds 1:20] [--grid] [--place NAME] [--stated|--answered] [--accept]
        [--each]

Cars are those of family.py, each with three pulls and its wideband put before the catalyst (`pipe`; any place with
`--place`), whatever else was drawn. The error is the corrected table over the true one where the ECU looked it up at
full throttle, from half a second into each pull, in %:

- `before` is the largest of the table that was driven, median of the cars;
- `mean` is the mean along the pulls: median and worst of the cars; `95 %` and `worst` what their points stay under;
- `within` counts the cars of which the mean, 95 % of the points, or every point lies within ±1 %;
- `own` counts those of which the mean does once what the wideband itself reads wrong is taken out: that moves full
  throttle by its whole size, and nobody sees it without another instrument.

A car that proves nothing counts among `none`, not among those within. With `--accept` the correction is carried on
where it leans undriven cells at high load, as a user may say who pulled there; with `--stated` the user says where the
wideband sits; with `--answered` also that a long trim that stands is held there by the ECU, where that is asked.

November 2026, seeds looked at once: curves 9001:9020, 1 proves nothing, the mean lies within ±1 % in 16 cars, 95 % of
the points in 14; grids 9001:9016, 1 proves nothing, 12 and 8. On 7001:7020 16 and 15, with the place stated 19 and 17;
then the curve that is left rests on a long trim of which nobody can tell whether it acts in open loop.
"""

import argparse
import os
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")
HERE = Path(__file__).resolve().parent
sys.path[:] = [str(HERE.parent), str(HERE.parent.parent), *(p for p in sys.path if Path(p).resolve() != HERE)]

import numpy as np  # noqa: E402
from family.air import STEP_S, Table  # noqa: E402
from family.car import run, write  # noqa: E402
from family.conditions import forced  # noqa: E402
from family.judge import Desk, described  # noqa: E402
from family.lottery import draw  # noqa: E402

from workbench.session import Session  # noqa: E402

WITHIN = 0.01
SETTLED_S = 0.5


@dataclass(frozen=True)
class Pulled:
    """One car: errors along its pulls before and after, and of its wideband, as ratios; and what was drawn."""

    seed: int
    before: np.ndarray
    after: np.ndarray
    gain: float
    described: str


def pulled(seed: int, place: str, kind: str, *, accept: bool, stated: bool, answered: bool) -> Pulled | None:
    """Drive a car with three pulls and correct it once; None where it could not be corrected."""
    car = forced(draw(seed, kind), place)
    car = replace(car, route=replace(car.route, pulls=3))
    with tempfile.TemporaryDirectory() as where:
        folder = Path(where)
        desk, driven = Desk(folder), run(car)
        table, logs = write(folder, driven, kind, car.meter.unit)
        desk.ask("new", str(table))
        desk.add(logs)
        if answered:
            _answer(desk)
        if stated or answered:
            desk.ask("settings", "--wideband", "after" if car.wideband.place == "catalyst" else "before")
        corrected = desk.ask("correct", *(("--accept", "lean-step-at-high-load") if accept else ()))
    if "error" in corrected:
        return None
    inner = driven.inner
    full = inner["full"] > 0
    since = np.convolve(full, np.ones(round(SETTLED_S / STEP_S)), "full")[: full.size]
    rows = full & (since >= round(SETTLED_S / STEP_S) - 0.5)
    at = [inner[f"at{axis}"][rows] for axis in range(driven.true.values.ndim)]
    truth = driven.true.read(*at)
    made = Table(driven.driven.axes, np.array(corrected["values"], float).reshape(driven.driven.values.shape))
    before, after = driven.driven.read(*at) / truth - 1, made.read(*at) / truth - 1
    return Pulled(seed, before, after, car.wideband.gain - 1, described(car))


def _answer(desk: Desk) -> None:
    """Say of every long trim that is asked about that the ECU holds it there."""
    with Session.open(desk.session) as session:
        asked = [
            (drive.id, role, channel)
            for drive in session.state.drives
            for role, channel in drive.log.roles.items()
            if role.startswith("ltft") and any(each.channel == channel for each in drive.log.questions)
        ]
    for number, role, channel in asked:
        desk.ask("amend-log", str(number), "--role", f"{role}={channel}")


def line(name: str, cars: Sequence[Pulled], none: int) -> str:
    """Give one line of the table."""
    before = np.array([np.abs(car.before).max() for car in cars])
    mean = np.array([abs(car.after.mean()) for car in cars])
    most = np.array([np.quantile(np.abs(car.after), 0.95) for car in cars])
    worst = np.array([np.abs(car.after).max() for car in cars])
    shown = "".join(f"{100 * np.median(each):10.2f}{100 * each.max():6.2f}" for each in (mean, most, worst))
    within = "".join(f"{int((each <= WITHIN).sum()):5d}" for each in (mean, most, worst))
    own = sum(abs(car.after.mean() - car.gain) <= WITHIN for car in cars)
    return f"{name:12}{len(cars):5d}{none:5d}{100 * np.median(before):9.1f}{shown}{within:>18}{own:6d}"


def main() -> None:
    """Read the words, and print the table."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--seeds", default="1:20")
    words.add_argument("--place", default="pipe")
    words.add_argument("--grid", action="store_true")
    words.add_argument("--accept", action="store_true")
    words.add_argument("--stated", action="store_true", help="the user says where the wideband sits")
    words.add_argument("--answered", action="store_true", help="the same, and a long trim that stands is held there")
    words.add_argument("--each", action="store_true", help="print every car")
    said = words.parse_args()
    first, _, last = said.seeds.partition(":")
    kind = "grid" if said.grid else "curve"
    print(
        f"{'table':12}{'cars':>5}{'none':>5}{'before':>9}{'mean: med worst':>16}{'95 %: med worst':>16}"
        f"{'worst: med worst':>17}{'within: m 95 all':>17}{'own':>6}"
    )
    seeds = range(int(first), int(last or first) + 1)
    found = [
        pulled(seed, said.place, kind, accept=said.accept, stated=said.stated, answered=said.answered) for seed in seeds
    ]
    cars = [car for car in found if car is not None]
    print(line(kind, cars, len(found) - len(cars)), flush=True)
    for car in cars if said.each else []:
        off = np.abs(car.after)
        print(
            f"    {car.seed:5d}: mean {100 * car.after.mean():+.2f} (wideband {100 * car.gain:+.2f})  95 % "
            f"{100 * np.quantile(off, 0.95):.2f}  worst {100 * off.max():.2f}, "
            f"before {100 * np.abs(car.before).max():.1f} | {car.described}"
        )


if __name__ == "__main__":
    main()
