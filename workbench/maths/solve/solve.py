"""From weighted samples to one multiplier per cell and its interval: penalised robust least squares.

Each sample states `sum of share * multiplier over its nodes = ratio`. Second differences of the multipliers are
penalised with a weight found by restricted maximum likelihood (Patterson and Thompson 1971; Wood 2011, J. R. Stat.
Soc. B 73, for the penalised form). Outliers are weighed down by Huber's function (Huber 1964). Samples of one log are
not independent: their information is divided by the variance inflation of means over blocks of time (batch means).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from workbench.maths.solve.arrow_matrix import ArrowMatrix, combined, regular
from workbench.maths.solve.design import Equations
from workbench.maths.solve.factoring import carried_along, factored
from workbench.maths.solve.normal_equations import node_sums, normal_sums
from workbench.maths.solve.one_thread import one_thread
from workbench.maths.solve.reml import most_likely_weight
from workbench.maths.table.interpolation import PIECE
from workbench.model.arrays import FloatArray, IntArray

MOST_TURNS, SETTLED_TURNS = 12, 4
DIGIT = 12  # bits of the median found in one sweep
HUBER = 1.345  # 95 % efficient under normal errors (Holland and Welsch 1977)


@dataclass(frozen=True, eq=False)
class Solution:
    """Multipliers and how well they are known.

    Attributes:
        multipliers: shape (cells,).
        deviation: posterior standard deviation, shape (cells,).
        nuisance: the further effects, then shifts, shape (effects + shifts,).
        nuisance_deviation: their standard deviations.
        residual: ratio minus fit, shape (samples,).
        robust: Huber weight of every sample, 0..1, shape (samples,).
        sigma: robust standard deviation of one sample.
        inflation: how many samples count as one independent sample.
        smoothing: weight of the penalty.
        amount: sum of weights per cell, shape (cells,).
        shares: source of error among the effects -> its share of the squared deviation, shape (cells,). What is left
            is scatter of the samples, smoothing included.
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
    shares: Mapping[str, FloatArray] = field(default_factory=dict)


def solve(
    equations: Equations, roughness: ArrowMatrix, free: int, *, smoothing: float | None = None, bump: float = 0.0
) -> Solution:
    """Solve for the multipliers.

    Beside its input it takes two numbers a sample, which it gives back (residual and Huber's weight), and a constant.

    Args:
        equations: of at least one sample.
        roughness: penalty matrix of the cells.
        free: dimension of its null space.
        smoothing: fixes the weight of the penalty (0 turns it off); None has it found.
        bump: what the penalty costs for a bump that is to be expected; 0 expects none.
    """
    with one_thread():
        return _solved(equations, roughness, free, smoothing, bump)


def _solved(equations: Equations, roughness: ArrowMatrix, free: int, smoothing: float | None, bump: float) -> Solution:
    cells, expected = equations.design.spreader.cells, equations.expected_sizes
    effects = expected.size
    wide = roughness.with_effects(np.zeros(effects))
    unpenalised = free + int(np.isinf(expected).sum())
    fit = np.zeros(cells + effects)
    residual = _residual(equations, fit)
    robust, inflation, sigma = np.ones(residual.size), 1.0, spread_of(residual, equations.weight)
    stiffness = 0.0 if smoothing is None else smoothing
    for turn in range(MOST_TURNS):
        sums = normal_sums(equations, robust)
        unit = sigma if np.isnan(equations.unit) else equations.unit
        held = np.concatenate([np.zeros(cells), (unit / expected) ** 2])
        square, right = combined((1 / inflation, sums.square)).raised(held), sums.right / inflation
        if smoothing is None and turn < SETTLED_TURNS:
            stiffness = most_likely_weight(
                square,
                right,
                sums.total / inflation,
                wide,
                free=free + effects,
                worth=max(sums.weight / inflation - unpenalised, 1.0),
                noise=equations.unit**2,
                usual=equations.unit**2 / bump if bump > 0 else float("nan"),
            )
        whole = regular(combined((1.0, square), (stiffness, wide)))
        factors = factored(whole)
        previous, fit = fit, factors.solve(right)
        residual = _residual(equations, fit, into=residual)
        sigma = spread_of(residual, equations.weight)
        if turn >= SETTLED_TURNS and np.max(np.abs(fit - previous)) < 1e-6:
            break
        robust = huber_weights(residual, sigma, into=robust)
        inflation = variance_inflation(residual, equations.weight, equations.block, robust, equations.visit)
    noise = _noise(residual, sigma, equations.weight) if np.isnan(equations.unit) else equations.unit**2
    deviation = np.sqrt(np.maximum(noise * factors.inverse_diagonal(), 0.0))
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
        amount=node_sums(equations.design, lambda rows: [equations.weight[rows] * robust[rows]], 1)[0],
        shares=_shares(whole, equations.names, noise) if any(equations.names) else {},
    )


def _shares(whole: ArrowMatrix, names: tuple[str, ...], noise: float) -> dict[str, FloatArray]:
    """Split what the effects add to the variance of each cell by the source of error that they stand for.

    With C what an effect of 1 carries into the cells and E the covariance of the effects, they add C E C'; what one of
    them has to do with all others is counted half with either, so the shares add up exactly.
    """
    carried, joined = carried_along(whole)
    parts = carried * joined * noise
    numbered = {name: [k for k, each in enumerate(names) if each == name] for name in dict.fromkeys(names)}
    return {name: np.maximum(parts[:, at].sum(axis=1), 0.0) for name, at in numbered.items()}


