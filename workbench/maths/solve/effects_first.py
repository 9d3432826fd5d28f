"""Few cells bordered by very many effects, most of which belong to one drive: those are eliminated first.

Effects of different drives share no sample, so their square of the matrix falls into blocks. Each block is factored by
itself and takes its part out of the core, which is the cells and the few effects that reach all drives (block
elimination by Schur complements; Golub and Van Loan, Matrix Computations, from memory). For d drives with e effects
each that takes d e^3 steps instead of (d e)^3.
"""

from typing import TYPE_CHECKING

import numpy as np

from workbench.maths.solve.arrow_matrix import ArrowMatrix, dense_cells
from workbench.model.arrays import FloatArray, IntArray

if TYPE_CHECKING:
    from workbench.maths.solve.arrow_matrix import Corner

FEWEST_TO_REACH = 64  # other effects that one must meet before it counts as reaching all drives, and a share of them
SHARE_TO_REACH = 0.05  # what some of the drives share joins them to one block, which takes its cube


class EffectsFirst:
    """The effects of each drive factored by themselves, then the core."""

    def __init__(self, matrix: ArrowMatrix) -> None:
        """Factor; raises LinAlgError where the matrix is not positive."""
        from scipy import linalg

        groups, wide = _groups(matrix.corner)
        self.cells, self.size = matrix.cells, matrix.size
        self._wide = matrix.cells + wide
        blocks, across, among = _cut(matrix.corner, groups, wide)
        core = np.zeros((matrix.cells + wide.size,) * 2)
        core[: matrix.cells, : matrix.cells] = dense_cells(matrix)
        core[matrix.cells :, : matrix.cells] = matrix.border[wide]
        core[: matrix.cells, matrix.cells :] = matrix.border[wide].T
        core[matrix.cells :, matrix.cells :] = among
        self._parts: list[tuple[IntArray, FloatArray, FloatArray]] = []
        for group, block, to_wide in zip(groups, blocks, across, strict=True):
            # In its own place: drives that share an effect may join in one block of thousands.
            factor = linalg.cholesky(block, lower=True, overwrite_a=True, check_finite=False)
            side = np.hstack([matrix.border[group], to_wide])
            half = linalg.solve_triangular(factor, side, lower=True, check_finite=False)
            core -= half.T @ half
            self._parts.append((matrix.cells + group, factor, half))
        self._remaining = core
        self._core = linalg.cholesky(core, lower=True, check_finite=False)

    def solve(self, right: FloatArray) -> FloatArray:
        """Return x of matrix x = right, shape (size,)."""
        from scipy import linalg

        found = np.empty(self.size)
        rest, halves = self._carried_to_core(right)
        inner = linalg.cho_solve((self._core, True), rest, check_finite=False)
        found[: self.cells], found[self._wide] = inner[: self.cells], inner[self.cells :]
        for (at, factor, half), own in zip(self._parts, halves, strict=True):
            found[at] = linalg.solve_triangular(factor, own - half @ inner, trans="T", lower=True, check_finite=False)
        return found

    def explained(self, right: FloatArray) -> float:
        """Return right' matrix^-1 right."""
        return float(right @ self.solve(right))

    def log_determinant(self) -> float:
        """Return the logarithm of the determinant."""
        factors = [self._core, *(factor for _, factor, _ in self._parts)]
        return 2 * float(sum(np.sum(np.log(np.diag(each))) for each in factors))

    def inverse_diagonal(self) -> FloatArray:
        """Return the diagonal of the inverse, shape (size,)."""
        from scipy import linalg

        found = np.empty(self.size)
        inner = self._core_inverse()
        found[: self.cells], found[self._wide] = np.diag(inner)[: self.cells], np.diag(inner)[self.cells :]
        for at, factor, half in self._parts:
            carried = linalg.solve_triangular(factor, half, trans="T", lower=True, check_finite=False)
            alone = np.eye(at.size, order="F")
            alone = linalg.solve_triangular(factor, alone, lower=True, overwrite_b=True, check_finite=False)
            found[at] = np.sum(np.square(alone, out=alone), axis=0) + np.sum(carried @ inner * carried, axis=1)
        return found

    def joined(self) -> FloatArray:
        """Return the block of the inverse that joins cells and effects, shape (cells, effects)."""
        from scipy import linalg

        found = np.empty((self.cells, self.size - self.cells))
        inner = self._core_inverse()
        found[:, self._wide - self.cells] = inner[: self.cells, self.cells :]
        for at, factor, half in self._parts:
            carried = linalg.solve_triangular(factor, half, trans="T", lower=True, check_finite=False)
            found[:, at - self.cells] = -inner[: self.cells] @ carried.T
        return found

    def cells_alone(self, right: FloatArray) -> tuple[FloatArray, FloatArray, float]:
        """Take all effects out of the equations.

        Returns:
            The square of the cells, shape (cells, cells), their right side, and what the effects explain of the total.
        """
        from scipy import linalg

        rest, halves = self._carried_to_core(right)
        spent = float(sum(own @ own for own in halves))
        square, wide = self._remaining, slice(self.cells, None)
        if self._wide.size:
            factor = linalg.cholesky(square[wide, wide], lower=True, check_finite=False)
            half = linalg.solve_triangular(factor, square[wide, : self.cells], lower=True, check_finite=False)
            own = linalg.solve_triangular(factor, rest[wide], lower=True, check_finite=False)
            spent += float(own @ own)
            square, rest = square[: self.cells, : self.cells] - half.T @ half, rest[: self.cells] - half.T @ own
        return square, rest, spent

    def _carried_to_core(self, right: FloatArray) -> tuple[FloatArray, list[FloatArray]]:
        """Return what is left of the right side for the core, and half the solution of each part."""
        from scipy import linalg

        rest = np.concatenate([right[: self.cells], right[self._wide]])
        halves = []
        for at, factor, half in self._parts:
            own = linalg.solve_triangular(factor, right[at], lower=True, check_finite=False)
            rest -= half.T @ own
            halves.append(own)
        return rest, halves

    def _core_inverse(self) -> FloatArray:
        from scipy import linalg

        found: FloatArray = linalg.cho_solve((self._core, True), np.eye(self._core.shape[0]), check_finite=False)
        return found


