"""Shapes of headers: how channels are called, in which language, and what stands around their names."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from field.car import drive
from field.languages import LANGUAGES
from field.shape import (
    TWO_BANKS,
    USUAL,
    Built,
    Col,
    Family,
    bare,
    col,
    edit,
    extra,
    log,
    mapped,
    round_,
    square,
    std,
    text,
)  # fmt: skip

SHAPES = Family("header")
N = drive().rows

STYLES: Mapping[str, str] = {
    "abbreviations": "t RPM MAF_Hz MAF_gs MAP TPS VSS ECT IAT FSS LAM_CMD LAM STFT1 LTFT1 EVAP INJ",
    "snake": "time_s engine_speed_rpm maf_sensor_hz mass_airflow_g_per_s manifold_pressure_kpa throttle_pct "
    "vehicle_speed_kph coolant_temp_c intake_air_temp_c fuel_system_status lambda_commanded lambda_measured "
    "stft_b1_pct ltft_b1_pct purge_duty_pct injector_ms",
    "snake_bare": "time engine_speed airflow_frequency airflow manifold_pressure throttle_position vehicle_speed "
    "coolant_temperature intake_temperature fuel_status target_lambda actual_lambda short_term_trim long_term_trim "
    "purge_duty pulse_width",
    "camel": "timeSeconds engineSpeed airflowSensorFrequency massAirflow manifoldPressure throttlePosition vehicleSpeed "
    "coolantTemperature intakeAirTemperature fuelSystemStatus lambdaTarget lambdaMeasured shortTermFuelTrimBank1 "
    "longTermFuelTrimBank1 purgeDuty injectorPulseWidth",
    "pascal": "Time EngineRPM MAFFrequency MAFRate ManifoldAbsPressure ThrottlePos VehicleSpeed EngineCoolantTemp "
    "IntakeAirTemp FuelSysStatus CommandedLambda WidebandLambda ShortFuelTrim1 LongFuelTrim1 EvapPurge InjPulse",
    "dots": "time engine.speed airflow.sensor.frequency airflow.mass manifold.pressure throttle.position vehicle.speed "
    "coolant.temperature intake.temperature fuel.system.status lambda.commanded lambda.measured trim.short.bank1 "
    "trim.long.bank1 purge.duty injector.time",
    "paths": "log/time ecu/engine/speed ecu/air/sensor_hz ecu/air/flow_gs ecu/manifold/pressure_kpa ecu/throttle/position "
    "ecu/vehicle/speed ecu/coolant/temp ecu/intake/temp ecu/fuel/status ecu/lambda/target ext/lambda/measured "
    "ecu/trim/short_b1 ecu/trim/long_b1 ecu/purge/duty ecu/injector/time",
    "brackets": "[Time] [RPM] [MAF.Hz] [MAF.g/s] [MAP.kPa] [TPS] [Speed] [CLT] [IAT] [FuelStat] [Lambda.Target] "
    "[Lambda.Actual] [STFT.B1] [LTFT.B1] [Purge] [InjPW]",
    "upper": "TIME RPM MAF-FREQ MAF MAP TP SPEED COOLANT INTAKE-TEMP FUELSYS CMD-LAMBDA WB-LAMBDA SHRTFT1 LONGFT1 PURGE IPW",
    "structure": "t n_eng f_maf mf_air p_man pos_thr v_veh t_cool t_intake st_fuel lam_set lam_act fr_short fr_long "
    "dc_purge ti_inj",
    "german_short": "Zeit n f_LMM mL p_SR DK v T_KM T_Ansaug KSt Lam_Soll Lam_Ist KZT LZT TEV t_ein",
    "words_run_together": "time enginespeed mafhz airflowgs manifoldpressurekpa throttleposition vehiclespeed coolanttemp "
    "intaketemp fuelsystemstatus lambdatarget lambdameasured shorttermfueltrim longtermfueltrim purgeduty injectortime",
}  # fmt: skip

DESCRIBED = (
    "Time|RPM (engine speed)|MAFF (airflow sensor frequency)|MAF (mass airflow)|MAP (manifold absolute pressure)|"
    "TPS (throttle position)|VSS (vehicle speed)|ECT (engine coolant temperature)|IAT (intake air temperature)|"
    "FSS (fuel system status)|EQ (commanded lambda)|WB (measured lambda)|STFT1 (short term fuel trim bank 1)|"
    "LTFT1 (long term fuel trim bank 1)|PRG (purge duty)|IPW (injector pulse width)"
).split("|")
LONG = (
    "Elapsed time|Engine revolutions per minute|Mass air flow sensor frequency|Mass air flow rate|"
    "Intake manifold absolute pressure|Absolute throttle position|Vehicle speed|Engine coolant temperature|"
    "Intake air temperature|Fuel system 1 status|Commanded equivalence ratio (lambda)|Wideband lambda|"
    "Short term fuel trim - bank 1|Long term fuel trim - bank 1|Commanded evaporative purge|Injector pulse width bank 1"
).split("|")
ABOUT = (
    "Time|RPM|Airflow sensor (raw, before filter)|Airflow (from sensor, as used)|Pressure (manifold)|Throttle (actual)|"
    "Speed (vehicle)|Temperature (coolant)|Temperature (intake air)|Status (fuel system)|Lambda (target)|"
    "Lambda (measured)|Trim (short, bank 1)|Trim (long, bank 1)|Duty (purge)|Time (injector)"
).split("|")


def named(names: Sequence[str], *, units: bool = True, banks: int = 1) -> list[Col]:
    keys = TWO_BANKS if banks == 2 else USUAL
    return [
        replace(c, name=n, unit=c.unit if units else "")
        for c, n in zip(std(banks=banks), names, strict=True)
        if c.key in keys
    ]


def _names() -> None:
    for style, names in STYLES.items():
        hard = style in ("structure", "german_short", "words_run_together")
        SHAPES(style, lambda n=names: log(named(n.split(), units=False)), "either" if hard else "read")
        SHAPES(f"{style}_units", lambda n=names: log(named(n.split()), head=square), "read")
    SHAPES("described", lambda: log(named(DESCRIBED), head=square), "read", "descriptions in brackets")
    SHAPES("described_round", lambda: log(named(DESCRIBED), head=round_), "read", "descriptions and units in brackets")
    SHAPES("long_names", lambda: log(named(LONG), head=round_))
    SHAPES("long_names_bare", lambda: log(named(LONG), head=bare))
    SHAPES(
        "kind_in_brackets",
        lambda: log(named(ABOUT), head=square),
        "read",
        "what tells channels apart stands in brackets",
    )
    SHAPES("kind_in_brackets_bare", lambda: log(named(ABOUT, units=False)), "either")
    for word, names in LANGUAGES.items():
        SHAPES(word, lambda n=names: log(named(n.split("|"))), "read", f"{word} names with units")
        SHAPES(
            f"{word}_bare", lambda n=names: log(named(n.split("|"), units=False)), "read", f"{word} names without units"
        )
    SHAPES(
        "german_comma_latin",
        lambda: log(named(LANGUAGES["german"].split("|")), sep=";", decimal=",", encoding="latin-1"),
    )
    SHAPES(
        "french_comma_latin",
        lambda: log(named(LANGUAGES["french"].split("|")), sep=";", decimal=",", encoding="latin-1"),
    )
    SHAPES("polish_cp1250", lambda: log(named(LANGUAGES["polish"].split("|")), sep=";", decimal=",", encoding="cp1250"))
    SHAPES("czech_cp1250", lambda: log(named(LANGUAGES["czech"].split("|")), sep="\t", decimal=",", encoding="cp1250"))
    SHAPES("spanish_no_accents", lambda: log(named(_plain(LANGUAGES["spanish"]).split("|")), sep=";"))
    SHAPES("german_no_umlauts", lambda: log(named(_plain(LANGUAGES["german"]).split("|")), sep=";"))
    SHAPES(
        "german_umlauts_spelt",
        lambda: log(named(LANGUAGES["german"].replace("ü", "ue").replace("ä", "ae").replace("ö", "oe").split("|"))),
    )


def _plain(names: str) -> str:
    return names.translate(str.maketrans("áéíóúüäöñçàèê", "aeiouuaoncaee"))


def _units() -> None:
    styles = {
        "comma": lambda n, u: f"{n}, {u}" if u else n, "angle": lambda n, u: f"{n} <{u}>" if u else n,
        "curly": lambda n, u: f"{n} {{{u}}}" if u else n, "in_word": lambda n, u: f"{n} in {u}" if u else n,
        "colon": lambda n, u: f"{n}: {u}" if u else n, "slash": lambda n, u: f"{n} / {u}" if u else n,
        "bar": lambda n, u: f"{n}|{u}" if u else n, "unit_first": lambda n, u: f"({u}) {n}" if u else n,
        "underscore": lambda n, u: f"{n}_{u}" if u else n, "glued": lambda n, u: f"{n}[{u}]" if u else f"{n}[]",
        "dash": lambda n, u: f"{n} - {u}" if u else n, "numbered": lambda n, u: f"{len(n)}. {n} ({u})",
        "channel": lambda n, u: f"Ch{len(n)}_{n} ({u})", "empty_brackets": lambda n, u: f"{n} ({u})",
        "double": lambda n, u: f"{n} ({u}) [20 Hz]", "spaces": lambda n, u: f"  {n}  ({u})  " if u else f"  {n}  ",
    }  # fmt: skip
    for name, style in styles.items():
        SHAPES(f"unit_{name}", lambda s=style: log(std(), head=s, sep=";" if s("a", "b") == "a, b" else ","))
    SHAPES("unit_row", lambda: log(std(), units_row=True))
    SHAPES(
        "unit_row_bracketed",
        lambda: log(edit(std(), " ".join(USUAL), lambda c: replace(c, unit=f"[{c.unit}]")), units_row=True),
    )
    SHAPES("unit_row_above", lambda: log(std(), head=bare, titles=(",".join(c.unit for c in std()),)))
    SHAPES("unit_row_dashes", lambda: log(edit(std(), "status", lambda c: replace(c, unit="-")), units_row=True))
    SHAPES(
        "names_then_kinds",
        lambda: log(std(), head=bare, under=(",".join("float32" for _ in std()), ",".join(c.unit for c in std()))),
    )
    SHAPES("units_words", lambda: log([replace(c, unit=_word(c.unit)) for c in std()]))
    SHAPES("units_upper", lambda: log([replace(c, unit=c.unit.upper()) for c in std()]))


def _word(unit: str) -> str:
    words = {
        "s": "seconds",
        "rpm": "rev/min",
        "Hz": "hertz",
        "g/s": "grams per second",
        "kPa": "kilopascal",
        "%": "percent",
        "km/h": "kilometres per hour",
        "°C": "deg C",
        "ms": "milliseconds",
    }
    return words.get(unit, unit)


def _around() -> None:
    SHAPES("titles", lambda: log(std(), titles=("Drive of the third of March", "Tank: full", "")))
    SHAPES(
        "titles_key_values", lambda: log(std(), titles=("Date;2026-03-03", "Rate;20", "Channels;16", "", ""), sep=";")
    )
    SHAPES(
        "titles_with_commas", lambda: log(std(), titles=("Driver, A, morning", "Notes: cold start, town, two pulls"))
    )
    SHAPES("titles_as_wide", lambda: log(std(), titles=("Export" + "," * 15, "," * 15)))
    SHAPES("hash_comments", lambda: log(std(), titles=("# logger 4", "# units in brackets")))
    SHAPES("header_hash", raw_hash)
    SHAPES("header_repeated", lambda: repeated(700))
    SHAPES("header_line_12", lambda: log(std(), titles=[f"Setting {k}: {k * 3}" for k in range(11)]))
    SHAPES("footer", lambda: log(std(), foot=("", "End of log", "Rows: 5500")))
    SHAPES("footer_averages", lambda: log(std(), foot=("Average" + ",1" * 15, "Max" + ",9" * 15)))
    SHAPES("sep_line", lambda: log(std(), titles=("sep=;",), sep=";"))
    SHAPES("marker_column", lambda: log([extra("Marker", ["" if k % 900 else "M1" for k in range(N)]), *std()]))
    SHAPES(
        "comment_column",
        lambda: log([*std(), extra("Comment", ["pull, full throttle" if k == 3730 else "" for k in range(N)])]),
    )
    SHAPES(
        "event_column_middle",
        lambda: log([*std()[:5], extra("Event", ["start" if k == 0 else "" for k in range(N)]), *std()[5:]]),
    )
    SHAPES("unnamed_index", lambda: log([extra("", [str(k) for k in range(N)]), *std()]))
    SHAPES("unnamed_last", lambda: log([*std(), extra("", [str(k % 7) for k in range(N)])]))
    SHAPES("no_header", lambda: log(std(), header=False), "ask", "numbers only", hints=("header", "name", "channel"))
    SHAPES(
        "channel_numbers_only",
        lambda: log([replace(c, name=f"Ch {k}", unit="") for k, c in enumerate(std())]),
        "ask",
        "names say nothing",
        hints=("--role", "name", "channel"),
    )
    SHAPES(
        "units_only",
        lambda: log([replace(c, name=c.unit or "-", unit="") for c in std()]),
        "ask",
        "a row of units and no names",
        hints=("--role", "name", "unit"),
    )
    SHAPES(
        "400_columns",
        lambda: log([*std(), *(extra(f"Spare {k}", ["0"] * N) for k in range(384))]),
        "read",
        "many channels that stand still",
    )
    SHAPES("quoted_names_with_commas", lambda: log([replace(c, name=f"{c.name}, logged") for c in std()], quote='"'))
    SHAPES(
        "names_over_two_lines", lambda: log([replace(c, name=c.name.replace(" ", "\n", 1)) for c in std()], quote='"')
    )
    SHAPES("mojibake_degrees", lambda: log([replace(c, unit=c.unit.replace("°", "Â°")) for c in std()]))
    SHAPES(
        "percent_signs_in_cells",
        lambda: log(
            edit(
                [replace(c, unit="" if c.unit == "%" else c.unit) for c in std()],
                "throttle stft ltft purge",
                mapped(lambda k, cell: cell + "%"),
            )
        ),
    )


def raw_hash() -> Built:
    built = log(std())
    return replace(built, files={"drive.csv": b"#" + built.files["drive.csv"]})


def repeated(step: int) -> Built:
    head, *lines = text(std()).splitlines()
    out = [line for k, line in enumerate(lines) for line in ([head, line] if k % step == 0 else [line])]
    return replace(log(std()), files={"drive.csv": "\n".join(out).encode() + b"\n"})


def _banks() -> None:
    names = "Time|RPM|MAF freq|MAF|MAP|TPS|Speed|ECT|IAT|Fuel status|Lambda cmd|Lambda meas|{}|{}|{}|{}|Purge|Inj"
    for style, trims in {
        "suffix": ("STFT_1", "LTFT_1", "STFT_2", "LTFT_2"), "b": ("STFT B1", "LTFT B1", "STFT B2", "LTFT B2"),
        "left_right": ("Short trim left", "Long trim left", "Short trim right", "Long trim right"),
        "zero_based": ("STFT[0]", "LTFT[0]", "STFT[1]", "LTFT[1]"), "ab": ("STFT A", "LTFT A", "STFT B", "LTFT B"),
        "bank_first": ("Bank 1 short trim", "Bank 1 long trim", "Bank 2 short trim", "Bank 2 long trim"),
        "sensors": ("STFT B1S1", "LTFT B1S1", "STFT B2S1", "LTFT B2S1"),
        "roman": ("STFT I", "LTFT I", "STFT II", "LTFT II"),
    }.items():  # fmt: skip
        SHAPES(f"banks_{style}", lambda t=trims: log(named(names.format(*t).split("|"), banks=2)), banks=2)
    SHAPES(
        "banks_swapped_order",
        lambda: log([*std(banks=2)[:12], *std(banks=2)[14:16], *std(banks=2)[12:14], *std(banks=2)[16:]]),
        banks=2,
    )


_names()
_units()
_around()
_banks()
SHAPES(
    "second_trim_only_named_bank_2",
    lambda: log(std(col("stft", "STFT2"), col("ltft", "LTFT2"))),
    "either",
    "only bank 2 is logged",
    optional=("stft_1", "ltft_1"),
)
