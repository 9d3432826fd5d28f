"""Names, units and roles in the spellings that loggers use."""

import numpy as np
import pytest
from field.languages import LANGUAGES, OTHER_WORDS
from field.shape import ROLES, USUAL, std

from workbench.errors import FileError
from workbench.files.course.command_by_course import command_by_course
from workbench.files.text.header import find_header, label_of
from workbench.files.vocabulary.roles import cast_roles, could_play_a_role, role_by_name
from workbench.files.vocabulary.scoring import Candidate
from workbench.files.vocabulary.spelling import label_parts, mended, plain_words
from workbench.files.vocabulary.units import base_unit, find_unit, to_base, unit_in_name
from workbench.model.log import Role

INSIDE: dict[Role, float] = {
    "sensor_signal": 3000,
    "airflow": 20,
    "engine_speed": 2000,
    "manifold_pressure": 60,
    "load": 40,
    "lambda_measured": 1,
    "lambda_commanded": 1,
    "fuel_system": 2,
    "coolant_temperature": 90,
    "intake_temperature": 30,
    "battery_voltage": 14,
    "vehicle_speed": 60,
    "barometer": 100,
}


@pytest.mark.parametrize(
    ("spellings", "base", "one"),
    [
        ("°C|degC|Â°C|℃|C|deg C|Celsius|ºC", "degC", 1),
        ("°F|degF|F|Fahrenheit", "degC", 1 / 1.8 - 32 / 1.8),
        ("K|Kelvin", "degC", 1 - 273.15),
        ("g/s|g/sec|gr/s|grams/sec|g / s|G/S", "g/s", 1),
        ("kg/h|kg/hr|kg/hour", "g/s", 1 / 3.6),
        ("lb/min|lbs/min", "g/s", 453.59237 / 60),
        ("kPa|kpa|KPA|[kPa]|kPa(a)", "kPa", 1),
        ("psi|PSI|psia", "kPa", 6.894757293168),
        ("bar", "kPa", 100),
        ("mbar|hPa", "kPa", 0.1),
        ("mmHg", "kPa", 0.1333223874),
        ("inHg", "kPa", 3.386388640),
        ("Hz|hz", "Hz", 1),
        ("kHz", "Hz", 1000),
        ("V|volt|Volts", "V", 1),
        ("mV", "V", 0.001),
        ("km/h|kmh|kph|KMH", "km/h", 1),
        ("mph|mi/h", "km/h", 1.609344),
        ("m/s", "km/h", 3.6),
        ("rpm|RPM|1/min|U/min|min-1|tr/min|/min", "rpm", 1),
        ("%|percent|pct|Prozent", "%", 1),
        ("lambda|λ|Î»", "lambda", 1),
    ],
)
def test_units_in_all_spellings(spellings: str, base: str, one: float) -> None:
    """Factors by definition: NIST SP 811 (psi, mile, pound, conventional mmHg and inHg)."""
    for spelling in spellings.split("|"):
        unit = find_unit(spelling)
        assert unit is not None, spelling
        assert base_unit(unit) == base
        assert to_base(np.array([1.0]), unit)[0] == pytest.approx(one, rel=1e-6), spelling


@pytest.mark.parametrize("text", ["", "hello", "xyz/abc", "-", "123"])
def test_what_is_no_unit(text: str) -> None:
    assert find_unit(text) is None


