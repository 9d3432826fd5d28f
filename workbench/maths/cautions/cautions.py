"""Cautions: what in a log could hurt an engine, or make its evidence worth less.

All limits are common practice, no source, unless said otherwise.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from workbench.maths.cautions.channel_cautions import at_their_end, beyond_the_table, frozen_channels
from workbench.maths.cautions.fuel_supply import fuel_supply
from workbench.maths.cautions.pull_cautions import lean_pulls, lean_spikes, lean_under_load, lifted_pulls
from workbench.maths.cautions.sensor_cautions import (
    free_air,
    over_limit,
    pressure_falls,
)
from workbench.maths.cautions.spans import stretches, worst_moment
from workbench.maths.cautions.wideband_lag import lazy_wideband
from workbench.maths.signals.gating import CLIPPED, COLD, CUT, NOT_RUNNING, trims_at_rest
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.resync import played
from workbench.maths.verdict.pulls import too_slow
from workbench.model.arrays import BoolArray
from workbench.model.evidence import Caution
from workbench.model.gate import Limits
from workbench.model.log import Log
from workbench.model.table import Table
from workbench.phrases import flag, phrase

HOTTEST_C = 150.0
CLIPPED_S = 0.5
IMPOSSIBLE_OFFSET = 0.2  # of lambda; no wideband is off by so much
CLOSED_LOOP_OFFSET = 0.015
DEFAULT = Limits()
SAID_IN_READING = "Caution: "  # so begins a note of a log that is more than an assumption


def find_cautions(
    log: Log,
    seen: Signals,
    rejected: dict[str, BoolArray],
    contrary: str = "",
    limits: Limits = DEFAULT,
    table: Table | None = None,
) -> tuple[Caution, ...]:
    """Find the cautions of one drive.

    Args:
        log: for channels that the evidence does not need.
        seen: the drive's signals.
        rejected: gate -> rows it rejects, at engine time.
        contrary: how the mixture contradicts trims or command, where it does.
        limits: of the session.
        table: that was in the car.
    """
    running = ~rejected[NOT_RUNNING]
    spikes = lean_spikes(seen, limits)
    in_spike = np.zeros(running.size, dtype=np.bool_)
    for _, (first, after) in spikes:
        in_spike[first:after] = True
    slow = too_slow(log)
    found = [
        *named("lean-at-full-throttle", lean_pulls(seen, limits, in_spike)),
        *named("lean-spike", [caution for caution, _ in spikes]),
        *named("lean-under-load", lean_under_load(seen, running, played(log, "manifold_pressure"), limits)),
        *named("lifted-pull", lifted_pulls(seen)),
        *named("fuel-pressure", pressure_falls(log, seen, running, limits)),
        *named("fuel-supply", fuel_supply(log, seen, limits)),
        *named("free-air", free_air(log, seen, running)),
        *named("slow-wideband", lazy_wideband(seen, limits)),
        *named("over-limit", over_limit(log, seen, running, limits)),
        *named("frozen-channel", frozen_channels(log, seen, running, limits)),
        *named("channel-at-its-end", at_their_end(log, seen, limits)),
        *named("table-end", beyond_the_table(table, seen, running) if table is not None else []),
        *named("slow-log", [Caution("doubt", slow, float("nan"))] if slow else []),
        *named("hot-coolant", _hot(seen, limits)),
        *named("clipped-trim", _clipped(seen, rejected[CLIPPED] & running)),
        *named("wideband-offset", _offset(seen, running & ~rejected[COLD] & ~rejected[CUT])),
        *named("low-voltage", _low_voltage(log, seen, running, limits)),
        *named("banks-apart", _banks(seen, limits)),
        *named("doubtful-reading", _from_reading(log)),
        *named("contrary-mixture", [_doubt(contrary)] if contrary else []),
    ]
    return tuple(found)


def named(name: str, found: Sequence[Caution]) -> list[Caution]:
    """Return cautions of one kind the name by which they are acknowledged; from the second on with a number."""
    return [replace(each, name=name if i == 1 else f"{name}-{i}") for i, each in enumerate(found, 1)]


def _doubt(what: str) -> Caution:
    return Caution("doubt", f"{what[0].upper()}{what[1:]}.", float("nan"))


def _from_reading(log: Log) -> list[Caution]:
    """Repeat what reading the log made doubtful, as long as a channel that it names plays a role."""
    found = [note.removeprefix(SAID_IN_READING) for note in log.notes if note.startswith(SAID_IN_READING)]
    playing = frozenset(log.roles.values())
    return [Caution("doubt", each, float("nan")) for each in found if any(name in each for name in playing)]


def _hot(seen: Signals, limits: Limits) -> list[Caution]:
    spans = stretches(seen.coolant > limits.coolant_c, seen.time, 2.0)
    if not spans:
        return []
    highest = float(np.nanmax(seen.coolant))
    if highest > HOTTEST_C:
        sentence = phrase(
            "The coolant channel reads up to {highest:.0f} °C, which no engine survives: check its unit.",
            highest=highest,
        )
        return [Caution("doubt", sentence, spans[0][0], value=highest, limit=HOTTEST_C, unit="°C")]
    cooling = phrase("The coolant reached {highest:.0f} °C: let the engine cool and find the cause.", highest=highest)
    return [
        Caution(
            "danger", cooling, spans[0][0], passes=True, until=spans[-1][1],
            value=highest, limit=limits.coolant_c, unit="°C",
            worst_at=worst_moment(seen.coolant, np.isfinite(seen.coolant), seen.time),
        )
    ]  # fmt: skip


def _clipped(seen: Signals, clipped: BoolArray) -> list[Caution]:
    spans = stretches(clipped, seen.time, CLIPPED_S)
    if not spans:
        return []
    total = sum(end - start for start, end in spans)
    return [
        Caution(
            "doubt",
            phrase(
                "A trim stood at its limit for {total:.0f} s: the true error is larger than the trim "
                "shows. Correct with the evidence so far, then drive again.",
                total=total,
            ),
            spans[0][0],
            passes=True,
            until=spans[-1][1],
            value=total,
            limit=CLIPPED_S,
            unit="s",
        )
    ]


def _offset(seen: Signals, usable: BoolArray) -> list[Caution]:
    held = usable & seen.closed & np.isfinite(seen.measured)
    over = seen.measured / seen.loop_holds
    rows = held & (np.abs(over - 1) < IMPOSSIBLE_OFFSET)
    at_rest = rows & trims_at_rest(seen)
    if held.sum() >= 200 and rows.sum() < held.sum() / 2:
        return [
            Caution(
                "doubt",
                phrase(
                    "The wideband reads {measured:.2f} in the middle of closed loop, where the ECU holds "
                    "1: it is scaled for another fuel (add the log with {afr_of_flag}), or faulty.",
                    afr_of_flag=flag("afr-of"),
                    measured=np.median(seen.measured[held]),
                ),
                float("nan"),
                value=float(np.median(seen.measured[held])) - 1,
                limit=IMPOSSIBLE_OFFSET,
                unit="of lambda",
            )
        ]
    # While the trims still learn since a flash, the loop does not hold 1 yet, and that is no fault of the wideband.
    if at_rest.sum() < max(200, rows.sum() / 10):
        return []
    apart = float(np.median(over[at_rest])) - 1
    if abs(apart) <= CLOSED_LOOP_OFFSET:
        return []
    return [
        Caution(
            "doubt",
            phrase(
                "In closed loop the wideband reads {reads:.3f} on average while the ECU's own sensor "
                "holds {held:g}: check the wideband's calibration and the exhaust for leaks before relying "
                "on it at full throttle.",
                reads=float(np.median(seen.measured[at_rest])),
                held=round(float(np.median((seen.measured / over)[at_rest])), 3),
            ),
            float("nan"),
            value=apart,
            limit=CLOSED_LOOP_OFFSET,
            unit="of lambda",
        )
    ]


def _banks(seen: Signals, limits: Limits) -> list[Caution]:
    if not np.isfinite(seen.imbalance) or abs(seen.imbalance) < limits.banks_apart:
        return []
    return [
        Caution(
            "doubt",
            phrase(
                "Bank {richer} takes {more:.1f} % more fuel than bank {other}: look for a leak, an injector "
                "or a sensor on one side; the airflow table is common to both.",
                **seen.banks_apart,
            ),
            float("nan"),
            value=seen.imbalance,
            limit=limits.banks_apart,
            unit="of the fuel factor",
        )
    ]


def _low_voltage(log: Log, seen: Signals, running: BoolArray, limits: Limits) -> list[Caution]:
    volts = played(log, "battery_voltage")
    if volts is None:
        return []
    spans = stretches(running & (volts < limits.supply_v) & (volts > 1), seen.time, limits.supply_s)
    if not spans:
        return []
    return [
        Caution(
            "doubt",
            phrase(
                "The supply stayed under {low_volts:g} V for {spans:.0f} s with the engine running: "
                "injectors then open late, which looks like an airflow error.",
                low_volts=limits.supply_v,
                spans=sum((b - a for a, b in spans)),
            ),
            spans[0][0],
            until=spans[-1][1],
            value=float(np.nanmin(volts[running & (volts > 1)])),
            limit=limits.supply_v,
            unit="V",
            worst_at=worst_moment(-volts, running & (volts > 1), seen.time),
        )
    ]
