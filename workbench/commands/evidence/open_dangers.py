"""What is dangerous or doubtful in the logs and that nobody acknowledged, or no correction took account of."""

from workbench.maths.cautions.looking import dangers_in
from workbench.model.evidence import Evidence
from workbench.model.history import Revision
from workbench.model.state import State
from workbench.phrases import phrase


def open_dangers(state: State, revision: Revision) -> tuple[str, ...]:
    """Return what could hurt the engine by the drives that no correction of a revision rests on, one sentence each.

    That takes no evidence: a log that gives none is told of as well. What somebody acknowledged is left out.
    """
    taken: set[object] = set()
    for made in state.history.line(revision.id):
        listed = made.arguments.get("drives")
        if made.origin == "measured" and isinstance(listed, list):
            taken.update(listed)
    rest = tuple(drive for drive in state.drives if drive.id not in taken)
    return tuple(
        phrase("Danger in {log}: {why}", log=state.drive(number).log.name, why=caution.sentence)
        for number, caution in dangers_in(state.history, rest, revision.table.name, state.settings)
        if state.acknowledgement(number, caution) is None
    )


def open_cautions(state: State, found: Evidence, kind: str) -> tuple[str, ...]:
    """Return the cautions of a kind in the drives of some evidence that nobody acknowledged, as adding the logs said.

    Args:
        state: the session.
        found: the evidence.
        kind: "danger" for what could hurt the engine, "doubt" for what weakens the evidence.
    """
    return tuple(
        f"{state.drive(number).log.name}: {caution.sentence}"
        for number, caution in found.cautions
        if (caution.kind == "danger") == (kind == "danger") and state.acknowledgement(number, caution) is None
    )
