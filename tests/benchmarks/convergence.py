"""How near the truth the workbench comes after one drive and after two, beside the hand method round by round.

    python tests/benchmarks/convergence.py [--seeds 20] [--variants 6]

Every car is one seed of the virtual engine. "part" and "full" are the largest error over the driven range at part and
at full throttle, "rms" its root mean square, all in percent. The hand method is judged over the range of the first
drive, as the workbench is after one; after two the range of both drives counts. DriveFit is what the engine touched for
a second or more in all, be it in moments of a tenth of a second before a fuel cut; "proven" is the largest error, at
part or full throttle, of what the workbench itself calls proven.
"""

import argparse
import os
import time
from dataclasses import dataclass, replace

# Many small matrices: threads of the linear algebra only wait for each other. Must be set before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from workbench.demo.drive import drive
from workbench.demo.engine import true_table
from workbench.demo.handwork import hand_round
from workbench.demo.judging import Judgement, judge, meter_linearity
from workbench.demo.rounds import Round, first_round, next_round
from workbench.demo.scenario import Scenario
from workbench.errors import WorkbenchError
from workbench.model.arrays import BoolArray
from workbench.model.evidence import Source

HAND_ROUNDS = 8
WIDE, NARROW = (5.0, 1.0), (2.0, 1.5)  # part and full throttle, %


@dataclass(frozen=True)
class Variant:
    """One way in which the drive differs from the usual one."""

    name: str
    scenario: Scenario
    source: Source = "both"


USUAL = Scenario()
GRID = replace(USUAL, kind="grid")  # speed-density, 14 x 10 cells
VARIANTS = (
    Variant("usual", USUAL),
    Variant("5 minutes", replace(USUAL, minutes=5.0)),
    Variant("trims only", USUAL, "trims"),
    Variant("no wideband, purge off", replace(USUAL, wideband="none", purge="off")),
    Variant("wideband only", USUAL, "wideband"),
    Variant("5 Hz", replace(USUAL, rate_hz=5.0)),
    Variant("1 Hz", replace(USUAL, rate_hz=1.0)),
    Variant("1 s delay", replace(USUAL, delay_extra_s=1.0)),
    Variant("two banks, 4 % apart", replace(USUAL, banks=2, imbalance=0.02)),
    Variant("purge hidden", replace(USUAL, purge="hidden")),
    Variant("purge off", replace(USUAL, purge="off")),
    Variant("after catalyst, 0.5 g", replace(USUAL, wideband="after", oxygen_storage_g=0.5)),
    Variant("after catalyst, 1 g", replace(USUAL, wideband="after", oxygen_storage_g=1.0)),
    Variant("after catalyst, 2 g", replace(USUAL, wideband="after", oxygen_storage_g=2.0)),
    Variant("truth bends between", replace(USUAL, between="smooth")),
    Variant("transport instant", replace(USUAL, transport="instant")),
    Variant("delay in cycles", replace(USUAL, delay_fixed_s=0.02, delay_cycles=1.0)),
    Variant("film share 0.05", replace(USUAL, film_share=0.05)),
    Variant("film share 0.20", replace(USUAL, film_share=0.2)),
    Variant("grid 14x10", GRID),
    Variant("grid 14x10, truth bends", replace(GRID, between="smooth")),
)


def covered(found: Round) -> BoolArray:
    """Tell for every proven cell whether its 95 % interval holds the truth."""
    evidence = found.evidence
    truth = true_table(found.scenario).values / evidence.table.values
    inside: BoolArray = (np.abs(evidence.ratio - truth) <= evidence.half_width)[evidence.stands("proven")]
    return inside


