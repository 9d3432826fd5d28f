"""Was the stated revision really in the car? The logged airflow must be what its table gives."""

from dataclasses import dataclass

import numpy as np

from workbench.maths.drives.curve_match import scale_of_curve
from workbench.maths.signals.axes import axis_role, axis_signal
from workbench.maths.signals.resync import level
from workbench.maths.signals.series import change_rate
from workbench.maths.signals.sharing import sharing
from workbench.maths.table.interpolation import look_up, nearest
from workbench.model.arrays import FloatArray
from workbench.model.history import History
from workbench.model.log import Drive, typed_flag
from workbench.model.table import Table
from workbench.phrases import call, flag, phrase

# What the airflow or the sensor may be off by where a unit is named wrongly: g/s and kg/h, and Hz and kHz.
HOURLY, THOUSAND = 3.6, 1000.0
NEAR = 0.01  # a table that was in the car repeats the logged airflow within sensor rounding: 1 % is far outside
WAY_OUT = phrase(", or choose the drive with {from_flag} to use it as it is.", from_flag=flag("from"))
LEFT_OUT = phrase(". It is left out; to use it as it is, choose it with {from_flag}.", from_flag=flag("from"))
USED = ". It is used as it is because it was chosen."


@dataclass(frozen=True)
class RevisionFit:
    """How well tables explain a drive's logged airflow.

    Attributes:
        stated: the revision that the drive is said to have been driven on.
        best: the revision that fits best.
        stated_error: relative difference of logged airflow and the stated revision's table, as it typically is.
        best_error: the same for the best.
        shared: whether the stated revision's table gives a part of the log's airflow, so that another shares the work.
        slip: what unit is wrong in the log or the table, as a sentence; empty where no slip of a unit explains it.
    """

    stated: int
    best: int
    stated_error: float
    best_error: float
    shared: bool = False
    slip: str = ""

    @property
    def doubtful(self) -> bool:
        """Whether another revision explains the log far better than the stated one."""
        apart = self.best != self.stated and self.stated_error > NEAR
        return apart and self.best_error < self.stated_error / 3 and not (self.shared and self.best_error > NEAR)

    @property
    def unexplained(self) -> bool:
        """Whether no revision of the session explains the log."""
        return self.best_error > NEAR and not self.shared

    def sentence(self, drive: Drive, *, named: bool = False) -> str:
        """Describe what does not fit, and whether the drive is used all the same since it was named."""
        if self.doubtful:
            return phrase(
                "{log} fits revision {best}, not {stated}: its logged airflow differs from revision "
                "{stated} by {stated_error:.1f} %, from revision {best} by {best_error:.1f} %. Was "
                "the table flashed? Record it with {amend_log_command}{remedy}",
                amend_log_command=call("amend-log", "SESSION", f"{drive.id}", flag("on"), f"{self.best}"),
                log=drive.log.name,
                best=self.best,
                stated=self.stated,
                stated_error=100 * self.stated_error,
                best_error=100 * self.best_error,
                remedy=USED if named else WAY_OUT,
            )
        if self.slip:
            return self.slip + (USED if named else LEFT_OUT).removeprefix(".")
        return phrase(
            "{log}: its logged airflow differs from revision {stated} by {stated_error:.1f} % "
            "and from all others by more than {near:g} %: another table may have been in the "
            "car, or the ECU filters the channel{remedy}",
            log=drive.log.name,
            stated=self.stated,
            stated_error=100 * self.stated_error,
            near=100 * NEAR,
            remedy=USED if named else LEFT_OUT,
        )


