import numpy as np
import pytest

from workbench.files.formats.obd import EXTENDED, PIDS, Frames, decode_answers
from workbench.files.vocabulary.recording import Series


def frames(*messages: tuple[float, int, str]) -> Frames:
    return Frames(
        np.array([time for time, _, _ in messages]),
        np.array([identifier for _, identifier, _ in messages], dtype=np.int64),
        [bytes.fromhex(payload) for _, _, payload in messages],
    )


def answer(pid: int, data: str) -> dict[str, float]:
    """Decode one single-frame answer."""
    body = f"41{pid:02X}{data}"
    payload = f"{len(body) // 2:02X}{body}"
    return {one.name: float(one.values[0]) for one in decode_answers(frames((0.0, 0x7E8, payload))).series}


@pytest.mark.parametrize(
    ("pid", "data", "value"),
    [
        (0x06, "00", -100),
        (0x06, "74", -9.375),
        (0x07, "7F", -0.78125),
        (0x08, "80", 0),
        (0x09, "81", 0.78125),
        (0x06, "8C", 9.375),
        (0x06, "8D", 10.15625),
        (0x10, "0001", 0.01),
        (0x10, "012C", 3.0),
        (0x10, "1388", 50.0),
        (0x10, "FFFF", 655.35),
        (0x0C, "0BB8", 750),
        (0x0C, "1AF8", 1726),
        (0x0C, "FFFF", 16383.75),
        (0x0B, "65", 101),
        (0x33, "FF", 255),
        (0x05, "00", -40),
        (0x0F, "28", 0),
        (0x46, "41", 25),
        (0x05, "7B", 83),
        (0x05, "FF", 215),
        (0x04, "33", 20),
        (0x11, "80", 50.19607843137255),
        (0x11, "FF", 100),
        (0x43, "0080", 50.19607843137255),
        (0x43, "00FF", 100),
        (0x43, "FFFF", 25700),
        (0x44, "0000", 0),
        (0x44, "6E14", 0.8599853515625),
        (0x44, "67AE", 0.80999755859375),
        (0x44, "8000", 1.0),
        (0x44, "FFFF", 1.999969482421875),
        (0x0E, "94", 10.0),
        (0x42, "36B0", 14.0),
    ],
)
def test_one_value_answers(pid: int, data: str, value: float) -> None:
    """SAE J1979 / ISO 15031-5 scalings, from public copies of the table; the paid standard itself was not read."""
    (found,) = answer(pid, data).values()
    assert found == pytest.approx(value, rel=1e-14, abs=1e-14)


@pytest.mark.parametrize(
    ("pid", "data", "values"),
    [
        (0x24, "80004000", [1.0, 2.0]),
        (0x34, "80008000", [1.0, 0.0]),
        (0x34, "80007F00", [1.0, -1.0]),
        (0x34, "80000000", [1.0, -128.0]),
        (0x34, "8000FFFF", [1.0, 127.99609375]),
        (0x14, "5AFF", [0.45, float("nan")]),
        (0x14, "5A80", [0.45, 0.0]),
        (0x66, "0313880000", [156.25, 0.0]),
        (0x66, "0113880000", [156.25, float("nan")]),
        (0x03, "0200", [2, 0]),
    ],
)
def test_answers_of_several_values(pid: int, data: str, values: list[float]) -> None:
    """SAE J1979 as above; a trim of FF means that the sensor is not used in trim."""
    assert list(answer(pid, data).values()) == pytest.approx(values, nan_ok=True)


def test_a_trim_of_ff_is_missing() -> None:
    (found,) = answer(0x06, "FF").values()
    assert np.isnan(found)


def test_several_parameters_in_one_answer() -> None:
    found = decode_answers(frames((1.0, 0x7E8, "06410C0BB80B65"))).series
    assert {one.name: one.values[0] for one in found} == {"engine speed": 750, "intake manifold pressure": 101}


def test_a_long_answer_is_put_together() -> None:
    """ISO 15765-2: a first frame with the length, then numbered ones."""
    messages = [
        (1.0, 0x7E8, "100A410C0BB80B65"),
        (1.1, 0x7E8, "2106800780555555"),
    ]
    found = {one.name: (one.time[0], one.values[0]) for one in decode_answers(frames(*messages)).series}
    assert found == {
        "engine speed": (1.1, 750),
        "intake manifold pressure": (1.1, 101),
        "short term fuel trim bank 1": (1.1, 0),
        "long term fuel trim bank 1": (1.1, 0),
    }
    broken = decode_answers(frames(messages[0], (1.1, 0x7E8, "2206800780555555")))
    assert broken.series == []
    assert any("a missing frame" in note for note in broken.notes)


def test_several_ecus_are_told_apart() -> None:
    found = decode_answers(
        frames((0.0, 0x7E8, "03410580"), (0.1, 0x7E9, "03410590"), (0.2, EXTENDED | 0x18DAF110, "03410D20"))
    )
    names = [one.name for one in found.series]
    assert names == ["coolant temperature (7E8)", "coolant temperature (7E9)", "vehicle speed"]
    assert "7E8, 7E9, 18DAF110" in found.notes[0]


def test_what_is_no_answer_is_passed_over() -> None:
    odd = frames(
        (0.0, 0x7E0, "02010C5555555555"),
        (0.1, 0x7E8, ""),
        (0.2, 0x7E8, "03"),
        (0.3, 0x7E8, "037F0112"),
        (0.4, 0x7E8, "0341FE00"),
        (0.5, 0x7E8, "2100000000000000"),
        (0.6, 0x7E8, "02410C"),
    )
    found = decode_answers(odd)
    assert found.series == []
    assert any("FE" in note for note in found.notes)


@pytest.mark.parametrize(
    ("stated", "answer", "left_out"),
    [
        ("06414F0208FF19", "03410B50", "intake manifold pressure"),
        ("06414F0408FF00", "06413480008000", "measured lambda bank 1 sensor 1"),
        ("06414F0208FF00", "06413480008000", ""),
        ("0641500A000000", "0441100A00", "mass air flow"),
    ],
)
def test_what_a_car_sends_on_a_full_scale_of_its_own_is_left_out(stated: str, answer: str, left_out: str) -> None:
    """A lambda read on half its scale would be half as large: whether these bytes apply to it is not sure."""
    found = decode_answers(frames((0.0, 0x7E8, stated), (0.1, 0x7E8, answer), (0.2, 0x7E8, "03410D32")))
    names = [each.name for each in found.series]
    assert "vehicle speed" in names
    assert left_out not in names
    assert any("full scales" in note and left_out in note for note in found.notes) == bool(left_out)


def test_lengths_fit_their_formulas() -> None:
    for pid, (length, quantities) in PIDS.items():
        for quantity in quantities:
            assert np.isfinite(quantity.formula(bytes(length))) or pid == 0x66


def test_series_are_in_the_order_of_time() -> None:
    (one,) = decode_answers(frames((2.0, 0x7E8, "03410D20"), (1.0, 0x7E8, "03410D10"))).series
    assert isinstance(one, Series)
    assert one.time.tolist() == [1, 2]
    assert one.values.tolist() == [16, 32]
