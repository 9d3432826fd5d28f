"""One drive on its way to evidence: read, with its delay, film and wideband's place found one after the other."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, TypeVar

import numpy as np

from workbench.errors import InputError
from workbench.maths.drives import delay_estimation
from workbench.maths.drives.contrary import contradiction
from workbench.maths.signals import sampling
from workbench.maths.signals.aside import put_aside
from workbench.maths.signals.axes import axis_signal
from workbench.maths.signals.disturbances import DRY, FILM_S, Film, film_filling, manifold_filling
from workbench.maths.signals.gating import FILM
from workbench.maths.signals.purge_levels import Levels
from workbench.maths.signals.ratio import Signals, signals
from workbench.maths.signals.sampling import Readings, under_vapour
from workbench.maths.signals.series import filled
from workbench.maths.solve.solve import Solution, huber_weights, spread_of
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import Delay, Source
from workbench.model.gate import Gates
from workbench.model.history import History, Revision
from workbench.model.log import Drive
from workbench.model.state import Settings
from workbench.model.table import Table
from workbench.phrases import call, flag, phrase
from workbench.work import may_stop

Held = TypeVar("Held", "DriveFit", Signals, Readings)
FELT = 0.02  # of the fuel; a film that never takes up more cannot be found
LARGEST_SHARE, LARGEST_MANIFOLD = 0.5, 0.4  # of the fuel; s * 1000 rpm
# How far an estimated delay may yet be off, part by part (s, g, s): about as far as it was between drives of one car of
# the demo, and a fifth of a row of a common log. For each g of gas on the way it is more, for that gas mixes.
DELAY_PRIOR_SD = {"fixed_s": 0.01, "volume_g": 0.1, "lag_s": 0.01}
MORE_PER_G = {"fixed_s": 0.005, "volume_g": 0.05, "lag_s": 0.005}
# An estimate tells the delay at the usual airflow far better than what of it is transport of gas: of each g on the way,
# and of one more, so much may be time that no flow makes shorter. Seen on virtual cars made by others (tests/family).
DIVIDED = 0.25
MISTIMED = 0.01  # of the ratio: a reading that a delay in error moves by so much counts half (about its own noise)
# How far the default may be off: exhausts hold from under one to nine grams (common practice, no source).
DEFAULT_PRIOR_SD = {"fixed_s": 0.1, "volume_g": 2.5, "lag_s": 0.1}


@dataclass(frozen=True, eq=False)
class DriveFit:
    """One drive on its way to evidence.

    Attributes:
        drive: the log.
        table: that was in the car.
        seen: its channels.
        place: of the wideband: before, after, unknown or none.
        delay: of the wideband.
        film: on the walls.
        read: what it says with these, purge that is not logged included.
        stated_place: where the user says it sits, "auto" where that was not said.
        delay_sensitivity: what an error of the size of its prior in each part of the delay adds to the ratio, shape
            (rows, parts); None where the delay was stated.
        unused: how likely it is that short and long trim do not act in open loop though they are logged there.
        vapour: where such purge was found out.
        notes: on what was found.
        contrary: how what was measured contradicts the trims or the command; empty where it does not.
        said: delay that is stated for it; None where it is to be estimated.
    """

    drive: Drive
    table: Table
    seen: Signals
    place: str
    delay: Delay
    film: Film
    read: Readings
    stated_place: str = "auto"
    delay_sensitivity: FloatArray | None = None
    unused: tuple[float, float] = (0.0, 0.0)
    vapour: Levels | None = None
    notes: tuple[str, ...] = ()
    contrary: str = ""
    said: Delay | None = None

    @cached_property
    def readings(self) -> Readings:
        """What the drive says, with purge that was found out treated as purge that is logged."""
        return self.read if self.vapour is None else _aside(under_vapour(self.read, self.seen, self.vapour))

    def put_aside(self) -> "DriveFit":
        """Return the same with what it holds of its rows put aside."""
        return replace(_aside(self), seen=_aside(self.seen), read=_aside(self.read))


def _aside(held: Held) -> Held:
    """Put the arrays among some values aside, those in mappings too."""
    found: dict[str, Any] = {}
    for name, each in vars(held).items():
        if isinstance(each, np.ndarray):
            found[name] = put_aside(each)
        elif isinstance(each, Mapping):
            found[name] = {key: put_aside(mask) for key, mask in each.items()}
    return replace(held, **found)


def driven_table(history: History, drive: Drive, name: str) -> Table:
    """Return the table of that name that was in the car: the drive's revision, or what that table was by then.

    Raises:
        InputError: when the table was not in the session yet.
    """
    revision = history.driven(drive, name)
    if revision is None:
        raise InputError(
            phrase("Drive {drive} was driven before the table {name!r} was added.", drive=drive.id, name=name),
            phrase(
                "Say which revision of that table was in the car: {amend_log_command}.",
                amend_log_command=call("amend-log", "SESSION", str(drive.id), flag("on"), str(_first(history, name))),
            ),
        )
    return revision.table


def _first(history: History, name: str) -> int:
    """Give the number of a table's first revision."""
    return next(each.id for each in history.revisions if each.table.name == name)


