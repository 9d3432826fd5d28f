"""Arrays that nobody can change: what the frozen values are made of."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]


def frozen(values: ArrayLike) -> FloatArray:
    """Return the values as a float64 array of their own that cannot be written to; one that is such is kept."""
    if isinstance(values, np.ndarray) and _is_frozen(values):
        return values
    array = np.array(values, dtype=np.float64)
    array.flags.writeable = False
    return array


def _is_frozen(array: NDArray[Any]) -> bool:
    own = array.base is None and array.flags.c_contiguous
    return own and not array.flags.writeable and array.dtype == np.float64
