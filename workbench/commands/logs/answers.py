"""What reading a log could not decide: shown with its alternatives, and answered."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from workbench.errors import InputError
from workbench.files.channels.recasting import restate, stated_units
from workbench.model.history import Json
from workbench.model.log import ROLES, Alternative, Drive, Log, Question, Role, typed_flag
from workbench.model.state import Reread, State
from workbench.phrases import call, phrase


@dataclass(frozen=True)
class Answers:
    """What amending a log says about its channels.

    Attributes:
        reread: channel -> how its values become those of the unit stated; empty name for the time.
        answered: the questions that this answers.
        roles: role -> channel, from answers that choose a channel.
    """

    reread: Mapping[str, Reread] = field(default_factory=dict)
    answered: tuple[str, ...] = ()


def read_units(words: Sequence[str]) -> dict[str, str]:
    """Read units stated as CHANNEL=UNIT.

    Raises:
        InputError: when a word is not of that form, or one channel is stated twice.
    """
    units: dict[str, str] = {}
    for word in words:
        name, equals, unit = word.rpartition("=")
        if not equals or not name.strip():
            raise InputError(
                phrase("The unit {word!r} cannot be read.", word=word), "Write CHANNEL=UNIT, as in 'Coolant=degF'."
            )
        if name.strip() in units:
            raise InputError(
                phrase("The unit of {name!r} is stated twice.", name=name.strip()), "Leave one of them out."
            )
        units[name.strip()] = unit.strip()
    return units


def said_units(units: Mapping[str, str]) -> tuple[str, ...]:
    """Give the notes by which units that were stated are known again for the next log of the same shape."""
    return tuple(phrase("Unit stated: '{name}={unit}'.", name=name, unit=unit) for name, unit in units.items())


def remembered_units(log: Log) -> dict[str, str]:
    """Give the units that were stated for a log."""
    return dict(stated_units(log))


def questions_json(log: Log) -> list[Json]:
    """Give what is to be answered about a log as JSON."""
    return [
        {
            "channel": each.channel,
            "question": each.question,
            "alternatives": [{"answer": a.answer, "flag": a.flag, "means": a.means} for a in each.alternatives],
        }
        for each in log.questions
    ]


def question_lines(log: Log) -> tuple[str, ...]:
    """Give the same for people."""
    lines: list[str] = []
    for each in log.questions:
        lines.append(f"  Question: {each.question}")
        lines += [f"    {a.flag}: {a.means}" for a in each.alternatives]
    if lines:
        lines.append("  The log is not used as evidence until this is answered.")
    return tuple(lines)


def answer(
    drive: Drive,
    units: Mapping[str, str],
    ratios: Mapping[str, float],
    roles: Mapping[Role, str],
    after: frozenset[str],
) -> Answers:
    """Work out what statements about a log's channels change, and which of its questions they answer.

    Args:
        drive: the log.
        units: channel -> unit.
        ratios: channel -> air-fuel ratio at lambda 1.
        roles: role -> channel, as stated.
        after: the channels that play a role then; what is asked of others is of no consequence.

    Raises:
        InputError: when a channel is not there, or its values do not tell what they would be in that unit.
    """
    log = drive.log
    given = flags_of(units, ratios, roles)
    found: dict[str, Reread] = {}
    answered: list[str] = []
    chosen_of: set[str] = set()
    for each in log.questions:
        chosen = next((a for word in given if (a := each.answered_by(word))), None) or each.answered_by(*given)
        chosen = chosen or _of_another_fuel(each, ratios)
        if chosen is not None:
            answered.append(each.question)
            about = chosen.channel or each.channel
            chosen_of.add(about)
            if chosen.changes_values:
                key = about if log.channel(about) is not None else ""
                found[key] = Reread.as_answered(chosen)
        elif _is_idle(log, each, after) or _is_stated(each, units, roles):
            answered.append(each.question)
    for name, unit in units.items():
        of_clock = log.channel(name) is None and any(each.channel == name for each in log.questions)
        if name not in chosen_of and not of_clock:  # a unit that no answer proposed holds all the same
            found[name] = restate(log, name, unit)
    for name, ratio in ratios.items():
        if not any(_of_another_fuel(each, {name: ratio}) for each in log.questions):
            raise InputError(
                phrase(
                    "With what {name!r} of log {drive} was scaled is not an open question, and the log "
                    "does not store it.",
                    name=name,
                    drive=drive.id,
                ),
                phrase("Add the log again with {typed_flag}.", typed_flag=typed_flag("afr-of", name, f"{ratio:g}")),
            )
    for name, note in zip(units, said_units(units), strict=True):
        key = name if log.channel(name) is not None else ""
        base = "" if (channel := log.channel(name)) is None else channel.unit
        found[key] = replace(found.get(key, Reread(base, 1.0, 0.0)), note=note)
    return Answers(found, tuple(answered))


def _of_another_fuel(question: Question, ratios: Mapping[str, float]) -> Alternative | None:
    """Give what a stated air-fuel ratio answers, where a question offers such ratios: one that it names, or another."""
    ratio = ratios.get(question.channel)
    if ratio is None:
        return None
    start = typed_flag("afr-of", question.channel, "0").rpartition("=")[0]
    for each in question.alternatives:
        option, _, offered = each.flag.strip("'").rpartition("=")
        if option == start:
            means = phrase("Lambda is this channel over {scale:g}.", scale=ratio)
            stated = typed_flag("afr-of", question.channel, f"{ratio:g}")
            return Alternative(f"{ratio:g}", stated, means, "lambda", each.factor * float(offered) / ratio)
    return None


def flags_of(units: Mapping[str, str], ratios: Mapping[str, float], roles: Mapping[Role, str]) -> list[str]:
    """Write what is stated as it is typed."""
    given = [typed_flag("unit", name, unit) for name, unit in units.items()]
    given += [typed_flag("afr-of", name, f"{ratio:g}") for name, ratio in ratios.items()]
    return given + [typed_flag("role", role, name) for role, name in roles.items()]


def _is_idle(log: Log, each: Question, after: frozenset[str]) -> bool:
    """Tell whether a question is about a channel that plays no role, and to which it offers none."""
    offered = any(
        w.startswith(typed_flag("role", "", "")[:6]) and w.endswith(f"={each.channel}'")
        for a in each.alternatives
        for w in a.flags
    )
    return (
        log.channel(each.channel) is not None and not offered and each.channel not in after and not each.is_of_scaling
    )


def _is_stated(each: Question, units: Mapping[str, str], roles: Mapping[Role, str]) -> bool:
    """Tell whether a unit or a role was stated for what a question is about, if otherwise than it proposed."""
    asked = {role for role in ROLES if each.asks_role(role)}
    all_of_them = any(len(a.flags) > 1 for a in each.alternatives)  # a command that names some leaves the others open
    return each.channel in units or (asked <= set(roles) if all_of_them else bool(asked & set(roles)))


def check_not_stated(state: State, drive: Drive, role: Role, name: str) -> None:
    """Refuse to take a role from a channel that the session gives it to, for all logs.

    Raises:
        InputError: naming the command that does it.
    """
    player = drive.log.roles.get(role, "")
    if not name and player and role not in drive.as_read.roles:
        word = "compute" if player in state.computed else "analogue-input"
        raise InputError(
            phrase("{player} plays {role} in all logs, as stated for this session.", player=player, role=role),
            phrase("State it again without that role: {command}.", command=call(word, "SESSION", player)),
        )


def check_as_read(drive: Drive, name: str) -> None:
    """Refuse a unit for a channel whose unit follows from what is stated for the session.

    Raises:
        InputError: naming the command that does it.
    """
    channel = drive.log.channel(name)
    if channel is None or not (channel.computed or (channel.instrument is not None and channel.instrument.points)):
        return
    word = "compute" if channel.computed else "analogue-input"
    raise InputError(
        phrase("{name} is in {unit}, as stated for this session.", name=name, unit=channel.unit or "no unit"),
        phrase("State it again with another unit: {command}.", command=call(word, "SESSION", name)),
    )


def read_renames(words: Sequence[str], drive: Drive) -> dict[str, str]:
    """Read new names stated as CHANNEL=NAME.

    Raises:
        InputError: when a word is not of that form, the log has no such channel, it follows from what is stated for the
            session, or another channel bears the new name.
    """
    names: dict[str, str] = {}
    for word in words:
        old, equals, new = (part.strip() for part in word.partition("="))
        if not equals or not old or not new:
            raise InputError(
                phrase("The name {word!r} cannot be read.", word=word),
                "Write CHANNEL=NAME, as in 'Kanal 7=Airflow sensor'.",
            )
        if drive.as_read.channel(old) is None:
            raise InputError(
                phrase("Log {log} has no channel {name!r} of its own.", log=drive.id, name=old),
                phrase("It has: {known}.", known=", ".join(each.name for each in drive.as_read.channels)),
            )
        if new in names.values() or (drive.log.channel(new) is not None and new != old):
            raise InputError(
                phrase("Log {log} has a channel {name!r} already.", log=drive.id, name=new), "Give another name."
            )
        names[old] = new
    return {old: new for old, new in names.items() if old != new}