@pytest.mark.parametrize(
    ("role", "names"),
    [
        ("engine_speed", ("RPM|Engine RPM|engine_speed|EngineSpeed|nMot|Motordrehzahl|Drehzahl|Régime moteur|"
         "Régimen del motor|Rotação do motor|ENGINE_RPM|Engine speed")),
        ("manifold_pressure", ("MAP|Intake manifold absolute pressure|INTAKE_MANIFOLD_PRESSURE|Saugrohrdruck|"
         "Pression d'admission|Presión absoluta del colector|Pressão do coletor|Manifold Absolute Pressure")),
        ("airflow", ("MAF|Mass Air Flow|MAF air flow rate|Luftmassenstrom|Débit d'air massique|Flujo de aire|"
         "Fluxo de massa de ar|Luftmasse")),
        ("stft_1", ("STFT|Short Term Fuel Trim Bank 1|SHRTFT1|STFT_B1|Short term fuel % trim - Bank 1|"
         "Kurzzeit-Gemischanpassung Bank 1|Correction de carburant court terme|Ajuste de combustible corto plazo|"
         "Ajuste de combustível curto prazo banco 1|SHORT_TERM_FUEL_TRIM_BANK_1")),
        ("ltft_1", ("LTFT|Long Term Fuel Trim Bank 1|LONGFT1|LTFT B1|Langzeit-Gemischanpassung|"
         "Correction de carburant long terme|Ajuste de combustible largo plazo|Ajuste de combustível longo prazo")),
        ("stft_2", ("STFT Bank 2|Short Term Fuel Trim Bank 2|SHRTFT2|STFT_B2|STFT2|"
         "Correzione carburante breve termine banco 2")),
        ("ltft_2", ("LTFT Bank 2|Long Term Fuel Trim Bank 2|LONGFT2|LTFT_B2|LTFT2|"
         "Correzione carburante lungo termine banco 2")),
        ("lambda_measured", ("Lambda|Wideband lambda|WB O2|AFR|Air Fuel Ratio|Lambda Ist|Breitband Lambda|"
         "measured lambda bank 1 sensor 1|λ")),
        ("lambda_commanded", ("Commanded equivalence ratio|FUEL_AIR_COMMANDED_EQUIV_RATIO|Lambda Soll|AFR target|"
         "Target lambda|commanded lambda|Lambda consigne|Lambda objetivo|Fuel/Air commanded equivalence ratio")),
        ("coolant_temperature", ("Coolant|ECT|Engine coolant temperature|Kühlmitteltemperatur|"
         "Température du liquide de refroidissement|Temperatura del refrigerante|COOLANT_TEMPERATURE|CLT|"
         "Temperatura do líquido de arrefecimento")),
        ("intake_temperature", ("IAT|Intake air temperature|INTAKE_AIR_TEMP|Ansauglufttemperatur|"
         "Température d'admission|Temperatura del aire de admisión|Temperatura do ar de admissão")),
        ("throttle", "Throttle|TPS|Throttle position|Absolute throttle position|Drosselklappe|Papillon|Mariposa"),
        ("pedal", "Accelerator pedal position D|PEDAL_D|Fahrpedal|Pédale d'accélérateur|Pedal del acelerador"),
        ("load", "Engine load|Calculated load|LOAD|Motorlast|Charge moteur|Carga del motor|Carga calculada"),
        ("purge", "Commanded evaporative purge|EVAP purge|Tankentlüftung|COMMANDED_EVAPORATIVE_PURGE"),
        ("battery_voltage", "Control module voltage|Battery|Batteriespannung|Bordspannung|CONTROL_MODULE_VOLTAGE"),
        ("vehicle_speed", "Vehicle speed|Speed|VSS|Geschwindigkeit|Vitesse|Velocidad|VEHICLE_SPEED|Velocidade"),
        ("barometer", "Barometric pressure|BARO|Umgebungsdruck|Pression atmosphérique|Presión barométrica"),
        ("fuel_system", "Fuel system status|Fuel system 1 status|Loop status"),
    ],
)  # fmt: skip
def test_roles_are_known_by_many_names(role: Role, names: str) -> None:
    for name in names.split("|"):
        cast = cast_roles([Candidate(name, "", False, np.full(10, INSIDE.get(role, 1.5)))], {})
        assert cast.roles == {role: name}, name


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("Short term secondary oxygen sensor trim bank 1", "%"),
        ("O2 sensor 1 voltage", "V"),
        ("Commanded throttle actuator", "%"),
        ("Idle target rpm", "rpm"),
        ("Fuel rail pressure", "kPa"),
        ("GPS speed", "km/h"),
        ("Oil temperature", "°C"),
        ("Catalyst temperature bank 1 sensor 1", "°C"),
        ("Lambda control factor", "%"),
        ("Vehicle acceleration", "m/s2"),
        ("Fuel tank level", "%"),
    ],
)
def test_others_are_not_mistaken(name: str, unit: str) -> None:
    assert not could_play_a_role(name, unit)