def _groups(corner: "Corner") -> tuple[list[IntArray], IntArray]:
    """Return the numbers of effects that only meet one another, group by group, and of those that meet most others."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import connected_components

    met = csr_array(corner)
    reach = np.diff(met.indptr)
    reaches_all = reach > max(FEWEST_TO_REACH, SHARE_TO_REACH * reach.size)
    narrow = np.flatnonzero(~reaches_all)
    count, label = connected_components(met[narrow][:, narrow], directed=False)
    order = np.argsort(label, kind="stable")
    groups = np.split(narrow[order], np.searchsorted(label[order], np.arange(1, count))) if count else []
    return groups, np.flatnonzero(reaches_all)


def _cut(
    corner: "Corner", groups: list[IntArray], wide: IntArray
) -> tuple[list[FloatArray], list[FloatArray], FloatArray]:
    """Cut the square of the effects into the blocks of the groups, what joins each to the wide effects, and theirs."""
    from scipy.sparse import csr_array

    order = np.concatenate([*groups, wide]).astype(np.int64)
    sorted_out = csr_array(corner)[order][:, order]
    last = order.size - wide.size
    blocks, across, start = [], [], 0
    for group in groups:
        stop = start + group.size
        ends = sorted_out.indptr[start : stop + 1]
        row = np.repeat(np.arange(group.size), np.diff(ends))
        column, value = sorted_out.indices[ends[0] : ends[-1]], sorted_out.data[ends[0] : ends[-1]]
        here = column < last
        block, to_wide = np.zeros((group.size, group.size), order="F"), np.zeros((group.size, wide.size))
        block[row[here], column[here] - start] = value[here]
        to_wide[row[~here], column[~here] - last] = value[~here]
        blocks.append(block)
        across.append(to_wide)
        start = stop
    return blocks, across, sorted_out[last:][:, last:].toarray()
