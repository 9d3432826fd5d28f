"""The wideband's delay as the user states it, for the car or for one drive; it is kept, and undo takes it back."""

from dataclasses import replace
from typing import Annotated

from workbench.commands.declaring.kinds import Called, DriveId
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.evidence.evidence import stated
from workbench.errors import InputError
from workbench.model.evidence import KeptDelay
from workbench.model.history import Json
from workbench.model.state import SettingsSet, State
from workbench.phrases import phrase


@command("State the wideband's delay", menu="Evidence", word="wideband-delay", icon="log", button="Keep it")
def wideband_delay(
    state: State,
    delay: Annotated[str, Called("Delay", "S")] = "",
    *,
    log: Annotated[DriveId | None, Called("Keep it for", unset="the car")] = None,
) -> Answer[KeptDelay | None]:
    """Keep a delay of the wideband for the car, or for one drive alone; without one, let it be estimated again.

    What is kept is used wherever evidence is gathered, until a command states another with --delay. A drive's own goes
    before the car's.

    Args:
        delay: seconds, as in 1.1; who knows them gives fixed delay, gas volume and sensor lag, as in 0.1,1.0,0.08 or
            fixed=0.1,volume=1.0,lag=0.08.
        log: number of the drive, to keep it for that one alone; the whole car if not given.

    Example:
        wideband-delay car.session 1.1 --log 2
    """
    number = 0 if log is None else state.drive(log).id
    before = state.settings.delays
    others = tuple(each for each in before if each.drive != number)
    known = stated(delay)
    made = None if known is None else KeptDelay(number, known.fixed_s, known.volume_g, known.lag_s)
    whose = phrase("drive {number}", number=number) if number else "the car"
    if made is None and others == before:
        raise InputError(phrase("No delay is kept for {whose}.", whose=whose), "Give one, as in 1.1 (seconds).")
    if made is None:
        line = phrase("The delay of {whose} is estimated from the logs again.", whose=whose)
    else:
        words = phrase(
            "{fixed:.2f} s + {volume:.3g} g / airflow, lag {lag:.2f} s",
            fixed=made.fixed_s,
            volume=made.volume_g,
            lag=made.lag_s,
        )
        line = phrase("The wideband's delay of {whose} is kept: {words}.", whose=whose, words=words)
    after = replace(state.settings, delays=others if made is None else (*others, made))

    def as_json() -> dict[str, Json]:
        kept: Json = None if made is None else {"fixed_s": made.fixed_s, "volume_g": made.volume_g, "lag_s": made.lag_s}
        return {"log": number or None, "delay": kept}

    return Answer(made, as_json, (line,), SettingsSet(after) if after != state.settings else None)
