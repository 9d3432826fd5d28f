"""Two tables that share the work: some ECUs blend an airflow curve with a grid, by engine speed or in haste.

Where the airflow that the ECU used is logged, it tells at which moments it was the curve's look-up. The mixture speaks
of the airflow that was used; what the curve should have given is that airflow times the error that the mixture shows.
"""

from dataclasses import dataclass

import numpy as np

from workbench.errors import InputError
from workbench.maths.signals.axes import axis_role, axis_signal
from workbench.maths.signals.resync import level, period_of, played
from workbench.maths.signals.series import change_rate, filled, moving_mean, quantisation_step, row_step
from workbench.maths.table.interpolation import look_up
from workbench.model.arrays import BoolArray, FloatArray, IntArray
from workbench.model.log import Log
from workbench.model.series import written_on_change
from workbench.model.table import Table
from workbench.phrases import join_phrases, phrase

SHARED = "airflow not this table's alone"
# None of these limits has an outside source.
STEADY_PER_S, HASTE_PER_S = 0.1, 0.3  # relative change of airflow: steady below, in haste above
RATE_S = 0.4  # over which a change is told, at least
RPM, PER_OCTAVE = 250.0, 4  # bins of engine speed and of airflow in which both are compared
FEWEST, FEWEST_STEADY = 8, 50  # rows of a bin, steady rows of a drive
FEWEST_VISITS, VISIT_GAP_S = 3, 2.0  # at one, channels that are read apart may both be old in the same way
APART = 0.015  # sensor noise cancels within a bin; another table does not
APART_IN_HASTE, SHIFT_S = 0.03, 0.3  # off in transients, at the best shift of the logger's channels within this
LEAST_SHARED, LEAST_ALONE = 0.05, 0.2  # of the steady rows
SMOOTH_S, KEPT_WITHIN, KEPT_PER_S = 1.0, 0.02, 0.5  # where the share is known closely enough to be taken out
AT_ONCE_S = 0.15  # slower logs read their channels too far apart to tell in transients
LIKELIER = 1.5  # times as many rows of the curve alone below the edge for engine speed, by which ECUs mostly blend
MOSTLY_BELOW = 0.5  # of the rows below an edge, that are not the curve's alone
A_FEW = 0.1  # of a bin's rows, up to which the curve is taken to count alone
OF_GRID = 0.03  # within which the airflow is what the grid gives
PER_G_S = {"g/s": 1.0, "kg/h": 1 / 3.6}


@dataclass(frozen=True, eq=False)
class Sharing:
    """How a drive's logged airflow departs from a curve's look-up; arrays of shape (rows,).

    Attributes:
        factor: look-up over the airflow that was used, smoothed; 1 where the curve alone counts.
        shared: rows at which another table had a say.
        unsure: those of them at which the factor is not known closely.
        from_speed: engine speed from which on the curve alone counts, rpm; NaN where speed does not tell.
        from_flow: the same as airflow, g/s.
        in_haste: whether the other table also has a say in transients.
        largest: largest steady departure of a bin, look-up over used, as a ratio less 1.
    """

    factor: FloatArray
    shared: BoolArray
    unsure: BoolArray
    from_speed: float
    from_flow: float
    in_haste: bool
    largest: float


@dataclass(frozen=True, eq=False)
class _Held:
    """A drive's airflow held against a curve's look-up; arrays of shape (rows,).

    Attributes:
        time: s.
        speed: engine speed, rpm.
        used: airflow that the ECU used, g/s.
        off: logarithm of the look-up over it.
        rate: size of its relative change, 1/s.
        usable: rows at which all of that is known and the engine runs.
    """

    time: FloatArray
    speed: FloatArray
    used: FloatArray
    off: FloatArray
    rate: FloatArray
    usable: BoolArray