def main() -> None:
    """Print all tables."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--seeds", type=int, default=20, help="cars for rounds and hand method")
    words.add_argument("--variants", type=int, default=6, help="cars for each variant; 0 leaves them out")
    chosen = words.parse_args()
    seeds = range(1, chosen.seeds + 1)
    for usual in (USUAL, GRID):
        rounds(usual, seeds)
    for careful in (False, True):
        by_hand(seeds, careful=careful)
    if chosen.variants:
        variants(range(1, chosen.variants + 1))


def rounds(usual: Scenario, seeds: range) -> None:
    """Print how near the truth one correction and two come."""
    print(f"\nThe workbench on a {usual.kind}, share 1, 15 minutes and three pulls;", end=" ")
    print("second drive with the corrected table, both pooled")
    print("car |  part   rms  full  proven  1065.307 |  part   rms  full  proven  (two drives) | CPU s")
    inside: dict[int, list[BoolArray]] = {1: [], 2: []}
    rows, shares = [], []
    for seed in seeds:
        scenario, began = replace(usual, seed=seed), time.process_time()
        one = first_round(scenario)
        spent = time.process_time() - began
        two = next_round(one)
        seen = [judge(scenario, found.table, found.records) for found in (one, two)]
        sure = [judge(scenario, f.table, f.records, f.evidence.stands("proven")) for f in (one, two)]
        proven = [max(each.part.largest, each.full.largest) for each in sure]
        shares.append([100 * sized(few) / sized(all_) for few, all_ in zip(sure, seen, strict=True)])
        verdict = meter_linearity(scenario, one.table, one.records).passed
        rows.append([*figures(seen[0]), proven[0], *figures(seen[1]), proven[1], verdict])
        inside[1].append(covered(one))
        inside[2].append(covered(two))
        passed = "passed" if verdict else "FAILED"
        first, second = (f"{text(each)} {worst:7.2f}" for each, worst in zip(seen, proven, strict=True))
        print(f"{seed:3d} | {first}  {passed:>8} | {second}  {spent:18.1f}")
    table = np.array(rows, dtype=np.float64)
    for name, line in (("mean", table.mean(axis=0)), ("worst", table.max(axis=0))):
        first, second = ("".join(f"{value:6.2f}" for value in part) for part in (line[:4], line[4:8]))
        print(f"{name:>5} {first}  {'':9} | {second}")
    print(f"1065.307 passed by {int(table[:, 8].sum())} of {len(seeds)}")
    told = " and ".join(f"{share:.1f} %" for share in np.min(shares, axis=0))
    print(f"proven cells hold at least {told} of the driven rows of any car, after one drive and after two")
    for number, masks in inside.items():
        whole = np.concatenate(masks)
        held = f"{100 * whole.mean():.1f} % of {whole.size} proven cells"
        print(f"95 % intervals hold the truth in {held} (wanted: 90 to 98 %), drives: {number}")


def by_hand(seeds: range, *, careful: bool) -> None:
    """Print how near the truth the hand method comes, round by round."""
    how = "purge and three seconds after open loop left out" if careful else "as usual"
    print(f"\nBy hand, {how}: largest error part/full after each round")
    print("car | " + " ".join(f"{k:>9}" for k in range(1, HAND_ROUNDS + 1)) + " | rounds to 5/1 | to 2/1.5")
    needed: dict[tuple[float, float], list[int]] = {WIDE: [], NARROW: []}
    for seed in seeds:
        scenario = replace(USUAL, seed=seed)
        record = first = drive(scenario)
        table, seen = first.table, []
        for number in range(1, HAND_ROUNDS + 1):
            record = first if number == 1 else drive(scenario, table, number=number)
            table = hand_round(table, record, careful=careful)
            seen.append(judge(scenario, table, [first]))
        for limits, counts in needed.items():
            counts.append(next((k for k, each in enumerate(seen, 1) if each.within(*limits)), HAND_ROUNDS + 1))
        told = " ".join(f"{each.part.largest:4.1f}/{each.full.largest:4.1f}" for each in seen)
        print(f"{seed:3d} | {told} | {count(needed[WIDE][-1]):>13} | {count(needed[NARROW][-1]):>8}")
    for limits, counts in needed.items():
        there = [k for k in counts if k <= HAND_ROUNDS]
        print(f"within ±{limits[0]:g} % part and ±{limits[1]:g} % full: {len(there)} of {len(counts)} cars", end="")
        print(f", on average in round {np.mean(there):.1f}" if there else "")


def variants(seeds: range) -> None:
    """Print how one correction fares when the drive is not the usual one."""
    print(f"\nVariants, {len(seeds)} cars each, one drive: largest error over the driven range, mean and worst car")
    print(f"{'':24} | part mean worst |   rms | full mean worst | cover | proven | delays told")
    for variant in VARIANTS:
        rows, inside, proven, told, refused = [], [], [], [], []
        for seed in seeds:
            scenario = replace(variant.scenario, seed=seed)
            try:
                found = first_round(scenario, source=variant.source)
            except WorkbenchError as refusal:
                refused.append(str(refusal))
                continue
            rows.append(figures(judge(scenario, found.table, found.records)))
            inside.append(covered(found))
            proven.append(int(found.evidence.stands("proven").sum()))
            told.append(found.evidence.delay[1].source == "estimated")
        if not rows:
            print(f"{variant.name:24} | refused: {refused[0]}")
            continue
        table, whole = np.array(rows), np.concatenate(inside)
        mean, worst = table.mean(axis=0), table.max(axis=0)
        blind = variant.source == "trims" or variant.scenario.wideband == "none"
        print(
            f"{variant.name:24} | {mean[0]:9.2f} {worst[0]:5.2f} | {mean[1]:5.2f} | "
            + (f"{'not seen':>15} " if blind else f"{mean[2]:9.2f} {worst[2]:5.2f} ")
            + f"| {100 * whole.mean():3.0f} % | {np.mean(proven):6.1f} | {sum(told)} of {len(told)}"
            + (f" | {len(refused)} refused" if refused else "")
        )


def figures(seen: Judgement) -> tuple[float, float, float]:
    """Give largest part-throttle error, its rms, largest full-throttle error, %."""
    return seen.part.largest, seen.part.rms, seen.full.largest


def sized(seen: Judgement) -> int:
    """Count the rows that were judged."""
    return seen.part.rows + seen.full.rows


def text(seen: Judgement) -> str:
    """Write those three."""
    return "".join(f"{value:6.2f}" for value in figures(seen)).removeprefix(" ")


def count(number: int) -> str:
    """Write a number of rounds, or that they were not enough."""
    return str(number) if number <= HAND_ROUNDS else f"over {HAND_ROUNDS}"


if __name__ == "__main__":
    main()
