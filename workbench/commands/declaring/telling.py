"""Values as they are told: as JSON, and in words."""

from collections.abc import Mapping

import numpy as np

from workbench.model.arrays import FloatArray
from workbench.model.history import Json
from workbench.phrases import phrase


def plain(value: object) -> Json:
    """Return a value as JSON knows it: arrays as nested lists, and None for what is no finite number."""
    if isinstance(value, np.ndarray | np.generic):
        value = value.tolist()
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        return value if np.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): plain(each) for key, each in value.items()}
    return [plain(each) for each in value] if isinstance(value, list | tuple) else str(value)


def percent_text(values: FloatArray) -> str:
    """Tell the range of some changes, given as ratios, in percent."""
    low, high = 100 * (float(values.min()) - 1), 100 * (float(values.max()) - 1)
    return f"by {low:+.2f} %" if low == high else phrase("from {low:+.2f} % to {high:+.2f} %", low=low, high=high)
