"""What a session states about its car and its goal."""

import math
from collections.abc import Iterable
from dataclasses import asdict, replace
from typing import Annotated

from workbench.commands.declaring.kinds import AgainstLogs, Between, Called, Kind
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import plain
from workbench.commands.evidence.stated_place import check_place
from workbench.errors import InputError
from workbench.expressions import read_expression
from workbench.model.derived import meant
from workbench.model.gate import ChannelGate, Gates, Limits, limits_of
from workbench.model.history import Json
from workbench.model.log import CarsWideband
from workbench.model.state import Settings, SettingsSet, State
from workbench.phrases import flag, phrase

AS_A_RATIO = Called(typed="as a ratio, 0.05 for 5 %")
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
    "load_lean_s": "s allowed leaner under load at part throttle",
    "spike": "of lambda: jump within a pull",
    "coolant_c": "°C coolant temperature",
    "intake_c": "°C intake temperature",
    "injector_duty_percent": "% injector duty",
    "knock_retard_deg": "degrees of ignition retard for knock",
    "supply_v": "V supply with the engine running",
    "supply_s": "s allowed below that voltage",
    "fuel_pressure_drop": "of the fuel pressure: drop with flow",
    "fuel_supply": "of lambda: leaner with fuel flow at full throttle",
    "banks_apart": "of the fuel factor: difference between the banks",
    "wideband_lag_s": "s: lag of the wideband",
    "frozen_s": "s that a channel may stand still",
    "clipped_s": "s that a channel may stand at its highest",
}


@command("Targets, fuel and gates", menu="Session", icon="settings", word="settings", button="Record", quiet=True)
def settings(
    state: State,
    *,
    part_throttle: Annotated[float | None, Kind.SHARE, Between(0.001, 0.5), AS_A_RATIO] = None,
    full_throttle: Annotated[float | None, Kind.SHARE, Between(0.001, 0.5), AS_A_RATIO] = None,
    afr: Annotated[float | None, Between(2, 40), Called("Air-fuel ratio at lambda 1")] = None,
    gate: Annotated[tuple[str, ...], Called("Limits of gates", "LIMIT=NUMBER")] = (),
    gate_channel: Annotated[tuple[str, ...], Called("Gates on channels", "CHANNEL=LOW:HIGH")] = (),
    caution: Annotated[tuple[str, ...], Called("Limits of cautions", "LIMIT=NUMBER")] = (),
    wideband: CarsWideband | None = None,
    wideband_tolerance: Annotated[float | None, Kind.SHARE, Between(0.0, 0.2)] = None,
    against_logs: AgainstLogs = False,
) -> Answer[Settings]:
    """Show or set targets, air-fuel ratio at lambda 1, wideband position, and the limits of gates and cautions.

    A gate on a channel, or on whichever plays a role, may have one end, and seconds that are rejected after it was
    outside: "battery_voltage=13::2". Nothing after the sign takes the gate away: "Oil temp=".

    Args:
        part_throttle: largest error allowed at part throttle.
        full_throttle: largest error allowed at full throttle.
        afr: air-fuel ratio at lambda 1, for channels logged as air-fuel ratio.
        gate: a gate limit, as in warm_c=80.
        gate_channel: range in which a channel must read for a sample to count, as in "Oil temp=70:120".
        caution: a caution limit, as in injector_duty_percent=90.
        wideband: the car's wideband position by the catalyst; auto recognises it, unknown does so without asking.
        wideband_tolerance: largest error of the wideband, in 95 of 100 of its kind, as a ratio.
        against_logs: take a wideband position that the logs tell otherwise.

    Example:
        settings car.session --part-throttle 0.03 --gate warm_c=80
    """
    old = state.settings
    after = replace(
        old,
        part_throttle_target=old.part_throttle_target if part_throttle is None else part_throttle,
        full_throttle_target=old.full_throttle_target if full_throttle is None else full_throttle,
        stoichiometric_afr=old.stoichiometric_afr if afr is None else afr,
        gates=replace(old.gates, **read_gates(gate), channels=_with_channels(state, gate_channel)),
        limits=replace(old.limits, **read_limits(caution, Limits, "limit of a caution")),
        wideband=wideband or old.wideband,
        wideband_tolerance=old.wideband_tolerance if wideband_tolerance is None else wideband_tolerance,
    )
    _check_range(after.gates)
    if after.wideband != old.wideband:
        check_place(state, wideband, all_the_same=against_logs)
    data: dict[str, Json] = {key: plain(value) for key, value in asdict(after).items()}
    return Answer(
        after, lambda: data, (*_lines(after), *_choosing(state, after)), SettingsSet(after) if after != old else None
    )


