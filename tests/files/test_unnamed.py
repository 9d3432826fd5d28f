"""Channels under names that nobody knows: offered by unit and course in one question, and never taken unasked."""

import shlex
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.files.logs import read_log
from workbench.files.unnamed.by_physics import Unnamed, told_by_physics
from workbench.files.unnamed.offers import offered
from workbench.files.vocabulary.roles import OFFERED
from workbench.model.arrays import FloatArray
from workbench.model.log import Log, Role
from workbench.work import run

ROWS = 1800
T = np.arange(ROWS) / 10
SPEED = 2200 + 900 * np.sin(T / 9) + 250 * np.sin(T / 2.1)
PULL = (T % 60 > 50) & (T % 60 < 56)
PRESSURE = np.where(PULL, 96, 52 + 14 * np.sin(T / 5.3))
FLOW = SPEED * PRESSURE / 8000 * (1 + 0.004 * np.sin(T * 3))
LOOP = np.where(PULL, 0.0, 2.5 * np.sign(np.sin(T * 2.2)) * (1 - (T * 2.2 / np.pi) % 1))
COMMAND = np.where(PULL, 0.87, 1.0)
COLUMNS: dict[str, tuple[Role | str, str, FloatArray]] = {
    "kaa": ("engine_speed", "rpm", SPEED),
    "kab": ("vehicle_speed", "km/h", SPEED / 40),
    "kac": ("airflow", "g/s", FLOW),
    "kad": ("sensor_signal", "Hz", 1800 * FLOW**0.4),
    "kae": ("manifold_pressure", "kPa", PRESSURE),
    "kaf": ("barometer", "kPa", np.full(ROWS, 99.0) + (T > 90)),
    "kag": ("stft_1", "%", LOOP),
    "kah": ("ltft_1", "%", np.round(3 * np.sin(T / 60) - 0.8, 1)),
    "kai": ("lambda_commanded", "", COMMAND),
    "kaj": ("lambda_measured", "", COMMAND * (1 + 0.02 * np.sin(T * 4.4) + 0.003 * np.cos(T * 13))),
    "kak": ("coolant_temperature", "°C", 90 - 35 * np.exp(-T / 40)),
    "kal": ("intake_temperature", "°C", 28 + T / 100),
    "kam": ("load", "%", FLOW / SPEED * 7000),
    "kan": ("throttle", "%", np.where(PULL, 70 + 5 * (T % 6), 6 + (PRESSURE - 30) / 3)),
    "kao": ("fuel_system", "", np.where(PULL, 4.0, 2.0)),
}


def text(*, leave: frozenset[str] = frozenset(), units: bool = True, names: dict[str, str] | None = None) -> str:
    kept = {name: column for name, column in COLUMNS.items() if name not in leave}
    shown = [
        f"{(names or {}).get(n, n)} ({u})" if units and u else (names or {}).get(n, n) for n, (_, u, _) in kept.items()
    ]
    rows = [",".join([f"{t:.1f}", *(f"{v[at]:.4f}" for _, _, v in kept.values())]) for at, t in enumerate(T)]
    return "\n".join([",".join(["Time (s)", *shown]), *rows]) + "\n"


def read(path: Path, content: str, **stated: object) -> Log:
    path.write_text(content, encoding="utf-8")
    return run(read_log(path, **stated))  # type: ignore[arg-type]


def test_all_roles_are_offered_in_one_question(tmp_path: Path) -> None:
    log = read(tmp_path / "drive.csv", text())
    assert log.roles == {role: name for name, (role, _, _) in COLUMNS.items()}
    (question,) = log.questions
    assert "“kaa” (1051 to 3341 rpm) like engine speed" in question.question
    yes, none = question.alternatives
    taken = {role: name for role, name in log.roles.items() if log.guesses[role] == OFFERED}
    assert len(taken) >= len(COLUMNS) - 1
    assert set(yes.flags) == {f"--role '{role}={name}'" for role, name in taken.items()}
    assert shlex.split(yes.flag).count("--role") == len(taken)
    assert set(none.flags) == {f"--role '{role}='" for role in taken}


def test_what_is_stated_is_asked_no_more(tmp_path: Path) -> None:
    offered_log = read(tmp_path / "drive.csv", text())
    stated = dict(offered_log.roles)
    assert read(tmp_path / "drive.csv", text(), roles=stated).questions == ()