def _residual(equations: Equations, fit: FloatArray, into: FloatArray | None = None) -> FloatArray:
    """Return what a fit (departures from 1, then effects) leaves of the ratio, shape (samples,)."""
    cells = equations.design.spreader.cells
    left = equations.design.predicted(1 + fit[:cells], into=into)
    for rows in _pieces(left.size):
        np.subtract(equations.ratio[rows], left[rows], out=left[rows])
        for k, moved in equations.moved(rows).items():
            left[rows] -= fit[cells + k] * moved
        if equations.shifts is not None:
            of_group = np.append(fit[cells + len(equations.effects) :], 0.0)
            left[rows] -= equations.shifts.share[rows] * of_group.take(equations.shifts.group[rows])
    return left


def _pieces(samples: int) -> list[slice]:
    return [slice(start, min(start + PIECE, samples)) for start in range(0, samples, PIECE)]


def spread_of(residual: FloatArray, weight: FloatArray) -> float:
    """Return the robust standard deviation: 1.4826 times the weighted median of the absolute residuals.

    The weighted median is the smallest value at which half of the weight is reached (inverted distribution function).
    """
    half, below = float(weight.sum()) / 2, 0.0
    # The bits of positive numbers rise with them: the leading ones of the median are found first, a few at a time.
    found, shift, left = 0, 64, residual.size
    while left > PIECE and shift > 0:
        step = min(DIGIT, shift)
        sums, counts = np.zeros(1 << step), np.zeros(1 << step, dtype=np.int64)
        for bits, amount in _led_by(residual, weight, found, shift):
            digit = ((bits >> np.uint64(shift - step)) & np.uint64((1 << step) - 1)).astype(np.int64)
            sums += np.bincount(digit, amount, sums.size)
            counts += np.bincount(digit, minlength=sums.size)
        reached = below + np.cumsum(sums)
        # The last digit that occurs, where rounding leaves half of the weight unreached.
        middle = min(int(np.searchsorted(reached, half)), int(np.flatnonzero(counts)[-1]))
        below, left = float(reached[middle - 1]) if middle else below, int(counts[middle])
        found, shift = (found << step) | middle, shift - step
    if shift == 0:
        return max(1.4826 * float(np.array([found], dtype=np.uint64).view(np.float64)[0]), 1e-12)
    rest = list(_led_by(residual, weight, found, shift))
    bits, amount = (np.concatenate(parts) for parts in zip(*rest, strict=True))
    order = np.argsort(bits)
    middle = min(int(np.searchsorted(below + np.cumsum(amount[order]), half)), order.size - 1)
    return max(1.4826 * float(bits[order].view(np.float64)[middle]), 1e-12)


def _led_by(
    residual: FloatArray, weight: FloatArray, found: int, shift: int
) -> Iterator[tuple[npt.NDArray[np.uint64], FloatArray]]:
    """Give, piece by piece, size (as bits) and weight of the residuals whose size has these bits above the shift."""
    for rows in _pieces(residual.size):
        bits, amount = np.abs(residual[rows]).view(np.uint64), weight[rows]
        if shift < 64:
            here = (bits >> np.uint64(shift)) == found
            bits, amount = bits[here], amount[here]
        yield bits, amount


def huber_weights(residual: FloatArray, sigma: float, into: FloatArray | None = None) -> FloatArray:
    """Return Huber's weight of every residual, 0..1; into an array of that shape, if given."""
    weights = np.abs(residual, out=into)
    np.maximum(weights, 1e-300, out=weights)
    np.divide(HUBER * sigma, weights, out=weights)
    return np.minimum(1.0, weights, out=weights)


def variance_inflation(
    residual: FloatArray,
    weight: FloatArray,
    block: IntArray,
    robust: FloatArray | None = None,
    visit: IntArray | None = None,
) -> float:
    """Return how many samples count as one independent sample: batch means over blocks of time, at least 1.

    Where the weights count already how the samples of a visit depend on each other: how many visits count as one.
    """
    if residual.size < 2:
        return 1.0
    sums, single = np.zeros(int(block.max()) + 1), 0.0
    visits = np.zeros(0 if visit is None else int(visit.max()) + 1)
    for rows in _pieces(residual.size):
        moved = weight[rows] * residual[rows]
        if robust is not None:
            moved *= robust[rows]
        if visit is None:
            single += float(moved @ moved)
        else:
            visits += np.bincount(visit[rows], moved, visits.size)
        first, last = int(block[rows].min()), int(block[rows].max())
        sums[first : last + 1] += np.bincount(block[rows] - first, moved)
    single += float(visits @ visits)
    return max(1.0, float(sums @ sums) / single) if single > 0 else 1.0


def _noise(residual: FloatArray, sigma: float, weight: FloatArray) -> float:
    """Return the variance of one sample that fits Huber's weights: E psi^2 / (E psi')^2 * E w (Huber 1964)."""
    limit = HUBER * sigma
    total = within = squares = weights = 0.0
    for rows in _pieces(residual.size):
        left, amount = residual[rows], weight[rows]
        total += float(amount.sum())
        within += float(amount @ (np.abs(left) <= limit))
        squares += float(amount @ np.clip(left, -limit, limit) ** 2)
        weights += float(amount @ huber_weights(left, sigma))
    slope = max(within / total, 0.1)
    return squares / total / slope**2 * (weights / total)
