"""Acknowledging a caution: somebody looked into it and says why it may stand."""

from typing import Annotated

from workbench.commands.declaring.kinds import FIRST, Called, Kind, Signature, TableName
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.evidence.evidence import cautions
from workbench.errors import InputError
from workbench.files.disk.clock import now, user_name
from workbench.model.deed import Acknowledgement
from workbench.model.history import Json
from workbench.model.state import Acknowledged, State
from workbench.phrases import flag, phrase

Reason = Annotated[str, Kind.LINE, Called("Because", "TEXT")]


@command("Acknowledge a caution", menu="Evidence", icon="tick", button="Acknowledge")
def acknowledge(
    state: State,
    caution: Annotated[str, Called("Caution", "CAUTION")],
    *,
    because: Reason,
    by: Signature = "",
    table: TableName = FIRST,
) -> Answer[Acknowledgement]:
    """Acknowledge a caution with a reason: it no longer blocks approval, and the approval carries the reason.

    A caution whose text changes later, because its log is read differently, is open again.

    Args:
        caution: its name, as cautions lists it.
        because: the reason, in your words.
        by: your name; the login name if not given.
        table: the table that was driven; the first one if not given.

    Example:
        acknowledge car.session 2:hot-coolant --because "fan fuse replaced"
    """
    if not because.strip():
        raise InputError(
            "An acknowledgement needs a reason.",
            phrase("Give the reason with {because_flag}.", because_flag=flag("because", "TEXT")),
        )
    looks = cautions(state, table=table).value
    known = {f"{each.drive.id}:{found.name}": found.sentence for each in looks for found in each.cautions}
    if caution not in known:
        raise InputError(
            phrase("There is no caution {caution!r}.", caution=caution),
            phrase("The cautions are: {known}.", known=", ".join(known)) if known else "The logs carry no cautions.",
        )
    given = Acknowledgement(caution, known[caution], because.strip(), by.strip() or user_name(), now())
    data: dict[str, Json] = {"caution": caution, "sentence": given.sentence, "because": given.reason, "by": given.by}
    line = phrase(
        "Acknowledged by {by}: {sentence} {reason}", by=given.by, sentence=given.sentence, reason=given.reason
    )
    return Answer(given, lambda: data, (line,), Acknowledged(given))
