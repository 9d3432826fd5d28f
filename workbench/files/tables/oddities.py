"""What in a table looks like a slip of whoever wrote it down: a value whose decimal sign was lost."""

import numpy as np

from workbench.model.table import Table
from workbench.phrases import phrase

FAR = 20.0  # times what the neighbours hold; no curve of a sensor steps so far (common practice, no source)


def lost_signs(table: Table) -> tuple[str, ...]:
    """Say which values of a curve are many times what both neighbours hold, or a small part of that."""
    values = table.values
    if values.ndim != 1 or values.size < 3 or not np.all(values > 0):
        return ()
    around = np.sqrt(values[:-2] * values[2:])
    ratio = values[1:-1] / around
    odd = np.flatnonzero((ratio > FAR) | (ratio < 1 / FAR))
    if not odd.size:
        return ()
    at = int(odd[np.argmax(np.abs(np.log(ratio[odd])))])
    return (
        phrase(
            "Caution: at {point:g} the table holds {value:g}, about {ratio:.3g} times what its neighbours hold. Was a "
            "decimal sign lost?",
            point=float(table.axes[0].breakpoints[at + 1]),
            value=float(values[at + 1]),
            ratio=float(ratio[at]),
        ),
    )
