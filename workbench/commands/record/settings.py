"""What a session states about its car and its goal."""

from dataclasses import asdict, fields, replace
from typing import Annotated

from workbench.commands.declaring.kinds import Between, Called, Kind
from workbench.commands.declaring.making import plain
from workbench.commands.declaring.registry import Answer, command
from workbench.errors import InputError
from workbench.model.gate import Gates
from workbench.model.history import Json
from workbench.model.state import SettingsSet, State

# What each limit of a gate is, with its unit.
GATES = {
    "warm_c": "°C coolant, from which the engine counts as warm",
    "running_rpm": "rpm, from which it counts as running",
    "lambda_low": "lambda, under which a reading is out of range",
    "lambda_high": "lambda, over which a reading is out of range",
    "settle_s": "s left out after a change of loop state",
    "after_purge_s": "s left out after purge",
    "after_cut_s": "s left out after a fuel cut",
    "steady_per_s": "of the airflow a second: the fastest change for the wideband",
    "steady_in_manifold_per_s": "of the airflow a second: the same for tables over manifold pressure",
    "steady_for_trims_per_s": "of the airflow a second: the fastest change for trims alone",
    "film": "of the fuel: the largest part that a film may take up or give off",
    "purge_percent": "% purge, above which a sample counts a tenth, or is left out where its vapour cannot be told",
    "trim_limit_percent": "% short trim, from which it is clipped",
    "full_throttle_percent": "% of the widest opening, from which throttle is full",
    "settle_for_trims_s": "s after a change until trims alone are believed",
    "settled": "of the fuel factor: the largest change for trims to stand still",
    "rich_command": "lambda commanded, under which open loop is full throttle too",
}


@command("Targets, fuel and gates", menu="Session", icon="settings", word="settings", button="Record", quiet=True)
def settings(
    state: State,
    *,
    part_throttle: Annotated[float | None, Kind.SHARE, Between(0.001, 0.5)] = None,
    full_throttle: Annotated[float | None, Kind.SHARE, Between(0.001, 0.5)] = None,
    afr: Annotated[float | None, Between(2, 40), Called("Air-fuel ratio at lambda 1")] = None,
    gate: Annotated[tuple[str, ...], Called("Limits of gates", "LIMIT=NUMBER")] = (),
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
    low, high = after.gates.lambda_low, after.gates.lambda_high
    if low >= high:
        raise InputError(
            f"lambda_low of {low:g} is not below lambda_high of {high:g}: no reading would be in range.",
            "Give both limits, as in --gate lambda_low=0.7 --gate lambda_high=1.3.",
        )
    data: dict[str, Json] = {key: plain(value) for key, value in asdict(after).items()}
    lines = [
        f"part throttle within ±{100 * after.part_throttle_target:g} %",
        f"full throttle within ±{100 * after.full_throttle_target:g} %",
        f"{after.stoichiometric_afr:g} g of air to 1 g of fuel at lambda 1",
        *(f"gate {key:<24} {value:>7g} {GATES[key]}" for key, value in asdict(after.gates).items()),
    ]
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
