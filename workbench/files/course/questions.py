"""Questions about channels whose course contradicts how they are named, signed, timed, or given in one unit."""

from collections.abc import Collection, Mapping
from dataclasses import replace

import numpy as np

from workbench.files.course.breath import asked_of_breath
from workbench.files.course.heard import Heard, trims_or_no_evidence, use_or_leave
from workbench.files.course.late_columns import late_columns
from workbench.files.course.learning import (
    is_exchanged,
    lost_its_minus,
    stands_from,
    turns_at,
)
from workbench.files.course.loop import (
    ENRICHED,
    Course,
    against,
    holds_both,
    is_copied,
    is_held_by_long,
    later_by,
    runs_against,
)
from workbench.files.course.mixtures import AS_LAMBDA, AS_PHI, asked_of_mixtures
from workbench.files.course.scales import asked_of_scales
from workbench.files.course.strange_air import strange_air
from workbench.files.course.unit_change import unit_changes
from workbench.files.course.wideband_moment import asked_of_wideband
from workbench.files.gaps.wrapped import wraps_at
from workbench.files.vocabulary.asking import Reading, ask
from workbench.model.arrays import FloatArray
from workbench.model.log import Alternative, Question, Role, typed_flag
from workbench.phrases import call, flag, join_phrases, phrase

_BANKS: tuple[tuple[Role, Role | None], ...] = (
    ("stft_1", "ltft_1"),
    ("stft_2", "ltft_2"),
    ("total_trim_1", None),
    ("total_trim_2", None),
)
_AIRS: tuple[Role, ...] = ("airflow", "sensor_signal", "manifold_pressure")
_AS_LOGGED = Reading("as-logged", "Above 0 fuel is added, as trims are usually logged.")
_TURNED = Reading("turned", "Above 0 fuel is taken away: the sign is turned.", -1.0)
FEWEST_ENRICHED = 10  # rows


def asked_of_courses(heard: Heard) -> list[Question]:
    """Hold channels against their course; what units or other moments tell stands before what that would spoil."""
    from threadpoolctl import threadpool_limits

    # On sums of this size threads wait for each other longer than they work.
    with threadpool_limits(limits=1, user_api="blas"):
        return _asked_of_courses(heard)


def _asked_of_courses(heard: Heard) -> list[Question]:
    if questions := _of_units(heard):
        return questions
    questions = [*asked_of_mixtures(heard), *(_of_late_columns(heard) or _of_strange_air(heard))]
    asked = {each.channel for each in questions}
    questions += [each for each in asked_of_wideband(heard) if each.channel not in asked]
    questions += [each for each in asked_of_breath(heard) if each.channel not in asked]
    asked = {each.channel for each in questions}
    # What is open tells of no trim.
    told = {role: each for role, each in heard.values.items() if heard.names[role] not in asked}
    return [*questions, *_of_loops(replace(heard, values=told, settled={*heard.settled, *asked}))]


def _of_late_columns(heard: Heard) -> list[Question]:
    late = late_columns(heard.time, heard.values)
    if late is None or {late[0], late[1]} & set(heard.stated):
        return []
    role, other, seconds = late
    name = heard.names[role]
    why = phrase(
        "{channel} and {other} tell of the same air, but fit each other only {seconds:.3g} s apart: {channel} is "
        "{way} by as much. Was a column put beside the others from elsewhere? If so, export the log anew.",
        channel=name,
        other=heard.names[other],
        seconds=abs(seconds),
        way="late" if seconds > 0 else "early",
    )
    left = phrase("It is not used as {role}.", role=role)
    return [use_or_leave(name, why, role, name, phrase("It counts at the moments it bears."), left)]


def _of_strange_air(heard: Heard) -> list[Question]:
    strange = strange_air(heard.time, heard.values)
    if strange is None or strange[0] in heard.stated or heard.names[strange[0]] in heard.settled:
        return []
    role, others = strange
    name = heard.names[role]
    why = phrase(
        "{channel} does not go with {others}, as the air of an engine does: does it come from another drive, or from "
        "another channel? If so, export the log anew.",
        channel=name,
        others=phrase(" and ").join(heard.names[each] for each in others),
    )
    left = phrase("It is not used as {role}.", role=role)
    return [use_or_leave(name, why, role, name, phrase("Its values count as they are."), left)]


def _of_loops(heard: Heard) -> list[Question]:
    """Ask about trims that a loop cannot have made as they are read; one thing of each bank, the surest first."""
    values = heard.values
    questions: list[Question] = []
    for short, long in _BANKS:
        if short not in heard.names or heard.names[short] in heard.settled:
            continue
        course = Course(
            heard.time,
            values[short],
            values.get(long) if long is not None else None,
            _measured(values),
            values.get("lambda_commanded"),
            values.get("fuel_system"),
        )
        if (whole := wraps_at(values[short])) is not None and short not in heard.stated:
            questions.append(_of_wrap(heard, short, whole))
            continue
        both = long is not None and long in heard.names and not {long, short} & set(heard.stated)
        questions += (long is not None and both and _of_two(heard, course, short, long)) or _of_one(
            heard, course, short, long, both=both
        )
    return list({each.channel: each for each in questions}.values())


