"""Pulls: shown and compared, and left out of the evidence by name."""

from collections.abc import Generator
from dataclasses import asdict
from typing import Annotated

from workbench.commands.declaring.kinds import FIRST, Called, Drives, Kind, TableName
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.evidence.evidence import gather_for
from workbench.commands.evidence.evidence_report import pull_json, pull_line
from workbench.commands.evidence.open_dangers import open_cautions
from workbench.commands.evidence.proposing import COMMAND_STAYS
from workbench.errors import InputError
from workbench.maths.drives.drive_fit import driven_table
from workbench.maths.signals.ratio import signals
from workbench.maths.verdict.pull_comparison import NamedPull, outlying, rounds_of, sentences
from workbench.maths.verdict.pulls import Pull, find_pulls, stretches_of_pulls, too_slow
from workbench.model.history import Json
from workbench.model.log import Drive, LeftOut
from workbench.model.state import DriveCorrected, State
from workbench.phrases import flag, join_phrases, phrase
from workbench.work import Progress

Reason = Annotated[str, Kind.LINE, Called("Because", "TEXT")]
Stretch = Annotated[str, Called("Pull or stretch", "DRIVE:PULL|DRIVE:START..END")]
MOST_NAMED = 12  # pulls in one sentence
KEEP_OUT_S = 2.0  # after a pull: its gas reaches the sensor later


@command("Show the pulls", menu="Evidence", icon="pulls", opens="answer")
def pulls(state: State, *, table: TableName = FIRST, from_: Drives = "all") -> Job[tuple[NamedPull, ...]]:
    """Show and compare all pulls: when, over which engine speeds, how far the mixture was from the commanded one.

    Args:
        table: the table to compare them with; the first one if not given.
        from_: which drives to use: all, latest, or numbers joined by commas.

    Example:
        pulls car.session --from latest
    """
    found, slow = yield from named_pulls(state, table, from_)
    apart = outlying(found)
    reasons = {each.name: _reason(state.drive(each.drive), each.pull) for each in found}
    listed: list[Json] = [
        {**pull_json(each.drive, each.pull, each.revision), "name": each.name, "left_out": each.pull.left_out,
         "because": reasons[each.name], "apart": each.name in apart}
        for each in found
    ]  # fmt: skip
    rounds: list[Json] = [
        {"revision": each.revision, "pulls": list(each.pulls), "error": each.error,
         "spread": each.spread if len(each.pulls) > 1 else None}
        for each in rounds_of(found)
    ]  # fmt: skip
    lines = [
        f"{each.name}  {pull_line(state.drive(each.drive).log.name, each.pull, reasons[each.name] or '')}"
        for each in found
    ]
    said = (COMMAND_STAYS,) if found else ()
    everything = (*lines, *slow, *sentences(found), *said)
    return Answer(found, lambda: {"pulls": listed, "rounds": rounds}, everything or ("No pull of a second or more.",))


def _reason(drive: Drive, pull: Pull) -> str | None:
    """Return why a pull was left out; None where it was not."""
    inside = (each.reason for each in drive.left_out if each.start <= pull.end and each.end >= pull.start)
    return next(inside, None) if pull.left_out else None


def named_pulls(
    state: State, table: str, from_: str
) -> Generator[Progress, None, tuple[tuple[NamedPull, ...], tuple[str, ...]]]:
    """Find the pulls of drives by name, and what makes their logs too slow for pulls."""
    found = yield from gather_for(state, table, from_, "both", "")
    named, slow = [], []
    for samples in found.kept:
        drive = state.drive(samples.drive)
        seen = signals(drive, driven_table(state.history, drive, found.table.name), state.settings.gates)
        carried = state.history.driven(drive, found.table.name)
        for number, pull in enumerate(find_pulls(seen, samples, found.delay.get(drive.id)), 1):
            named.append(NamedPull(drive.id, number, None if carried is None else carried.id, pull))
        slow += [f"{drive.log.name}: {why}"] if (why := too_slow(drive.log)) else []
    slow += [phrase("Pulls of drive {id} are not listed. {why}", id=id_, why=why) for id_, why in found.unused.items()]
    return tuple(named), (*slow, *open_cautions(state, found, "danger"))


