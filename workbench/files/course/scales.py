"""Questions about the sign and the scale of trims, by what trims and mixture owe each other within a range of the air.

Limits were set on seeds 21 to 80 of `tests/family` (curves, grids, 14 conditions: 540 logs): of sound ones those that
tell have slopes of 0.67 to 1.4, and 3 were asked about falsely. Of the same logs 184 tell a sign that is turned, 156 a
long trim of twice its size, 123 one of half of it, 44 both trims of half their size, 95 of five times.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from workbench.files.course.balance import Around, Slope, given_back, least_given_back, moved_by_trims
from workbench.files.course.heard import Heard, trims_or_no_evidence
from workbench.files.course.loop import AGAINST, LATEST_S, MANY_TIMES, SOONEST_S, Course
from workbench.files.vocabulary.asking import Reading, ask
from workbench.model.log import Question, Role
from workbench.phrases import phrase

SURE = 2.0  # standard errors
TELLS, MOVED = 0.55, 0.2  # of what one gives back: the share that goes with the other; %, by how much that moves
WOULD_TELL = 0.5  # the share that would go with it if all were given back, below which the missing of it tells nothing
TOO_LARGE, TOO_SMALL = 0.62, 1.5
WITHOUT_DRIFT = 0.8, 1.25  # the same, where what goes with time alone tells nothing
# Given back at most, of what moves so far (%); nothing of what moves less.
LITTLE, NEXT_TO_NONE, FAR_MOVED, MUCH_MOVED, SOME_MOVED = 0.6, 0.45, 0.75, 0.6, 0.3
# Of what a long trim moves in one range: sound cars give back half and more; and the share that goes with it, next to
# none of a trim that was not at work.
UNANSWERED, UNRELATED = 0.4, 0.2
# %, by how much a long trim moves that tells its scale, and of the steps in which it is logged: what moves by less than
# these does what its rounding does.
MOVED_FOR_SCALE, OF_STEPS = 0.4, 0.7
SURELY_AGAINST = 0.3  # the share that goes with it the wrong way: 460 logs of sound cars have 0.13 at most
SURER = 3.0  # standard errors
MIXTURE_TELLS, MOST, LEAST, USUAL = 0.3, 1.05, 0.15, 0.65  # of the mixture's moves; more, less, and as usual
AS_PARTS = 30.0  # % given back of each %: a long trim that is a part of 1; sound cars' have 11 at most
FALSE_SCALES = (2.0, 4.0, 5.0, 10.0)
AS_LOGGED = Reading("as-logged", "It counts as it is logged: 1 is a trim of +1 %.")
_AS_LOGGED_BOTH = Reading("as-logged", "Both count as they are logged: 1 is a trim of +1 %.")
_TURNED = Reading("turned", "Above 0 fuel is taken away: the sign is turned.", -1.0)

LOST_BELOW_0 = (
    "{long} is never below 0, and in one range of the air it moves by {moved:.2g} % while {short} gives back "
    "{size:.2g} % of each %, where 1 % was expected: was it lost below 0, and filled with what stood above? If so, "
    "export it anew."
)
NOTHING_BACK = (
    "{long} moves by {moved:.2g} % where the engine breathes alike, and {short} gives back {size:.2g} % of each %, "
    "where 1 % was expected. Is {long} the trim that was at work, and of the same moments? If not, export it anew."
)


def asked_of_scales(heard: Heard, course: Course, short: Role, long: Role | None) -> list[Question]:
    """Ask about trims whose sign or scale cannot be what it is read as; nothing where the log does not tell.

    Args:
        heard: the channels.
        course: of the bank.
        short: role of its short trim.
        long: role of its long one; None where it has none.
    """
    around = _around(heard)
    if around is None:
        return []
    names = heard.names
    given = given_back(course, around)
    if long is not None and long in names and given is not None and (given.moved > MOVED or _is_in_parts(given)):
        if given.fit >= TELLS:
            far = _far_from_1(given, TOO_LARGE, TOO_SMALL)
            if far == _far_from_1(given_back(course, around, drifting=True), *WITHOUT_DRIFT) and (
                _is_in_parts(given) or _tells(far, given, course)
            ):
                of_sign = far < 0 and given.size < 0
                return [
                    _of_sign(names, short, long, given, both=not _follows(course))
                    if of_sign
                    else _of_one_scale(names, short, long, given)
                ]
            if short not in heard.stated and (least := _lost_below_0(course, around)) is not None:
                return [_of_unanswered(heard, short, long, least, LOST_BELOW_0)]
        elif short not in heard.stated and _gives_nothing(given):
            return [_of_unanswered(heard, short, long, given, NOTHING_BACK)]
    moved = moved_by_trims(course, around)
    if moved is not None and moved.fit >= MIXTURE_TELLS:
        low, high = moved.size - SURER * moved.unsure, moved.size + SURER * moved.unsure
        if low > MOST or high < LEAST:
            trims = [short] if long is None or long not in names else [short, long]
            return _of_both_scales(names, trims, moved)
    return []


def _is_in_parts(given: Slope) -> bool:
    """Tell whether a long trim that hardly moves in % is answered as if it moved a hundred times as far."""
    return given.fit >= TELLS and given.size - SURER * given.unsure > AS_PARTS


def _tells(far: int, given: Slope, course: Course) -> bool:
    """Tell whether a slope far from 1 tells something: a scale only where the long trim moves more than its steps."""
    levels = np.unique(course.long[np.isfinite(course.long)]) if course.long is not None else np.empty(0)
    step = float(np.diff(levels).min(initial=np.inf)) if levels.size > 1 else 0.0
    return far != 0 and (given.size < 0 or given.moved > max(MOVED_FOR_SCALE, OF_STEPS * step))


def _far_from_1(given: Slope | None, least: float, most: float) -> int:
    """Tell whether surely more is given back than the most (1), or less than the least (-1), else 0.

    A sensor that drifts while the long trim learns goes with it as a wrong scale would: what tells a scale has to stand
    beside what goes with time alone, too.
    """
    if given is None:
        return 0
    if given.size < 0 or given.size + SURE * given.unsure < least:
        return -1
    return int(given.size - SURE * given.unsure > most)


def _lost_below_0(course: Course, around: Around) -> Slope | None:
    """Give what next to nothing answers in one range, of a long trim that is never below 0; None where all is well."""
    if course.measured is None or course.long is None or float(np.nanmin(course.long)) < 0:
        return None
    least = least_given_back(course, around)
    if least is None or least.fit > UNRELATED or least.size + SURE * least.unsure > UNANSWERED:
        return None
    return least


def _gives_nothing(given: Slope) -> bool:
    """Tell whether next to nothing of the long trim's moves is given back, or the more is taken.

    Where the short trim moves much further for other reasons, as where pressure and trims are read seconds apart, what
    is known of the air is not what was breathed, and nothing follows from it.
    """
    most = given.size + SURE * given.unsure
    would_tell = given.fit / given.size**2 > WOULD_TELL if given.size else False
    if given.size + SURER * given.unsure < 0 and given.fit > SURELY_AGAINST and given.moved > SOME_MOVED:
        return True
    least = LITTLE if given.moved > FAR_MOVED else NEXT_TO_NONE if given.moved > MUCH_MOVED else 0.0
    return most < least and given.moved > SOME_MOVED and would_tell


def _around(heard: Heard) -> Around | None:
    airs: tuple[Role, ...] = ("airflow", "sensor_signal", "manifold_pressure")
    air = next((role for role in airs if role in heard.values), None)
    if air is None:
        return None
    values = heard.values
    return Around(values[air], air == "airflow", values.get("engine_speed"), values.get("coolant_temperature"))


def _follows(course: Course) -> bool:
    """Tell whether the short trim follows the mixture, so that its sign is right."""
    lags, found = course.followed
    near = found[(lags >= SOONEST_S) & (lags <= LATEST_S)]
    return bool(near.size) and float(near.max()) >= AGAINST and float(near.max()) > MANY_TIMES * -float(near.min())


def _of_sign(names: Mapping[Role, str], short: Role, long: Role, found: Slope, *, both: bool) -> Question:
    why = phrase(
        "Where the engine breathes alike, {short} rises by {rise:.2g} % with each % of {long}, where it has to fall by "
        "as much: one of the two has its sign turned. Which?",
        short=names[short],
        long=names[long],
        rise=-found.size,
    )
    return _of_either(names[long], names[short] if both else "", why, (_TURNED, _TURNED))


def _of_one_scale(names: Mapping[Role, str], short: Role, long: Role, found: Slope) -> Question:
    times = 0.01 if _is_in_parts(found) else _scales(1 / found.size)[0]
    why = phrase(
        "Where the engine breathes alike, {short} gives back {size:.2g} % of each % that {long} takes, where 1 % was "
        "expected: one of the two is logged in another scale. Which?",
        short=names[short],
        long=names[long],
        size=found.size,
    )
    return _of_either(names[long], names[short], why, (_times(1 / times), _times(times)))


def _of_either(long: str, short: str, why: str, readings: tuple[Reading, Reading]) -> Question:
    """Ask which of two trims is read wrongly; one answer settles both.

    Args:
        long: name of the long trim.
        short: name of the short one; empty where that is known to be right.
        why: the question.
        readings: of the long and of the short one, if it is that.
    """
    question = ask(long, why, (_AS_LOGGED_BOTH, readings[0]), "%")
    if not short:
        return question
    other = ask(short, why, (_AS_LOGGED_BOTH, readings[1]), "%").alternatives[1]
    alternatives = [
        replace(each, answer=phrase("{channel} {answer}", channel=name, answer=each.answer))
        for name, each in ((long, question.alternatives[1]), (short, other))
    ]
    return replace(question, alternatives=(question.alternatives[0], *alternatives))


def _of_both_scales(names: Mapping[Role, str], roles: list[Role], found: Slope) -> list[Question]:
    """Ask about the scale of all trims of a bank: the mixture moves by more than they do, or by next to nothing."""
    times = sorted(_scales(found.size / USUAL)[:2], reverse=True)
    questions = []
    for role in roles:
        why = phrase(
            "Measured lambda moves by {size:.2g} % with each % of {trims}, where the trims move it by 1 % and a sensor "
            "shows no more of that, and seldom less than half. Is {mine} logged in another scale?",
            size=found.size,
            trims=" + ".join(names[each] for each in roles),
            mine=names[role],
        )
        questions.append(ask(names[role], why, (AS_LOGGED, *map(_times, times)), "%"))
    return questions


def _of_unanswered(heard: Heard, short: Role, long: Role, found: Slope, asked: str) -> Question:
    """Ask about a long trim whose moves next to nothing answers, by one of the sentences above."""
    names = heard.names
    why = phrase(asked, long=names[long], short=names[short], moved=found.moved, size=found.size)
    lost = asked == LOST_BELOW_0
    others = (values for role, values in heard.values.items() if role in ("ltft_1", "ltft_2") and role != long)
    alone = lost and any(not np.any(values < 0) for values in others)
    answer = phrase("it never was below 0") if lost else phrase("it was at work, at these moments")
    means = phrase("Both count as they stand.")
    return trims_or_no_evidence(heard, names[long], why, short, means, answer, alone=alone)


def _scales(times: float) -> list[float]:
    """Give the scales that may be meant by so many times, the nearest first: those that are met, and one over each."""
    known = [*FALSE_SCALES, *(1 / each for each in FALSE_SCALES)]
    return sorted(known, key=lambda each: abs(float(np.log(max(times, 1e-3) / each))))


def _times(factor: float) -> Reading:
    shown = 10.0 if factor < AS_PARTS else 0.1
    means = phrase(
        "Each value counts {factor:g} times: {shown:g} is a trim of {trim:+g} %.",
        factor=factor,
        shown=shown,
        trim=shown * factor,
    )
    return Reading(f"times-{factor:g}", means, factor)
