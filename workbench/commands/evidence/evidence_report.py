"""Evidence as the JSON object of the command-line contract, and as lines for people."""

from collections.abc import Iterator
from dataclasses import asdict

import numpy as np

from workbench.commands.evidence.verdict import judged, judgement, verdict_of
from workbench.maths.verdict.prediction_check import VERDICTS, PredictionCheck
from workbench.maths.verdict.pulls import Pull
from workbench.model.arrays import FloatArray
from workbench.model.counting import counted
from workbench.model.deed import Acknowledgement
from workbench.model.evidence import STANDINGS, Caution, Delay, Effect, Evidence, Target
from workbench.model.history import Json
from workbench.phrases import phrase, plural_phrase

WORTH_NAMING = 0.03  # %, standard deviation


def nested(values: FloatArray) -> Json:
    """Return an array as nested lists, with None where it holds no number."""
    if values.ndim > 1:
        return [nested(row) for row in values]
    return [float(value) if np.isfinite(value) else None for value in values]


def standing_names(found: Evidence) -> Json:
    """Return the standing of every cell as nested lists of words."""
    names = np.array(STANDINGS)[found.standing]
    listed: Json = names.tolist()
    return listed


def delay_json(delay: Delay) -> dict[str, Json]:
    """Return a delay as JSON."""
    return {
        "fixed_s": delay.fixed_s,
        "volume_g": delay.volume_g,
        "lag_s": delay.lag_s,
        "source": delay.source,
        "interval_s": _number(delay.interval_s),
        "carried_by": delay.carried_by,
    }


def evidence_json(found: Evidence, prediction: PredictionCheck | None, own: Evidence | None = None) -> dict[str, Json]:
    """Return evidence as the JSON object of the command-line contract; `own` as for the lines."""
    delays = {str(number): delay_json(delay) for number, delay in found.delay.items()}
    last = found.delay[found.drives[-1]]
    return {
        "table": found.table.name,
        "revision": found.revision,
        "drives": list(found.drives),
        "source": found.source,
        "budget": _sources_json(found),
        "cells": [_cell_json(found, index) for index in np.ndindex(found.table.shape)],
        "delay": {**delay_json(last), "per_drive": dict(delays)},
        "wideband": {str(number): place for number, place in found.wideband.items()},
        "gates": [{"name": g.name, "rejected": g.rejected, "alone": g.alone} for g in found.gates],
        "samples_used": found.samples_used,
        "target": dict(zip(("part_throttle", "full_throttle"), _targets_json(found, own), strict=True)),
        "notes": list(found.notes),
        "plan": list(found.plan),
        "effects": [_effect_json(effect) for effect in found.effects],
        "last_correction": None if prediction is None else _prediction_json(prediction),
    }


def evidence_lines(found: Evidence, prediction: PredictionCheck | None, own: Evidence | None = None) -> tuple[str, ...]:
    """Return evidence for people, line by line.

    Args:
        found: of the drives that were asked for.
        prediction: whether the last correction's was met; None where that cannot be told.
        own: what the drives made with this very revision say alone, by which it is judged; None where all are such.
    """
    lines = [
        phrase(
            "{table}, revision {revision}: {samples} used.",
            table=found.table.name,
            revision=found.revision,
            samples=counted(found.samples_used, "sample"),
        )
    ]
    for number, delay in found.delay.items():
        place = found.wideband[number]
        if place != "none":
            lines.append(
                phrase(
                    "Drive {number}: wideband {place_words}, delay {fixed_s:.2f} s + {volume_g:.1f} g / "
                    "airflow, lag {lag_s:.2f} s ({source}).",
                    number=number,
                    place_words=_place_words(place),
                    fixed_s=delay.fixed_s,
                    volume_g=delay.volume_g,
                    lag_s=delay.lag_s,
                    source=delay.source,
                )
            )
    lines.append(rejected_by_gates(found))
    lines += [
        _verdict_line(regime, *targets, found)
        for regime, targets in zip(("Part throttle", "Full throttle"), judged(found, own), strict=True)
    ]
    head = " ".join(f"{axis.label:>18}" for axis in found.table.axes)
    lines.append(phrase("{head}    ratio    ±95 %  samples visits     mean   median  standing", head=head))
    for index in np.argwhere(found.driven):
        at = tuple(int(i) for i in index)
        place = " ".join(f"{axis.breakpoints[i]:18.6g}" for axis, i in zip(found.table.axes, at, strict=True))
        lines.append(
            f"{place}  {_shown(found.ratio[at])}  {_shown(found.half_width[at])}  {found.samples[at]:7.0f} "
            f"{found.visits[at]:6d}  {_shown(found.mean[at])}  {_shown(found.median[at])}  {found.standing_of(at)}"
        )
    undriven = int((~found.driven).sum())
    lines.append(plural_phrase(undriven, "{n} cell is undriven.", "{n} cells are undriven."))
    kept = () if prediction is None else prediction.sentences
    return (*lines, *budget_lines(found), *kept, *found.notes, *found.plan)


