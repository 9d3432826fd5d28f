"""What the course of mixtures and pressures tells of their names: upside down, counted from 1, exchanged."""

from collections.abc import Collection, Mapping

import numpy as np

from workbench.files.course.even import STATE_STANDS_S, even_clock, held_on
from workbench.files.course.heard import Heard, use_or_leave
from workbench.files.vocabulary.asking import Reading, ask
from workbench.files.vocabulary.roles import role_by_name
from workbench.model.arrays import FloatArray
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import phrase

AS_LAMBDA = Reading("as-logged", "It is lambda: below 1 is rich.")
AS_PHI = Reading("fuel-over-air", "It is fuel over air: above 1 is rich, and lambda is its inverse.", inverse=True)
_EFFORTS: tuple[Role, ...] = ("load", "manifold_pressure", "airflow", "throttle")
HARDEST, HARD = 0.9, 0.6  # of the effort: what an engine is enriched at, and works at
LEAN, RICH, LEANEST, RICHEST = 1.05, 0.97, 1.5, 0.5  # lambda; past these it is no mixture of an engine that burns
FEWEST, MORE, MOSTLY = 10, 3.0, 0.8  # steps; times as many as are rich; of all that are lean
ENRICHED, NEARER = 0.95, 0.5  # lambda; how much nearer an error is to the command less 1 than to none
# Of a mixture that is worked out: rows; of its noise; a part, to which it is the command; correlation from row to row.
ROWS, NOISES, EXACTLY, ALIKE, LOWEST = 1000, 8.0, 0.002, 0.2, 0.1
AT_1, NEARLY_1 = 0.1, 0.05  # of the rows; lambda
STILL, MOVES = 3.0, 20.0  # kPa between a twentieth and nineteen twentieths


def asked_of_mixtures(heard: Heard) -> list[Question]:
    """Ask about a mixture that is lean where the engine works hardest, and an error that seems counted from 1."""
    values, names, time = heard.values, heard.names, heard.time
    clock = even_clock(time)
    effort = next((values[role] for role in _EFFORTS if role in values), None)
    questions: list[Question] = []
    if clock.size < FEWEST:
        return questions
    mixtures: tuple[Role, ...] = ("lambda_commanded", "lambda_measured")
    for role in mixtures:
        if effort is None or role not in names or names[role] in heard.settled:
            continue
        if _leans_under_load(held_on(clock, time, values[role], STATE_STANDS_S), held_on(clock, time, effort)):
            why = phrase(
                "{channel} lies above 1 where the engine works hardest, and hardly elsewhere: is it fuel over air?",
                channel=names[role],
            )
            questions.append(ask(names[role], why, (AS_LAMBDA, AS_PHI), "lambda"))
    if set(mixtures) <= set(names) and names["lambda_measured"] not in heard.settled:
        most = _worked_out(values["lambda_measured"], values["lambda_commanded"])
        if most is not None and "lambda_measured" not in heard.stated:
            questions.append(_of_worked_out(names["lambda_measured"], names["lambda_commanded"], most))
    if "lambda_measured" in names and names["lambda_measured"] not in heard.settled:
        questions += _of_clipped(heard) if all(each.channel != names["lambda_measured"] for each in questions) else []
    if {"lambda_error", "lambda_commanded"} <= set(names) and "lambda_error" not in heard.stated:
        asked = held_on(clock, time, values["lambda_commanded"], STATE_STANDS_S)
        if _counts_from_1(held_on(clock, time, values["lambda_error"]), asked):
            questions.append(_from_1(names["lambda_error"]))
    return questions


def _leans_under_load(mixture: FloatArray, effort: FloatArray) -> bool:
    known = np.isfinite(mixture) & np.isfinite(effort) & (mixture > RICHEST) & (mixture < LEANEST)
    if np.count_nonzero(known) < 10 * FEWEST:
        return False
    mixture, effort = mixture[known], effort[known]
    hardest, hard = np.quantile(effort, (HARDEST, HARD))
    lean, rich = mixture > LEAN, mixture < RICH
    there = int(np.count_nonzero(lean & (effort >= hardest)))
    if there < FEWEST or there < MORE * np.count_nonzero(rich & (effort >= hardest)):
        return False
    return float(np.mean(effort[lean] >= hard)) >= MOSTLY


