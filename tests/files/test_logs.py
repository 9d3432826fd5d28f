import hashlib
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import pytest

from workbench.errors import FileError, InputError
from workbench.files.logs import read_log
from workbench.files.vocabulary.roles import read_role
from workbench.model.log import Log, Role
from workbench.work import Cancelled, run


def read(
    path: Path, text: str | bytes, *, roles: Mapping[Role, str] = {}, rate_hz: float | None = None, afr: float = 14.7
) -> Log:
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return run(read_log(path, roles=roles, rate_hz=rate_hz, stoichiometric_afr=afr))


PLAIN = "Time (s),Engine Speed (rpm),MAF Frequency (Hz),STFT Bank 1 (%),LTFT Bank 1 (%),Coolant (°C)\n" + "".join(
    f"{i / 20:.2f},{800 + i},{2000 + i},{i % 3},-1.5625,90\n" for i in range(50)
)


def test_a_plain_log_is_read(tmp_path: Path) -> None:
    log = read(tmp_path / "plain.csv", PLAIN)
    assert (log.name, log.rows) == ("plain.csv", 50)
    assert log.sha256 == hashlib.sha256(PLAIN.encode()).hexdigest()
    assert log.time.values[-1] == 2.45
    assert log.rate_hz == pytest.approx(20)
    assert log.roles == {
        "sensor_signal": "MAF Frequency",
        "engine_speed": "Engine Speed",
        "stft_1": "STFT Bank 1",
        "ltft_1": "LTFT Bank 1",
        "coolant_temperature": "Coolant",
    }
    assert [channel.unit for channel in log.channels] == ["rpm", "Hz", "%", "%", "degC"]
    assert log.guesses["engine_speed"] == "by its name, its unit and its values"
    speed = log.playing("engine_speed")
    assert speed is not None
    assert speed[:3].tolist() == [800, 801, 802]
    assert log.notes == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda t: t.replace(",", ";").replace(".", ","), "decimal comma"),
        (lambda t: t.replace(",", "\t"), ""),
        (lambda t: t.replace("\n", "\r\n"), ""),
        (lambda t: t.encode("cp1252"), "cp1252"),
        (lambda t: t.encode("utf-16"), ""),
        (lambda t: t.encode("utf-8-sig"), ""),
        (lambda t: t.replace(",", ", "), ""),
        (lambda t: "# made by hand\nSome title\n" + t, ""),
        (lambda t: t + "2.5,900,", "dropped"),
    ],
)
def test_the_same_log_in_another_dress_reads_the_same(
    tmp_path: Path, change: Callable[[str], str | bytes], said: str
) -> None:
    plain = read(tmp_path / "plain.csv", PLAIN)
    log = read(tmp_path / "dressed.csv", change(PLAIN))
    assert log.roles == plain.roles
    assert [(c.name, c.unit, c.unit_read) for c in log.channels] == [
        (c.name, c.unit, c.unit_read) for c in plain.channels
    ]
    for one, other in zip(log.channels, plain.channels, strict=True):
        np.testing.assert_array_equal(one.values, other.values)
    np.testing.assert_array_equal(log.time.values, plain.time.values)
    assert any(said in note for note in log.notes) if said else log.notes == ()


def test_units_are_turned_into_base_units(tmp_path: Path) -> None:
    """Exact by definition: psi = 6.894757293168 kPa, mile = 1.609344 km, pound = 453.59237 g (NIST SP 811)."""
    text = "Time [ms];MAP [psi];Speed [mph];MAF [lb/min];ECT [°F];AFR [:1]\n0;10;10;1;212;14,7\n500;20;20;2;32;13,23\n"
    log = read(tmp_path / "units.csv", text)
    assert [channel.unit for channel in log.channels] == ["kPa", "km/h", "g/s", "degC", "lambda"]
    assert log.time.values.tolist() == [0, 0.5]
    expected = [68.94757293168, 16.09344, 453.59237 / 60, 100, 1.0]
    np.testing.assert_allclose([channel.values[0] for channel in log.channels], expected, rtol=1e-12)
    assert log.channels[4].values[1] == pytest.approx(0.9)


def test_roles_are_stated_by_the_user(tmp_path: Path) -> None:
    text = "time,x,y\n0,800,1\n1,900,2\n2,901,3\n"
    log = read(tmp_path / "x.csv", text, roles={"engine_speed": "x"})
    assert log.roles == {"engine_speed": "x"}
    assert log.guesses == {"engine_speed": "stated"}
    with pytest.raises(InputError, match="no channel 'z'"):
        read(tmp_path / "x.csv", text, roles={"engine_speed": "z"})


def test_rows_are_counted_where_a_rate_is_stated(tmp_path: Path) -> None:
    log = read(tmp_path / "x.csv", "rpm,load\n800,20\n900,30\n", rate_hz=4)
    assert log.time.values.tolist() == [0, 0.25]
    with pytest.raises(InputError, match="no column usable as time"):
        read(tmp_path / "x.csv", "rpm,load\n800,20\n900,30\n")
    with pytest.raises(InputError, match="not above 0"):
        read(tmp_path / "x.csv", "rpm,load\n800,20\n900,30\n", rate_hz=0)


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"", "empty"),
        (b"\n\n", "blank lines"),
        (b"\x89PNG\r\n\x1a\n" + bytes(99), "picture"),
        (b"hello\nworld\n", "cannot be read as a log"),
    ],
)
def test_what_is_no_log_is_refused(tmp_path: Path, content: bytes, word: str) -> None:
    with pytest.raises(FileError, match=word):
        read(tmp_path / "x.csv", content)


def test_roles_have_short_names() -> None:
    assert read_role("rpm") == "engine_speed"
    assert read_role("Wideband") == "lambda_measured"
    assert read_role("stft_2") == "stft_2"
    with pytest.raises(InputError, match="no role 'boost'") as refusal:
        read_role("boost")
    assert "manifold_pressure" in refusal.value.hint


def test_reading_can_be_cancelled(tmp_path: Path) -> None:
    path = tmp_path / "plain.csv"
    path.write_text(PLAIN)
    with pytest.raises(Cancelled):
        run(read_log(path), cancelled=lambda: True)