def _verdict_line(regime: str, target: Target, pooled: Target, found: Evidence) -> str:
    """Say of a throttle what strip and report say of it."""
    if target.worst_cell is None or not target.measured:
        return target.sentence(regime, found.table)
    return phrase("{regime}: {said}.", regime=regime, said=judgement(target, pooled, found.table))


def _place_words(place: str) -> str:
    return (
        "before or after the catalyst (not known)"
        if place == "unknown"
        else phrase("{place} the catalyst", place=place)
    )


def _shown(value: float) -> str:
    return f"{value:7.4f}" if np.isfinite(value) else "      –"


def _cell_json(found: Evidence, at: tuple[int, ...]) -> Json:
    place: dict[str, Json] = {"index": at[0]} if len(at) == 1 else {"row": at[0], "column": at[1]}
    values: Json = [float(axis.breakpoints[i]) for axis, i in zip(found.table.axes, at, strict=True)]
    return {
        **place,
        "axis": values,
        "value": float(found.table.values[at]),
        "samples": float(found.samples[at]),
        "visits": int(found.visits[at]),
        "ratio": _number(found.ratio[at]),
        "half_width": _number(found.half_width[at]),
        "inferred": _number(found.inferred[at]) if found.inferred.size else None,
        "inferred_half_width": _number(found.inferred_half_width[at]) if found.inferred_half_width.size else None,
        "standing": found.standing_of(at),
        "mean": _number(found.mean[at]),
        "median": _number(found.median[at]),
        "spread": _number(found.spread[at]),
        "count": int(found.count[at]),
        "full_throttle": bool(found.full_throttle[at]),
        "budget": _budget_json(found, at),
    }


def _budget_json(found: Evidence, at: tuple[int, ...]) -> Json:
    """Give what the interval of a cell is made of: standard deviations that add up squared; none where undriven."""
    if not found.driven[at]:
        return []
    return [
        {"source": item.name, "type": item.kind, "deviation": size, "common": item.common}
        for item, size in found.budget_at(at)
    ]


def _sources_json(found: Evidence) -> Json:
    return {
        item.name: {"type": item.kind, "common": item.common, "reason": item.reason, "remedy": item.remedy}
        for item in found.budget
    }


def budget_lines(found: Evidence) -> tuple[str, ...]:
    """Say what most intervals are made of, and what would lessen the largest part of them."""
    driven = found.driven
    if not found.budget or not driven.any():
        return ()
    usual = sorted(((float(np.median(item.size[driven])), item) for item in found.budget), key=lambda each: -each[0])
    parts = ", ".join(f"{item.name} {100 * 1.96 * size:.2f} %" for size, item in usual if 100 * size >= WORTH_NAMING)
    largest = usual[0][1]
    return (
        phrase("The intervals are made of (median over driven cells, ±95 %, added squared): {parts}.", parts=parts),
        phrase(
            "The largest part is {name}. {reason} {remedy}",
            name=largest.name,
            reason=largest.reason,
            remedy=largest.remedy,
        ),
    )


def _targets_json(found: Evidence, own: Evidence | None) -> Iterator[Json]:
    """Give part and full throttle: figures of the drives that were asked for, and the verdict that is told everywhere.

    Where the revision's own drives judge it, the figures they judge it by stand under `own`.
    """
    for target, pooled in judged(found, own):
        verdict = verdict_of(target, pooled)
        beside: dict[str, Json] = {} if target is pooled else {"own": _target_json(target)}
        yield {**_target_json(pooled), "verdict": verdict, "reached": verdict in ("reached", "uncertain"), **beside}


def _target_json(target: Target) -> dict[str, Json]:
    return {
        "limit": target.limit,
        "inside_cells": _number(target.inside_cells),
        "inside_time": _number(target.inside_time),
        "worst": _number(target.worst),
        "worst_cell": None if target.worst_cell is None else list(target.worst_cell),
        "worst_half_width": _number(target.worst_half_width),
        "proven": _number(target.proven),
        "measured": target.measured,
    }


def _number(value: float) -> Json:
    return float(value) if np.isfinite(value) else None