def _beside(history: History, drive: Drive, name: str) -> tuple[Table, ...]:
    """Return the other tables that were in the car."""
    then = [history.driven(drive, other) for other in history.table_names if other != name]
    return tuple(revision.table for revision in then if revision is not None)


def smoothing_baseline(history: History, head: Revision) -> Table:
    """Return the table whose correction is what must be smooth: the head as it was before any correction from logs.

    A corrected table holds what the drives said and, where they said little, what was carried on from there. Counted
    from it, the rest would look smoother than the car is, and cells that no drive reached would pass for well known.
    Whoever shapes a table by hand looks at what the logs say, so only values that were brought in whole are knowledge
    from elsewhere.
    """
    revision = head
    while revision.origin != "brought in whole" and revision.parent is not None:
        parent = history.revision(revision.parent)
        if not parent.table.same_axes(head.table) or not np.all(parent.table.values > 0):
            break
        revision = parent
    return revision.table


def before_shaping(history: History, head: Revision) -> Table:
    """Return the head as it was before anything of it was changed by hand since it was brought in whole.

    What readings say, and how surely, is worked out against it: what is typed tells nothing of the air.
    """
    line = [head]
    base = smoothing_baseline(history, head)
    while line[-1].table is not base and (parent := line[-1].parent) is not None:
        line.append(history.revision(parent))
    table = base
    for revision in reversed(line[:-1]):
        if revision.origin == "by hand":
            break
        table = revision.table
    return table


def check_speaks(history: History, drive: Drive, name: str) -> None:
    """Check that a drive was made with a table in the car and logs what feeds its axes.

    Raises:
        InputError: saying what is missing.
    """
    for axis in driven_table(history, drive, name).axes:
        axis_signal(axis, drive.log)


def first_look(
    history: History,
    head: Revision,
    drive: Drive,
    settings: Settings,
    source: Source,
    stated: Delay | None,
) -> DriveFit:
    """Read a drive with the default or stated delay, no film, the wideband as stated or before the catalyst."""
    table, gates = driven_table(history, drive, head.table.name), settings.gates
    seen = signals(drive, table, gates, _beside(history, drive, head.table.name))
    place, contrary = "none", ""
    stated_place = settings.place_of(drive)
    if np.isfinite(seen.measured).any():
        contrary = contradiction(seen, table, gates)
        place = stated_place if stated_place != "auto" else "before"
    said = stated or settings.delay_of(drive.id)
    delay = said or delay_estimation.DEFAULT
    readings = sampling.read_drive(seen, table, gates, delay, DRY, source, place)
    return DriveFit(drive, table, seen, place, delay, DRY, readings, stated_place, contrary=contrary, said=said)


def read_again(
    driven: DriveFit,
    head: Table,
    solution: Solution,
    gates: Gates,
    source: Source,
    place: str,
    delay: Delay,
    film: Film,
    why: str,
) -> DriveFit:
    """Read a drive again with what is known by now of the exhaust and of the walls."""
    readings = sampling.read_drive(driven.seen, driven.table, gates, delay, film, source, place)
    notes = (why,) if why else ()
    found = replace(driven, place=place, delay=delay, film=film, read=readings, delay_sensitivity=None, notes=notes)
    if delay.source == "stated":
        return found
    moved = _delay_sensitivity(found, head, solution, gates)
    return replace(found, delay_sensitivity=moved, read=replace(readings, weight=readings.weight * _timed(moved)))


def _timed(moved: FloatArray) -> FloatArray:
    """Weigh readings by how little their ratio would be moved by a delay that is off, shape (rows,).

    The solve finds what of that is alike in all of them; what differs from one transient to the next stays, and where
    nothing but transients led through a cell it would pass for its value.

    Args:
        moved: as `DriveFit.delay_sensitivity`.
    """
    return np.asarray(1 / (1 + np.sum(moved**2, axis=1) / MISTIMED**2))


def _delay_sensitivity(driven: DriveFit, head: Table, solution: Solution, gates: Gates) -> FloatArray:
    """Return what a small error in each part of the delay adds to the ratio, against what a solution expects there.

    The delay is found while the table is taken as known. The solve, told what a wrong delay looks like, sets right what
    that leaves, and counts its uncertainty in every interval.
    """
    corrected = _corrected(head, solution)

    def left(delay: Delay) -> FloatArray:
        read = sampling.read_drive(driven.seen, driven.table, gates, delay, driven.film, "wideband", driven.place)
        expected = look_up(corrected, read.position) / look_up(driven.table, read.position)
        return np.where(driven.read.by_trims, 0.0, read.ratio - expected)

    here = left(driven.delay)
    moved = [left(other) for other in _other_delays(driven)]
    return np.nan_to_num(np.stack(moved, axis=1) - here[:, None])