def _check_range(gates: Gates) -> None:
    """Refuse limits between which nothing lies."""
    low, high = gates.lambda_low, gates.lambda_high
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


_OF_THE_ERROR = {
    "lambda_measured", "lambda_error", "stft_1", "stft_2", "ltft_1", "ltft_2", "total_trim_1", "total_trim_2"
}  # fmt: skip


def _choosing(state: State, after: Settings) -> tuple[str, ...]:
    """Caution against gates that choose samples by the very error that the evidence measures."""
    changes = []
    for gate in after.gates.channels:
        computed = state.computed.get(gate.channel)
        names = (gate.channel,) if computed is None else read_expression(computed.expression).names
        roles = {
            role
            for drive in state.drives
            for name in names
            for role, player in drive.log.roles.items()
            if name in (role, player)
        }
        if roles & _OF_THE_ERROR:
            changes.append(
                phrase(
                    "Caution: the gate on {channel} chooses samples by the mixture that they are to measure: what lies "
                    "outside its range is left out, so the error looks smaller than it is.",
                    channel=gate.channel,
                )
            )
    return tuple(changes)


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
        _place_line(after.wideband),
        phrase("wideband tolerance ±{tolerance:g} %", tolerance=100 * after.wideband_tolerance),
        *(f"gate {key:<24} {value:>7g} {GATES[key]}" for key, value in limits_of(after.gates).items()),
        *(_gate_line(each) for each in after.gates.channels),
        *(f"caution {key:<21} {value:>7g} {CAUTIONS[key]}" for key, value in limits_of(after.limits).items()),
    )


def _place_line(place: CarsWideband) -> str:
    if place == "auto":
        return "wideband: position recognised from the drives"
    if place == "unknown":
        return "wideband: nobody can tell its position; recognised from the drives where they show it"
    return phrase("wideband {wideband} the catalyst", wideband=place)


def _gate_line(gate: ChannelGate) -> str:
    if not gate.hold_s:
        return phrase("gate of your own: rejected where {clause}", clause=gate.clause)
    return phrase(
        "gate of your own: rejected where {clause}, and for {seconds:g} s after",
        clause=gate.clause,
        seconds=gate.hold_s,
    )


def _with_channels(state: State, words: tuple[str, ...]) -> tuple[ChannelGate, ...]:
    """Return the user's own gates with those that are stated; a channel has one.

    Raises:
        InputError: when a word cannot be read, or no log has the channel.
    """
    kept = {each.channel: each for each in state.settings.gates.channels}
    for word in words:
        name, gate = _read_channel_gate(word)
        if gate is None and name not in kept:
            raise InputError(phrase("There is no gate on {name!r}.", name=name), _listed(kept))
        if gate is not None and state.drives and all(meant(drive.log, name) is None for drive in state.drives):
            known = dict.fromkeys(channel.name for drive in state.drives for channel in drive.log.channels)
            raise InputError(phrase("No log has a channel or a role {name!r}.", name=name), _listed(known))
        kept = {each: known for each, known in kept.items() if each != name}
        kept |= {} if gate is None else {name: gate}
    return tuple(kept.values())


def _listed(names: Iterable[str]) -> str:
    listed = ", ".join(names)
    return phrase("There is: {listed}.", listed=listed) if listed else "There is none."


def _read_channel_gate(word: str) -> tuple[str, ChannelGate | None]:
    """Read a gate stated as CHANNEL=LOW:HIGH or CHANNEL=LOW:HIGH:SECONDS; nothing after the sign takes it away."""
    name, equals, text = (part.strip() for part in word.rpartition("="))
    parts = text.split(":")
    try:
        low, high, hold = (float(part) if part.strip() else None for part in (*parts, "")[:3])
    except ValueError:
        low = high = hold = None
    ends = [end for end in (low, high) if end is not None]
    if name and equals and not text:
        return name, None
    good = len(parts) in (2, 3) and all(map(math.isfinite, (*ends, hold or 0.0))) and 0 <= (hold or 0.0) <= 3600
    if not (name and equals and ends and good and ends == sorted(ends)):
        raise InputError(
            phrase("The gate {word!r} cannot be read.", word=word),
            "Write CHANNEL=LOW:HIGH or CHANNEL=LOW:HIGH:SECONDS, as in 'Oil temp=70:120:2'; one end may be left out.",
        )
    return name, ChannelGate(name, low, high, hold or 0.0)


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
    known = list(limits_of(kind()))
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
