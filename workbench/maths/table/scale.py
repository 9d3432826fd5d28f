"""What a change multiplied each cell by, so that the same product can be worked out again bit for bit."""

import numpy as np

from workbench.model.arrays import BoolArray, FloatArray

LEFT_BY_ROUNDING = 1e-9  # of a value; sums leave far less, and numbers of 32 bits lie 6e-8 apart


def same_bits(first: FloatArray, other: FloatArray) -> BoolArray:
    """Return where two arrays of one shape hold the very same bits."""
    bits: BoolArray = np.ascontiguousarray(first).view(np.int64) == np.ascontiguousarray(other).view(np.int64)
    return bits


def exact_multipliers(before: FloatArray, after: FloatArray) -> FloatArray:
    """Find multipliers whose product with the old values is the new ones, bit for bit.

    For about one pair in ten there is none: the products of neighbouring multipliers lie on both sides of the value.

    Args:
        before: values, finite.
        after: values of the same shape, finite.

    Returns:
        Multipliers of that shape; 1 where nothing changed; NaN where no multiplier does it: the cell was set outright.
    """
    found = np.where(same_bits(before, after), 1.0, np.nan)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore", under="ignore"):
        quotient = after / before
        fits = np.isnan(found) & np.isfinite(quotient) & same_bits(before * quotient, after)
    return np.where(fits, quotient, found)


def snapped(before: FloatArray, target: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Move a target, by a unit in the last place at most, to where a multiplier reaches it.

    For changes whose result is not sharp to the last bit (smoothing, blending): every cell keeps a multiplier. What
    differs from the old value only by what rounding leaves is that value: whether a cell was changed must not hang on
    how a library rounds.

    Args:
        before: values, finite.
        target: values of the same shape, finite.

    Returns:
        The values, and the multipliers; NaN where there is none (from zero, or across it) and the target stands as is.
    """
    target = np.where(np.abs(target - before) <= LEFT_BY_ROUNDING * np.abs(before), before, target)
    multipliers = exact_multipliers(before, target)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore", under="ignore"):
        quotient = target / before
        product = before * quotient
        close = np.abs(product - target) <= np.spacing(np.abs(target))
    near = np.isnan(multipliers) & close & (before != 0) & (np.sign(before) == np.sign(target))
    return np.where(near, product, target), np.where(near, quotient, multipliers)


def replay(before: FloatArray, multipliers: FloatArray, after: FloatArray) -> BoolArray:
    """Tell where the old value times its multiplier is the new value bit for bit; cells set outright count as such."""
    with np.errstate(invalid="ignore", over="ignore", under="ignore"):
        return np.isnan(multipliers) | same_bits(before * multipliers, after)