def _other_delays(driven: DriveFit) -> list[Delay]:
    """Give the delays that stand for one standard deviation of each way in which the one in use may be off."""
    known = driven.delay
    sizes = DEFAULT_PRIOR_SD
    if known.source == "estimated":
        sizes = {part: size + MORE_PER_G[part] * known.volume_g for part, size in DELAY_PRIOR_SD.items()}
    found = [replace(known, **{part: getattr(known, part) + by}) for part, by in sizes.items()]
    if known.source == "estimated":
        more_g = DIVIDED * (known.volume_g + 1.0)
        usual = float(np.nanmedian(driven.seen.airflow[driven.readings.kept])) if driven.readings.kept.any() else np.inf
        found.append(replace(known, fixed_s=known.fixed_s - more_g / usual, volume_g=known.volume_g + more_g))
    return found


def film_of(group: Sequence[DriveFit], head: Table, solution: Solution, gates: Gates, delay: Delay) -> Film:
    """Find the fuel film and the filling of the manifold that explain best what a solution leaves over in some drives.

    Both blur transients in a like way and against one another, so they are found together; a film takes up no less
    than nothing.
    """
    trials = [_trial(driven, head, solution, gates, delay) for driven in group]
    best, least = DRY, np.inf
    for constant in FILM_S:
        parts = [trial.columns(sampling.film_at_sensor(trial.seen, delay, constant), gates) for trial in trials]
        left, filling, manifold = (np.concatenate(columns) for columns in zip(*parts, strict=True))
        if not np.any(np.abs(filling) > FELT):
            return DRY
        robust = np.ones(left.size)
        for _ in range(5):
            may_stop()
            share, time_constant = _both(robust, left, filling, manifold)
            rest = left - share * filling + time_constant * manifold
            robust = huber_weights(rest, spread_of(rest, np.ones(rest.size)))
        loss = float(np.sum(robust * rest**2)) / float(robust.sum())
        if loss < least:
            best, least = Film(min(share, LARGEST_SHARE), constant, time_constant), loss
    return best


def _both(robust: FloatArray, left: FloatArray, filling: FloatArray, manifold: FloatArray) -> tuple[float, float]:
    """Give share of the film and time constant of the manifold, neither below 0, by weighted least squares."""
    square = np.array([[robust @ filling**2, -(robust @ (filling * manifold))], [0.0, robust @ manifold**2]])
    square[1, 0] = square[0, 1]
    right = np.array([robust @ (filling * left), -(robust @ (manifold * left))])
    alone = np.maximum(right / np.maximum(np.diag(square), 1e-12), 0.0)
    if square[1, 1] < 1e-9 * max(square[0, 0], 1e-12):
        return float(alone[0]), 0.0
    found = np.linalg.lstsq(square, right, rcond=None)[0]
    if np.all(found >= 0):
        return float(found[0]), float(min(found[1], LARGEST_MANIFOLD))
    film_only, manifold_only = (float(alone[k] * (2 * right[k] - alone[k] * square[k, k])) for k in (0, 1))
    return (float(alone[0]), 0.0) if film_only > manifold_only else (0.0, float(min(alone[1], LARGEST_MANIFOLD)))


@dataclass(frozen=True, eq=False)
class _Trial:
    """One drive read without film, for finding it; arrays of shape (rows used,)."""

    seen: Signals
    rows: BoolArray
    ratio: FloatArray
    expected: FloatArray
    manifold: FloatArray

    def columns(self, at_sensor: FloatArray, gates: Gates) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Give what is left over, and what a film of share 1 and a manifold of time constant 1 would leave."""
        taken = at_sensor[self.rows]
        kept = ~(np.abs(taken) > gates.film)
        left = self.ratio[kept] - self.expected[kept]
        return left, self.ratio[kept] * taken[kept], self.ratio[kept] * self.manifold[kept]


def _trial(driven: DriveFit, head: Table, solution: Solution, gates: Gates, delay: Delay) -> _Trial:
    trial = sampling.read_drive(driven.seen, driven.table, gates, delay, DRY, "wideband", "before")
    # Trials differ by what the film takes up, and by the gate on it.
    others = {name: mask for name, mask in trial.rejected.items() if name != FILM}
    rows = sampling.passed(others) & driven.readings.kept
    position = trial.position[rows]
    expected = look_up(_corrected(head, solution), position) / look_up(driven.table, position)
    return _Trial(driven.seen, rows, trial.ratio[rows], expected, trial.manifold[rows])


def _corrected(head: Table, solution: Solution) -> Table:
    return head.with_values(head.values * solution.multipliers.reshape(head.shape))


def expected_ratio(driven: DriveFit, head: Table, solution: Solution) -> FloatArray:
    """Return the airflow ratio that a solution expects at every row, film effects included."""
    position = np.stack([filled(column) for column in driven.seen.position.T], axis=1)
    ratio = look_up(_corrected(head, solution), position) / look_up(driven.table, position)
    blurred = ratio / (1 - driven.film.share * film_filling(driven.seen, driven.film.constant_s))
    return blurred / (1 + driven.film.manifold * manifold_filling(driven.seen)) if driven.film.manifold else blurred
