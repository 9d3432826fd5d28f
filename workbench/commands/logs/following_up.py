"""What a log leaves open once more was stated of it: the same that reading it with these statements would ask."""

from collections.abc import Collection, Mapping
from dataclasses import replace

from workbench.commands.logs.answers import flags_of, remembered_units
from workbench.commands.logs.asked_anew import asked_of_log
from workbench.commands.logs.second_looks import Statement, is_confirmed, second_look
from workbench.files.vocabulary.roles import STATED
from workbench.model.log import Drive, Log, Question, Role
from workbench.model.state import DriveCorrected, State


def with_follow_ups(
    state: State,
    drive: Drive,
    change: DriveCorrected,
    fresh: Mapping[Role, str],
    units: Mapping[str, str],
    scales: Mapping[str, float],
) -> DriveCorrected:
    """Give a correction of a log with the questions that it raises: those that were not put before.

    Args:
        state: of the session.
        drive: the log as it is.
        change: what was said of it.
        fresh: role -> channel, as stated now; the channel is empty for a role that nothing is to play.
        units: channel -> unit, or the word of an answer, as stated now.
        scales: channel -> air-fuel ratio at lambda 1 that it is scaled with, as stated now.
    """
    given = flags_of(units, scales, fresh)
    before = drive.log.renamed(change.renamed)
    after = state.derived(change.applied(drive)).log
    stated = {role: name for role, name in before.roles.items() if before.guesses.get(role, STATED) == STATED}
    afr = state.settings.stoichiometric_afr
    look = second_look(Statement(after, fresh, units, stated, before.questions, afr), given)
    # What arises of a statement alone is asked once that is confirmed.
    asked = () if is_confirmed(before.questions, given) else _asked(before, stated, (), afr)
    known = {(each.channel, each.question) for each in (*before.questions, *asked)}
    raised = [
        each
        for each in _asked(after, {**stated, **fresh}, units, afr, scales)
        if (each.channel, each.question) not in known
        and each.question not in look.moot
        and not any(each.answered_by(word) for word in given)
    ]
    return replace(change, asked=(*look.questions, *raised))  # what else is odd may come of what was stated


def _asked(
    log: Log, stated: Mapping[Role, str], units: Collection[str], afr: float, scales: Mapping[str, float] | None = None
) -> list[Question]:
    settled = {*units, *remembered_units(log), *(each.channel for each in log.questions)}
    return asked_of_log(log, stated, settled, afr, scales=scales or {})
