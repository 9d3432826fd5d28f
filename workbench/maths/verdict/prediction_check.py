"""The last correction held to its word: what it expected against what the next drive shows, cell by cell."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.verdict.revision_match import fit_of_revisions
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.evidence import STANDINGS, Evidence
from workbench.model.history import History, Json, Revision
from workbench.model.log import Drive, Log
from workbench.phrases import phrase

VERDICTS = ("not seen", "kept", "better", "not kept")
NOT_KEPT = VERDICTS.index("not kept")
PREDICTION_TOLERANCE = 0.005  # differences under half a percent are no broken word: common practice, no source
WARMER_K, HEAVIER_KPA = 10.0, 2.0  # differences of intake air between drives worth naming: common practice, no source


@dataclass(frozen=True, eq=False)
class PredictionCheck:
    """How far a correction did what it said.

    Attributes:
        revision: the correction.
        drives: ids of the drives that show it.
        expected: ratio it expected in every cell, NaN where it promised nothing, shape of the table.
        verdict: index into VERDICTS per cell.
        sentences: the sum of it, and the likely reason where it was not kept.
        left_outside: cells where it was not kept and what is left is outside the target, shape of the table.
    """

    revision: int
    drives: tuple[int, ...]
    expected: FloatArray
    verdict: IntArray
    sentences: tuple[str, ...]
    left_outside: BoolArray


def last_correction(history: History, head: Revision) -> Revision | None:
    """Find the correction that the head rests on, if nothing but corrections and their undoing came after it."""
    for revision in reversed(history.line(head.id)):
        if revision.origin == "measured":
            return revision
    return None


def drives_since(history: History, drives: tuple[Drive, ...], correction: Revision) -> tuple[Drive, ...]:
    """Return the drives that were driven on a correction, or on what was made of it by hand."""
    found = ((drive, history.driven(drive, correction.table.name)) for drive in drives)
    return tuple(drive for drive, each in found if each is not None and correction in history.line(each.id))


def check_prediction(
    history: History, correction: Revision, seen: Evidence, drives: tuple[Drive, ...]
) -> PredictionCheck:
    """Compare a correction with evidence gathered from drives on it alone.

    Args:
        history: for finding a wrong table.
        correction: a revision made by `correct`.
        seen: evidence against the correction's own table, from drives on it.
        drives: all drives of the session.
    """
    expected, half_width = _array(correction, "expected"), _array(correction, "half_width")
    difference = seen.ratio - expected
    allowed = np.maximum(np.hypot(seen.half_width, np.nan_to_num(half_width)), PREDICTION_TOLERANCE)
    known = np.isfinite(difference)
    disputed = seen.disputed if seen.disputed.size else np.zeros(known.shape, dtype=np.bool_)
    kept = known & ~disputed & (np.abs(difference) <= allowed)
    better = known & ~kept & ~disputed & (np.abs(seen.ratio - 1) < np.abs(expected - 1))
    verdict = np.select([kept, better, known], [1, 2, 3], 0).astype(np.int64)
    sentences = [_sum(correction, verdict, seen)]
    full = seen.full_throttle if seen.at_full is None else seen.full_throttle | seen.at_full
    limit = np.where(full, seen.full_target.limit, seen.part_target.limit)
    # Where drives disagree, the interval holds what each of them says.
    left = np.abs(seen.ratio - 1) + np.where(disputed, seen.half_width, 0.0)
    left_outside = (verdict == NOT_KEPT) & (left > limit)
    if np.any(disputed & known):
        sentences.append("Likely reason: the drives since then disagree.")
    elif np.any(verdict == NOT_KEPT):
        sentences.append(_reason(history, correction, seen, drives, verdict))
    if np.any(verdict == NOT_KEPT) and not left_outside.any():
        sentences.append("The remaining error is inside its target everywhere.")
    return PredictionCheck(correction.id, seen.drives, expected, verdict, tuple(sentences), left_outside)


def _array(correction: Revision, key: str) -> FloatArray:
    listed: Json = correction.arguments.get(key)
    values = np.array(listed if listed is not None else np.nan, dtype=np.float64)
    return values if values.shape == correction.table.shape else np.full(correction.table.shape, np.nan)


def _sum(correction: Revision, verdict: IntArray, seen: Evidence) -> str:
    counts = {name: int(np.sum(verdict == code)) for code, name in enumerate(VERDICTS)}
    seen_now = counts["kept"] + counts["better"] + counts["not kept"]
    text = phrase(
        "Correction {correction}: prediction met in {counts} of the {seen_now} cells driven since",
        correction=correction.id,
        counts=counts["kept"],
        seen_now=seen_now,
    )
    if counts["better"]:
        text += phrase(", and {counts} came out closer to target than predicted", counts=counts["better"])
    if not counts["not kept"]:
        return text + "."
    gap = np.where(verdict == 3, np.abs(seen.ratio - 1), 0.0)
    worst = tuple(int(i) for i in np.unravel_index(int(np.argmax(gap)), gap.shape))
    return phrase(
        "{text}; largest miss at {cell}: {ratio:+.1f} % remain.",
        text=text,
        cell=seen.table.cell_name(worst),
        ratio=100 * (seen.ratio[worst] - 1),
    )


def _reason(
    history: History, correction: Revision, seen: Evidence, drives: tuple[Drive, ...], verdict: IntArray
) -> str:
    now = [drive for drive in drives if drive.id in seen.drives]
    for drive in now:
        fit = fit_of_revisions(history, drive, correction.table.name)
        if fit is not None and (fit.doubtful or fit.unexplained):
            return phrase("Likely reason: another table was in the car. {sentence}", sentence=fit.sentence(drive))
    broken = verdict == 3
    standing_then = np.array(correction.arguments.get("standing", []), dtype=object)
    if standing_then.shape == broken.shape and np.mean(standing_then[broken] == "proven") < 0.5:
        return "Likely reason: the correction had thin evidence there."
    if np.mean(seen.standing[broken] == STANDINGS.index("proven")) < 0.5:
        return "Likely reason: the new drive has too few samples there; drive those cells longer."
    then_listed = correction.arguments.get("drives", [])
    then = [drive for drive in drives if isinstance(then_listed, list) and drive.id in then_listed]
    weather = _weather(then, now)
    if weather:
        return weather
    for effect in seen.effects:
        if effect.stands_out:
            return phrase("Likely reason: the error follows another channel. {sentence}", sentence=effect.sentence)
    return "No likely reason found: drive again under the same conditions before correcting further."


def _weather(then: list[Drive], now: list[Drive]) -> str:
    warmer = _mean("intake_temperature", now) - _mean("intake_temperature", then)
    heavier = _mean("barometer", now) - _mean("barometer", then)
    if abs(warmer) > WARMER_K:
        return phrase(
            "Likely reason: different weather; the intake air was {warmer:+.0f} K from the earlier drives.",
            warmer=warmer,
        )
    if abs(heavier) > HEAVIER_KPA:
        return phrase(
            "Likely reason: different weather; the air pressure was {heavier:+.1f} kPa from the earlier drives.",
            heavier=heavier,
        )
    return ""


def _mean(role: str, drives: list[Drive]) -> float:
    values = [_channel(drive.log, role) for drive in drives]
    there = np.concatenate(values) if values else np.zeros(0)
    there = there[np.isfinite(there)]
    return float(there.mean()) if there.size else float("nan")


def _channel(log: Log, role: str) -> FloatArray:
    name = next((channel for known, channel in log.roles.items() if known == role), None)
    channel = log.channel(name) if name is not None else None
    return np.zeros(0) if channel is None else channel.values
