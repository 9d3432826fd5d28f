"""How much smoothing the data itself asks for: the penalty's weight with the largest restricted likelihood.

Restricted maximum likelihood after Patterson and Thompson (1971), in the form for penalised fits of Wood (2011,
J. R. Stat. Soc. B 73). With A(w) = S + w P, right side b and total t:
-2 log likelihood = n log(t - b' A^-1 b) + log det A - rank(P) log w, but for a constant; where the noise s^2 is known,
its first term is (t - b' A^-1 b) / s^2.
"""

from collections.abc import Callable

import numpy as np

from workbench.maths.solve.arrow_matrix import DENSE, ArrowMatrix, combined, of_cells
from workbench.maths.solve.effects_first import EffectsFirst
from workbench.maths.solve.factoring import factored, has_many_effects
from workbench.model.arrays import FloatArray

# How far the weight may be off from what is usual, standard deviation of its natural logarithm: no source. Where data
# asks for a straight line by no more than chance, the likelihood alone goes on to infinity.
VARIES = 1.0
REACH, STEPS = 12.0, 13  # natural logarithms of the weight searched to both sides, and points on the way


def most_likely_weight(
    square: ArrowMatrix,
    right: FloatArray,
    total: float,
    wide: ArrowMatrix,
    *,
    free: int,
    worth: float,
    noise: float = float("nan"),
    usual: float = float("nan"),
    dense: bool | None = None,
) -> float:
    """Find the penalty's weight.

    Args:
        square: S, normal equations without the penalty.
        right: b, shape (unknowns,).
        total: t, the sum of squares of the right sides.
        wide: P, the penalty, same size as S.
        free: dimension of the null space of P.
        worth: how many independent samples there are beyond the unpenalised unknowns.
        noise: variance of a sample of weight 1, where it is known; NaN has it found along with the weight.
        usual: weight that is expected before the data is looked at, within a factor of e^`VARIES`; NaN expects none.
        dense: chooses the way; None goes by the size.
    """
    from scipy import optimize

    middle = float(np.log(max(float(np.mean(square.diagonal)), 1e-9)))
    if dense is None and has_many_effects(square):
        # The penalty does not touch the effects: taken out once, they add the same to every weight's likelihood.
        try:
            cells, right, spent = EffectsFirst(square.raised(_tiny(square))).cells_alone(right)
        except np.linalg.LinAlgError:
            pass
        else:
            free, total = free - (square.size - square.cells), total - spent
            square, wide = of_cells(cells), wide.with_effects(np.zeros(0))
    build = _by_decomposition if (square.size <= DENSE if dense is None else dense) else _by_factors
    parts, rank = build(square, right, wide, float(np.exp(middle)), free)

    def unlikely(log_weight: float) -> float:
        determinant, explained = parts(float(np.exp(log_weight)))
        rest = max(total - explained, 1e-12 * total, 1e-300)
        misfit = worth * np.log(rest / worth) if np.isnan(noise) else rest / noise
        beside = 0.0 if np.isnan(usual) else (log_weight - float(np.log(usual))) / VARIES
        return float(misfit + determinant - rank * log_weight + beside**2)

    grid = middle + np.linspace(-REACH, REACH, STEPS)
    best = int(np.argmin([unlikely(float(point)) for point in grid]))
    low, high = float(grid[max(best - 1, 0)]), float(grid[min(best + 1, STEPS - 1)])
    found = optimize.minimize_scalar(unlikely, bounds=(low, high), method="bounded", options={"xatol": 0.05})
    return float(np.exp(found.x))


def _tiny(square: ArrowMatrix) -> FloatArray:
    return np.full(square.size, 1e-13 * float(np.mean(square.diagonal)))


Parts = Callable[[float], tuple[float, float]]


def _by_decomposition(
    square: ArrowMatrix, right: FloatArray, wide: ArrowMatrix, start: float, free: int
) -> tuple[Parts, int]:
    """Return log det A(w) and b' A^-1 b as functions of w, and the rank of P, through one joint diagonalisation."""
    from scipy import linalg

    del free
    penalty = wide.dense()
    matrix = square.dense() + start * penalty
    matrix[np.diag_indices_from(matrix)] += 1e-13 * float(np.mean(np.diag(matrix)))
    factor = linalg.cholesky(matrix, lower=True, check_finite=False)
    half = linalg.solve_triangular(factor, penalty, lower=True, check_finite=False)
    inner = linalg.solve_triangular(factor, half.T, lower=True, check_finite=False)
    values, vectors = linalg.eigh((inner + inner.T) / 2, check_finite=False)
    values = np.clip(values, 0.0, 1 / start)
    turned = (vectors.T @ linalg.solve_triangular(factor, right, lower=True, check_finite=False)) ** 2
    base = 2 * float(np.sum(np.log(np.diag(factor))))

    def parts(weight: float) -> tuple[float, float]:
        grown = np.maximum(1 + (weight - start) * values, 1e-14)
        return base + float(np.sum(np.log(grown))), float(np.sum(turned / grown))

    return parts, int(np.sum(values > 1e-9 / start))


def _by_factors(
    square: ArrowMatrix, right: FloatArray, wide: ArrowMatrix, start: float, free: int
) -> tuple[Parts, int]:
    """The same for large grids, whose equations only join neighbours: one factorisation for each weight."""
    # Shapes that neither data nor penalty hold must count alike at every weight: this lies above what rounding leaves
    # of the largest one (2e-16 times e^12 times the penalty's norm, about 10), and far below what data say.
    small = np.full(square.size, 1e-8 * float(np.mean(square.diagonal)))

    def parts(weight: float) -> tuple[float, float]:
        factors = factored(combined((1.0, square), (weight, wide)).raised(small), dense=False)
        return factors.log_determinant(), factors.explained(right)

    del start
    return parts, square.size - free
