"""From weighted samples to one multiplier per cell and its interval: penalised robust least squares.

Each sample states `sum of share * multiplier over its nodes = ratio`. Second differences of the multipliers are
penalised with a weight found by restricted maximum likelihood (Patterson and Thompson 1971; Wood 2011, J. R. Stat.
Soc. B 73, for the penalised form). Outliers are weighed down by Huber's function (Huber 1964). Samples of one log are
not independent: their information is divided by the variance inflation of means over blocks of time (batch means).
"""

from dataclasses import dataclass

import numpy as np

from workbench.maths.accumulate import NormalSums, normal_sums
from workbench.maths.likelihood import most_likely_weight
from workbench.maths.symmetric import DENSE, inverse_diagonal, regular, solve_symmetric
from workbench.model.arrays import FloatArray, IntArray

MOST_TURNS, SETTLED_TURNS = 12, 4
HUBER = 1.345  # 95 % efficient under normal errors (Holland and Welsch 1977)


@dataclass(frozen=True, eq=False)
class Equations:
    """What the samples state.

    Attributes:
        cell: flat cell index of every node, shape (samples, nodes).
        share: coefficient of every node, same shape.
        ratio: what the nodes' multipliers add up to, shape (samples,).
        weight: prior weight of every sample, shape (samples,).
        block: number of the stretch of time each sample belongs to, shape (samples,), not negative.
        nuisance: further effects to be estimated beside the multipliers, shape (samples, effects).
        expected_size: prior standard deviation of each effect about 0, shape (effects,); infinite leaves it free.
    """

    cell: IntArray
    share: FloatArray
    ratio: FloatArray
    weight: FloatArray
    block: IntArray
    nuisance: FloatArray
    expected_size: FloatArray


@dataclass(frozen=True, eq=False)
class Solution:
    """Multipliers and how well they are known.

    Attributes:
        multipliers: shape (cells,).
        deviation: posterior standard deviation, shape (cells,).
        nuisance: the further effects, shape (effects,).
        nuisance_deviation: their standard deviations.
        residual: ratio minus fit, shape (samples,).
        robust: Huber weight of every sample, 0..1, shape (samples,).
        sigma: robust standard deviation of one sample.
        inflation: how many samples count as one independent sample.
        smoothing: weight of the penalty.
        amount: sum of weights per cell, shape (cells,).
    """

    multipliers: FloatArray
    deviation: FloatArray
    nuisance: FloatArray
    nuisance_deviation: FloatArray
    residual: FloatArray
    robust: FloatArray
    sigma: float
    inflation: float
    smoothing: float
    amount: FloatArray


def solve(equations: Equations, roughness: FloatArray, free: int, *, smoothing: float | None = None) -> Solution:
    """Solve for the multipliers.

    Args:
        equations: of at least one sample.
        roughness: penalty matrix, shape (cells, cells).
        free: dimension of its null space.
        smoothing: fixes the weight of the penalty (0 turns it off); None has it found.
    """
    from scipy import linalg  # noqa: F401 - its linear algebra must be loaded before its threads can be limited
    from threadpoolctl import threadpool_limits

    # On matrices of this size several threads of the linear algebra wait for each other longer than they work.
    with threadpool_limits(limits=1 if roughness.shape[0] <= DENSE else None, user_api="blas"):
        return _solved(equations, roughness, free, smoothing)


