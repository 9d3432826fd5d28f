"""The scenario of the demo: which car, which drive, which wideband, which faults.

A 2.4-litre four-cylinder petrol engine with a light-pressure turbocharger was given an enlarged intake, and its ECU
still works with the airflow table of the old one. Car, engine and numbers are invented for the demo; each magnitude
says where it comes from: a source, "common practice, no source", or "invented for the demo".
"""

from dataclasses import dataclass
from typing import Literal

from workbench.errors import InputError
from workbench.model.table import Kind

WidebandPlace = Literal["before", "after", "none"]
Purge = Literal["logged", "hidden", "off"]
Fault = Literal[
    "none",
    "injector",  # fuel delivered falls short as load grows
    "vacuum_leak",  # air that no sensor sees, most at low manifold pressure
    "intake_temperature",  # the ECU corrects for intake temperature wrongly
    "engine_speed",  # fuel falls short as the engine turns faster
    "wrong_cell",  # long-term trims start with values that belong to other cells
    "clipped_trims",  # the table is so far off that the short-term trim meets its limit
]

STEP_S = 0.025
"""Inner time step, s: a good part shorter than any delay or time constant below (invented for the demo)."""

STOICHIOMETRIC_AFR = 14.6
"""Air-fuel ratio of petrol CH1.87 at lambda 1 (Heywood 1988, eq. 3.6: 14.60; formula from memory)."""


@dataclass(frozen=True)
class Scenario:
    """All that is chosen about a car and its drive. Defaults are invented for the demo unless said otherwise.

    The car (its true table and the stale one) depends only on `seed`, `kind`, `breakpoints`, `error_scale`, `between`
    and, for clipped trims, on `fault`; everything else belongs to the drive.

    Attributes:
        seed: which car.
        minutes: of mixed driving at part throttle, before the pulls.
        pulls: full-throttle runs after it.
        rate_hz: rows a second in the log; 40, 20, 10, 8, 5, 4, 2 or 1.
        wideband: where it sits, seen from the catalyst.
        oxygen_storage_g: of the catalyst, g of oxygen (order of a gram: common practice, no source).
        delay_fixed_s: fixed part of the transport delay of every mixture sensor, s; about one engine cycle at
            1500 rpm (120 / rpm).
        delay_cycles: engine cycles added to it, each 120 / rpm seconds; 0 keeps the fixed part constant.
        delay_extra_s: further delay of the wideband alone, as of a slow box on its way to the log, s.
        delay_volume_g: gas between engine and the place before the catalyst, g: 1.5 litres at 900 K and 1 bar hold
            0.59 g (ideal gas).
        transport: "integral": a parcel arrives when `delay_volume_g` has followed it (plug flow); "instant": the delay
            is volume over the flow at the moment of leaving, which is the same while the flow is steady.
        lag_s: first-order time constant of the wideband, s (50 to 100 ms: abstract cited in the project's checks).
        noise: of the wideband, relative standard deviation of each row.
        lambda_step: what the wideband's readings are rounded to.
        sensor_noise_hz: of the airflow sensor, standard deviation, Hz.
        film_share: part of the fuel that wets the wall, as far as the ECU does not make up for it. The film with two
            parameters is Aquino's (SAE 810494, from memory); its sizes are invented for the demo.
        film_s: time constant of its drying, s.
        purge: canister purge: works and is in the log, works unseen, or is off.
        banks: 1 or 2.
        imbalance: relative air surplus of bank 1, and shortfall of bank 2.
        wideband_bank: 0 where both banks have joined, 1 or 2 in that bank's own pipe.
        start_coolant_c: coolant temperature at the start, degC.
        kind: "curve" over an airflow sensor's frequency, "grid" over engine speed and manifold pressure.
        fault: something else that is wrong with the car.
        breakpoints: of the curve.
        error_scale: how far the table is off, as a multiple of the seed's own error; 0 makes it right.
        between: "linear": truth lies on straight lines between breakpoints, as the ECU reads it, so that the right
            table is exactly known; "smooth": truth curves between them.
        closed_loop: False keeps the ECU in open loop and its short-term trims at 0.
        learning: False freezes the long-term trims.
        start_long_trims: long-term trims per airflow cell at the start, %, for every bank; empty: 0, as after a flash.
    """

    seed: int = 1
    minutes: float = 15.0
    pulls: int = 3
    rate_hz: float = 20.0
    wideband: WidebandPlace = "before"
    oxygen_storage_g: float = 1.0
    delay_fixed_s: float = 0.08
    delay_cycles: float = 0.0
    delay_extra_s: float = 0.0
    delay_volume_g: float = 0.6
    transport: Literal["integral", "instant"] = "integral"
    lag_s: float = 0.08
    noise: float = 0.003
    lambda_step: float = 0.001
    sensor_noise_hz: float = 3.0
    film_share: float = 0.12
    film_s: float = 0.35
    purge: Purge = "logged"
    banks: int = 1
    imbalance: float = 0.0
    wideband_bank: int = 0
    start_coolant_c: float = 60.0
    kind: Kind = "curve"
    fault: Fault = "none"
    breakpoints: int = 48
    error_scale: float = 1.0
    between: Literal["linear", "smooth"] = "linear"
    closed_loop: bool = True
    learning: bool = True
    start_long_trims: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        """Check what cannot be simulated.

        Raises:
            InputError: naming the field.
        """
        ticks = 1 / (self.rate_hz * STEP_S) if self.rate_hz > 0 else 0.0
        if ticks < 1 or abs(ticks - round(ticks)) > 1e-9:
            raise InputError(f"A demo drive cannot be logged at {self.rate_hz:g} Hz.", "Take 40, 20, 10, 5 or 1 Hz.")
        if self.minutes < 0 or self.pulls < 0 or (self.minutes == 0 and self.pulls == 0):
            raise InputError("A demo drive needs some minutes or some pulls.", "Give more than 0 of one of them.")
        if self.banks not in (1, 2) or not 0 <= self.wideband_bank <= self.banks:
            raise InputError("A demo engine has 1 or 2 banks.", "Choose the wideband's bank among them, 0 for both.")
        if self.breakpoints < 8:
            raise InputError("A demo curve needs 8 breakpoints or more.", "Take 40 to 60.")

    @property
    def wideband_volume_g(self) -> float:
        """Gas between engine and wideband, g; a catalyst adds 2 litres at 900 K (invented for the demo)."""
        return self.delay_volume_g + (0.8 if self.wideband == "after" else 0.0)

    @property
    def wideband_fixed_s(self) -> float:
        """Constant part of the wideband's delay, s."""
        return self.delay_fixed_s + self.delay_extra_s
