"""Where the wideband is said to sit, held against where the logs show it before that is taken."""

from dataclasses import replace

from workbench.errors import InputError
from workbench.model.state import State
from workbench.phrases import flag, phrase
from workbench.work import run

CONFIRMS = "against_logs"  # the argument that takes it all the same
_PLACES = ("before", "after")


def check_place(state: State, place: str | None, log: int = 0, *, all_the_same: bool) -> None:
    """Refuse a place of the wideband that the logs tell otherwise, unless that was said to be so all the same.

    A wrong place is no small matter: readings behind a catalyst that count as if before it are not the mixture, and
    those before it are left out by the most if they are said to be behind it.

    Args:
        state: the session, before that is recorded.
        place: as stated; None where it was not.
        log: number of the only log that it is said of; 0 for the car.
        all_the_same: whether it is taken against what the logs show.

    Raises:
        InputError: with what the logs show; `details` name the argument that takes it all the same.
    """
    if place not in _PLACES or all_the_same:
        return
    for number, why in _told(state, log).items():
        told, reason = why
        if told in _PLACES and told != place:
            refusal = InputError(
                phrase(
                    "Stated was {place} the catalyst, but {log} speaks against that: {reason}",
                    place=place,
                    log=state.drive(number).log.name,
                    reason=reason,
                ),
                phrase(
                    "Nothing was recorded. Look where it sits; to take it against what the logs show: {flag}.",
                    flag=flag("against-logs"),
                ),
            )
            refusal.details["confirm"] = CONFIRMS
            raise refusal


def _told(state: State, log: int) -> dict[int, tuple[str, str]]:
    """Give number of a drive -> its wideband's place and the reason, where nobody said it and the logs tell it."""
    from workbench.commands.evidence.gathering import gathered

    undecided = replace(state.settings, wideband="auto")
    drives = state.drives if not log else (replace(state.drive(log), wideband="auto"),)
    asked = replace(state, settings=undecided)
    found: dict[int, tuple[str, str]] = {}
    for name in state.history.heads:
        try:
            evidence = run(gathered(asked, state.head(name), drives, "both", None, frozenset()))
        except InputError:  # no drive gives evidence of this table
            continue
        found |= {
            number: (evidence.wideband[number], reason)
            for number, reason in evidence.placed_by.items()
            if number in evidence.wideband
        }
    return found
