"""How many passes the evidence near each breakpoint rests on: neighbours that one pass led through confirm nothing.

What is special about a pass (purge that opened just then, fuel that ran off the walls, a loop that had not settled) is
in all readings of it, over as many breakpoints as it led through. The random effect of a visit does not hold that,
since every breakpoint that a pass leads through is a visit of its own, and the smooth table would count them as many.
"""

from dataclasses import dataclass

import numpy as np

from workbench.maths.solve.roughness import stretch
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.table import Table

NEAR, FARTHEST = 0.03, 3.0  # of an axis, standard deviation of what is near; and deviations that count at most


@dataclass(frozen=True, eq=False)
class Passes:
    """What the evidence near each breakpoint rests on.

    Attributes:
        count: effective number of passes, shape of the table: n of equal weight count as n, and one that outweighs all
            others as 1; 0 where no reading is near.
        at_full: share of the weight that was read at full throttle, 0..1, shape of the table.
    """

    count: FloatArray
    at_full: FloatArray


def passes_near(table: Table, cell: IntArray, part: IntArray, weight: FloatArray, full: BoolArray) -> Passes:
    """Count the passes near each breakpoint: (sum w)^2 / sum w^2 over the weights w that passes have there.

    That is the effective sample size for unequal weights (Kish 1965, Survey Sampling, from memory), with passes in the
    place of samples.

    Args:
        table: the table.
        cell: nearest to each sample, flat, shape (samples,).
        part: stretch of time that each sample lies in, shape (samples,).
        weight: of each sample, shape (samples,).
        full: samples at full throttle, shape (samples,).
    """
    from scipy import sparse, spatial

    cells = table.values.size
    place = np.stack(np.meshgrid(*(stretch(axis) for axis in table.axes), indexing="ij"), axis=-1).reshape(cells, -1)
    tree = spatial.cKDTree(place)
    apart = tree.sparse_distance_matrix(tree, FARTHEST * NEAR, output_type="coo_matrix")
    share = np.exp(-0.5 * (apart.data / NEAR) ** 2)
    near = sparse.csr_matrix((share, (apart.row, apart.col)), shape=(cells, cells))
    here = sparse.csr_matrix((weight, (part, cell)), shape=(int(part.max()) + 1, cells)) @ near
    total = np.asarray(here.sum(axis=0)).ravel()
    squared = np.asarray(here.multiply(here).sum(axis=0)).ravel()
    at_full = near.T @ np.bincount(cell[full], weight[full], cells)
    return Passes(
        (total**2 / np.maximum(squared, 1e-300)).reshape(table.shape),
        (at_full / np.maximum(total, 1e-300)).reshape(table.shape),
    )