def rejected_by_gates(found: Evidence) -> str:
    """Say how many rows each gate rejects; they overlap, and do not add up to those that were lost."""
    taken = ", ".join(f"{gate.name} {gate.rejected}" for gate in found.gates if gate.rejected)
    if not taken:
        return "Rejected by gates: nothing."
    return phrase("Rejected by gates (a row that several reject counts at each): {gates}.", gates=taken)


def pull_json(drive: int, pull: Pull, revision: int | None) -> dict[str, Json]:
    """Return a pull as JSON, with the revision that was in the car."""
    return {
        "drive": drive,
        "revision": revision,
        "slope": _number(pull.slope),
        "settled_from": _number(pull.settled_from),
        "worst": _number(pull.worst),
        "leanest_at": _number(pull.leanest_at),
        "leanest_rpm": _number(pull.leanest_rpm),
        "leanest_flow": _number(pull.leanest_flow),
        "lifted_at": _number(pull.lifted_at),
        "start": pull.start,
        "end": pull.end,
        "low_rpm": _number(pull.low_rpm),
        "high_rpm": _number(pull.high_rpm),
        "error": _number(pull.error),
        "leanest": _number(pull.leanest),
        "samples": pull.samples,
    }


def pull_line(name: str, pull: Pull, because: str = "") -> str:
    """Return a pull for people, with the reason for which it was left out."""
    span = phrase("{name}, {start:.1f} to {end:.1f} s", name=name, start=pull.start, end=pull.end)
    if np.isfinite(pull.low_rpm):
        span = phrase("{span}, {low:.0f} to {high:.0f} rpm", span=span, low=pull.low_rpm, high=pull.high_rpm)
    if pull.left_out:
        if because:
            return phrase("{span}: left out by name: {because}", span=span, because=because)
        return phrase("{span}: left out by name.", span=span)
    lean = ""
    if np.isfinite(pull.leanest):
        where = ""
        if np.isfinite(pull.leanest_at):
            speed = phrase("{rpm:.0f} rpm, ", rpm=pull.leanest_rpm) if np.isfinite(pull.leanest_rpm) else ""
            where = phrase(
                " at {at:.1f} s ({speed}{flow:.0f} g/s)", at=pull.leanest_at, speed=speed, flow=pull.leanest_flow
            )
        lean = phrase("; during the drive, {leanest}{where}", leanest=_leanest(pull.leanest), where=where)
    if not pull.samples:  # how lean it ran is told all the same: an engine that was cold is hurt as well
        return phrase("{span}: no sample passed the gates{lean}.", span=span, lean=lean)
    if pull.lifted:
        lean = phrase("{lean}; the throttle was lifted at {at:.1f} s: leave it out", lean=lean, at=pull.lifted_at)
    many = counted(pull.samples, "sample")
    return phrase(
        "{span}: airflow {error:+.1f} % against the current table ({many}){lean}.",
        span=span,
        error=100 * pull.error,
        many=many,
        lean=lean,
    )


def _leanest(ratio: float) -> str:
    """Describe how lean a pull read at its leanest, beside the leanest command of the second before."""
    off = 100 * (ratio - 1)
    if abs(off) < 0.05:
        return "leanest point as commanded"
    return phrase(
        "leanest point {off:.1f} % {direction} than commanded",
        off=abs(off),
        direction="leaner" if off > 0 else "richer",
    )


def caution_json(drive: int, caution: Caution, acknowledged: Acknowledgement | None) -> Json:
    """Return a caution as JSON, with its acknowledgement where there is one."""
    return {
        "name": f"{drive}:{caution.name}",
        "drive": drive,
        "kind": caution.kind,
        "sentence": caution.sentence,
        "at": _number(caution.at),
        "until": _number(caution.until),
        "worst_at": _number(caution.worst_at),
        "value": _number(caution.value),
        "limit": _number(caution.limit),
        "unit": caution.unit,
        "source": caution.source,
        "acknowledged": None if acknowledged is None else asdict(acknowledged),
    }


def _effect_json(effect: Effect) -> Json:
    return {
        "channel": effect.channel,
        "change": effect.change,
        "half_width": effect.half_width,
        "low": effect.low,
        "high": effect.high,
        "stands_out": effect.stands_out,
        "beside": list(effect.beside),
    }


def _prediction_json(prediction: PredictionCheck) -> Json:
    verdicts: Json = np.array(VERDICTS)[prediction.verdict].tolist()
    return {
        "revision": prediction.revision,
        "drives": list(prediction.drives),
        "verdict": verdicts,
        "sentences": list(prediction.sentences),
    }