def test_a_frequency_is_the_sensor_and_a_mass_flow_the_airflow() -> None:
    cast = cast_roles(
        [
            Candidate("MAF", "frequency", True, np.full(5, 3000.0)),
            Candidate("MAF #2", "mass flow", True, np.full(5, 20.0)),
        ],
        {},
    )
    assert cast.roles == {"sensor_signal": "MAF", "airflow": "MAF #2"}


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("MAF Hz", "Hz"),
        ("airflow_g_s", "g/s"),
        ("Battery V", "V"),
        ("ECT_degC", "degC"),
        ("Hz", ""),
        ("rpm", ""),
        ("x", ""),
    ],
)
def test_units_at_the_end_of_names(name: str, unit: str) -> None:
    assert unit_in_name(name) == unit


def test_a_signal_without_unit_is_known_by_its_name() -> None:
    cast = cast_roles([Candidate("MAF_FREQ", "", False, np.full(5, 3000.0))], {})
    assert cast.roles == {"sensor_signal": "MAF_FREQ"}


def test_runners_up_are_told() -> None:
    values = np.full(5, 20.0)
    cast = cast_roles(
        [Candidate("Relative throttle", "percent", True, values), Candidate("Throttle", "percent", True, values)], {}
    )
    assert cast.roles["throttle"] == "Throttle"
    assert cast.reasons["throttle"] == "by its name, its unit and its values; runners-up: Relative throttle"


def test_values_speak_against_a_name() -> None:
    cast = cast_roles([Candidate("Lambda", "", False, np.full(9, 450.0))], {})
    assert cast.roles == {}


@pytest.mark.parametrize(
    ("text", "whole"),
    [("Â°C", "°C"), ("KÃ¼hlmittel", "Kühlmittel"), ("Î» measured", "λ measured"), ("Âge", "Âge"), ("é", "é")],
)
def test_double_encoding_is_mended(text: str, whole: str) -> None:
    assert mended(text) == whole


def test_labels_and_words() -> None:
    assert label_parts(" ENGINE_RPM ()") == ("ENGINE_RPM", "")
    assert label_parts('"MAP [kPa]"') == ("MAP", "kPa")
    assert label_parts("λ (-)") == ("λ", "")
    assert plain_words("EngineSpeed_RPM (U/min)") == "engine speed rpm u min"
    assert plain_words("Kühlmittel-Temp. λ") == "kuhlmittel temp lambda"


@pytest.mark.parametrize(
    ("name", "unit", "role"),
    [
        ("trim.short.bank1", "%", "stft_1"), ("Trim (long, bank 1)", "%", "ltft_1"),
        ("ecu/trim/short_b1", "", "stft_1"),
        ("trim.short.bank2", "%", "stft_2"), ("Pressure (manifold)", "kPa", "manifold_pressure"),
        ("Temperature (intake air)", "degC", "intake_temperature"), ("[STFT.B1]", "", "stft_1"),
        ("Pressure (fuel rail)", "kPa", None), ("Temperature (oil)", "degC", None),
        ("Pressure (manifold, target)", "kPa", None),
    ],
)  # fmt: skip
def test_what_tells_a_channel_may_stand_before_or_behind(name: str, unit: str, role: str | None) -> None:
    assert role_by_name(name, unit) == role


def test_a_name_in_brackets_is_a_name_and_no_unit() -> None:
    assert label_parts("[RPM]") == ("RPM", "")
    assert label_parts("(MAP)") == ("MAP", "")
    assert label_parts("MAP [kPa]") == ("MAP", "kPa")


