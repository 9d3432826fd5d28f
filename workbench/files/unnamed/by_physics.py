"""What channels without a known name may be, by their units, their values and by how they go together."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from workbench.files.course.command_by_course import NO_PLATEAU, PLATEAU, plateau
from workbench.files.vocabulary.units import Unit
from workbench.model.arrays import FloatArray
from workbench.model.log import Role

# All spans below are common practice, without a source: what engines and cars in use read.
SPEED = (300.0, 14000.0)  # rpm that an engine reaches in a drive
SLOWEST_HZ, HIGHEST_V = 20.0, 5.5  # of an airflow sensor
STILL_KPA, AIR_KPA = 3.0, (55.0, 110.0)  # a barometer: what it moves by in a drive, and where it reads
MOVES_KPA, MOST_KPA = 15.0, 450.0  # a manifold's pressure: by what it moves at least, and what it never reaches
WARM, COOL = (68.0, 118.0), 65.0  # degC: where coolant ends up, and below what the air does
WIDEST_TRIM, BELOW_0, RICHEST, LEANEST = 60.0, -0.5, 0.55, 2.6  # %, %, lambda
RICHEST_RUN, LEANEST_RUN = 0.7, 1.3  # lambda that engines burn
MOST_LONG = 35.0  # % of a long trim that never falls below 0
AROUND_1 = (0.9, 1.1)  # lambda in the middle of a drive
CLOSED, STATES = 2.0, frozenset((0.0, 1.0, 2.0, 4.0, 8.0, 16.0))  # SAE J1979, parameter 03
HALF_OPEN, NEARLY_SHUT = 55.0, 35.0  # %: a throttle in a drive with pulls, and most of the time
FEWEST = 100  # readings
STRAIGHT, FOLLOWS, GOES_WITH = 0.985, 0.93, 0.5  # correlation: on a line; by ranks; loosely
SAME = 0.02  # by which two readings of one thing differ at most, of their span
QUICKER = 4.0  # by which a short trim is more restless than a long one
ADDS_UP = 0.12  # of its span: what a total of two trims differs by at most from their sum
MOST_ROWS = 20_000  # that are looked at


@dataclass(frozen=True, eq=False)
class Unnamed:
    """A channel, known or not.

    Attributes:
        name: of the channel.
        quantity: of its unit; empty where it has none, or an unknown one.
        has_unit: whether a unit was given, though it may be of no use for a role.
        values: in base units, shape (rows,), NaN where nothing was read.
        unit: as it was understood; None where that is unknown.
    """

    name: str
    quantity: str
    has_unit: bool
    values: FloatArray
    unit: Unit | None = None


@dataclass
class Told:
    """What was found.

    Attributes:
        roles: role -> name of the channel that fits it alone.
        either: role -> names of channels of which each fits it, so that none is offered.
    """

    roles: dict[Role, str] = field(default_factory=dict)
    either: dict[Role, tuple[str, ...]] = field(default_factory=dict)


def told_by_physics(channels: Sequence[Unnamed], roles: Mapping[Role, str], cleared: Sequence[Role]) -> Told:
    """Tell what channels that play no role may be.

    Args:
        channels: all of a log.
        roles: role -> channel, as told by names.
        cleared: roles that nothing is to play.
    """
    return _Telling(channels, roles, cleared).told()


class _Telling:
    """One look at a log: roles are told one after another, each of what the ones before left over."""

    def __init__(self, channels: Sequence[Unnamed], roles: Mapping[Role, str], cleared: Sequence[Role]) -> None:
        self._held = {each.name: _held(each.values) for each in channels}
        self._played = {role: self._held[name] for role, name in roles.items() if name in self._held}
        self._cleared = frozenset(cleared)
        self._open = [
            each
            for each in channels
            if each.name not in roles.values() and np.count_nonzero(np.isfinite(each.values)) >= FEWEST
        ]
        self._found = Told()

    def told(self) -> Told:
        self._one("engine_speed", "turning", self._is_engine_speed)
        self._one("vehicle_speed", "speed", lambda x: np.nanmin(x) >= 0 and 5 < np.nanmax(x) < 400)
        self._one("airflow", "mass flow", lambda x: np.nanmin(x) >= 0 and _span(x) > 0 and np.nanmax(x) < 1500)
        self._pressures()
        self._one("sensor_signal", "frequency", self._is_frequency)
        self._one("sensor_signal", "voltage", self._is_signal)
        self._one("battery_voltage", "voltage", lambda x: 10 < np.nanmedian(x) < 16 and _span(x) < 6)
        self._one("coolant_temperature", "temperature", _is_coolant)
        self._one("intake_temperature", "temperature", lambda x: -40 < np.nanmedian(x) < COOL)
        self._mixtures()
        self._state()
        self._trims()
        self._one("load", "percent", self._is_load)
        self._one("throttle", "percent", self._is_throttle)
        self._purge()
        return self._found

    def _one(self, role: Role, quantity: str, fits: Callable[[FloatArray], bool | np.bool_]) -> None:
        """Give a role the one channel that fits it; of several that read the same, the first."""
        if role in self._played or role in self._cleared:
            return
        fitting = [each for each in self._open if each.quantity == quantity and fits(self._held[each.name])]
        self._take(role, fitting)

    def _take(self, role: Role, fitting: Sequence[Unnamed]) -> None:
        if not fitting:
            return
        first = self._held[fitting[0].name]
        if all(_is_same(first, self._held[each.name]) for each in fitting[1:]):
            self._give(role, fitting[0].name)
            self._open = [each for each in self._open if each not in fitting]
        else:
            self._found.either[role] = tuple(each.name for each in fitting)

    def _give(self, role: Role, name: str) -> None:
        self._found.roles[role] = name
        self._played[role] = self._held[name]
        self._open = [each for each in self._open if each.name != name]

    @staticmethod
    def _is_engine_speed(x: FloatArray) -> bool:
        return bool(np.nanmin(x) >= 0 and SPEED[0] < np.nanmedian(x) and 1000 < np.nanmax(x) < SPEED[1] and _span(x))

    def _is_frequency(self, x: FloatArray) -> bool:
        if not np.nanmedian(x) > SLOWEST_HZ or not _span(x):
            return False
        flow = self._flow()
        return bool(flow is None or _rank(x, flow) > FOLLOWS)

    def _is_signal(self, x: FloatArray) -> bool:
        """Tell a sensor's voltage: it rises with the airflow, as nothing else in volts does."""
        flow = self._flow()
        return bool(flow is not None and np.nanmax(x) <= HIGHEST_V and _rank(x, flow) > FOLLOWS)

    def _flow(self) -> FloatArray | None:
        """Give what rises with the airflow: itself, or engine speed times manifold pressure; None where neither is."""
        if "airflow" in self._played:
            return self._played["airflow"]
        if {"engine_speed", "manifold_pressure"} <= set(self._played):
            return self._played["engine_speed"] * self._played["manifold_pressure"]
        return None

    def _filling(self) -> FloatArray | None:
        """Give what rises with the air in a cylinder: airflow over engine speed, or manifold pressure."""
        if {"engine_speed", "airflow"} <= set(self._played):
            speed = self._played["engine_speed"]
            return np.asarray(self._played["airflow"] / np.where(speed > SPEED[0], speed, np.nan))
        return self._played.get("manifold_pressure")

    def _pressures(self) -> None:
        filling = self._filling()

        def is_manifold(x: FloatArray) -> bool:
            moves = _span(x) > MOVES_KPA and np.nanmin(x) >= 0 and np.nanmax(x) < MOST_KPA
            return bool(moves and (filling is None or _rank(x, filling) > GOES_WITH))

        def is_air(x: FloatArray) -> bool:
            return bool(_span(x) < STILL_KPA and AIR_KPA[0] < np.nanmedian(x) < AIR_KPA[1])

        self._one("manifold_pressure", "pressure", is_manifold)
        self._one("barometer", "pressure", is_air)

    def _mixtures(self) -> None:
        """Tell the command, which stands at one value for long, from the sensor, which never does."""
        asked: tuple[Role, ...] = ("lambda_measured", "lambda_commanded")
        wanted = [role for role in asked if role not in self._played and role not in self._cleared]
        fitting = [
            each
            for each in self._open
            if (each.quantity == "lambda" or not each.has_unit) and _is_mixture(self._held[each.name])
        ]
        still = [each for each in fitting if _standing(self._held[each.name]) > PLATEAU]
        moving = [each for each in fitting if _standing(self._held[each.name]) < NO_PLATEAU]
        if len(still) + len(moving) < len(fitting):
            return
        if "lambda_measured" in wanted:
            self._take("lambda_measured", moving)
        if "lambda_commanded" in wanted:
            self._take("lambda_commanded", still)

    def _state(self) -> None:
        if "fuel_system" in self._played or "fuel_system" in self._cleared:
            return

        def is_state(x: FloatArray) -> bool:
            levels = set(np.unique(_there(x)).tolist())
            return len(levels) > 1 and CLOSED in levels and levels <= STATES and float(np.nanmean(x == CLOSED)) > 0.3

        self._take(
            "fuel_system", [each for each in self._open if not each.has_unit and is_state(self._held[each.name])]
        )

    def _trims(self) -> None:
        """Tell short trims, which the loop moves all the time, from long ones, which it moves now and then."""
        trims: tuple[Role, ...] = ("stft_1", "ltft_1", "stft_2", "ltft_2")
        if any(role in self._played or role in self._cleared for role in (*trims, "total_trim_1")):
            return
        sided = [each for each in self._open if each.quantity == "percent" and _is_trim(self._held[each.name])]
        sided = [each for each in sided if not self._is_error(each) and not self._is_total(each, sided)]
        if len(sided) == 1:
            self._with_long(sided[0])
            return
        if len(sided) == 2:
            quick, slow = sorted(sided, key=lambda each: -_quickness(self._held[each.name]))
            if _quickness(self._held[quick.name]) > QUICKER * _quickness(self._held[slow.name]):
                self._give("stft_1", quick.name)
                self._give("ltft_1", slow.name)
                return
        if len(sided) == 4:
            ordered = sorted(sided, key=lambda each: -_quickness(self._held[each.name]))
            quicks = [_quickness(self._held[each.name]) for each in ordered]
            if quicks[1] > QUICKER * quicks[2]:
                short, long = ([each for each in sided if each in half] for half in (ordered[:2], ordered[2:]))
                for role, each in zip(trims, (short[0], long[0], short[1], long[1]), strict=True):
                    self._give(role, each.name)
                return
        if sided:
            self._found.either["stft_1"] = tuple(each.name for each in sided)
            self._open = [each for each in self._open if each not in sided]

    def _with_long(self, short: Unnamed) -> None:
        """Tell the long trim of a short one, where it never changes its sign."""
        quick = _quickness(self._held[short.name])
        fitting = [
            each
            for each in self._open
            if each.quantity == "percent"
            and each is not short
            and 0 < np.nanmax(self._held[each.name]) < MOST_LONG
            and _quickness(self._held[each.name]) * QUICKER < quick
        ]
        self._give("stft_1", short.name)
        self._take("ltft_1", fitting)

    def _is_error(self, each: Unnamed) -> bool:
        """Tell the difference of the mixture from its command, in percent."""
        if not {"lambda_measured", "lambda_commanded"} <= set(self._played):
            return False
        error = self._played["lambda_measured"] / self._played["lambda_commanded"] - 1
        return abs(_rank(self._held[each.name], error)) > FOLLOWS

    def _is_total(self, each: Unnamed, sided: Sequence[Unnamed]) -> bool:
        mine, others = self._held[each.name], [other for other in sided if other is not each]
        for at, one in enumerate(others):
            for two in others[at + 1 :]:
                both = self._held[one.name] + self._held[two.name]
                if _span(both) and np.nanmedian(np.abs(mine - both)) < ADDS_UP * _span(mine) / 4:
                    return _span(mine) > 0
        return False

    def _purge(self) -> None:
        """Name what is left in percent: a purge valve has no course of its own to be told by."""
        left = [each for each in self._open if each.quantity == "percent" and np.nanmin(self._held[each.name]) >= 0]
        if left and "purge" not in self._played and "purge" not in self._cleared:
            self._found.either["purge"] = tuple(each.name for each in left)

    def _is_load(self, x: FloatArray) -> bool:
        filling = self._filling()
        return bool(filling is not None and np.nanmin(x) >= 0 and _line(x, filling) > STRAIGHT)

    def _is_throttle(self, x: FloatArray) -> bool:
        filling = self._played.get("load", self._filling())
        opens = np.nanmin(x) >= 0 and HALF_OPEN < np.nanmax(x) < 105 and np.nanmedian(x) < NEARLY_SHUT
        return bool(opens and filling is not None and _rank(x, filling) > GOES_WITH)