def test_a_known_drive_is_offered_nothing(tmp_path: Path) -> None:
    known = {
        "kaa": "Engine speed", "kab": "Vehicle speed", "kac": "Airflow", "kad": "Airflow sensor", "kag": "STFT",
        "kah": "LTFT",        "kai": "Lambda commanded", "kaj": "Lambda measured", "kak": "Coolant", "kan": "Throttle",
        "kao": "Fuel system status",
    }  # fmt: skip
    log = read(tmp_path / "drive.csv", text(names=known))
    assert not any("By unit and course" in each.question for each in log.questions)
    assert "barometer" not in log.roles


@pytest.mark.parametrize(("doubled", "role"), [("kac", "airflow"), ("kae", "manifold_pressure")])
def test_of_two_that_fit_none_is_taken(doubled: str, role: Role) -> None:
    channels = [Unnamed(name, _quantity(name), bool(unit), values) for name, (_, unit, values) in COLUMNS.items()]
    other = COLUMNS[doubled][2] * (1.2 + 0.2 * np.sin(T / 31))
    told = told_by_physics([*channels, Unnamed("other", _quantity(doubled), True, other)], {}, ())
    assert role not in told.roles
    assert set(told.either[role]) == {doubled, "other"}


def test_the_same_reading_twice_is_one() -> None:
    channels = [Unnamed(name, _quantity(name), bool(unit), values) for name, (_, unit, values) in COLUMNS.items()]
    told = told_by_physics([*channels, Unnamed("copy", "turning", True, np.round(SPEED, -1))], {}, ())
    assert told.roles["engine_speed"] == "kaa"


def test_exchanged_places_change_nothing() -> None:
    """The long trim before the short one, the sensor before the command."""
    channels = [Unnamed(name, _quantity(name), bool(unit), values) for name, (_, unit, values) in COLUMNS.items()]
    assert told_by_physics(channels[::-1], {}, ()).roles == told_by_physics(channels, {}, ()).roles


def test_without_units_columns_are_listed_with_what_they_read() -> None:
    channels = [
        Unnamed(name, "", False, values)
        for name, (_, _, values) in COLUMNS.items()
        if name not in ("kai", "kaj", "kao")
    ]
    offer = offered(channels, {}, {})
    assert not offer.roles
    (note,) = offer.notes
    assert "“kaa” (1051 to 3341)" in note
    assert "--role 'sensor_signal=NAME'" in note


def test_a_role_that_was_cleared_is_not_offered() -> None:
    channels = [Unnamed(name, _quantity(name), bool(unit), values) for name, (_, unit, values) in COLUMNS.items()]
    assert "ltft_1" not in offered(channels, {}, {"ltft_1": ""}).roles


@given(seed=st.integers(0, 2**16), lost=st.floats(0, 0.6))
def test_holes_never_make_another_channel_of_one(seed: int, lost: float) -> None:
    """Roles may be missed where readings are lost, never exchanged."""
    chance = np.random.default_rng(seed)
    channels = [
        Unnamed(name, _quantity(name), bool(unit), np.where(chance.random(ROWS) < lost, np.nan, values))
        for name, (_, unit, values) in COLUMNS.items()
    ]
    for role, name in told_by_physics(channels, {}, ()).roles.items():
        assert COLUMNS[name][0] == role


def _quantity(name: str) -> str:
    return {
        "rpm": "turning", "km/h": "speed", "g/s": "mass flow", "Hz": "frequency", "kPa": "pressure", "%": "percent",
        "°C": "temperature", "": "",
    }[COLUMNS[name][1]]  # fmt: skip


def test_a_long_trim_without_the_short_one_is_asked_about_where_one_may_be_it(tmp_path: Path) -> None:
    names = {
        "kaa": "Engine speed", "kac": "Airflow", "kad": "Airflow sensor", "kag": "STFT max", "kah": "LTFT",
        "kai": "Lambda commanded", "kaj": "Lambda measured", "kak": "Coolant", "kan": "Throttle",
        "kao": "Fuel system status",
    }  # fmt: skip
    log = read(tmp_path / "drive.csv", text(names=names))
    (question,) = [each for each in log.questions if "without the short trim" in each.question]
    assert [each.flag for each in question.alternatives] == ["--role 'stft_1=STFT max'", "--role 'stft_1='"]