def fit_of_revisions(history: History, drive: Drive, name: str) -> RevisionFit | None:
    """Compare a drive's logged airflow with every revision of a table; None where that cannot be done.

    Args:
        history: all revisions.
        drive: the drive.
        name: of the table, a curve in g/s or kg/h.
    """
    logged = drive.log.playing("airflow")
    revisions = [revision for revision in history.revisions if revision.table.name == name]
    first = revisions[0].table
    factor = {"g/s": 1.0, "kg/h": 1 / 3.6}.get(first.unit.strip().lower())
    if logged is None or first.kind != "curve" or factor is None:
        return None
    time = drive.log.time.values
    logged = level(logged, time)
    axis = first.axes[0]
    position = level(axis_signal(axis, drive.log), time, axis_role(axis))[:, None]
    steady = (change_rate(np.maximum(logged, 0.01), time) < 0.1) & (logged > 1.0) & np.isfinite(position[:, 0])
    if steady.sum() < 50:
        return None
    taken = history.taken_as_driven(drive, name)
    stated, table = taken.id, taken.table
    errors = {revision.id: _error(revision.table, position[steady], logged[steady] / factor) for revision in revisions}
    best = min(errors, key=lambda number: (errors[number], number != stated))
    shared = errors[best] > NEAR and sharing(drive.log, table) is not None
    slip = ""
    if errors[best] > NEAR and not shared:
        slip = _slip_of_unit(drive, table, position[steady], logged[steady] / factor)
    return RevisionFit(stated, best, errors[stated], errors[best], shared, slip)


def _slip_of_unit(drive: Drive, table: Table, position: FloatArray, logged: FloatArray) -> str:
    """Say which unit is wrong, where the table repeats the log to a part in a hundred once it is another one.

    Args:
        drive: whose airflow fits no revision.
        table: that it is said to have been driven with.
        position: on the axis, shape (rows, 1).
        logged: airflow in the table's unit, shape (rows,).
    """
    airflow = drive.log.roles.get("airflow", "")
    for times in (HOURLY, 1 / HOURLY):
        if _error(table, position, logged / times) < NEAR:
            unit = "kg/h" if times > 1 else "g/s"
            of_table = unit == getattr(drive.log.channel(airflow), "unit_read", "")
            return phrase(
                "{log}: {channel} is {times:.3g} times what revision {stated} gives, as g/s and kg/h are apart: ",
                log=drive.log.name,
                channel=airflow,
                times=times,
                stated=drive.revision,
            ) + (
                phrase("the table's unit is wrong. Begin again with its file mended.")
                if of_table
                else phrase(
                    "the unit of one of them is wrong. Where it is the log's, state it with {amend_log_command}; where "
                    "it is the table's, begin again with its file mended.",
                    amend_log_command=_stating(drive, airflow, unit),
                )
            )
    sensor = drive.log.roles.get("sensor_signal", "")
    in_hz = getattr(drive.log.channel(sensor), "unit", "") in ("Hz", "")
    for times, unit in ((THOUSAND, "kHz"), (1 / THOUSAND, "Hz")):
        if sensor and in_hz and _error(table, position * times, logged) < NEAR:
            return phrase(
                "{log}: {channel} times {times:g} fits revision {stated}: it counts in {unit}. State that with "
                "{amend_log_command}.",
                log=drive.log.name,
                channel=sensor,
                times=times,
                stated=drive.revision,
                unit=unit,
                amend_log_command=_stating(drive, sensor, unit),
            )
    return scale_of_curve(drive, table, position[:, 0], logged)


def _stating(drive: Drive, channel: str, unit: str) -> str:
    return call("amend-log", "SESSION", f"{drive.id}", typed_flag("unit", channel, unit))


def _error(table: Table, position: FloatArray, logged: FloatArray) -> float:
    """Return the median over the rows of how far the cell they are nearest to is off, by the median of its own rows.

    Rounding, noise and channels that were asked one after another cancel within a cell; another table does not.
    """
    difference = look_up(table, position) / logged - 1
    _, cell = np.unique(nearest(table.axes, position), return_inverse=True)
    by_cell = np.split(difference[np.argsort(cell, kind="stable")], np.cumsum(np.bincount(cell))[:-1])
    off = np.array([abs(float(np.median(rows))) for rows in by_cell])
    return float(np.median(off[cell]))
