"""Symmetric positive systems of the solve: dense for usual tables, sparse where a large grid joins only neighbours."""

from typing import Any

import numpy as np

from workbench.model.arrays import FloatArray

DENSE = 1200  # unknowns up to which dense factors are quicker


def regular(matrix: FloatArray) -> FloatArray:
    """Hold unknowns without any equation at 0, hardly felt by the others, so that the matrix can be factored."""
    diagonal = np.diag(matrix)
    scale = float(np.mean(diagonal)) or 1.0
    held = matrix.copy()
    held[np.diag_indices_from(held)] += 1e-10 * scale * (diagonal <= 1e-12 * scale) + 1e-14 * scale
    return held


def solve_symmetric(matrix: FloatArray, right: FloatArray) -> FloatArray:
    """Solve matrix x = right for a symmetric positive matrix, shapes (unknowns, unknowns) and (unknowns,)."""
    from scipy import linalg, sparse

    if right.size > DENSE:
        found: FloatArray = sparse_factors(sparse.csc_matrix(matrix)).solve(right)
        return found
    solved: FloatArray = linalg.solve(matrix, right, assume_a="pos", check_finite=False)
    return solved


def inverse_diagonal(matrix: FloatArray) -> FloatArray:
    """Give the diagonal of the inverse of a symmetric positive matrix, shape (unknowns,)."""
    from scipy import linalg

    factor, _ = linalg.cho_factor(matrix, lower=True, check_finite=False)
    inverse, _ = linalg.lapack.dpotri(factor, lower=1)
    return np.diag(inverse).copy()


def sparse_factors(matrix: Any) -> Any:
    """Factor a sparse symmetric positive matrix; gives scipy's factors, with `solve` and `U`."""
    from scipy.sparse.linalg import splu

    return splu(matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