def _held(values: FloatArray) -> FloatArray:
    """Let each value stand until the next one, of an even choice of rows, to be compared with others."""
    rows = np.arange(values.size)
    last = np.maximum.accumulate(np.where(np.isfinite(values), rows, -1))
    held = np.where(last >= 0, values[np.maximum(last, 0)], np.nan)
    return np.asarray(held[: MOST_ROWS * max(values.size // MOST_ROWS, 1)][:: max(values.size // MOST_ROWS, 1)])


def _there(x: FloatArray) -> FloatArray:
    return x[np.isfinite(x)]


def _span(x: FloatArray) -> float:
    low, high = np.nanquantile(x, [0.02, 0.98])
    return float(high - low) or float(np.nanmax(x) - np.nanmin(x))


def _is_same(one: FloatArray, other: FloatArray) -> bool:
    both = np.isfinite(one) & np.isfinite(other)
    near = both.sum() >= FEWEST and np.median(np.abs(one[both] - other[both])) < SAME * max(_span(one), 1e-9)
    return bool(near and _rank(one, other) > FOLLOWS)


def _rank(one: FloatArray, other: FloatArray) -> float:
    """Return how far two channels rise and fall together, by their ranks; 0 where that is not told."""
    both = np.isfinite(one) & np.isfinite(other)
    if both.sum() < FEWEST or np.ptp(one[both]) == 0 or np.ptp(other[both]) == 0:
        return 0.0
    ranks = [np.unique(each[both], return_inverse=True)[1].astype(np.float64) for each in (one, other)]
    return _line(ranks[0], ranks[1])


def _line(one: FloatArray, other: FloatArray) -> float:
    """Return how nearly two channels lie on a line, as their correlation; 0 where that is not told."""
    both = np.isfinite(one) & np.isfinite(other)
    if both.sum() < FEWEST or np.ptp(one[both]) == 0 or np.ptp(other[both]) == 0:
        return 0.0
    return float(np.corrcoef(one[both], other[both])[0, 1])


def _is_coolant(x: FloatArray) -> bool:
    """Tell what rises to where a thermostat holds it and stays there."""
    late = _there(x)[-max(x.size // 3, 1) :]
    return bool(WARM[0] < np.median(late) < WARM[1] and np.ptp(late) < 25 and np.nanmin(x) > -40)


def _is_mixture(x: FloatArray) -> bool:
    there = _there(x)
    inside = float(np.quantile(there, 0.02)) > RICHEST and float(np.quantile(there, 0.9)) < LEANEST
    fractions = bool(np.any(there % 1))
    return inside and fractions and AROUND_1[0] < float(np.median(there)) < AROUND_1[1]


def _standing(x: FloatArray) -> float:
    """Give the part of its readings at which a mixture stands at one value, but for those in cuts."""
    there = _there(x)
    return plateau(there[(there > RICHEST_RUN) & (there < LEANEST_RUN)])[1]


def _is_trim(x: FloatArray) -> bool:
    there = _there(x)
    low, high = float(there.min()), float(there.max())
    return (low < 0 < high or low < BELOW_0) and max(-low, high) < WIDEST_TRIM


def _quickness(x: FloatArray) -> float:
    """Return how restless a channel is: how much it moves from one value to the next, of its spread, and how often.

    A long trim leaps where the engine comes into another range, but stands most of the time.
    """
    steps = np.diff(_there(x))
    return float(np.mean(np.abs(steps)) / max(float(np.std(_there(x))), 1e-9) * np.mean(steps != 0))
