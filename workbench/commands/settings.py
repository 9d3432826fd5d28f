"""What a session states about its car and its goal."""

from dataclasses import asdict, fields, replace
from typing import Annotated

from workbench.commands.making import plain
from workbench.commands.registry import Answer, Between, command
from workbench.errors import InputError
from workbench.model.gate import Gates
from workbench.model.history import Json
from workbench.model.state import SettingsSet, State


@command("Targets, fuel and gates", menu="Session", icon="settings", word="settings")
def settings(
    state: State,
    *,
    part_throttle: Annotated[float | None, Between(0.001, 0.5)] = None,
    full_throttle: Annotated[float | None, Between(0.001, 0.5)] = None,
    afr: Annotated[float | None, Between(2, 40)] = None,
    gate: tuple[str, ...] = (),
) -> Answer:
    """Show, or say, the targets, the fuel's air-fuel ratio at lambda 1, and the limits of the gates.

    Args:
        part_throttle: largest error wanted at part throttle, as a ratio.
        full_throttle: largest error wanted at full throttle, as a ratio.
        afr: air-fuel ratio at lambda 1, for channels logged as air-fuel ratio.
        gate: a limit of a gate, as in warm_c=80.

    Example:
        settings car.session --part-throttle 0.03 --gate warm_c=80
    """
    old = state.settings
    after = replace(
        old,
        part_throttle_target=old.part_throttle_target if part_throttle is None else part_throttle,
        full_throttle_target=old.full_throttle_target if full_throttle is None else full_throttle,
        stoichiometric_afr=old.stoichiometric_afr if afr is None else afr,
        gates=replace(old.gates, **read_gates(gate)),
    )
    data: dict[str, Json] = {key: plain(value) for key, value in asdict(after).items()}
    lines = [f"{key}: {value:g}" for key, value in asdict(after).items() if key != "gates"]
    lines += [f"gate {key}: {value:g}" for key, value in asdict(after.gates).items()]
    return Answer(data, tuple(lines), SettingsSet(after) if after != old else None, after)


def read_gates(words: tuple[str, ...]) -> dict[str, float]:
    """Read limits of gates stated as NAME=VALUE.

    Raises:
        InputError: when a word is not of that form, or there is no such limit.
    """
    known = [each.name for each in fields(Gates)]
    found: dict[str, float] = {}
    for word in words:
        name, _, text = word.partition("=")
        if name not in known:
            raise InputError(f"There is no gate limit {name!r}.", "There are: " + ", ".join(known) + ".")
        try:
            value = float(text)
        except ValueError:
            raise InputError(f"The limit {word!r} cannot be read.", "Write NAME=VALUE, as in warm_c=80.") from None
        if not 0 <= value < 1e6:
            raise InputError(f"A limit of {text} for {name} is not possible.", "Give a number from 0 up.")
        found[name] = value
    return found