def _of_two(heard: Heard, course: Course, short: Role, long: Role) -> list[Question]:
    """Ask whether one of two trims holds the other, or their names are exchanged."""
    names = heard.names
    if is_copied(course) or is_held_by_long(course):
        return [_of_doubled(heard, short, long, copied=is_copied(course))]
    if holds_both(course):
        return [_of_both(names[short], names[long], long)]
    return [_of_exchange(names[short], names[long], short)] if is_exchanged(course) else []


def _of_one(heard: Heard, course: Course, short: Role, long: Role | None, *, both: bool) -> list[Question]:
    """Ask about the moment, the sign and the scale of a bank's trims, and whether they stand."""
    names, stated, settled = heard.names, heard.stated, heard.settled
    if short not in stated and (late := later_by(course)) is not None:
        return [_of_another_moment(heard, short, late)]
    if runs_against(course):
        return _of_sign(course, names, short, long, settled)
    if short not in stated and lost_its_minus(course):
        return [_of_minus(heard, short)]
    if both and long is not None and names[long] not in settled and (open_ := _of_long(heard, course, short, long)):
        return open_
    return asked_of_scales(heard, course, short, long) if long is None or names.get(long) not in settled else []


def _of_exchange(short: str, long: str, role: Role) -> Question:
    why = phrase(
        "{long} is 0 wherever the loop is open, as a short trim is, while {short} is not: are their names exchanged?",
        short=short,
        long=long,
    )
    named = Alternative("as named", typed_flag("role", role, short), phrase("Both count as they are named."))
    turned = Alternative(
        phrase("{long} is the short one", long=long),
        typed_flag("role", role, long),
        phrase("It counts as the short trim; state the other one as the long trim, too."),
    )
    return Question(short, why, (named, turned))


def _of_wrap(heard: Heard, role: Role, whole: float) -> Question:
    short = heard.names[role]
    why = phrase(
        "{short} leaps by about {whole:.4g} from row to row and never reads what lies between: below 0 it was written "
        "as a count without a sign, {whole:.4g} too high. Export it anew, or compute the right one and give it the "
        "role: {compute}, {amend}. See whether the long trim was written so, too.",
        short=short,
        whole=whole,
        compute=call(
            "compute",
            "SESSION",
            '"Short trim"',
            f"\"where('{short}' > {whole / 2:.4g}, '{short}' - {whole:.4g}, '{short}')\"",
            flag("unit", "%"),
        ),
        amend=call("amend-log", "SESSION", "LOG", flag("role", f"'{role}=Short trim'")),
    )
    return trims_or_no_evidence(heard, short, why, role, phrase("It counts as it stands."), phrase("it truly leaps"))


def _of_minus(heard: Heard, role: Role) -> Question:
    short = heard.names[role]
    why = phrase(
        "{short} turns round at 0 again and again and is never below it: were minus signs lost? If so, export it anew.",
        short=short,
    )
    means = phrase("It counts as it stands.")
    return trims_or_no_evidence(heard, short, why, role, means, phrase("it never was below 0"), alone=True)


def _of_long(heard: Heard, course: Course, role: Role, long_role: Role) -> list[Question]:
    """Ask about a long trim that stands from some moment on, or changes its sign."""
    answer = phrase("the ECU held it there")
    airs = (heard.values.get(each) for each in _AIRS)
    air = next((each for each in airs if each is not None), None)
    short, long, use = heard.names[role], heard.names[long_role], phrase("It counts as it stands.")
    if (moment := stands_from(course)) is not None:
        why = phrase(
            "{long} moves up to {moment:.4g} s and then stands to the last digit, while {short} goes on: was it filled "
            "down, or not asked for any more? If so, export it anew.",
            long=long,
            short=short,
            moment=moment,
        )
    elif (moment := turns_at(course, air)) is not None:
        why = phrase(
            "{long} changes its sign at about {moment:.4g} s wherever the engine runs: does the file hold it in two "
            "ways? If so, export it in one.",
            long=long,
            moment=moment,
        )
        answer = phrase("the ECU changed it")
    else:
        return []
    return [trims_or_no_evidence(heard, long, why, role, use, answer)]


