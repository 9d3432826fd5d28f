"""What a computed channel gives in each log."""

from collections.abc import Sequence

import numpy as np

from workbench.expressions import read_expression
from workbench.model.derived import ComputedChannel, meant, missing
from workbench.model.log import Channel, Drive
from workbench.phrases import phrase


def _valueless(made: ComputedChannel, drive: Drive, channel: Channel) -> list[str]:
    """Say at how many moments there is no value though all that it rests on is known, as by a division by 0."""
    sources = [source for each in read_expression(made.expression).names if (source := meant(drive.log, each))]
    if not sources:
        return []
    known = np.all([np.isfinite(source.values) for source in sources], axis=0)
    lost = int(np.count_nonzero(known & ~np.isfinite(channel.values)))
    if not lost:
        return []
    return [
        phrase(
            "Caution: log {log} has no value of {name} in {lost} of {rows} rows in which all that it rests on is "
            "known: there it divides by 0, or takes a root of less.",
            log=drive.id,
            name=made.name,
            lost=lost,
            rows=int(known.sum()),
        )
    ]


def computed_lines(made: ComputedChannel, drives: Sequence[Drive]) -> tuple[str, ...]:
    """Say what a computed channel reads in each log, and where it has no value."""
    lines = [
        phrase(
            "{name} = {expression}, in {unit}.",
            name=made.name,
            expression=made.expression,
            unit=made.unit or "numbers without unit",
        )
    ]
    for drive in drives:
        channel = drive.log.channel(made.name)
        if channel is None:
            lacking = ", ".join(map(repr, missing(drive.log, made)))
            lines.append(phrase("Log {log} does not have it: no channel {names}.", log=drive.id, names=lacking))
            continue
        known = channel.values[np.isfinite(channel.values)]
        lines += _valueless(made, drive, channel)
        lines.append(
            phrase(
                "Log {log}: {n} readings, {least:.5g} to {most:.5g}, median {middle:.5g}.",
                log=drive.id,
                n=known.size,
                least=float(known.min()),
                most=float(known.max()),
                middle=float(np.median(known)),
            )
            if known.size
            else phrase("Log {log}: no readings.", log=drive.id)
        )
    return tuple(lines)
