"""Gates: the rules that keep or reject samples, and what each of them took away."""

from dataclasses import dataclass


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
