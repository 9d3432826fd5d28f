"""How the shapes of the field are read: counts by class, and what came of each shape.

    python tests/benchmarks/field.py [--only PATTERN] [--split work|held] [--counts] [--names] [--write-right]

Every shape (`tests/field`) is written to a folder of its own and read through the command line. The exit code is 0
whatever the figures. Those who mend the reader look at `work` only; `held` gives counts only unless `--names` is said.
"""

import argparse
import logging
import re
import sys
import time
import warnings
from collections import Counter
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))
sys.path.insert(1, str(HERE.parent.parent))

from field.judge import CLASSES, Verdict, judge  # noqa: E402
from field.shapes import all_shapes  # noqa: E402

RIGHT = HERE.parent / "field" / "right.txt"


def main() -> None:
    """Judge the chosen shapes and print what came of them."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", default="", help="regular expression that names must hold")
    parser.add_argument("--split", choices=("work", "held"), default="work")
    parser.add_argument("--counts", action="store_true", help="print counts only")
    parser.add_argument("--names", action="store_true", help="list the held ones by name, too: once, at the end")
    parser.add_argument("--write-right", action="store_true", help="write the names of work shapes that fare as wanted")
    said = parser.parse_args()
    said.counts |= said.split == "held" and not said.names
    logging.disable(logging.CRITICAL)
    warnings.simplefilter("ignore")
    shapes = [s for s in all_shapes() if s.split == said.split and re.search(said.only, s.name)]
    begun, verdicts = time.perf_counter(), []
    for shape in shapes:
        verdicts.append(judge(shape))
        if verdicts[-1].seconds > 5:
            print(f"a {shape.family} shape took {verdicts[-1].seconds:.0f} s", file=sys.stderr, flush=True)
        if len(verdicts) % 20 == 0:
            print(f"{len(verdicts)} of {len(shapes)}", file=sys.stderr, flush=True)
    if not said.counts:
        _list(verdicts)
    _count(verdicts)
    print(f"{len(verdicts)} {said.split} shapes in {time.perf_counter() - begun:.0f} s")
    if said.write_right and said.split == "work":
        judged = {verdict.shape.name for verdict in verdicts}
        kept = [name for name in RIGHT.read_text().split() if name not in judged]
        right = [verdict.shape.name for verdict in verdicts if verdict.good]
        RIGHT.write_text("".join(f"{name}\n" for name in sorted([*kept, *right])))


def _list(verdicts: list[Verdict]) -> None:
    for kind in CLASSES:
        chosen = [verdict for verdict in verdicts if verdict.kind == kind]
        if chosen:
            print(f"\n{kind} ({len(chosen)})")
        for verdict in chosen:
            why = f" — {verdict.shape.why}" if verdict.shape.why else ""
            print(f"  {verdict.shape.name} [{verdict.shape.wants}]{why}")
            if verdict.message:
                print(f"      {verdict.message[:400]}")


def _count(verdicts: list[Verdict]) -> None:
    families = list(dict.fromkeys(verdict.shape.family for verdict in verdicts))
    print(f"\n{'':14}" + "".join(f"{family[:11]:>12}" for family in families) + f"{'all':>12}")
    for kind in CLASSES:
        by = Counter(verdict.shape.family for verdict in verdicts if verdict.kind == kind)
        print(f"{kind:14}" + "".join(f"{by[family]:12d}" for family in families) + f"{sum(by.values()):12d}")


if __name__ == "__main__":
    main()
