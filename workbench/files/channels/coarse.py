"""A measured mixture written in steps so coarse that a reading that stands still may be off by more than its sensor."""

import numpy as np

from workbench.files.channels.measured import Measured
from workbench.files.channels.mixture import WIDEBAND_OFF
from workbench.model.log import Alternative, Question, typed_flag
from workbench.phrases import phrase

FEWEST = 200  # readings, to tell steps by
AROUND = (0.7, 1.3)  # lambda: where an engine runs; further out sensors read coarsely


def coarse_mixture(channel: Measured | None) -> list[Question]:
    """Ask whether measured lambda is to be used where half a step of it is more than its sensor is ever off.

    Where the mixture stands still, as at full throttle, all readings are rounded the same way, and no number of them
    tells by how much.
    """
    if channel is None:
        return []
    near = channel.there[(channel.there > AROUND[0]) & (channel.there < AROUND[1])]
    if near.size < FEWEST or near.min() == near.max():
        return []
    step = float(np.min(np.diff(np.unique(np.round(near, 6)))))
    if step / 2 <= WIDEBAND_OFF:
        return []
    why = phrase(
        "{channel} is written in steps of {step:.3g} lambda: a reading that stands still may be off by {half:.2g} %.",
        channel=channel.name,
        step=step,
        half=100 * step / 2,
    )
    use = Alternative(
        "use it",
        typed_flag("role", "lambda_measured", channel.name),
        phrase("Cells that rest on it may be wrong by that much, and their intervals do not say so."),
    )
    leave = Alternative(
        "leave it out", typed_flag("role", "lambda_measured", ""), phrase("The cells rest on the trims alone.")
    )
    return [Question(channel.name, why, (leave, use))]
