"""Channels of unknown names, from the question to the evidence: one command answers for all, and for the next log."""

import re
import shlex
from pathlib import Path

import numpy as np
import pytest

from workbench.commands.evidence.evidence import evidence
from workbench.commands.logs.logs import add_log, amend_log
from workbench.commands.table.tables import new
from workbench.errors import InputError
from workbench.session import Session
from workbench.work import run


def strange(car: Path, path: Path, drive: str = "part_throttle_drive.csv") -> Path:
    """Write a drive under headers of no language, with the units that it has."""
    head, *lines = (car / drive).read_text().splitlines()
    names = head.split(",")
    new_names = [f"qx{chr(97 + at)}{''.join(re.findall(r' [(].*', name))}" for at, name in enumerate(names[1:])]
    path.write_text("\n".join([",".join([names[0], *new_names]), *lines]) + "\n")
    return path


def test_one_command_answers_for_all_channels_and_for_the_next_log(car: Path, tmp_path: Path) -> None:
    path = tmp_path / "car.session"
    new(path, car / "airflow_stale.csv", name="airflow")
    with Session.open(path) as session:
        plain = run(add_log(session.state, (car / "part_throttle_drive.csv",)))
        known = plain.value[0].log.roles
        answer = run(add_log(session.state, (strange(car, tmp_path / "a.csv"),)))
        session.record(answer.change)
        (question,) = [each for each in answer.data["questions"] if "By unit and course" in each["question"]]
        with pytest.raises(InputError, match="No usable drive"):
            run(evidence(session.state))
        words = shlex.split(question["alternatives"][0]["flag"])[1::2]
        some = amend_log(session.state, 1, role=(words[0],))
        assert some.value.log.questions  # what was not named is open still
        session.record(amend_log(session.state, 1, role=tuple(words)).change)
        (drive,) = session.state.drives
        assert not drive.log.questions
        at = {name: place for place, name in enumerate(each.name for each in drive.log.channels)}
        for role in ("sensor_signal", "engine_speed", "stft_1", "ltft_1", "lambda_measured"):
            expected = plain.value[0].log.playing(role)
            assert expected is not None
            np.testing.assert_array_equal(drive.log.channels[at[drive.log.roles[role]]].values, expected)
        assert {"sensor_signal", "engine_speed", "coolant_temperature"} <= set(drive.log.roles) <= set(known)
        assert np.isfinite(np.asarray(run(evidence(session.state)).value.ratio)).any()
        again = run(add_log(session.state, (strange(car, tmp_path / "b.csv", "pulls_drive.csv"),)))
        assert not again.data["questions"]
        assert again.value[0].log.roles == drive.log.roles