@command("Leave a pull out", menu="Evidence", icon="pulls", button="Leave out")
def leave_out(
    state: State, what: Stretch, *, because: Reason = "", take_back: bool = False, table: TableName = FIRST
) -> Answer[Drive]:
    """Leave a pull or a stretch of a drive out of the evidence, with a reason; undo brings it back.

    Its rows are counted by a gate of their own, and the log itself stays as it is.

    Args:
        what: the pull by its name, as in 2:1 (the first of drive 2), or a stretch in s, as in 2:33.5..41.
        because: the reason, in your words.
        take_back: let it count again.
        table: the table that was driven; the first one if not given.

    Example:
        leave-out car.session 2:1 --because "foot came up"
    """
    if not take_back and not because.strip():
        raise InputError(
            "What is left out needs a reason.", phrase("Give it with {flag}.", flag=flag("because", "TEXT"))
        )
    drive, start, end = _meant(state, what, state.table_name(table))
    others = tuple(each for each in drive.left_out if each.end < start or each.start > end)
    if take_back and len(others) == len(drive.left_out):
        raise InputError(
            phrase("Nothing of {what} is left out.", what=what), "The pulls that are left out are named by pulls."
        )
    if not take_back and (known := next((e for e in drive.left_out if e.start <= start and e.end >= end), None)):
        return _left_out_already(drive, what, known)
    kept = others if take_back else (*drive.left_out, LeftOut(start, end, because.strip()))
    change = DriveCorrected(drive.id, drive.revision, drive.wideband, drive.as_read.roles, left_out=kept)
    after = state.derived(change.applied(drive))
    span = phrase("{log}, {start:.1f} to {end:.1f} s", log=drive.log.name, start=start, end=end)
    line = (
        phrase("{span} counts again.", span=span)
        if take_back
        else phrase("{span} is left out: {because}", span=span, because=because.strip())
    )
    left: list[Json] = [asdict(each) for each in after.left_out]
    return Answer(after, lambda: {"drive": drive.id, "left_out": left}, (line,), change)


def _left_out_already(drive: Drive, what: str, known: LeftOut) -> Answer[Drive]:
    """Change nothing where that stretch is left out, so that one undo brings it back."""
    words = "{what} is left out already: {because} Let it count again first, to give another reason."
    left: list[Json] = [asdict(each) for each in drive.left_out]
    line = phrase(words, what=what, because=known.reason)
    return Answer(drive, lambda: {"drive": drive.id, "left_out": left}, (line,))


def _meant(state: State, what: str, table: str) -> tuple[Drive, float, float]:
    """Read which stretch of which drive is meant.

    Raises:
        InputError: when it cannot be read, or there is no such drive or pull.
    """
    number, _, rest = what.partition(":")
    begin, dots, stop = rest.partition("..")
    try:
        drive = state.drive(int(number))
        if dots:
            start, end = sorted((float(begin), float(stop)))
            return drive, start, end
        pull = int(begin)
    except ValueError:
        raise InputError(
            phrase("{what!r} is neither a pull nor a stretch.", what=what),
            "Write DRIVE:PULL as in 2:1, or DRIVE:START..END in s as in 2:33.5..41. " + _named(state, table),
        ) from None
    seen = signals(drive, driven_table(state.history, drive, table), state.settings.gates)
    found = stretches_of_pulls(seen)
    if not 1 <= pull <= len(found):
        raise InputError(
            phrase("Drive {drive} has no pull {pull}; it has {many}.", drive=drive.id, pull=pull, many=len(found)),
            _named(state, table),
        )
    first, after, _ = found[pull - 1]
    return drive, float(seen.time[first]), float(seen.time[after - 1]) + KEEP_OUT_S


def _named(state: State, table: str) -> str:
    """List the pulls by name, each with its place in the log, so that nobody has to know them by heart."""
    known = []
    for drive in state.drives:
        seen = signals(drive, driven_table(state.history, drive, table), state.settings.gates)
        for number, (first, after, _) in enumerate(stretches_of_pulls(seen), 1):
            start, end = float(seen.time[first]), float(seen.time[after - 1])
            known.append(
                phrase("{name} ({start:.0f} to {end:.0f} s)", name=f"{drive.id}:{number}", start=start, end=end)
            )
    if not known:
        return phrase("There is no pull of a second or more: name a stretch, as in 2:33.5..41.")
    more = phrase("; and {more} more, which pulls lists", more=len(known) - MOST_NAMED)
    return phrase(
        "The pulls are {pulls}{more}.",
        pulls=join_phrases(", ", known[:MOST_NAMED]),
        more=more if len(known) > MOST_NAMED else "",
    )