def _worked_out(measured: FloatArray, commanded: FloatArray) -> float | None:
    """Tell whether a mixture never leaves its command by more than even noise, and by how much that is at most, %.

    A sensor is late: at each step of the command, and in each cut, it lies apart from it for a while, and what it reads
    at one row it nearly reads at the next.
    """
    known = np.isfinite(measured) & np.isfinite(commanded) & (commanded > RICHEST)
    if np.count_nonzero(known) < ROWS or np.count_nonzero(commanded[known] < RICH) < FEWEST:
        return None
    apart = np.log(np.maximum(measured[known], LOWEST) / commanded[known])
    apart = apart - np.median(apart)
    noise = 1.4826 * float(np.median(np.abs(apart)))
    most = float(np.max(np.abs(apart)))
    if most > max(NOISES * noise, EXACTLY):
        return None
    before, after = apart[:-1], apart[1:]
    alike = float(np.corrcoef(before, after)[0, 1]) if before.std() > 0 and after.std() > 0 else 0.0
    return 100 * most if most <= EXACTLY or abs(alike) < ALIKE else None


def _of_worked_out(measured: str, commanded: str, most: float) -> Question:
    why = phrase(
        "{measured} never leaves {commanded} by more than {most:.1f} %, not even in a fuel cut or where the command "
        "steps, as every sensor does: it is worked out from the command and measures nothing. Which is it?",
        measured=measured,
        commanded=commanded,
        most=most,
    )
    left = phrase("The cells rest on the trims alone.")
    used = phrase("It counts as what the sensor read.")
    return use_or_leave(measured, why, "lambda_measured", measured, used, left, answer="measured")


def _of_clipped(heard: Heard) -> list[Question]:
    """Ask about a wideband that reads 1 at most, and that often: what is lean was cut off."""
    measured, name = heard.values["lambda_measured"], heard.names["lambda_measured"]
    there = measured[np.isfinite(measured)]
    if "lambda_measured" in heard.stated or there.size < ROWS or float(there.max()) != 1.0:
        return []
    at_1, short_of_it = float(np.mean(there == 1.0)), float(np.mean((there < 1.0) & (there > 1 - NEARLY_1)))
    if at_1 < AT_1 or short_of_it < AT_1:
        return []
    why = phrase(
        "{channel} reads 1 in {share:.0%} of its rows and never more, not even in fuel cuts: its range ends there, or "
        "what is lean was cut off, so that it reads too rich on average. Which is it?",
        channel=name,
        share=at_1,
    )
    left = phrase("The cells rest on the trims alone.")
    return [use_or_leave(name, why, "lambda_measured", name, phrase("It counts as what the sensor read."), left)]


def _counts_from_1(error: FloatArray, commanded: FloatArray) -> bool:
    rows = (commanded < ENRICHED) & (commanded > RICHEST) & np.isfinite(error)
    if np.count_nonzero(rows) < FEWEST:
        return False
    wanted = commanded[rows] - 1
    seen = error[rows] / 100
    return float(np.median(np.abs(seen - wanted))) < NEARER * float(np.median(np.abs(seen)))


def _from_1(name: str) -> Question:
    why = phrase(
        "{channel} reads where the engine is enriched what is commanded there less 1. Does it count from 1 and not "
        "from the command? Then leave it out and add measured lambda as a computed channel: 1 + '{channel}' / 100.",
        channel=name,
    )
    used, left = "The engine ran that much richer.", "The cells rest on the trims alone."
    return use_or_leave(name, why, "lambda_error", name, used, left, answer="from the command")


def exchanged_pressures(
    columns: Mapping[str, FloatArray], units: Mapping[str, str], stated: Collection[Role]
) -> list[Question]:
    """Ask whether the names of manifold pressure and barometer are exchanged: the barometer moves, the other stands.

    Args:
        columns: name -> values in base units, shape (rows,), NaN where nothing was read.
        units: name -> unit as it was given.
        stated: roles that the user stated.
    """
    pair: tuple[Role, Role] = ("manifold_pressure", "barometer")
    named: dict[str, str] = {}
    for name in columns:
        named.setdefault(role_by_name(name, units[name]) or "", name)
    if not set(pair) <= set(named) or set(pair) & set(stated):
        return []
    spreads = []
    for role in pair:
        column = columns[named[role]]
        known = column[np.isfinite(column)]
        spreads.append(float(np.subtract(*np.quantile(known, (0.95, 0.05)))) if known.size >= FEWEST else np.nan)
    if not (spreads[0] < STILL and spreads[1] > MOVES):
        return []
    inner, outer = (named[role] for role in pair)
    why = phrase(
        "{outer} moves as the pressure in a manifold does, while {inner} stands as a barometer: are their names "
        "exchanged?",
        outer=outer,
        inner=inner,
    )
    turned = Alternative(
        phrase("{outer} is the manifold's", outer=outer),
        typed_flag("role", pair[0], outer),
        phrase("It counts as manifold pressure."),
    )
    kept = Alternative("as named", typed_flag("role", pair[0], inner), phrase("Both count as they are named."))
    return [Question(inner, why, (kept, turned))]