def _of_units(heard: Heard) -> list[Question]:
    """Ask about channels whose unit seems to change within the log."""
    questions = []
    for change in unit_changes(heard.time, heard.values):
        if change.role not in heard.names or change.role in heard.stated or heard.names[change.role] in heard.settled:
            continue
        name = heard.names[change.role]
        how = (
            phrase("reads {times:.3g} times as much, by all else", times=change.times)
            if np.isfinite(change.times)
            else phrase("reads as if in another scale")
        )
        why = phrase(
            "From about {moment:.4g} s on {channel} {how}: does its unit change within the file? If so, export it in "
            "one unit, or add both parts as logs of their own.",
            moment=change.moment,
            channel=name,
            how=how,
        )
        left = phrase("It is not used as {role}.", role=change.role)
        questions.append(
            use_or_leave(name, why, change.role, name, phrase("Its values count as they are."), left, answer="no")
        )
    return questions


def _measured(values: Mapping[Role, FloatArray]) -> FloatArray | None:
    """Give measured lambda, by its error where that is logged instead; None where neither is."""
    error = values.get("lambda_error")
    if "lambda_measured" in values or error is None:
        return values.get("lambda_measured")
    return np.asarray(values.get("lambda_commanded", np.ones(error.size)) * (1 + error / 100))


def _of_doubled(heard: Heard, role: Role, long_role: Role, *, copied: bool) -> Question:
    """Ask about a long trim that is the short one, or the sum of both."""
    short, long = heard.names[role], heard.names[long_role]
    if copied:
        why = phrase(
            "{long} reads the same as {short}, row for row: a column was doubled, and the long trim is not in the log. "
            "Was one at work? If so, export the log anew with both.",
            long=long,
            short=short,
        )
        none = Alternative("no", typed_flag("role", long_role, ""), phrase("The long trim counts as 0."))
        return Question(long, why, (none,))
    why = phrase(
        "{long} moves with {short} from row to row, as no trim that is learnt does: is it the sum of both? If so, "
        "state both: {total} {none}.",
        long=long,
        short=short,
        total=typed_flag("role", role.replace("stft", "total_trim"), long),
        none=typed_flag("role", role, ""),
    )
    return trims_or_no_evidence(heard, long, why, role, phrase("Both count, one on top of the other."), phrase("no"))


def _of_both(short: str, long: str, role: Role) -> Question:
    why = phrase(
        "{short} leaps with {long}, or is the same in open loop, as a short trim never is: does it hold the long one "
        "already?",
        short=short,
        long=long,
    )
    apart = Alternative("no", typed_flag("role", role, long), phrase("Both count, one on top of the other."))
    within = Alternative("yes", typed_flag("role", role, ""), phrase("{short} counts alone.", short=short))
    return Question(short, why, (apart, within))


def _of_another_moment(heard: Heard, role: Role, late: float) -> Question:
    short = heard.names[role]
    why = phrase(
        "{short} fits the rest of the log only {seconds:.3g} s {way}: there it stands while the loop is open, or "
        "follows the mixture. Was it put beside it from elsewhere? If so, log both at once, or shift it before.",
        short=short,
        seconds=abs(late),
        way="earlier" if late > 0 else "later",
    )
    return trims_or_no_evidence(heard, short, why, role, phrase("It counts at the moments it bears."), phrase("no"))


def _of_sign(
    course: Course, names: Mapping[Role, str], short: Role, long: Role | None, settled: Collection[str]
) -> list[Question]:
    """Ask whose sign is turned: of the mixture, where it reads lean while the engine is enriched, else of the trims."""
    mixture = names.get("lambda_measured", "")
    if mixture and mixture not in settled and _reads_lean_when_enriched(course):
        why = phrase(
            "{mixture} reads above 1 where the engine is enriched, and {short} is raised where it reads below 1: is it "
            "fuel over air?",
            mixture=mixture,
            short=names[short],
        )
        return [ask(mixture, why, (AS_LAMBDA, AS_PHI), "lambda")]
    why = phrase(
        "{short} is lowered where {mixture} reads lean and raised where it reads rich (correlation {against:.2f}), as "
        "no loop does. Is its sign turned?",
        against=against(course),
        short=names[short],
        mixture=mixture or names.get("lambda_error", "the mixture"),
    )
    if mixture:
        other = phrase(
            "Or is {mixture} fuel over air? Then state {flag}.",
            mixture=mixture,
            flag=typed_flag("unit", mixture, "phi"),
        )
        why = join_phrases(" ", (why, other))
    questions = [ask(names[short], why, (_AS_LOGGED, _TURNED), "%")]
    if long is not None and long in names and names[long] not in settled:
        why = phrase(
            "{short} runs against the mixture, as if its sign were turned. Is that of {long} turned, too?",
            short=names[short],
            long=names[long],
        )
        questions.append(ask(names[long], why, (_AS_LOGGED, _TURNED), "%"))
    return questions


def _reads_lean_when_enriched(course: Course) -> bool:
    if course.commanded is None or course.measured is None:
        return False
    rows = (course.commanded < 1 - ENRICHED) & np.isfinite(course.measured)
    return int(np.count_nonzero(rows)) >= FEWEST_ENRICHED and float(np.median(course.measured[rows])) > 1 + ENRICHED
