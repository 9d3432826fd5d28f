"""Pulls against the drive that made them, and cautions that come up where they should and nowhere else."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from workbench.demo.drive import DriveRecord
from workbench.demo.rounds import Round
from workbench.maths.cautions.cautions import HOTTEST_C, find_cautions
from workbench.maths.cautions.spans import stretches
from workbench.maths.drives.delay_estimation import DEFAULT
from workbench.maths.signals.disturbances import DRY
from workbench.maths.signals.gating import engine_gates
from workbench.maths.signals.ratio import Signals, signals
from workbench.maths.signals.resync import played
from workbench.maths.signals.sampling import read_drive
from workbench.maths.verdict.pulls import SHORTEST_S, Pull, find_pulls, stretches_of_pulls
from workbench.model.arrays import FloatArray
from workbench.model.evidence import Caution
from workbench.model.gate import Gates
from workbench.model.log import Drive

DRIVE = {"seed": 1, "minutes": 4.0, "pulls": 2, "start_coolant_c": 85.0}
MakeRound = Callable[..., Round]
Alter = Callable[..., DriveRecord]


def seen_of(record: DriveRecord) -> Signals:
    return signals(Drive(1, record.log, 1), record.table, Gates())


def pulls_of(found: Round) -> tuple[Pull, ...]:
    return find_pulls(seen_of(found.records[0]), found.evidence.kept[0])


def test_pulls_are_where_the_driver_made_them(round_of: MakeRound) -> None:
    found = round_of(**DRIVE)
    record = found.records[0]
    pulls = pulls_of(found)
    assert len(pulls) == 2
    for pull, (begin, end) in zip(pulls, record.pulls, strict=True):
        assert pull.start == pytest.approx(begin, abs=0.3)
        assert pull.end == pytest.approx(end, abs=0.3)
        assert pull.low_rpm == pytest.approx(2000, abs=150)
        assert pull.high_rpm == pytest.approx(6200, abs=100)
        rows = (record.log.time.values >= begin + 0.5) & (record.log.time.values <= end)
        assert pull.error == pytest.approx(float(record.ratio[rows].mean()) - 1, abs=0.01)
        assert 0.6 * rows.sum() < pull.samples <= rows.sum() + 20
        assert 1.05 < pull.leanest < 1.25
    cautions = " ".join(caution.sentence for caution in cautions_of(record))
    assert f"The worst moment was {100 * (max(pull.leanest for pull in pulls) - 1):.0f} % leaner" in cautions


@pytest.mark.parametrize(("leaner", "said"), [(1.0, False), (1.22, True)])
def test_pulls_far_too_lean_point_at_the_fuel_first(
    round_of: MakeRound, altered: Alter, leaner: float, said: bool
) -> None:
    record = round_of(error_scale=0.0, **DRIVE).records[0]
    cautions = cautions_of(altered(record, lambda_measured=lambda measured: measured * leaner))
    assert any("seldom the table alone" in caution.sentence for caution in cautions) == said


def test_a_right_table_s_pulls_are_right(round_of: MakeRound) -> None:
    for pull in pulls_of(round_of(error_scale=0.0, **DRIVE)):
        assert abs(pull.error) < 0.005


def test_a_stab_at_the_pedal_is_no_pull(round_of: MakeRound, altered: Alter) -> None:
    found = round_of(**DRIVE)
    time = found.records[0].log.time.values
    stab = (time > 100) & (time < 100 + SHORTEST_S - 0.2)
    stabbed = altered(found.records[0], throttle=lambda values: np.where(stab, 99.0, values))
    assert seen_of(stabbed).full.sum() > seen_of(found.records[0]).full.sum()
    assert len(find_pulls(seen_of(stabbed), found.evidence.kept[0])) == 2


def cautions_of(record: DriveRecord) -> tuple[Caution, ...]:
    seen = seen_of(record)
    return find_cautions(record.log, seen, engine_gates(seen, record.table, Gates()))


def told(record: DriveRecord, words: str) -> Caution | None:
    return next((caution for caution in cautions_of(record) if words in caution.sentence), None)


def test_lean_running_at_full_throttle_is_a_danger(round_of: MakeRound) -> None:
    """A table that reads 12 % low leaves the mixture that much leaner, less what the long trims add."""
    record = round_of(**DRIVE).records[0]
    caution = told(record, "leaner than commanded")
    assert caution is not None
    assert caution.kind == "danger"
    assert "more than 3 % leaner than commanded for" in caution.sentence
    assert "Do not repeat it" in caution.sentence
    assert caution.at == pytest.approx(record.pulls[0][0] + 1, abs=1)
    assert caution.at < caution.worst_at == caution.moment <= caution.until
    assert f"at {caution.moment:.1f} s" in caution.sentence


@pytest.mark.parametrize(
    ("words", "kind", "role", "shift"),
    [
        ("coolant reached 118 °C", "danger", "coolant_temperature", 30.0),
        ("supply stayed under 12.8 V", "doubt", "battery_voltage", -1.7),
        ("wideband reads 1.0", "doubt", "lambda_measured", 0.03),
        ("coolant channel reads up to", "doubt", "coolant_temperature", 100.0),
        ("scaled for another fuel", "doubt", "lambda_measured", -0.33),
        ("differ by a factor of", "danger", "lambda_measured", 14.0),
    ],
)
def test_each_caution_comes_up_where_its_cause_is_and_not_without(
    round_of: MakeRound, altered: Alter, words: str, kind: str, role: str, shift: float
) -> None:
    right = round_of(error_scale=0.0, **DRIVE).records[0]
    coolant = right.log.playing("coolant_temperature")
    assert coolant is not None
    words = words.replace("118", f"{coolant.max() + 30:.0f}")
    assert told(right, words) is None
    caution = told(altered(right, **{role: lambda values: values + shift}), words)
    assert caution is not None
    assert caution.kind == kind
    if role in ("coolant_temperature", "battery_voltage") and caution.value < HOTTEST_C:
        seen = seen_of(altered(right, **{role: lambda values: values + shift}))
        values = seen.coolant if role == "coolant_temperature" else played(right.log, role) + shift
        assert caution.value == pytest.approx(values[np.searchsorted(seen.time, caution.moment)])


def test_values_held_for_seconds_are_doubted(round_of: MakeRound, altered: Alter) -> None:
    record = round_of(**DRIVE).records[0]
    time = record.log.time.values
    rows = np.searchsorted(time, np.floor(time / 4) * 4)
    held = altered(record, lambda_measured=lambda values: values[rows])
    assert told(record, "values are held") is None
    caution = told(held, "lambda measured every 4 s")
    assert caution is not None
    assert caution.kind == "doubt"


def test_trims_at_their_limit_are_a_doubt(round_of: MakeRound, altered: Alter) -> None:
    right = round_of(error_scale=0.0, **DRIVE).records[0]
    assert told(right, "stood at its limit") is None
    time = right.log.time.values
    held = altered(right, stft_1=lambda values: np.where((time > 100) & (time <= 112), 25.0, values))
    caution = told(held, "stood at its limit for 12 s")
    assert caution is not None
    assert caution.kind == "doubt"
    assert caution.at == pytest.approx(100, abs=0.1)


def test_stretches_have_a_length() -> None:
    time = np.arange(10) / 2
    mask = np.array([1, 1, 1, 0, 1, 0, 0, 1, 1, 1], dtype=np.bool_)
    assert stretches(mask, time, 0.5) == [(0.0, 1.0), (3.5, 4.5)]
    assert stretches(mask, time, 1.2) == []
    assert stretches(~mask & False, time, 0.0) == []


def test_a_lift_in_the_middle_of_a_pull_is_one_pull_and_is_named(round_of: MakeRound, altered: Alter) -> None:
    found = round_of(**DRIVE)
    begin, end = found.records[0].pulls[0]
    time = found.records[0].log.time.values
    lift = (time > begin + 2) & (time < begin + 2.5)
    lifted = altered(found.records[0], throttle=lambda values: np.where(lift, 20.0, values))
    pulls = find_pulls(seen_of(lifted), found.evidence.kept[0])
    assert [pull.lifted for pull in pulls] == [True, False]
    assert pulls[0].lifted_at == pytest.approx(begin + 2, abs=0.1)
    assert pulls[0].end == pytest.approx(end, abs=0.3)
    assert told(lifted, "throttle was lifted at") is not None
    assert told(found.records[0], "throttle was lifted at") is None


def test_a_town_drive_has_no_pull(round_of: MakeRound, altered: Alter) -> None:
    """The widest throttle of a drive is no full throttle while the ECU asks for lambda 1."""
    found = round_of(**DRIVE)
    town = altered(
        found.records[0],
        throttle=lambda values: np.minimum(values, 62.0),
        lambda_commanded=np.ones_like,
    )
    assert not seen_of(town).full.any()
    assert find_pulls(seen_of(town), found.evidence.kept[0]) == ()


def test_a_pull_tells_where_it_was_leanest_and_from_when_it_is_settled(round_of: MakeRound) -> None:
    found = round_of(**DRIVE)
    pull = find_pulls(seen_of(found.records[0]), found.evidence.kept[0], found.evidence.delay[1])[0]
    assert pull.start < pull.settled_from < pull.start + 1.5
    assert pull.start <= pull.leanest_at <= pull.end
    assert pull.low_rpm <= pull.leanest_rpm <= pull.high_rpm
    assert pull.slope == pytest.approx((pull.high_rpm - pull.low_rpm) / (pull.end - pull.start))
    assert pull.leanest_flow > 10


def test_a_wideband_in_free_air_is_told(round_of: MakeRound, altered: Alter) -> None:
    record = round_of(**DRIVE).records[0]
    assert told(altered(record, lambda_measured=lambda values: np.full_like(values, 1.36)), "free air") is not None
    assert told(record, "free air") is None


def test_a_slow_wideband_is_told(round_of: MakeRound, altered: Alter) -> None:
    from scipy import signal

    record = round_of(**DRIVE).records[0]
    keep = float(np.exp(-0.05 / 1.2))
    slow = altered(record, lambda_measured=lambda values: signal.lfilter([1 - keep], [1, -keep], values))
    assert told(slow, "with a lag of") is not None
    assert told(record, "with a lag of") is None


def in_air(record: DriveRecord, values: FloatArray) -> FloatArray:
    """Let air of an overrun reach the wideband as the pulls begin, and leave it with a lag of 0.25 s."""
    time, seen = record.log.time.values, values.copy()
    for begin, _ in record.pulls:
        late = (time > begin + 0.2) & (time < begin + 3)
        share = np.exp(-np.maximum(time - begin - 0.6, 0) / 0.25)
        seen[late] = np.minimum(1 / ((1 - share[late]) / values[late] + share[late] / 8), 1.9)
    return seen


def held_at_one(record: DriveRecord, values: FloatArray) -> FloatArray:
    """Let a catalyst give off oxygen for the first two seconds of the pulls."""
    time, seen = record.log.time.values, values.copy()
    for begin, _ in record.pulls:
        seen[(time > begin) & (time < begin + 2)] = 1.003
    return seen


def read_seldom(record: DriveRecord, values: FloatArray) -> FloatArray:
    """Let a logger ask for the mixture every half second, and write nothing in between."""
    return np.where(np.arange(values.size) % 10 == 0, values, np.nan)


@pytest.mark.parametrize("seen_as", [in_air, held_at_one, read_seldom])
def test_a_pull_is_judged_by_readings_that_answer_to_it(
    round_of: MakeRound, altered: Alter, seen_as: Callable[[DriveRecord, FloatArray], FloatArray]
) -> None:
    for scale, lean in ((0.0, False), (1.0, True)):
        found = round_of(error_scale=scale, **DRIVE)
        record = found.records[0]
        changed = altered(record, lambda_measured=lambda values, record=record: seen_as(record, values))
        caution = told(changed, "leaner than commanded")
        assert (caution is not None) == lean
        assert told(changed, "differ by a factor") is None
        pulls = find_pulls(seen_of(changed), found.evidence.kept[0])
        if caution is not None:
            truly = told(record, "leaner than commanded")
            assert truly is not None
            assert caution.value == pytest.approx(truly.value, abs=0.02)
        assert all(pull.leanest < (1.2 if lean else 1.03) for pull in pulls)


def test_one_lean_reading_of_a_slow_logger_is_none(round_of: MakeRound, altered: Alter) -> None:
    record = round_of(error_scale=0.0, **DRIVE).records[0]
    begin, _ = record.pulls[0]
    time = record.log.time.values
    once = np.arange(time.size) % 20 == 0
    at = int(np.flatnonzero(once & (time > begin + 3))[0])
    for many, is_told in ((1, False), (2, True)):
        lean = np.isin(np.arange(time.size), at + 20 * np.arange(many))
        asked = altered(
            record, lambda_measured=lambda values, lean=lean: np.where(once, np.where(lean, 1.05, values), np.nan)
        )
        assert (told(asked, "leaner than commanded") is not None) == is_told


def test_readings_that_come_seldom_show_an_empty_store_too(round_of: MakeRound, altered: Alter) -> None:
    """Where nobody knows whether a catalyst lies between, pulls count from where readings prove its oxygen used up."""
    record = round_of(**DRIVE).records[0]

    def from_when(each: DriveRecord) -> float:
        seen = seen_of(each)
        read = read_drive(seen, each.table, Gates(), DEFAULT, DRY, "both", "unknown")
        return float(seen.time[read.kept & seen.full & (seen.time > record.pulls[0][0])][0])

    sparse = altered(record, lambda_measured=lambda values: read_seldom(record, values))
    assert from_when(sparse) == pytest.approx(from_when(record), abs=1.0)


def test_a_lift_between_two_readings_of_a_slow_logger_is_one_pull(round_of: MakeRound, altered: Alter) -> None:
    """At 1 Hz one reading that is no full throttle leaves two seconds between those that are."""
    record = round_of(**DRIVE).records[0]
    seen = seen_of(record)
    each = slice(None, None, 20)
    slow = replace(seen, **{name: getattr(seen, name)[each] for name in ("time", "full", "speed")})
    begin, _ = record.pulls[0]
    lifted = int(np.flatnonzero(slow.full & (slow.time > begin + 2))[0])
    full = slow.full.copy()
    full[lifted] = False
    pulls = stretches_of_pulls(replace(slow, full=full))
    assert [np.isfinite(lift) for _, _, lift in pulls] == [True, False]


def test_one_reading_that_stands_out_is_a_spike_where_readings_are_seldom(round_of: MakeRound, altered: Alter) -> None:
    record = round_of(error_scale=0.0, **DRIVE).records[0]
    begin, _ = record.pulls[0]
    time = record.log.time.values
    once = np.arange(time.size) % 10 == 0
    at = int(np.flatnonzero(once & (time > begin + 3))[0])

    def spiked(by: float) -> bool:
        read = np.where(np.arange(time.size) == at, by, 1.0)
        asked = altered(record, lambda_measured=lambda values: np.where(once, values * read, np.nan))
        return told(asked, "came back: fuel supply, injector or misfire") is not None

    assert [spiked(by) for by in (1.0, 1.05, 1.1)] == [False, False, True]
