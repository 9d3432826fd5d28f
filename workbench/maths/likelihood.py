"""How much smoothing the data itself asks for: the penalty's weight with the largest restricted likelihood.

Restricted maximum likelihood after Patterson and Thompson (1971), in the form for penalised fits of Wood (2011,
J. R. Stat. Soc. B 73). With A(w) = S + w P, right side b and total t:
-2 log likelihood = n log(t - b' A^-1 b) + log det A - rank(P) log w, but for a constant.
"""

from collections.abc import Callable

import numpy as np

from workbench.maths.symmetric import DENSE, sparse_factors
from workbench.model.arrays import FloatArray

REACH, STEPS = 12.0, 13  # natural logarithms of the weight searched to both sides, and points on the way


def most_likely_weight(square: FloatArray, right: FloatArray, total: float, wide: FloatArray, *, worth: float) -> float:
    """Find the penalty's weight.

    Args:
        square: S, normal equations without the penalty, shape (unknowns, unknowns).
        right: b, shape (unknowns,).
        total: t, the sum of squares of the right sides.
        wide: P, the penalty, same shape as S.
        worth: how many independent samples there are beyond the unpenalised unknowns.
    """
    from scipy import optimize

    middle = float(np.log(max(np.trace(square) / square.shape[0], 1e-9)))
    build = _by_decomposition if square.shape[0] <= DENSE else _by_sparse_factors
    parts, rank = build(square, right, wide, float(np.exp(middle)))

    def unlikely(log_weight: float) -> float:
        determinant, explained = parts(float(np.exp(log_weight)))
        rest = max(total - explained, 1e-12 * total, 1e-300)
        return float(worth * np.log(rest / worth) + determinant - rank * log_weight)

    grid = middle + np.linspace(-REACH, REACH, STEPS)
    best = int(np.argmin([unlikely(float(point)) for point in grid]))
    low, high = float(grid[max(best - 1, 0)]), float(grid[min(best + 1, STEPS - 1)])
    found = optimize.minimize_scalar(unlikely, bounds=(low, high), method="bounded", options={"xatol": 0.05})
    return float(np.exp(found.x))


Parts = Callable[[float], tuple[float, float]]


def _by_decomposition(square: FloatArray, right: FloatArray, wide: FloatArray, start: float) -> tuple[Parts, int]:
    """Give log det A(w) and b' A^-1 b as functions of w, and the rank of P, through one joint diagonalisation."""
    from scipy import linalg

    matrix = square + start * wide
    matrix[np.diag_indices_from(matrix)] += 1e-13 * float(np.mean(np.diag(matrix)))
    factor = linalg.cholesky(matrix, lower=True, check_finite=False)
    half = linalg.solve_triangular(factor, wide, lower=True, check_finite=False)
    inner = linalg.solve_triangular(factor, half.T, lower=True, check_finite=False)
    values, vectors = linalg.eigh((inner + inner.T) / 2, check_finite=False)
    values = np.clip(values, 0.0, 1 / start)
    turned = (vectors.T @ linalg.solve_triangular(factor, right, lower=True, check_finite=False)) ** 2
    base = 2 * float(np.sum(np.log(np.diag(factor))))

    def parts(weight: float) -> tuple[float, float]:
        grown = np.maximum(1 + (weight - start) * values, 1e-14)
        return base + float(np.sum(np.log(grown))), float(np.sum(turned / grown))

    return parts, int(np.sum(values > 1e-9 / start))


def _by_sparse_factors(square: FloatArray, right: FloatArray, wide: FloatArray, start: float) -> tuple[Parts, int]:
    """The same for large grids, whose equations only join neighbours: one sparse factorisation for each weight."""
    from scipy import sparse

    del start
    data, penalty = sparse.csc_matrix(square), sparse.csc_matrix(wide)
    small = sparse.identity(square.shape[0], format="csc") * (1e-13 * float(np.mean(np.diag(square))))

    def parts(weight: float) -> tuple[float, float]:
        factors = sparse_factors(data + weight * penalty + small)
        return float(np.sum(np.log(np.abs(factors.U.diagonal())))), float(right @ factors.solve(right))

    # Rows of P that hold anything, less the plane shapes that second differences leave free.
    return parts, int(np.count_nonzero(np.diag(wide))) - 4
