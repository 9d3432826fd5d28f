"""What is drawn of a log, worked out on the worker's thread: its lanes, and the stretches behind them."""

from collections.abc import Generator, Mapping
from dataclasses import dataclass

import numpy as np

from workbench.maths.questions import when_it_left_the_engine
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.evidence import Samples
from workbench.model.log import Log, Role
from workbench.model.packing import Column
from workbench.model.series import series_of
from workbench.window.kit.spans import NO_SPANS, Spans, spans_of
from workbench.window.log.lane_plot import Lane, Trace, limits_of
from workbench.window.log.pyramid import Pyramid, build
from workbench.window.scene.scene import Scene
from workbench.window.words.wording import ROLE_WORDS, tr
from workbench.work import Progress

# Which roles share a lane, from the top down; a lane without any of its channels is left out.
DEFAULT_LANES: tuple[tuple[str, tuple[Role, ...]], ...] = (
    ("speed", ("engine_speed",)),
    ("air", ("airflow", "manifold_pressure", "load")),
    ("trims", ("stft_1", "ltft_1", "stft_2", "ltft_2")),
    ("lambda", ("lambda_measured", "lambda_commanded")),
)
CLOSED_LOOP = 2
GAP_S, GAP_PERIODS = 2.0, 3.0  # without a reading for longer a line breaks off
LAMBDA_LIMITS = (0.7, 1.35)
# The wideband as measured is faint; what counts is where the delay puts it.
MIXTURE: dict[str, str] = {"lambda_measured": "soft", "lambda_commanded": "ink"}


@dataclass(frozen=True, eq=False)
class Prepared:
    """What a job made of a log for drawing."""

    log: Log
    samples: Samples | None
    lanes: tuple[Lane, ...]
    rejected: Spans
    whole: tuple[float, float]
    closed: Spans = NO_SPANS
    full: Spans = NO_SPANS


def prepare(
    scene: Scene,
    log: Log,
    known: Mapping[Column, Pyramid],
    wanted: tuple[tuple[str, ...], ...] = (),
) -> Generator[Progress, None, Prepared]:
    """Build lanes and spans of a log, for the worker's thread.

    Args:
        scene: what the evidence took of it, and how late its wideband is.
        log: of the scene's drive.
        known: pyramids built before.
        wanted: names of the channels of each lane; empty for the usual ones.
    """
    lanes: list[Lane] = []
    samples = scene.samples
    time = log.time.values
    lane_names = wanted or usual_lanes(log)
    for done, names in enumerate(lane_names):
        traces: list[Trace] = []
        for name in names:
            channel = log.channel(name)
            if channel is None:
                continue
            pyramid = known.get(channel.column) or build(*_drawn(time, channel.values))
            traces.append(
                Trace(caption_of(log, name), channel.unit, pyramid, MIXTURE.get(_role_of(log, name) or "", ""))
            )
            yield Progress(done, len(lane_names), name)
        if shifted := _shifted(scene, names):
            traces.append(shifted)
        if traces:
            lanes.append(Lane(traces[0].name, tuple(traces), _limits(traces), names[0]))
    rejected = NO_SPANS if samples is None else spans_of(samples.rejected_by >= 0, time)
    whole = (float(time[0]), float(time[-1])) if len(time) else (0.0, 1.0)
    whole = (whole[0], max(whole[1], whole[0] + 1e-3))
    closed, full = engine_states(log, samples)
    return Prepared(log, samples, tuple(lanes), rejected, whole, closed, full)


def _drawn(time: FloatArray, values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Give the readings of a channel that is not read at every row, with a gap wherever none came for long."""
    there = np.isfinite(values)
    if there.all() or not there.any():
        return time, values
    series = series_of(values, time)
    longest = max(GAP_S, GAP_PERIODS * np.nan_to_num(series.period)) if series.kind == "continuous" else np.inf
    long = np.flatnonzero(np.diff(series.time) > longest) + 1
    return np.insert(series.time, long, series.time[long]), np.insert(series.values, long, np.nan)


def engine_states(log: Log, samples: Samples | None) -> tuple[Spans, Spans]:
    """Find the stretches of closed loop (J1979 PID 03: bit 1) and those kept at full throttle."""
    time, state = log.time.values, log.playing("fuel_system")
    closed, full = NO_SPANS, NO_SPANS
    if state is not None:
        closed = spans_of((np.nan_to_num(state).astype(np.int64) & CLOSED_LOOP) > 0, time)
    if samples is not None:
        marked: BoolArray = np.zeros(log.rows, dtype=np.bool_)
        marked[samples.rows[samples.full_throttle]] = True
        full = spans_of(marked, time)
    return closed, full


def usual_lanes(log: Log) -> tuple[tuple[str, ...], ...]:
    """Choose channels for the lanes by their roles; the first numbers of the file where it has none."""
    lanes = []
    for _, roles in DEFAULT_LANES:
        names = [log.roles[role] for role in roles if role in log.roles]
        same = [name for name in names if (c := log.channel(name)) and c.unit == _unit(log, names[0])]
        if same:
            lanes.append(tuple(same[:4]))
    return tuple(lanes) or tuple((channel.name,) for channel in log.channels[:4])


def _unit(log: Log, name: str) -> str:
    channel = log.channel(name)
    return "" if channel is None else channel.unit


def caption_of(log: Log, name: str) -> str:
    """Name a channel by its role, or as the file does."""
    role = _role_of(log, name)
    return name if role is None else tr(ROLE_WORDS[role])


def _role_of(log: Log, name: str) -> Role | None:
    return next((role for role, played in log.roles.items() if played == name), None)


def _limits(traces: list[Trace]) -> tuple[float, float]:
    low, high = limits_of([trace.pyramid.values for trace in traces])
    if traces[0].unit == "lambda":
        return max(low, LAMBDA_LIMITS[0]), min(max(high, 1.05), LAMBDA_LIMITS[1])
    return low, high


def _shifted(scene: Scene, names: tuple[str, ...]) -> Trace | None:
    """Lay the wideband where its gas left the engine, by the delay that was found and as the solver reckons."""
    state, drive, evidence = scene.state, scene.drive, scene.current
    if state is None or drive is None or evidence is None or scene.samples is None:
        return None
    wideband, delay = drive.log.roles.get("lambda_measured"), evidence.delay.get(drive.id)
    channel = None if wideband is None else drive.log.channel(wideband)
    if wideband not in names or delay is None or channel is None:
        return None
    left = when_it_left_the_engine(state.history, drive, evidence.table.name, state.settings.gates, delay)
    return Trace(tr("shifted by the delay"), channel.unit, build(*_drawn(left, channel.values)), "accent", delayed=True)