def _solved(equations: Equations, roughness: FloatArray, free: int, smoothing: float | None) -> Solution:
    cells, effects = roughness.shape[0], equations.nuisance.shape[1]
    wide = np.zeros((cells + effects, cells + effects))
    wide[:cells, :cells] = roughness
    # Solving for the departure from 1 keeps the sums small, so that nothing is lost in their differences.
    start = equations.ratio - equations.share.sum(axis=1)
    robust, inflation, sigma = np.ones(start.size), 1.0, spread_of(start, equations.weight)
    free += int(np.isinf(equations.expected_size).sum())
    held = np.zeros_like(wide)
    at_effects = np.arange(cells, cells + effects)
    fit = np.zeros(cells + effects)
    stiffness = 0.0 if smoothing is None else smoothing
    for turn in range(MOST_TURNS):
        sums = _sums(equations, equations.weight * robust, start, cells)
        held[at_effects, at_effects] = (sigma / equations.expected_size) ** 2
        if smoothing is None and turn < SETTLED_TURNS:
            stiffness = most_likely_weight(
                sums.square / inflation + held,
                sums.right / inflation,
                sums.total / inflation,
                wide,
                worth=max(float(sums.weight.sum()) / inflation - free, 1.0),
            )
        matrix = regular(sums.square / inflation + held + stiffness * wide)
        previous, fit = fit, solve_symmetric(matrix, sums.right / inflation)
        residual = start - _predict(equations, fit, cells)
        sigma = spread_of(residual, equations.weight)
        if turn >= SETTLED_TURNS and np.max(np.abs(fit - previous)) < 1e-6:
            break
        robust = huber_weights(residual, sigma)
        inflation = variance_inflation(robust * residual, equations.weight, equations.block)
    noise = _noise(residual, sigma, equations.weight)
    deviation = np.sqrt(np.maximum(noise * inverse_diagonal(matrix), 0.0))
    return Solution(
        multipliers=1 + fit[:cells],
        deviation=deviation[:cells],
        nuisance=fit[cells:],
        nuisance_deviation=deviation[cells:],
        residual=residual,
        robust=robust,
        sigma=sigma,
        inflation=inflation,
        smoothing=stiffness,
        amount=sums.weight,
    )


def spread_of(residual: FloatArray, weight: FloatArray) -> float:
    """Give the robust standard deviation: 1.4826 times the weighted median of the absolute residuals.

    The weighted median is the smallest value at which half of the weight is reached (inverted distribution function).
    """
    size = np.abs(residual)
    order = np.argsort(size)
    reached = np.cumsum(weight[order])
    middle = int(np.searchsorted(reached, reached[-1] / 2))
    return max(1.4826 * float(size[order[min(middle, size.size - 1)]]), 1e-12)


def huber_weights(residual: FloatArray, sigma: float) -> FloatArray:
    """Give Huber's weight of every residual, 0..1."""
    return np.minimum(1.0, HUBER * sigma / np.maximum(np.abs(residual), 1e-300))


def variance_inflation(residual: FloatArray, weight: FloatArray, block: IntArray) -> float:
    """Tell how many samples count as one independent sample: batch means over blocks of time, at least 1."""
    if residual.size < 2:
        return 1.0
    sums = np.bincount(block, weight * residual)
    single = float(np.sum((weight * residual) ** 2))
    return max(1.0, float(np.sum(sums**2)) / single) if single > 0 else 1.0


def _noise(residual: FloatArray, sigma: float, weight: FloatArray) -> float:
    """Give the variance of one sample that fits Huber's weights: E psi^2 / (E psi')^2 * E w (Huber 1964)."""
    limit = HUBER * sigma
    psi = np.clip(residual, -limit, limit)
    total = float(weight.sum())
    slope = max(float(weight @ (np.abs(residual) <= limit)) / total, 0.1)
    mean_weight = float(weight @ huber_weights(residual, sigma)) / total
    return float(weight @ psi**2) / total / slope**2 * mean_weight


def _sums(equations: Equations, weight: FloatArray, start: FloatArray, cells: int) -> NormalSums:
    """Accumulate the normal equations of multipliers and further effects together."""
    sums = normal_sums(equations.cell, equations.share, weight, start, cells)
    effects = equations.nuisance.shape[1]
    square = np.zeros((cells + effects, cells + effects))
    square[:cells, :cells] = sums.square
    for k in range(effects):
        column = weight * equations.nuisance[:, k]
        cross = np.zeros(cells)
        for node in range(equations.cell.shape[1]):
            cross += np.bincount(equations.cell[:, node], column * equations.share[:, node], cells)
        square[:cells, cells + k] = square[cells + k, :cells] = cross
        square[cells + k, cells:] = column @ equations.nuisance
    right = np.concatenate([sums.right, equations.nuisance.T @ (weight * start)])
    return NormalSums(square, right, sums.total, sums.weight)


def _predict(equations: Equations, fit: FloatArray, cells: int) -> FloatArray:
    predicted: FloatArray = np.einsum("ij,ij->i", equations.share, fit[equations.cell])
    return predicted + equations.nuisance @ fit[cells:]
