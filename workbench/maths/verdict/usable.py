"""Which drives count for a table, and why one does not: what is left out is said, and never in a note alone."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from workbench.errors import InputError
from workbench.maths.drives.curve_match import moment_of_airflow, values_off
from workbench.maths.drives.drive_fit import DriveFit, check_speaks
from workbench.maths.drives.grid_match import scale_of_grid
from workbench.maths.verdict.revision_match import RevisionFit, fit_of_revisions
from workbench.model.history import History, Revision
from workbench.model.log import Drive
from workbench.phrases import call, flag, join_phrases, phrase


@dataclass(frozen=True)
class Usable:
    """Drives that count for a table.

    Attributes:
        kept: those that count.
        doubts: sentences about those that do not, and about what cannot be confirmed of those that do.
        unused: drive that does not count -> why, as a sentence.
    """

    kept: tuple[Drive, ...]
    doubts: tuple[str, ...] = ()
    unused: Mapping[int, str] = field(default_factory=dict)

    def without_contrary(self, known: Sequence[DriveFit], trusted: frozenset[int]) -> "Usable":
        """Leave out drives whose mixture contradicts itself, unless they were named; and say so.

        Raises:
            InputError: when no drive is left.
        """
        contrary = [driven for driven in known if driven.contrary]
        said = {
            driven.drive.id: phrase(
                "{log} is used because it was chosen, although it contradicts itself: {contrary}."
                if driven.drive.id in trusted
                else "{log} is left out: {contrary}. To use it all the same, choose it with {from_flag}.",
                log=driven.drive.log.name,
                contrary=driven.contrary,
                from_flag=flag("from"),
            )
            for driven in contrary
        }
        unused = {number: sentence for number, sentence in said.items() if number not in trusted}
        kept = tuple(driven.drive for driven in known if driven.drive.id not in unused)
        if not kept:
            named = ",".join(str(driven.drive.id) for driven in known)
            raise InputError(
                join_phrases(" ", ("No usable drive is left.", *said.values())),
                phrase("To use it all the same: {from_flag} {named}", from_flag=flag("from"), named=named),
            )
        return Usable(kept, (*self.doubts, *said.values()), {**self.unused, **unused})


def believed(history: History, head: Revision, drives: tuple[Drive, ...], trusted: frozenset[int]) -> Usable:
    """Leave out drives that say nothing of this table or belong to another one, unless they were named; and say so.

    Raises:
        InputError: when no drive is left, or a named one cannot speak about the table.
    """
    kept, doubts, unchecked = [], [], []
    unused: dict[int, str] = {}
    for drive in drives:
        if drive.log.questions:
            unused[drive.id] = unanswered(drive)
            doubts.append(unused[drive.id])
            continue
        try:
            check_speaks(history, drive, head.table.name)
        except InputError as refusal:
            if drive.id in trusted or len(drives) == 1:
                raise
            unused[drive.id] = phrase("{log} is left out: {message}", log=drive.log.name, message=refusal.message)
            doubts.append(unused[drive.id])
            continue
        fit = fit_of_revisions(history, drive, head.table.name)
        off = _off(history, drive, head.table.name, fit, named=drive.id in trusted)
        drive.let_go()
        doubts += [off] * bool(off)
        if off and drive.id not in trusted:
            unused[drive.id] = off
        else:
            kept.append(drive)
        if fit is None:
            unchecked.append(drive)
    if not kept:
        raise InputError("No usable drive is left.", join_phrases(" ", doubts))
    if unchecked and sum(revision.table.name == head.table.name for revision in history.revisions) > 1:
        doubts.append(_unconfirmed(unchecked))
    return Usable(tuple(kept), tuple(doubts), unused)


def _off(history: History, drive: Drive, name: str, fit: RevisionFit | None, *, named: bool) -> str:
    """Say why the logged airflow tells that a drive does not fit a table; empty where it fits, or tells nothing."""
    if fit is None:
        return "" if named else scale_of_grid(history, drive, name)
    if fit.doubtful or fit.unexplained:
        return fit.sentence(drive, named=named)
    return "" if named else moment_of_airflow(history, drive, name) or values_off(history, drive, name)


def _unconfirmed(drives: Sequence[Drive]) -> str:
    """Say that it is only stated which revision was in the car."""
    return phrase(
        "The revision in the car is taken as stated for drive {named}: no logged airflow can "
        "confirm it for this table. If a correction was not flashed, it would be applied "
        "twice.",
        named=", ".join(str(drive.id) for drive in drives),
    )


def unanswered(drive: Drive) -> str:
    """Say that a drive is left out since reading its log left a question open."""
    asked = " ".join(
        f"{each.question} Answers: {'; '.join(a.flag for a in each.alternatives)}." for each in drive.log.questions
    )
    return phrase(
        "{log} is left out until its open questions are answered ({command} with one of the flags): {asked}",
        log=drive.log.name,
        command=call("amend-log", "SESSION", str(drive.id)),
        asked=asked,
    )
