"""What says closed loop and purge: texts and flags in English and German, read where their meaning is sure."""

from pathlib import Path

import numpy as np
import pytest
from logs_by_hand import PLAIN, ROWS, check, read

from workbench.errors import InputError
from workbench.files.channels.recasting import reread
from workbench.files.logs import read_log
from workbench.work import run

HALF = np.arange(ROWS) % 4 < 2  # on in two rows, off in two
LOOPS = [
    ("Closed loop", "ON", "OFF"),
    ("Closed Loop Active", "true", "false"),
    ("Closed-loop status", "active", "inactive"),
    ("Lambdaregelung", "aktiv", "nicht aktiv"),
    ("Lambdaregelung", "ein", "aus"),
    ("Lambda control active", "yes", "no"),
    ("Regelkreis geschlossen", "ja", "nein"),
    ("Open loop", "OFF", "ON"),
    ("Loop status", "closed", "open"),
    ("Fuel system status", "CL", "OL"),
    ("Regelkreis", "geschlossen", "offen"),
    ("Closed loop", "1", "0"),
    ("Gemischstatus", "geschlossen", "offen"),
    ("Fuel_status", "Closed loop", "Open loop"),
    ("État mélange", "boucle fermée", "boucle ouverte"),
    ("Stato miscela", "anello chiuso", "anello aperto"),
    ("Lambdaregelung aktiv", "1", "0"),
    ("Open loop (flag)", "0", "1"),
]
PURGES = [
    ("Purge", "ON", "OFF"),
    ("EVAP purge valve", "open", "closed"),
    ("Tankentlüftung", "aktiv", "inaktiv"),
    ("Tankentlüftungsventil", "offen", "zu"),
    ("Purge active", "TRUE", "FALSE"),
    ("Purge", "1", "0"),
]


def with_column(name: str, cells: list[str]) -> list[str]:
    return [f"{line},{cell}" for line, cell in zip(PLAIN, [name, *cells], strict=True)]


@pytest.mark.parametrize(("name", "on", "off"), LOOPS)
def test_closed_loop_is_understood(name: str, on: str, off: str, tmp_path: Path) -> None:
    log = read(tmp_path, with_column(name, [on if one else off for one in HALF]))
    check(log)
    np.testing.assert_array_equal(log.playing("fuel_system"), np.where(HALF, 2.0, 1.0))


@pytest.mark.parametrize("open_text", ["OFF", "open", "0"])
def test_a_loop_that_never_closes_stays_open(open_text: str, tmp_path: Path) -> None:
    log = read(tmp_path, with_column("Closed loop", [open_text] * ROWS))
    np.testing.assert_array_equal(log.playing("fuel_system"), np.ones(ROWS))


@pytest.mark.parametrize(("name", "on", "off"), PURGES)
def test_purge_is_understood_and_told(name: str, on: str, off: str, tmp_path: Path) -> None:
    log = read(tmp_path, with_column(name, [on if one else off for one in HALF]))
    check(log)
    np.testing.assert_array_equal(log.playing("purge"), np.where(HALF, 100.0, 0.0))
    assert any("is a flag; read as 0 or 100 %" in note for note in log.notes)


def test_purge_as_a_fraction_is_told_and_in_percent_is_left(tmp_path: Path) -> None:
    cells = [f"{0.4 * one:.2f}" for one in HALF]
    log = read(tmp_path, with_column("Purge duty", cells))
    np.testing.assert_allclose(log.playing("purge"), np.where(HALF, 40.0, 0.0))
    assert any("read as a fraction" in note for note in log.notes)
    log = read(tmp_path, with_column("Purge duty (%)", cells))
    np.testing.assert_allclose(log.playing("purge"), np.where(HALF, 0.4, 0.0))


@pytest.mark.parametrize(
    ("name", "cells", "words"),
    [
        ("Purge", ["low", "high"], "'low', 'high') and was left out; expected: %, 0 and 1, ON and OFF"),
        ("Loop status", ["ON", "OFF"], "and was left out; expected: the codes of SAE J1979, OL and CL"),
        ("Closed loop", ["ON", "sleeping"], "'sleeping' is not recognised in 60 rows; that counts as missing"),
    ],
)
def test_what_is_not_understood_is_named_with_what_was_expected(
    name: str, cells: list[str], words: str, tmp_path: Path
) -> None:
    log = read(tmp_path, with_column(name, [cells[at % 2] for at in range(ROWS)]))
    assert any(name in note and words in note for note in log.notes), log.notes
    check(log)


@pytest.mark.parametrize("name", ["Lambdaregler", "Lambdaregelung", "Lambda-Regler Ausgang", "Lambda control factor"])
def test_what_the_loop_puts_out_is_neither_lambda_nor_a_state(name: str, tmp_path: Path) -> None:
    lines = [line.replace("Lambda measured", "Other") for line in PLAIN]
    cells = [name, *(f"{1 + 0.02 * np.sin(at):.3f}" for at in range(ROWS))]
    log = read(tmp_path, [f"{line},{cell}" for line, cell in zip(lines, cells, strict=True)])
    assert name not in log.roles.values()


def test_a_flag_that_is_given_its_role_afterwards_is_understood_too(tmp_path: Path) -> None:
    lines = with_column("Fuel system status", ["2"] * ROWS)
    lines = [f"{line},{flag},{flag}" for line, flag in zip(lines, ["Closed loop", *map(str, HALF * 1)], strict=True)]
    lines[0] = lines[0].replace("Closed loop,Closed loop", "Closed loop,Solenoid")
    log = read(tmp_path, lines)
    assert log.roles["fuel_system"] == "Fuel system status"
    made = reread(log, {"fuel_system": "Closed loop", "purge": "Solenoid"}, 14.7)
    for name, on, off in (("Closed loop", 2.0, 1.0), ("Solenoid", 100.0, 0.0)):
        channel = log.channel(name)
        assert channel is not None
        np.testing.assert_array_equal(made[name].channel(channel).values, np.where(HALF, on, off))


def test_a_role_that_is_stated_for_texts_is_read_or_refused(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_text("\n".join(with_column("Foo", ["ON" if one else "OFF" for one in HALF])))
    np.testing.assert_array_equal(run(read_log(path, roles={"purge": "Foo"})).playing("purge"), np.where(HALF, 100, 0))
    path.write_text("\n".join(with_column("Foo", ["up"] * ROWS)))
    with pytest.raises(InputError, match="'Foo' holds text such as 'up', so it cannot be purge") as refused:
        run(read_log(path, roles={"purge": "Foo"}))
    assert "ON and OFF" in refused.value.hint
    with pytest.raises(InputError, match="so it cannot be airflow"):
        run(read_log(path, roles={"airflow": "Foo"}))


def test_a_flag_without_a_meaning_is_asked_about(tmp_path: Path) -> None:
    log = read(tmp_path, with_column("Loop status", [("1", "0")[at % 2] for at in range(ROWS)]))
    (question,) = log.questions
    assert question.channel == "Loop status"
    assert [each.flag for each in question.alternatives] == [
        "--unit 'Loop status=closed-loop'",
        "--unit 'Loop status=open-loop'",
    ]