@pytest.mark.parametrize(
    ("name", "unit", "role"),
    [
        ("Geschw.", "km/h", "vehicle_speed"),
        ("Kühlm.-Temp.", "°C", "coolant_temperature"),
        ("Drosselkl.", "%", "throttle"),
        ("Saugrohrdr.", "kPa", "manifold_pressure"),
        ("LMM Frequenz", "Hz", "sensor_signal"),
        ("AKF", "%", "purge"),
        ("Gemischstatus", "", "fuel_system"),
        ("Estado mezcla", "", "fuel_system"),
        ("Statut mélange", "", "fuel_system"),
        ("Vit. véh.", "km/h", "vehicle_speed"),
        ("Rég. mot.", "tr/min", "engine_speed"),
        ("Press. adm.", "kPa", "manifold_pressure"),
        ("Temp. refrig.", "°C", "coolant_temperature"),
        ("Vel. veicolo", "km/h", "vehicle_speed"),
        ("Eng Spd", "rpm", "engine_speed"),
        ("Thr Pos", "%", "throttle"),
        ("Intake air", "°C", "intake_temperature"),
        ("Inlet Air_K", "K", "intake_temperature"),
        ("Air meter freq", "Hz", "sensor_signal"),
        ("Manifold", "kPa", "manifold_pressure"),
        ("AFRcmd", "", "lambda_commanded"),
        ("lamTgt", "", "lambda_commanded"),
        ("tgtAFR", "", "lambda_commanded"),
        ("Oil", "°C", None),
        ("Fuel", "kPa", None),
        ("Exhaust", "kPa", None),
        ("Fuel pump status", "", None),
        ("Thermostat fuel", "", None),
        ("Wheel", "km/h", None),
        ("Turbo", "rpm", None),
    ],
)
def test_a_name_is_spelt_out_before_it_is_held_against_the_words(name: str, unit: str, role: str | None) -> None:
    assert role_by_name(name, unit) == role


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("MAP_kPa", "kPa"),
        ("Lambda target_λ", "λ"),
        ("Coolant_°C", "°C"),
        ("TPS_%", "%"),
        ("MAF_g/s", "g/s"),
        ("Boost psig", "psig"),
        ("Drehzahl_1/min", "1/min"),
        ("p_atm", ""),
        ("Correction factor", ""),
        ("Lap_2", ""),
        ("Sensor A", ""),
        ("wideband_lambda", ""),
        ("kPa", ""),
    ],
)
def test_a_unit_at_the_end_of_a_name_is_taken_in_any_spelling(name: str, unit: str) -> None:
    assert unit_in_name(name) == unit


@pytest.mark.parametrize(
    ("label", "parts"),
    [
        ("n / 1/min", ("n", "1/min")),
        ("Temp. eau / °C", ("Temp. eau", "°C")),
        ("t / ms", ("t", "ms")),
        ("Lambda, AFR", ("Lambda", "AFR")),
        ("Speed, mph", ("Speed", "mph")),
        ("A/F", ("A/F", "")),
        ("STFT, Bank 1", ("STFT, Bank 1", "")),
        ("Time, UTC", ("Time, UTC", "")),
    ],
)
def test_a_unit_behind_a_sign_is_taken_where_the_name_is_measured_in_it(label: str, parts: tuple[str, str]) -> None:
    assert label_of(label) == parts


@pytest.mark.parametrize("form", ["01{}", "0x{}", "PID {}", "01 {}"])
def test_numbers_of_parameters_of_sae_j1979_are_names_where_several_are(form: str) -> None:
    meant: dict[str, Role] = {
        "0C": "engine_speed", "10": "airflow", "0B": "manifold_pressure", "06": "stft_1", "05": "coolant_temperature",
        "44": "lambda_commanded",
    }  # fmt: skip
    candidates = [
        Candidate(
            form.format(number), "", has_unit=False, there=np.full(50, INSIDE.get(role, 1.0)) + np.arange(50) / 1e3
        )
        for number, role in meant.items()
    ]
    assert cast_roles(candidates, {}).roles == {role: form.format(number) for number, role in meant.items()}
    assert cast_roles(candidates[:4], {}).roles == {}  # few such numbers may be anything


