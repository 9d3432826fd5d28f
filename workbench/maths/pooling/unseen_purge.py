"""Purge that a drive does not log and that no step in the mixture shows: vapour that may have been there all along.

Canister vapour only ever makes the mixture richer, in closed loop, and the more the less fuel is injected. So where
nothing is known of it, the ratio is lower than the car's by a little more often than not.
"""

import numpy as np

from workbench.maths.drives.drive_fit import DriveFit
from workbench.maths.signals.disturbances import injected_fuel
from workbench.model.arrays import FloatArray

# Of the ratio at usual fuel flow that purge makes richer unseen: usually, and by how much it varies from drive to
# drive; what is left of it where episodes were found; and how many times that at most, at the lowest flows. Common
# practice, no source.
USUALLY, VARIES, LEFT_OVER, MOST = 0.003, 0.008, 0.003, 3.0


def unseen_vapour(driven: DriveFit) -> FloatArray:
    """Give what vapour of 1 at usual fuel flow takes off the ratio of each reading that counts, shape (readings,)."""
    kept, seen = driven.readings.kept, driven.seen
    if np.isfinite(seen.purge).any() or not kept.any():
        return np.zeros(int(kept.sum()))
    fuel = np.maximum(injected_fuel(seen), 0.5)
    usual = float(np.median(fuel[seen.closed])) if seen.closed.any() else float(np.median(fuel))
    return np.where(seen.closed[kept], np.minimum(usual / fuel[kept], MOST), 0.0)


def expected(driven: DriveFit) -> tuple[float, float]:
    """Give what is usually to be expected of it at usual fuel flow, as a ratio, and by how much that may be off."""
    found = driven.vapour is not None  # what was found is modelled by itself
    return (0.0, LEFT_OVER) if found else (USUALLY, VARIES)
