"""Factoring the symmetric systems of the solve in the way that suits their shape."""

from collections.abc import Callable
from typing import Protocol

import numpy as np

from workbench.maths.solve.arrow_matrix import DENSE, ArrowMatrix, BandFactors, DenseFactors
from workbench.maths.solve.effects_first import EffectsFirst
from workbench.model.arrays import FloatArray

SHIFTS = (0.0, 1e-13, 1e-11, 1e-9)  # of the mean diagonal, tried one after the other where rounding spoils a factor


class Factors(Protocol):
    """A factored matrix."""

    def solve(self, right: FloatArray) -> FloatArray:
        """Return x of matrix x = right, shape (size,)."""

    def explained(self, right: FloatArray) -> float:
        """Return right' matrix^-1 right."""

    def log_determinant(self) -> float:
        """Return the logarithm of the determinant."""

    def inverse_diagonal(self) -> FloatArray:
        """Return the diagonal of the inverse, shape (size,)."""


def has_many_effects(matrix: ArrowMatrix) -> bool:
    """Tell whether there are few cells and so many effects that these are better eliminated first."""
    return matrix.size > DENSE >= matrix.cells


def factored(matrix: ArrowMatrix, *, dense: bool | None = None) -> Factors:
    """Factor a symmetric positive matrix; where rounding leaves it indefinite, slightly raised.

    Args:
        matrix: not changed.
        dense: chooses the way; None goes by the shape.

    Raises:
        LinAlgError: when it is far from positive.
    """
    ways: list[Callable[[ArrowMatrix], Factors]] = []
    if dense is None and has_many_effects(matrix):
        ways.append(EffectsFirst)
    ways.append(DenseFactors if (matrix.size <= DENSE if dense is None else dense) else BandFactors)
    for shift in SHIFTS[:-1]:
        for way in ways:
            try:
                return way(_shifted(matrix, shift))
            except np.linalg.LinAlgError:
                continue
    return ways[-1](_shifted(matrix, SHIFTS[-1]))


def _shifted(matrix: ArrowMatrix, shift: float) -> ArrowMatrix:
    return matrix.raised(np.full(matrix.size, shift * float(np.mean(matrix.diagonal)))) if shift else matrix


def carried_along(matrix: ArrowMatrix) -> tuple[FloatArray, FloatArray]:
    """Give what each effect carries into the cells, and that times the effects' covariance, (cells, effects) each."""
    raised = _shifted(matrix, SHIFTS[-1])
    alone = BandFactors(raised.with_effects(np.zeros(0)))
    carried = alone.within(matrix.border.T)
    if has_many_effects(matrix):
        try:
            return carried, -EffectsFirst(raised).joined()
        except np.linalg.LinAlgError:
            pass
    return carried, carried @ BandFactors(raised).inverse_of_effects()
