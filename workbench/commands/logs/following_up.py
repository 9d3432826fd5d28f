"""What a log leaves open once more was stated of it: the same that reading it with these statements would ask."""

from collections.abc import Collection, Mapping
from dataclasses import replace

from workbench.commands.logs.answers import remembered_units
from workbench.files.channels.crosschecks import cross_check
from workbench.files.channels.interpret import asked_of_course, asked_of_names
from workbench.files.channels.measured import Measured
from workbench.files.channels.settling import Settled, settle
from workbench.files.vocabulary.recording import Field
from workbench.files.vocabulary.roles import STATED, Cast
from workbench.files.vocabulary.units import find_unit
from workbench.model.log import Channel, Drive, Log, Question, Role
from workbench.model.state import DriveCorrected, State


def with_follow_ups(
    state: State,
    drive: Drive,
    change: DriveCorrected,
    fresh: Mapping[Role, str],
    units: Collection[str],
    given: Collection[str],
) -> DriveCorrected:
    """Give a correction of a log with the questions that it raises: those that were not put before.

    Args:
        state: of the session.
        drive: the log as it is.
        change: what was said of it.
        fresh: role -> channel, as stated now; the channel is empty for a role that nothing is to play.
        units: names of channels whose unit was stated now.
        given: the flags that were typed.
    """
    before = drive.log.renamed(change.renamed)
    after = state.derived(change.applied(drive)).log
    stated = {role: name for role, name in before.roles.items() if before.guesses.get(role, STATED) == STATED}
    afr = state.settings.stoichiometric_afr
    known = {(each.channel, each.question) for each in (*before.questions, *_asked(before, stated, (), afr))}
    raised = [
        each
        for each in _asked(after, {**stated, **fresh}, units, afr)
        if (each.channel, each.question) not in known and not any(each.answered_by(word) for word in given)
    ]
    return replace(change, asked=tuple(raised))


def _asked(log: Log, stated: Mapping[Role, str], units: Collection[str], afr: float) -> list[Question]:
    settled = {*units, *remembered_units(log), *(each.channel for each in log.questions)}
    return _asked_of_roles(log, stated, settled, afr)


def _asked_of_roles(log: Log, stated: Mapping[Role, str], settled: Collection[str], afr: float) -> list[Question]:
    """Ask of a log that is read what reading it with these roles and units would ask.

    Args:
        log: with its channels in base units, and the roles that they play.
        stated: roles that the user stated; the channel is empty for one that nothing is to play.
        settled: names of channels whose unit the user stated, or that are asked about already.
        afr: air-fuel ratio at lambda 1 of the session's fuel.
    """
    measured = {each.name: _as_measured(each, each.name in settled) for each in log.channels}
    playing = {role: measured[name] for role, name in log.roles.items() if name in measured}
    time = log.time.values
    settling = settle(playing, list(measured.values()), afr, {})
    found = Settled(dict(playing), questions=settling.questions)
    checked = cross_check(found, Cast(dict(log.roles)), list(measured.values()), time, stated)
    seconds = float(time[-1] - time[0]) if time.size else 0.0
    named = asked_of_names(playing, log.roles, list(measured.values()), stated, seconds, playing)
    open_ = {each.channel for each in (*checked.questions, *named)} | set(settled)
    return [*checked.questions, *named, *asked_of_course(checked.by_role, open_, time, stated)]


def _as_measured(channel: Channel, stated: bool) -> Measured:
    """Give a channel of a log as one whose unit is understood."""
    known = find_unit(channel.unit) if channel.unit else None
    given = channel.unit_read or channel.unit
    return Measured(Field(channel.name, given, channel.values), known, channel.values, stated or channel.computed)
