"""Looking through whole logs for cautions, whether they count as evidence or not."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from workbench.errors import InputError
from workbench.maths.cautions.cautions import find_cautions
from workbench.maths.drives.contrary import contradiction
from workbench.maths.drives.drive_fit import driven_table
from workbench.maths.signals.gating import engine_gates
from workbench.maths.signals.ratio import signals
from workbench.model.evidence import Caution
from workbench.model.history import History
from workbench.model.log import Drive
from workbench.model.state import Settings
from workbench.phrases import join_phrases, phrase


@dataclass(frozen=True)
class Looked:
    """What a look through one drive for cautions came to.

    Attributes:
        drive: which.
        cautions: what was found.
        refusal: why it could not be looked through; empty where it could.
    """

    drive: Drive
    cautions: tuple[Caution, ...]
    refusal: str = ""


def look_for_cautions(history: History, drives: tuple[Drive, ...], table: str, settings: Settings) -> Iterator[Looked]:
    """Look through drives, one after the other, for what could harm the engine or weakens the evidence.

    Args:
        history: which table was in the car when.
        drives: to look through.
        table: name of the table they were driven with.
        settings: limits of gates and cautions.
    """
    gates = settings.gates
    for drive in drives:
        try:
            driven = driven_table(history, drive, table)
            seen = signals(drive, driven, gates)
        except InputError as refusal:
            yield Looked(drive, (), refusal.message)
            continue
        contrary = contradiction(seen, driven, gates) if np.isfinite(seen.measured).any() else ""
        yield Looked(
            drive, find_cautions(drive.log, seen, engine_gates(seen, driven, gates), contrary, settings.limits, driven)
        )


def dangers_in(
    history: History, drives: tuple[Drive, ...], table: str, settings: Settings
) -> tuple[tuple[int, Caution], ...]:
    """Find what could hurt the engine in drives that give no evidence: that hangs on no evidence. Each with its drive.

    A log that asks about the very channels that tell a lean mixture says nothing of it before it is answered.

    Args: as of `look_for_cautions`.
    """
    found: list[tuple[int, Caution]] = []
    sure = tuple(drive for drive in drives if not _asks_about_mixture(drive))
    for looked in look_for_cautions(history, sure, table, settings):
        found += [(looked.drive.id, each) for each in looked.cautions if each.kind == "danger"]
        looked.drive.let_go()
    return tuple(found)


def _asks_about_mixture(drive: Drive) -> bool:
    """Tell whether what is measured or commanded of the mixture stands in question."""
    read = {name for role, name in drive.log.roles.items() if role in ("lambda_measured", "lambda_commanded")}
    return any(each.channel in read for each in drive.log.questions)


def with_dangers(
    refusal: InputError, drives: tuple[Drive, ...], dangers: tuple[tuple[int, Caution], ...]
) -> InputError:
    """Add to a refusal what could hurt the engine: a log that gives no evidence may hold a pull that ran lean."""
    if not dangers:
        return refusal
    names = {drive.id: drive.log.name for drive in drives}
    said = (phrase("Danger in {log}: {why}", log=names[number], why=each.sentence) for number, each in dangers)
    told = InputError(join_phrases(" ", (*said, refusal.message)), refusal.hint)
    told.details.update(refusal.details)
    return told
