"""What a session states about its car and its goal."""

from dataclasses import asdict, fields, replace
from typing import Annotated

from workbench.commands.declaring.kinds import Between, Called, Kind
from workbench.commands.declaring.making import plain
from workbench.commands.declaring.registry import Answer, command
from workbench.errors import InputError
from workbench.model.gate import Gates, Limits
from workbench.model.history import Json
from workbench.model.log import Wideband
from workbench.model.state import Settings, SettingsSet, State
from workbench.phrases import flag, phrase

# What each limit of a gate is, with its unit.
GATES = {
    "warm_c": "°C coolant temperature above which the engine is warm",
    "running_rpm": "rpm above which the engine is running",
    "lambda_low": "lambda below which a reading is out of range",
    "lambda_high": "lambda above which a reading is out of range",
    "settle_s": "s rejected after a change of loop state",
    "after_purge_s": "s rejected after purge",
    "after_cut_s": "s rejected after a fuel cut",
    "steady_per_s": "of the airflow per second: fastest change allowed for the wideband",
    "steady_in_manifold_per_s": "of the airflow per second: the same for tables over manifold pressure",
    "steady_for_trims_per_s": "of the airflow per second: fastest change allowed for trims alone",
    "film": "of the fuel: largest share that the wall film may take up or release",
    "purge_percent": "% purge above which a sample is weighted 0.1, or rejected where its purge fuel cannot be "
    "estimated",
    "trim_limit_percent": "% short trim at which it is clipped",
    "full_throttle_percent": "% of the widest opening above which throttle is full",
    "settle_for_trims_s": "s after a change until trims alone are used",
    "settled": "of the fuel factor: largest change at which trims count as settled",
    "rich_command": "lambda commanded below which open loop also counts as full throttle",
}
# From where on something calls for caution, with its unit.
CAUTIONS = {
    "cliff": "of the multiplier: largest step between neighbouring cells without evidence for it",
    "lean": "of lambda: leaner than commanded under load",
    "lean_s": "s allowed leaner than commanded",
    "coolant_c": "°C coolant temperature",
    "intake_c": "°C intake temperature",
    "injector_duty_percent": "% injector duty",
    "knock_retard_deg": "degrees of ignition retard for knock",
    "supply_v": "V supply with the engine running",
    "supply_s": "s allowed below that voltage",
    "fuel_pressure_drop": "of the fuel pressure: drop with flow",
    "banks_apart": "of the fuel factor: difference between the banks",
    "wideband_lag_s": "s: lag of the wideband",
}


@command("Targets, fuel and gates", menu="Session", icon="settings", word="settings", button="Record", quiet=True)
def settings(
    state: State,
    *,
    part_throttle: Annotated[float | None, Kind.SHARE, Between(0.001, 0.5)] = None,
    full_throttle: Annotated[float | None, Kind.SHARE, Between(0.001, 0.5)] = None,
    afr: Annotated[float | None, Between(2, 40), Called("Air-fuel ratio at lambda 1")] = None,
    gate: Annotated[tuple[str, ...], Called("Limits of gates", "LIMIT=NUMBER")] = (),
    caution: Annotated[tuple[str, ...], Called("Limits of cautions", "LIMIT=NUMBER")] = (),
    wideband: Wideband | None = None,
    wideband_tolerance: Annotated[float | None, Kind.SHARE, Between(0.0, 0.2)] = None,
) -> Answer[Settings]:
    """Show or set targets, air-fuel ratio at lambda 1, wideband position, and the limits of gates and cautions.

    Args:
        part_throttle: largest error allowed at part throttle, as a ratio.
        full_throttle: largest error allowed at full throttle, as a ratio.
        afr: air-fuel ratio at lambda 1, for channels logged as air-fuel ratio.
        gate: a gate limit, as in warm_c=80.
        caution: a caution limit, as in injector_duty_percent=90.
        wideband: the car's wideband position, before or after the catalyst; auto recognises it from all drives.
        wideband_tolerance: largest error of the wideband, in 95 of 100 of its kind, as a ratio.

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
        limits=replace(old.limits, **read_limits(caution, Limits, "limit of a caution")),
        wideband=wideband or old.wideband,
        wideband_tolerance=old.wideband_tolerance if wideband_tolerance is None else wideband_tolerance,
    )
    low, high = after.gates.lambda_low, after.gates.lambda_high
    if low >= high:
        raise InputError(
            phrase(
                "lambda_low of {low:g} is not below lambda_high of {high:g}, so no reading would be in range.",
                low=low,
                high=high,
            ),
            phrase(
                "Give both limits, as in {gate_flag} lambda_low=0.7 {gate_flag} lambda_high=1.3.",
                gate_flag=flag("gate"),
            ),
        )
    data: dict[str, Json] = {key: plain(value) for key, value in asdict(after).items()}
    return Answer(after, lambda: data, _lines(after), SettingsSet(after) if after != old else None)


def _lines(after: Settings) -> tuple[str, ...]:
    return (
        phrase(
            "part throttle within ±{part_throttle_target:g} %", part_throttle_target=100 * after.part_throttle_target
        ),
        phrase(
            "full throttle within ±{full_throttle_target:g} %", full_throttle_target=100 * after.full_throttle_target
        ),
        phrase(
            "{stoichiometric_afr:g} g of air to 1 g of fuel at lambda 1", stoichiometric_afr=after.stoichiometric_afr
        ),
        "wideband: position recognised from the drives"
        if after.wideband == "auto"
        else phrase("wideband {wideband} the catalyst", wideband=after.wideband),
        phrase("wideband tolerance ±{tolerance:g} %", tolerance=100 * after.wideband_tolerance),
        *(f"gate {key:<24} {value:>7g} {GATES[key]}" for key, value in asdict(after.gates).items()),
        *(f"caution {key:<21} {value:>7g} {CAUTIONS[key]}" for key, value in asdict(after.limits).items()),
    )


def read_gates(words: tuple[str, ...]) -> dict[str, float]:
    """Read limits of gates stated as NAME=VALUE.

    Raises:
        InputError: when a word is not of that form, or there is no such limit.
    """
    return read_limits(words, Gates, "gate limit")


def read_limits(words: tuple[str, ...], kind: type[Gates | Limits], what: str) -> dict[str, float]:
    """Read limits stated as NAME=VALUE.

    Raises:
        InputError: when a word is not of that form, or there is no such limit.
    """
    known = [each.name for each in fields(kind)]
    found: dict[str, float] = {}
    for word in words:
        name, _, text = word.partition("=")
        if name not in known:
            raise InputError(
                phrase("There is no {what} {name!r}.", what=what, name=name),
                "The limits are: " + ", ".join(known) + ".",
            )
        try:
            value = float(text)
        except ValueError:
            raise InputError(
                phrase("The limit {word!r} cannot be read.", word=word),
                phrase("Write NAME=VALUE, as in {name}={value:g}.", name=known[0], value=getattr(kind(), known[0])),
            ) from None
        if not 0 <= value < 1e6:
            raise InputError(
                phrase("A limit of {text} for {name} is not possible.", text=text, name=name), "Give 0 or more."
            )
        found[name] = value
    return found
