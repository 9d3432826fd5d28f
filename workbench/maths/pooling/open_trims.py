"""Whether the trims that are logged in open loop act there: told by the table where readings of both loops meet in it.

What OBD reports of the long-term trim is what the fuel control uses in either loop, and the short-term trim is 0 in
open loop (SAE J1979, PIDs 06 to 09, from memory). Loggers that read an ECU's memory show what it has learnt, and may
show a short-term trim that stands still, whether either is used or not. Taken into the ratio where it does not act, a
trim moves full throttle by its whole size. Readings of open and closed loop near each other belong to one table: with
the share of each trim that does not act as an unknown beside the table, the solve tells it. Of the two answers each is
as likely as the estimate lies near it (normal errors; Bayes' rule, with what is likely beforehand).
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.pooling.solving import solve_beside
from workbench.maths.signals.series import blocks, joined
from workbench.model.arrays import FloatArray
from workbench.model.table import Table
from workbench.phrases import phrase

# How likely it is beforehand that short and long trim do not act where the log shows them in open loop, and by how much
# readings of open and closed loop may differ for other reasons. Common practice, no source.
UNUSED_BEFOREHAND, APART = (0.3, 0.1), 0.01
OF_ONE = 0.03  # the same for a single stretch of closed loop: a loop that had not settled, purge. No source either.
FELT, FEWEST = 0.002, 20  # log of a factor that a reading feels, and readings that must feel it
CERTAIN = 0.995  # likelihood from which on nothing else is reckoned with
SURE, NOTICED = 0.95, 0.005  # from which likelihood on it is said; and what it must move, as a ratio
NAMES = ("short-term trim", "long-term trim")


def find_unused(known: list[DriveFit], base: Table) -> list[DriveFit]:
    """Find how likely each trim does not act in open loop, for all drives together, and count it by that much.

    Args:
        known: the drives; what was found before is found anew.
        base: as for `solve_drives`.
    """
    trims = joined([driven.readings.open_trims[driven.readings.kept] for driven in known])
    felt = np.abs(trims) > FELT
    asked = np.flatnonzero(felt.sum(axis=0) >= FEWEST)
    unused = np.zeros(2)
    if asked.size:
        found, deviation = solve_beside(known, base, trims[:, asked])
        apart = np.hypot(APART, OF_ONE / np.sqrt(max(_stretches_closed(known), 1)))
        for at, share, off in zip(asked.tolist(), found, deviation, strict=True):
            before = known[0].unused[at]
            size = float(np.sqrt(np.mean(trims[felt[:, at], at] ** 2)))
            unused[at] = likelihood(before + share, float(np.hypot(off, apart / size)), UNUSED_BEFOREHAND[at])
    return [counted(driven, (float(unused[0]), float(unused[1]))) for driven in known]


def _stretches_closed(known: Sequence[DriveFit]) -> int:
    """Count the stretches of time from which readings in closed loop come."""
    return sum(np.unique(blocks(d.seen.time)[d.readings.kept & d.seen.closed]).size for d in known)


def likelihood(share: float, deviation: float, beforehand: float) -> float:
    """Give how likely a share that was found is 1 and not 0; just that where it is certain."""
    odds = np.log(beforehand / (1 - beforehand)) + (share - 0.5) / deviation**2
    likely = float(1 / (1 + np.exp(-np.clip(odds, -50.0, 50.0))))
    return likely if 1 - CERTAIN < likely < CERTAIN else float(np.round(likely))


def counted(driven: DriveFit, unused: tuple[float, float]) -> DriveFit:
    """Take out of the fuel of a drive what trims add in open loop, as likely as they do not act there."""
    more = np.array(unused) - np.array(driven.unused)
    if not more.any():
        return driven
    seen, read = driven.seen, driven.read
    factor = np.exp(-(seen.open_trims @ more))
    ratio = read.ratio * np.exp(-(read.open_trims @ more))
    return replace(driven, unused=unused, seen=replace(seen, fuel=seen.fuel * factor), read=replace(read, ratio=ratio))


def perhaps_off(driven: DriveFit) -> FloatArray:
    """Give by how much each reading that counts may be off since it is not known whether trims act, as a ratio."""
    doubt = np.array([each * (1 - each) for each in driven.unused])
    return np.asarray(np.sqrt((driven.readings.open_trims[driven.readings.kept] ** 2) @ doubt))


def sentences(known: Sequence[DriveFit]) -> tuple[str, ...]:
    """Say which trims were left out in open loop, and of which it cannot be told."""
    said = []
    for at, (name, likely) in enumerate(zip(NAMES, known[0].unused, strict=True)):
        moved = np.concatenate([np.abs(d.readings.open_trims[d.readings.kept, at]) for d in known])
        size = float(np.sqrt(np.mean(moved[moved > FELT] ** 2))) if np.count_nonzero(moved > FELT) >= FEWEST else 0.0
        if size < NOTICED or likely < 1 - SURE:
            continue
        if likely > SURE:
            said.append(
                phrase(
                    "The {trim} that is logged in open loop ({size:.1f} %) does not act there: with it, readings of "
                    "open and closed loop contradict each other. It is left out there.",
                    trim=name,
                    size=100 * size,
                )
            )
        elif size * np.sqrt(likely * (1 - likely)) > NOTICED:
            said.append(
                phrase(
                    "It cannot be told whether the {trim} that is logged in open loop ({size:.1f} %) acts there; that "
                    "widens full throttle. Reset the trims before the next drive, or drive part throttle up to the "
                    "airflow of full throttle.",
                    trim=name,
                    size=100 * size,
                )
            )
    return tuple(said)
