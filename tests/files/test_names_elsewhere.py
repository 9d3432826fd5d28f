"""Names of channels in further languages and scripts, and names that were cut to one length."""

import numpy as np
import pytest

from workbench.files.vocabulary.name_aliases import alone
from workbench.files.vocabulary.roles import cast_roles, role_by_name
from workbench.files.vocabulary.scoring import Candidate
from workbench.files.vocabulary.spelling import plain_words

NAMES = [
    ("Частота вращения двигателя", "rpm", "engine_speed"),
    ("Долговременная коррекция топлива, банк 2", "%", "ltft_2"),
    ("Абсолютное давление на впуске", "kPa", "manifold_pressure"),
    ("ДМРВ", "Hz", "sensor_signal"),
    ("Желаемая лямбда", "", "lambda_commanded"),
    ("Ταχύτητα οχήματος", "km/h", "vehicle_speed"),
    ("Επιθυμητό λάμδα", "", "lambda_commanded"),
    ("Θερμοκρασία ψυκτικού υγρού", "°C", "coolant_temperature"),
    ("車速", "km/h", "vehicle_speed"),
    ("長期燃料トリム", "%", "ltft_1"),
    ("インマニ圧", "kPa", "manifold_pressure"),
    ("エアフロメーター", "V", "sensor_signal"),
    ("發動機轉速", "rpm", "engine_speed"),
    ("进气管压力", "kPa", "manifold_pressure"),
    ("空燃比 目标", "", "lambda_commanded"),
    ("냉각수온도", "°C", "coolant_temperature"),
    ("연료 시스템", "", "fuel_system"),
    ("장기 연료 트림", "%", "ltft_1"),
    ("دوران المحرك", "rpm", "engine_speed"),
    ("درجة حرارة الماء", "°C", "coolant_temperature"),
    ("इंजन की गति", "rpm", "engine_speed"),
    ("दीर्घावधि ईंधन ट्रिम", "%", "ltft_1"),
    ("Motor hızı", "rpm", "engine_speed"),
    ("Kısa dönem yakıt düzeltmesi", "%", "stft_1"),
    ("İstenen lambda", "", "lambda_commanded"),
    ("Hava debisi", "g/s", "airflow"),
    ("Főtengely fordulatszám", "rpm", "engine_speed"),
    ("Levegőmennyiségmérő", "Hz", "sensor_signal"),
    ("Hűtővíz hőmérséklet", "°C", "coolant_temperature"),
    ("Tankontluchtingsklep", "%", "purge"),
    ("Zawór odpowietrzania zbiornika", "%", "purge"),
    ("COOLING_WATER_TEMP", "°C", "coolant_temperature"),
    ("INT_AIR_TEMP", "°C", "intake_temperature"),
]


@pytest.mark.parametrize(("name", "unit", "role"), NAMES)
def test_a_name_of_another_language_proposes_its_role(name: str, unit: str, role: str) -> None:
    assert role_by_name(name, unit) == role


@pytest.mark.parametrize(
    "name", ["Температура масла", "排気温度", "机油压力", "차량 번호", "زيت", "तेल", "Yağ sıcaklığı"]
)
def test_what_is_nothing_of_the_kind_proposes_none(name: str) -> None:
    assert role_by_name(name, "") is None


def test_names_of_latin_letters_stay_as_they_are() -> None:
    assert plain_words("Kühlmitteltemperatur λ") == "kuhlmitteltemperatur lambda"


CUT = [
    "ENGINESPEE",
    "VEHICLESPE",
    "INTAKEAIRT",
    "SHORTTERMF",
    "LONGTERMFU",
    "MANIFOLDPR",
    "LAMBDACOMM",
    "LAMBDAMEAS",
    "OIL",
]


def test_names_cut_to_one_length_are_spelt_out() -> None:
    found = alone(CUT)
    assert found["ENGINESPEE"] == "engine speed"
    assert found["LAMBDAMEAS"] == "lambda measured"
    assert "OIL" not in found
    levels = {name: np.linspace(0.9, 1.1, 50) if name.startswith("LAMBDA") else np.linspace(10, 60, 50) for name in CUT}
    cast = cast_roles([Candidate(name, "", False, there) for name, there in levels.items()], {})
    assert cast.roles["lambda_commanded"] == "LAMBDACOMM"
    assert cast.roles["ltft_1"] == "LONGTERMFU"


def test_short_names_of_unlike_lengths_are_not_taken_for_cut_ones() -> None:
    assert (
        "engine speed" not in alone(["Engine", "Vehicle", "Short", "Long", "Manif", "Lambda", "Throttle pos"]).values()
    )


def test_a_cut_name_that_begins_two_others_stays() -> None:
    assert "ENGINE" not in alone(["ENGINE", "THROTT", "LAMBDA", "SHORTT", "LONGTE", "VEHICL", "COOLAN"])


@pytest.mark.parametrize("behind", ["added", "removed", "max", "min", "peak"])
def test_half_of_a_trim_and_the_most_of_one_are_none(behind: str) -> None:
    for name in ("Short-term fuel trim bank 1", "STFT", "Long-term fuel trim", "LTFT2"):
        assert role_by_name(name, "%") is not None
        assert role_by_name(f"{name} {behind}", "%") is None
