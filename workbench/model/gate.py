"""Gates, the rules that keep or reject samples, with what each took away; and the limits of cautions."""

from dataclasses import dataclass, fields

from workbench.phrases import phrase


@dataclass(frozen=True)
class ChannelGate:
    """A gate of the user's own: samples count only while a channel reads within a range.

    Attributes:
        channel: its name, or the role that it plays.
        low, high: ends of the range, which belong to it, in the channel's unit; None for no end.
        hold_s: seconds that are rejected too after it was outside.
    """

    channel: str
    low: float | None = None
    high: float | None = None
    hold_s: float = 0.0

    @property
    def name(self) -> str:
        """The gate, in words."""
        if self.low is None:
            return phrase("{channel} above {high:g}", channel=self.channel, high=self.high)
        if self.high is None:
            return phrase("{channel} below {low:g}", channel=self.channel, low=self.low)
        return phrase("{channel} outside {low:g} to {high:g}", channel=self.channel, low=self.low, high=self.high)

    @property
    def clause(self) -> str:
        """When it rejects a sample, as it stands in a sentence."""
        if self.low is None:
            return phrase("{channel} is above {high:g}", channel=self.channel, high=self.high)
        if self.high is None:
            return phrase("{channel} is below {low:g}", channel=self.channel, low=self.low)
        return phrase("{channel} is outside {low:g} to {high:g}", channel=self.channel, low=self.low, high=self.high)


@dataclass(frozen=True)
class Gates:
    """Limits of all gates. Defaults are common practice, no source, unless said otherwise.

    Attributes:
        warm_c: the engine counts as warm from this coolant temperature on, degC.
        running_rpm: the engine counts as running from this speed on, rpm.
        lambda_low: readings at or under it are outside the mixture sensor's range.
        lambda_high: readings at or over it are outside the range, or air from a fuel cut.
        settle_s: seconds rejected after a change of loop state.
        after_purge_s: seconds rejected after purge.
        after_cut_s: seconds rejected after a fuel cut.
        steady_per_s: fastest relative change of airflow in which a wideband's sample may sit, 1/s, where the table is
            read by a sensor ahead of the manifold: that fills and empties first.
        steady_in_manifold_per_s: the same where the table is read by manifold pressure, which is what cylinders meet.
        steady_for_trims_per_s: the same for samples that rest on the trims alone, 1/s.
        film: largest part of the injected fuel that a film may be taking up or giving off where it is modelled.
        purge_percent: purge above this rejects a sample, %.
        trim_limit_percent: a short-term trim at or past it is clipped, %.
        full_throttle_percent: throttle from here on counts as full, % of the widest opening seen.
        settle_for_trims_s: seconds after a change of loop state, a cut or purge, until trims alone are believed.
        settled: largest change of the averaged fuel factor over a window for trims to count as standing still.
        rich_command: a commanded lambda under this in open loop also counts as full throttle.
        channels: gates of the user's own.
    """

    warm_c: float = 75.0
    running_rpm: float = 400.0
    lambda_low: float = 0.68
    lambda_high: float = 1.35
    settle_s: float = 0.3
    after_purge_s: float = 2.0
    after_cut_s: float = 1.0
    steady_per_s: float = 2.0
    steady_in_manifold_per_s: float = 6.0
    steady_for_trims_per_s: float = 0.3
    film: float = 2.5
    purge_percent: float = 0.5
    trim_limit_percent: float = 25.0
    full_throttle_percent: float = 85.0
    settle_for_trims_s: float = 3.0
    settled: float = 0.015
    rich_command: float = 0.97
    channels: tuple[ChannelGate, ...] = ()


def limits_of(what: "Gates | Limits") -> dict[str, float]:
    """Return the limits that are single numbers, by name."""
    return {each.name: value for each in fields(what) if isinstance(value := getattr(what, each.name), float | int)}


@dataclass(frozen=True)
class GateCount:
    """What one gate took away.

    Attributes:
        name: the gate, in words.
        rejected: samples it rejects, whatever the other gates say.
        alone: samples that only this gate rejects.
    """

    name: str
    rejected: int
    alone: int = 0


@dataclass(frozen=True)
class Limits:
    """Thresholds of cautions. Defaults are common practice, no source, unless said otherwise.

    Attributes:
        cliff: largest step between the multipliers of neighbouring cells that no evidence asks for, as a ratio.
        lean: leaner than commanded under load by more, as a ratio.
        lean_s: for longer than this, s; shorter is the fuel film on the walls when the throttle opens.
        load_lean_s: the same under load at part throttle, s.
        spike: a jump of the mixture within a pull, as a ratio of the readings around it.
        coolant_c: hotter, degC.
        intake_c: hotter, degC.
        injector_duty_percent: higher, %.
        knock_retard_deg: more ignition taken back, degrees of crank angle.
        supply_v: lower with the engine running, V.
        supply_s: for longer than this, s.
        fuel_pressure_drop: of the pressure at little flow, as a ratio.
        fuel_supply: leaner at full throttle over the upper half of the fuel flow, with a knee, as a ratio.
        banks_apart: difference of the banks' fuel factors, as a ratio.
        wideband_lag_s: slower, s.
        frozen_s: a channel that stands still for longer while the engine does not, s.
        clipped_s: a channel at its highest value for longer while the engine turns faster, s.
    """

    cliff: float = 0.02
    lean: float = 0.03
    lean_s: float = 0.5
    load_lean_s: float = 2.0
    spike: float = 0.06
    coolant_c: float = 110.0
    intake_c: float = 60.0
    injector_duty_percent: float = 85.0
    knock_retard_deg: float = 4.0
    supply_v: float = 12.8
    supply_s: float = 10.0
    fuel_pressure_drop: float = 0.05
    fuel_supply: float = 0.1
    banks_apart: float = 0.02
    wideband_lag_s: float = 0.8
    frozen_s: float = 30.0
    clipped_s: float = 0.8