def sharing(log: Log, table: Table) -> Sharing | None:
    """Hold the logged airflow against a curve's look-up; None where that cannot be done, or nothing else has a say.

    Args:
        log: with airflow, engine speed and what feeds the curve.
        table: a curve in g/s or kg/h, as it was in the car.
    """
    unit = PER_G_S.get(table.unit.strip().lower())
    logged, speed = log.playing("airflow"), played(log, "engine_speed")
    if table.kind != "curve" or unit is None or logged is None or speed is None:
        return None
    try:
        signal = axis_signal(table.axes[0], log)
    except InputError:  # told where the drive itself is asked
        return None
    time, role = log.time.values, axis_role(table.axes[0])
    held = written_on_change(log)
    used = level(logged, time, "airflow", on_change=held)
    read = level(signal, time, role, on_change=held)
    looked_up = unit * look_up(table, read[:, None])
    with np.errstate(invalid="ignore", divide="ignore"):
        off = np.log(looked_up / used)
    usable = np.isfinite(off) & (used > 1.0) & (speed > 400)
    rate = change_rate(np.maximum(used, 0.01), time)
    slowest = max(row_step(time), *np.nan_to_num([period_of(logged, time), period_of(signal, time)]))
    # Channels that are read one after the other differ by what happens between: steady is where that is less than what
    # tells another table.
    window_s = max(RATE_S, 2 * slowest)
    moved = np.maximum(*(change_rate(np.maximum(flow, 0.01), time, window_s) for flow in (used, looked_up)))
    steady = usable & (moved < min(STEADY_PER_S, APART / slowest))
    each, at_once = slowest / row_step(time), slowest <= AT_ONCE_S  # rows of a reading
    if steady.sum() < FEWEST_STEADY * each:
        return None
    bins = _bins(speed, used, usable)
    half = quantisation_step(signal) / 2
    of_signal = unit * (look_up(table, (read + half)[:, None]) - look_up(table, (read - half)[:, None])) / 2
    with np.errstate(invalid="ignore", divide="ignore"):
        rounded = quantisation_step(logged) / 2 / used + np.abs(of_signal) / looked_up
    differs, agrees, judged = _differing(off, bins, steady, each, rounded, time)
    told_of = bins[steady & judged[bins]]
    by_steady, alone = (float(each_bin[told_of].mean()) if told_of.size else 0.0 for each_bin in (differs, agrees))
    haste = usable & (rate > HASTE_PER_S) & ~differs[bins]
    in_haste = at_once and _off_in_haste(off, used, haste, time)
    if alone < LEAST_ALONE or (by_steady < LEAST_SHARED and not in_haste):
        return None
    shared = usable & (differs if by_steady >= LEAST_SHARED else np.zeros_like(differs))[_nearest(judged, bins, speed)]
    found = _Held(time, speed, used, off, rate, usable)
    if not in_haste and not _has_an_edge(found, shared):
        return None
    return _taken_out(found, steady, shared, in_haste=in_haste, at_once=at_once)


