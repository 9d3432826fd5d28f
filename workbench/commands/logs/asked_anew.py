"""What a log that is read would be asked of once more: the same that reading it with these roles and units asks."""

from collections.abc import Collection, Mapping

from workbench.files.channels.crosschecks import cross_check
from workbench.files.channels.interpret import asked_of_course, asked_of_names
from workbench.files.channels.measured import Measured
from workbench.files.channels.settling import Settled, settle
from workbench.files.vocabulary.recording import Field
from workbench.files.vocabulary.roles import Cast
from workbench.files.vocabulary.units import find_unit
from workbench.model.log import Channel, Log, Question, Role


def asked_of_log(
    log: Log,
    stated: Mapping[Role, str],
    settled: Collection[str],
    afr: float,
    *,
    assuming: bool = True,
    scales: Mapping[str, float] | None = None,
) -> list[Question]:
    """Ask of a log that is read what reading it with these roles and units would ask.

    Args:
        log: with its channels in base units, and the roles that they play.
        stated: roles that the user stated; the channel is empty for one that nothing is to play.
        settled: names of channels whose unit the user stated, or that are asked about already.
        afr: air-fuel ratio at lambda 1 of the session's fuel.
        assuming: whether that counts, too, which a unit that is not given leaves open.
        scales: channel -> air-fuel ratio at lambda 1 that it was just read with; others are offered then.
    """
    scaled = scales or {}
    measured = {
        each.name: _as_measured(each, each.name in settled, scaled.get(each.name, 1.0)) for each in log.channels
    }
    playing = {role: measured[name] for role, name in log.roles.items() if name in measured}
    time = log.time.values
    questions = settle(playing, list(measured.values()), afr, {}).questions if assuming else []
    found = Settled(dict(playing), questions=questions)
    checked = cross_check(found, Cast(dict(log.roles)), list(measured.values()), time, stated)
    seconds = float(time[-1] - time[0]) if time.size else 0.0
    named = asked_of_names(playing, log.roles, list(measured.values()), stated, seconds, playing)
    open_ = {each.channel for each in (*checked.questions, *named)} | set(settled)
    return [*checked.questions, *named, *asked_of_course(checked.by_role, open_, time, stated)]


def _as_measured(channel: Channel, stated: bool, scale: float) -> Measured:
    """Give a channel of a log as one whose unit is understood; its file holds as many times its values."""
    known = find_unit(channel.unit) if channel.unit else None
    given = channel.unit_read or channel.unit
    return Measured(
        Field(channel.name, given, channel.values * scale), known, channel.values, stated or channel.computed
    )