@pytest.mark.parametrize("words", [LANGUAGES, OTHER_WORDS], ids=["usual", "other"])
@pytest.mark.parametrize("language", list(LANGUAGES))
def test_nine_languages_name_every_channel_in_more_than_one_way(language: str, words: dict[str, str]) -> None:
    units = {column.key: column.unit for column in std()}
    told = {key: role_by_name(name, units[key]) for key, name in zip(USUAL, words[language].split("|"), strict=True)}
    wrong = {key: role for key, role in told.items() if role != ROLES.get(key) and key not in ("time", "inj")}
    assert wrong == {}


@pytest.mark.parametrize(
    ("name", "unit", "role"),
    [
        ("tmot", "°C", "coolant_temperature"), ("tans", "°C", "intake_temperature"),
        ("psr_w", "kPa", "manifold_pressure"),
        ("vfzg", "km/h", "vehicle_speed"), ("n_w", "rpm", "engine_speed"), ("lamsoll_w", "", "lambda_commanded"),
        ("lamist", "", "lambda_measured"), ("tmot", "ms", None), ("pans", "rpm", None),
    ],
)  # fmt: skip
def test_short_names_of_a_letter_and_a_place_are_told_where_the_unit_is_the_letters(
    name: str, unit: str, role: Role | None
) -> None:
    assert role_by_name(name, unit) == role


def lambdas(
    first: np.ndarray, second: np.ndarray, *stated: Role, names: tuple[str, str] = ("Lambda A", "Lambda B")
) -> dict[Role, str]:
    pair = [Candidate(name, "lambda", True, values) for name, values in zip(names, (first, second), strict=True)]
    return dict(command_by_course(cast_roles(pair, {}), pair, stated).roles)


def test_of_two_mixtures_the_one_that_stands_still_is_the_command() -> None:
    command = np.where(np.arange(300) % 100 < 80, 1.0, 0.87)
    sensor = command + 0.01 * np.sin(np.arange(300) * 1.7)
    told: dict[Role, str] = {"lambda_commanded": "Lambda A", "lambda_measured": "Lambda B"}
    assert lambdas(command, sensor) == told
    assert lambdas(sensor, command) == {"lambda_commanded": "Lambda B", "lambda_measured": "Lambda A"}
    assert "lambda_commanded" not in lambdas(command, sensor, "lambda_measured")
    assert "lambda_commanded" not in lambdas(command, sensor, names=("Wideband 1", "Wideband 2"))
    for other in (command, np.ones(300), np.where(np.arange(300) < 200, 1.0, sensor), 1.2 * command):
        assert "lambda_commanded" not in lambdas(other, sensor if other is not command else command)


def test_names_behind_the_others_whose_cells_are_left_off_are_left_off_too() -> None:
    names = "Time (s),RPM,MAP (kPa),Coolant (°C),Comment,Flag"
    assert find_header([names], ",", 4, "x.csv").names == ("Time", "RPM", "MAP", "Coolant")
    assert find_header(["a,b,c,d,e,f,g,h,i"], ",", 4, "x.csv").names[0] == "column 1"


def test_a_unit_stands_behind_a_colon_too() -> None:
    assert label_of("Speed:km/h") == ("Speed", "km/h")
    assert label_of("ECU:RPM") == ("ECU:RPM", "")


@pytest.mark.parametrize(
    "names",
    [
        "Time (s),RPM,AFR target (E10, stoich 14.08),MAP (kPa)",
        "Time (s),RPM,Coolant temp, °C,MAP (kPa)",
        "Time (s),Note, if any,RPM,MAP (kPa)",
    ],
)
def test_a_name_that_holds_the_sign_between_cells_shifts_no_other(names: str) -> None:
    with pytest.raises(FileError, match="a name is too many"):
        find_header([names], ",", 4, "x.csv")
