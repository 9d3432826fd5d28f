"""Cautions about what feeds the evidence: wideband, fuel pressure, injectors, ignition, and pulls that broke off.

Limits are common practice, no source, unless said otherwise; a session may set those in `Limits`.
"""

import re

import numpy as np

from workbench.maths.cautions.spans import worst_moment
from workbench.maths.signals.ratio import Signals
from workbench.maths.signals.resync import level, played
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import Caution
from workbench.model.gate import Limits
from workbench.model.log import Channel, Log
from workbench.model.series import written_on_change
from workbench.phrases import phrase

FREE_AIR = 1.2  # lambda; no engine runs a whole drive leaner
NO_LAMBDA = 4.0
GASOLINE_AFR = 14.7  # of air to one of fuel, a figure of handbooks, from memory; it need not be near
MOSTLY = 0.9  # of the rows with the engine running
FEWEST_ROWS = 50
NAMED = {
    "fuel pressure": r"(fuel|rail).*press",
    "injector duty": r"inj.*duty|duty.*inj|\bidc\b",
    "knock": r"knock.*(retard|corr|learn)|(retard|corr).*knock",
}


def named_channel(log: Log, what: str) -> FloatArray | None:
    """Return the channel that its name tells to be something of `NAMED`, at every row, shape (rows,); None: no such."""
    for channel in log.channels:
        if re.search(NAMED[what], channel.name, re.IGNORECASE) and np.isfinite(channel.values).any():
            return level(channel.values, log.time.values, on_change=written_on_change(log))
    return None


def free_air(log: Log, seen: Signals, running: BoolArray) -> list[Caution]:
    """Warn where the wideband reads lean throughout, as one that hangs in free air, is cold, or out of its range."""
    values = log.playing("lambda_measured")
    if values is None:  # a channel that stands still has lost its role in reading
        values = next((_in_lambda(each.values) for each in log.channels if _is_wideband(each)), None)
    if values is None:
        return []
    there = values[running & np.isfinite(values)]
    if there.size < FEWEST_ROWS or np.mean(there > FREE_AIR) < MOSTLY:
        return []
    return [
        Caution(
            "doubt",
            phrase(
                "The wideband reads {reading:.2f} or leaner for {share:.0f} % of the drive, out of its range: it hangs "
                "in free air, is cold or faulty. It does not measure the mixture: full throttle cannot be judged.",
                reading=float(np.quantile(there, 0.1)),
                share=100 * float(np.mean(there > FREE_AIR)),
            ),
            float(seen.time[running][0]),
            value=float(np.quantile(there, 0.1)),
            limit=FREE_AIR,
            unit="lambda",
        )
    ]


def _is_wideband(channel: Channel) -> bool:
    named = re.search(r"wideband|lambda|\bafr\b|air.?fuel", channel.name, re.IGNORECASE)
    asked = re.search(r"command|target|desired|request", channel.name, re.IGNORECASE)
    in_ratio = channel.unit.strip().lower() in ("lambda", "λ", "afr", "")
    return in_ratio and named is not None and asked is None


def _in_lambda(values: FloatArray) -> FloatArray:
    """Take what no lambda can be for an air-fuel ratio of gasoline, shape of the values."""
    high = np.isfinite(values).any() and float(np.nanmedian(values)) > NO_LAMBDA
    return np.asarray(values / GASOLINE_AFR) if high else values


def pressure_falls(log: Log, seen: Signals, running: BoolArray, limits: Limits) -> list[Caution]:
    """Warn where the fuel pressure falls as more air, and so more fuel, flows."""
    pressure = named_channel(log, "fuel pressure")
    if pressure is None:
        return []
    rows = running & ~seen.cut & np.isfinite(pressure) & np.isfinite(seen.airflow)
    if rows.sum() < FEWEST_ROWS:
        return []
    flow = seen.airflow[rows]
    little, much = flow <= np.quantile(flow, 0.5), flow >= 0.9 * np.quantile(flow, 0.999)
    if much.sum() < 3:
        return []
    usual = float(np.median(pressure[rows][little]))
    drop = 1 - float(np.median(pressure[rows][much])) / usual if usual > 0 else 0.0
    if not drop > limits.fuel_pressure_drop:
        return []
    return [
        Caution(
            "danger",
            phrase(
                "The fuel pressure falls by {drop:.0f} % at high flow (limit {limit:.0f} %): pump, filter or regulator "
                "cannot keep up, and the mixture runs lean at high load. Repair that; the airflow table cannot "
                "compensate for it.",
                drop=100 * drop,
                limit=100 * limits.fuel_pressure_drop,
            ),
            float(seen.time[rows][np.argmax(much)]),
            value=drop,
            limit=limits.fuel_pressure_drop,
            unit="of the fuel pressure",
        )
    ]


def over_limit(log: Log, seen: Signals, running: BoolArray, limits: Limits) -> list[Caution]:
    """Warn of injector duty, knock retard and intake temperature beyond the session's limits."""
    duty, knock, intake = (
        named_channel(log, "injector duty"),
        named_channel(log, "knock"),
        played(log, "intake_temperature"),
    )
    knocked = None if knock is None else np.abs(knock)
    watched = (
        (duty, limits.injector_duty_percent, "danger", False, "%", _much_duty),
        (knocked, limits.knock_retard_deg, "danger", True, "°", _knocked),
        (intake, limits.intake_c, "doubt", True, "°C", _hot_intake),
    )
    found = []
    for values, limit, kind, passes, unit, sentence in watched:
        if values is None or not (much := running & (values > limit)).any():
            continue
        when, most = seen.time[much], float(values[much].max())
        found.append(
            Caution(
                kind, sentence(most, limit), float(when[0]), passes=passes,
                until=float(when[-1]), value=most, limit=limit, unit=unit,
                worst_at=worst_moment(values, much, seen.time),
            )
        )  # fmt: skip
    return found


def _much_duty(most: float, limit: float) -> str:
    return phrase(
        "Injector duty reached {most:.0f} % (limit {limit:g} %): the injectors are near their limit, and no table can "
        "make them deliver more.",
        most=most,
        limit=limit,
    )


def _knocked(most: float, limit: float) -> str:
    return phrase(
        "Ignition was retarded by up to {most:.1f}° for knock (limit {limit:g}°): find the cause before you continue.",
        most=most,
        limit=limit,
    )


def _hot_intake(most: float, limit: float) -> str:
    return phrase(
        "The intake air reached {most:.0f} °C (limit {limit:g} °C): heat soak; let it cool before pulls.",
        most=most,
        limit=limit,
    )