def _bins(speed: FloatArray, used: FloatArray, usable: BoolArray) -> IntArray:
    """Number the bins of engine speed and airflow, shape (rows,); 0 where not usable."""
    key = np.where(usable, 1 + (speed // RPM) * 1000 + np.floor(PER_OCTAVE * np.log2(np.maximum(used, 1.0))), 0)
    return np.asarray(np.unique(np.nan_to_num(key), return_inverse=True)[1], dtype=np.int64)


def _differing(
    off: FloatArray, bins: IntArray, steady: BoolArray, each: float, rounded: FloatArray, time: FloatArray
) -> tuple[BoolArray, BoolArray, BoolArray]:
    """Tell, of every bin, whether the look-up differs there beyond its noise, surely agrees, and can be judged at all.

    Where channels are read apart a bin may be so noisy that it does neither: that shows no curve that counts alone. A
    reading takes `each` rows. By what is rounded off at most the look-up may lie beside the airflow for as long as an
    engine idles, and by more at a single visit where channels are read apart: neither shows another table.
    """
    many = int(bins.max()) + 1
    differs, agrees, judged = (np.zeros(many, dtype=np.bool_) for _ in range(3))
    for number in np.unique(bins[steady]):
        rows = steady & (bins == number)
        here = off[rows]
        if here.size < FEWEST * each:
            continue
        middle = float(np.median(here))
        noise = 1.4826 * float(np.median(np.abs(here - middle))) / np.sqrt(here.size / each)
        judged[number] = True
        beyond = abs(middle) - float(np.median(rounded[rows]))
        visits = 1 + int(np.count_nonzero(np.diff(time[rows]) > VISIT_GAP_S))
        differs[number] = beyond > max(APART, 3 * noise) and visits >= FEWEST_VISITS
        agrees[number] = abs(middle) + 2 * noise <= APART
    return differs, agrees, judged


def _off_in_haste(off: FloatArray, used: FloatArray, haste: BoolArray, time: FloatArray) -> bool:
    """Tell whether the look-up differs in transients whatever moment of the other channel it is held against."""
    if haste.sum() < FEWEST_STEADY:
        return False
    # log(look-up) - log(used), each at its own best moment.
    flow, whole = np.log(np.maximum(filled(used), 0.01)), filled(off)

    def apart(by: float) -> float:
        return float(np.median(np.abs(whole + flow - np.interp(time + by, time, flow))[haste]))

    least = min(apart(by) for by in np.linspace(-SHIFT_S, SHIFT_S, 13))
    return least > APART_IN_HASTE


def _nearest(judged: BoolArray, bins: IntArray, speed: FloatArray) -> IntArray:
    """Send rows of bins that cannot be judged to the judged bin nearest in engine speed, shape (rows,)."""
    known = np.flatnonzero(judged)
    total = np.bincount(bins, np.nan_to_num(speed), judged.size) / np.maximum(
        np.bincount(bins, minlength=judged.size), 1
    )
    to = known[np.abs(total[:, None] - total[None, known]).argmin(axis=1)]
    to[known] = known
    return np.asarray(to[bins], dtype=np.int64)


def _taken_out(held: _Held, steady: BoolArray, shared: BoolArray, *, in_haste: bool, at_once: bool) -> Sharing:
    """Work out the factor, and where it is not known closely.

    Args:
        held: the drive.
        steady: rows of it without transients, shape (rows,).
        shared: rows at which another table had a say, shape (rows,).
        in_haste: whether it also has one in transients.
        at_once: whether channels are read so close together that a single row tells.
    """
    off, rate, usable = held.off, held.rate, held.usable
    smooth = moving_mean(np.where(usable, off, 0.0), held.time, SMOOTH_S)
    jumps = np.abs(off - smooth) > KEPT_WITHIN
    moved = usable & (rate > HASTE_PER_S) & (np.abs(off) > APART_IN_HASTE) if in_haste else np.zeros_like(shared)
    unsure = (shared & ((rate > KEPT_PER_S) | (jumps & at_once))) | moved
    (from_speed, alone_by_speed), (from_flow, alone_by_flow) = _edges(held, shared)
    by_speed = alone_by_speed <= LIKELIER * alone_by_flow
    departs = (off * steady)[shared]
    return Sharing(
        factor=np.where(shared & ~unsure, np.exp(smooth), 1.0),
        shared=shared | moved,
        unsure=unsure,
        from_speed=from_speed if by_speed else float("nan"),
        from_flow=float("nan") if by_speed else from_flow,
        in_haste=in_haste,
        largest=float(np.expm1(departs[np.argmax(np.abs(departs))])) if departs.size else 0.0,
    )


def _edges(held: _Held, shared: BoolArray) -> tuple[tuple[float, int], tuple[float, int]]:
    """Find above which engine speed, rpm, and above which airflow, g/s, the curve alone counts.

    Returns:
        Each with the number of rows below it at which it counts alone as well.
    """
    octaves = PER_OCTAVE * np.log2(np.maximum(np.nan_to_num(held.used, nan=1.0), 1.0))
    from_speed = RPM * _edge(np.nan_to_num(held.speed) // RPM, shared, held.usable)
    from_flow = 2.0 ** (_edge(np.floor(octaves), shared, held.usable) / PER_OCTAVE)
    below = ((held.speed, from_speed), (held.used, from_flow))
    alone = [int((held.usable & ~shared & (of < edge)).sum()) for of, edge in below]
    return (from_speed, alone[0]), (from_flow, alone[1])


def _has_an_edge(held: _Held, shared: BoolArray) -> bool:
    """Tell whether another table has its say over a range: in a bin here and there channels are only read apart."""
    many = int((shared & held.usable).sum())
    return any(many >= MOSTLY_BELOW * (many + alone) for _, alone in _edges(held, shared))


def _edge(bins: FloatArray, shared: BoolArray, usable: BoolArray) -> float:
    """Find the bin above which the curve alone counts: the highest in which more than a few rows are shared.

    Args:
        bins: number of the bin of each row, shape (rows,).
        shared: rows at which another table had a say.
        usable: rows that count.

    Returns:
        The number of the bin above it; NaN where nothing is shared.
    """
    numbers = bins[usable].astype(np.int64)
    rows = np.bincount(numbers)
    part = np.bincount(numbers, shared[usable]) / np.maximum(rows, 1)
    known = np.flatnonzero((part > A_FEW) & (rows >= FEWEST))
    return float(known[-1] + 1) if known.size else float("nan")


def of_the_grid(log: Log, grid: Table, curves: tuple[Table, ...]) -> tuple[BoolArray, BoolArray] | None:
    """Mark the rows whose airflow is what a grid gives, and those at which a curve alone gave it, shape (rows,).

    A grid's airflow is its efficiency times pressure and engine speed over the air's temperature (ideal gas), but for a
    factor that the ECU knows and the log does not: it is taken where most rows that are not the curve's agree.

    Args:
        log: with the airflow that the ECU used.
        grid: over engine speed and manifold pressure, as it was in the car.
        curves: of the same session, as they were in the car.
    """
    if {axis_role(axis) for axis in grid.axes} != {"engine_speed", "manifold_pressure"}:
        return None
    found = next(((curve, each) for curve in curves if (each := sharing(log, curve)) is not None), None)
    speed, pressure, used = (played(log, role) for role in ("engine_speed", "manifold_pressure", "airflow"))
    if found is None or speed is None or pressure is None or used is None:
        return None
    intake = played(log, "intake_temperature")
    kelvin = (25.0 if intake is None else np.where(np.isfinite(intake), intake, 25.0)) + 273.15
    columns = [speed if axis_role(axis) == "engine_speed" else pressure for axis in grid.axes]
    with np.errstate(invalid="ignore", divide="ignore"):
        off = np.log(used * kelvin / (look_up(grid, np.stack(columns, axis=1)) * pressure * speed))
    shared = found[1].shared
    there = off[shared & np.isfinite(off)]
    if there.size < FEWEST_STEADY:
        return None
    return shared & (np.abs(off - _densest(there)) < OF_GRID), ~shared


def _densest(values: FloatArray) -> float:
    """Return the middle of the shortest stretch that holds half of the values, halved until few are left."""
    values = np.sort(values)
    while values.size > FEWEST:
        half = values.size // 2
        first = int(np.argmin(values[half:] - values[: values.size - half]))
        values = values[first : first + half]
    return float(np.median(values))


def sharing_note(found: Sharing, log: Log, name: str) -> str:
    """Say which part of a drive speaks of the curve alone, and what is done with the rest."""
    edge = (
        phrase("{speed:.0f} rpm", speed=found.from_speed)
        if np.isfinite(found.from_speed)
        else phrase("{flow:.3g} g/s", flow=found.from_flow)
    )
    where = (
        phrase(
            "Below {edge} the airflow that the ECU used is not the look-up in {name} (which differs by up to "
            "{largest:+.1f} %); from there on the curve alone counts.",
            edge=edge,
            name=name,
            largest=100 * found.largest,
        )
        if np.isfinite([found.from_speed, found.from_flow]).any()
        else phrase("The airflow that the ECU used is not always the look-up in {name}.", name=name)
    )
    parts = [where]
    if found.in_haste:
        parts.append("In transients another table has a say as well.")
    parts.append(
        phrase(
            "The evidence is taken from the airflow that the ECU used ({shared} rows), where that is steady enough; "
            "{gated} rows are left out.",
            shared=int((found.shared & ~found.unsure).sum()),
            gated=int(found.unsure.sum()),
        )
    )
    return phrase("{log}: {said}", log=log.name, said=join_phrases(" ", parts))


def told_of_grid(log: Log, grid: Table, of_grid: BoolArray, of_curve: BoolArray) -> str:
    """Say how many rows speak of a grid, of the curve beside it, and of both together."""
    return phrase(
        "{log}: the airflow that the ECU used is that of {name} in {grid} rows, the curve's alone in {curve}, of both "
        "together in {both}; only the first speak of {name}.",
        log=log.name,
        name=grid.name,
        grid=int(of_grid.sum()),
        curve=int(of_curve.sum()),
        both=int((~of_grid & ~of_curve).sum()),
    )


def shared_by(
    log: Log, table: Table, beside: tuple[Table, ...], notes: list[str]
) -> tuple[FloatArray | float, dict[str, BoolArray]]:
    """Give a curve's look-up over the airflow that was used, and the rows that speak of another table.

    Args:
        log: of the drive.
        table: that was in the car.
        beside: other tables of the session, as they were in the car.
        notes: on the drive, to which what was found is added.
    """
    found = sharing(log, table)
    if found is not None:
        notes.append(sharing_note(found, log, table.name))
        return found.factor, {SHARED: found.unsure}
    own = of_the_grid(log, table, beside)
    if own is None:
        return 1.0, {}
    of_grid, of_curve = own
    notes.append(told_of_grid(log, table, of_grid, of_curve))
    return 1.0, {SHARED: ~of_grid}
