"""Arrays that nobody can change: what the frozen values are made of."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]


def frozen(values: ArrayLike) -> FloatArray:
    """Return the values as a float64 array of their own that cannot be written to."""
    array = np.array(values, dtype=np.float64)
    array.flags.writeable = False
    return array
