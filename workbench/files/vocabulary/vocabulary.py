"""The words by which channels are known in logs: English, German, French, Spanish and Portuguese, and J1979's own."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from workbench.model.log import Role

_COMMANDED = (
    r"command\w*|cmd\w*|target|desired|demand\w*|request\w*|soll\w*|cons(igne)?\b|objetivo|alvo|commande\w*|set ?point|"
    r"set\b|ref\b|reference|nominal|should|sp$|sollwert|desead[oa]|desejad[oa]|richiest[oa]|doel\w*|wymagan\w*|"
    r"cilov\w*|mal\b|vise\w*|lam\w*soll\w*|gewenst\w*|zadan\w*|pozadovan\w*|borvarde|obiettivo|hedef\w*|istenen|kivant|eloirt|celertek|ziel\w*|t[ra]*r?gt|dmd|"
    r"(lambda|lam|afr|phi|eqr)(t[ra]*r?g[et]*|target|soll|ziel|set|sp|cmd|command\w*|des\w*|req\w*|ref|demand\w*)\b|"
    r"(t[ra]*r?gt|target|soll|cmd|des|req|ref|dmd)(lambda|lam|afr|phi|eqr)\w*"
)
_BANK_2 = (
    r"(bank|banc|banco|bk|b) ?(2|b|ii)\b|\b\w*(ft|trim)2\b|(ft|trim) ?2\b|(ft|trm|trim)2\d\b|\bb2s\d|\bii\b|"
    r"\b(right|rechts|droite?|derech[ao]|destr[ao]|direit[ao])\b|\beven( bank| cyl\w*)?\b|"
    r"\b(cyl\w*|zyl\w*|cil\w*) (4 6|5 8|4 5 6|5 6 7 8|7 12|2 4 6( 8)?)\b"
)
_SHORT = (
    r"stft\w*|short (term )?(b(ank)? ?\d )?(fuel )?(trim|ft|correction)\w*|sh\w*rt ?(ft|trm)\w*|s t ?ft|"
    r"fuel trim short( term)?|"
    r"(active|instant\w*|current) (fuel )?(trim|correction)|a f correction|lambda (integrator|regler\w*)$|"
    r"fuel trim (bank \d )?short\w*|kurzzeit\w*|correction (\w+ )*court\w*|"
    r"(ajuste|correccion|correcao|correzione) (\w+ )*(corto|curto|breve)\w*|corr ct\b"
)
_LONG = (
    r"ltft\w*|long (term )?(b(ank)? ?\d )?(fuel )?(trim|ft|correction)\w*|lo\w*ng ?(ft|trm)\w*|l t ?ft|"
    r"fuel trim long( term)?|"
    r"(learn\w*|adapt\w*|gelernt\w*) (fuel )?(trim|correction|korrektur)|a f learning|"
    r"fuel trim (bank \d )?long\w*|langzeit\w*|correction (\w+ )*long\w*|"
    r"(ajuste|correccion|correcao|correzione) (\w+ )*(largo|longo|lungo)\w*|corr lt\b"
)
_MIXTURE = (
    r"lambda\w*|\blam(soll|ist|set|act|cmd|tgt|target|meas|real|req|des)?\b|\blbda\b|\beq ?rat\w*|"
    r"wide ?band\w*|\bwb\w*|afr\w*|\bfar\b|(air )?fuel ratio|fuel air( ratio)?|"
    r"air fuel( ratio)?|a f( ratio)?|equiv\w*( ratio)?|breitband\w*|"
    r"sonde lambda|luftzahl|riqueza|richesse|ricchezza|richness|dosado|"
    r"mezcla|\bphi\b|\beqr\b|mieszank\w*|blandning\w*|mengsel\w*|smes\w*"
)


@dataclass(frozen=True)
class Rule:
    """How a role is recognised.

    Attributes:
        name: pattern that must be found in the plain words of the name.
        but: pattern that must not.
        quantities: quantities its unit may have; a channel without unit may be taken too.
        low, high: where most of its values lie, in base units.
        better: pattern that makes a name a likelier choice.
    """

    name: str
    quantities: tuple[str, ...]
    low: float
    high: float
    but: str = r"(?!)"
    better: str = r"(?!)"


_STATE = r"\w*(status|state\b|zustand)|stat\b|zust\b|estado|etat|statut|stato|toestand|tillstand|stan\b|stav\b|modus"
_FUELLED = (
    r"gemisch\w*|mixture|melange|mezcla|mistura|miscela|mengsel\w*|blandning\w*|mieszank\w*|smes\w*|"
    r"(fuel|loop)(stat\w*)?\b|boucle|smyck\w*|petl\w*|lazo|anello|malha|lus\b|slinga|paliva|combust\w*|carbur\w*|"
    r"kraftstoff\w*|brandstof\w*|bransle\w*|paliw\w*"
)
_STATE_OF_MIXTURE = rf"(?=(.*\b)?({_STATE}))(?=(.*\b)?({_FUELLED}))\w+"
_TOTAL = (
    r"(total|overall|combined|sum|gesamt\w*|totale?) (\w+ )*(trim\w*|correction|korrektur|fuel)\b|"
    r"(fuel )?(trim|correction) (total|sum|overall)\b|total ?trim\w*|fuel correction( factor)?$"
)
_PART_TRIM = r"short\w*|long\w*|stft\w*|ltft\w*|ignition|spark|idle|flow"
_ERROR = r"error|err|deviation|abweich\w*|ecart|errore|desvi\w*|fehler"
# Half of a trim, and the most of one since the row before, are none.
_ANY_TRIM = r"\b[sl]tft\w*|\btrims?\b"  # of idle, load or part throttle: a trim all the same
_NO_TRIM = (
    r"second\w*|oxygen|o2|sensor|sonde|error|fehler|added|removed|increase[ds]?|decrease[ds]?|"
    r"(max|min|maximum|minimum|peak|highest|lowest)$"
)
RULES: Mapping[Role, Rule] = {
    "sensor_signal": Rule(
        r"(maf|mass air ?flow|air ?flow|hfm|afm|luftmasse\w*|debit|caudal)( \w+)*",
        ("frequency", "voltage", "time"),  # the time between pulses
        0,
        20000,
        but=r"adapt\w*|correct\w*|supply",
    ),
    "airflow": Rule(
        r"\bmaf\b|mass ?air ?flow|air ?flow( rate)?|air mass( flow)?|luftmasse\w*|debit (d )?(masse )?(d )?air|"
        r"(flujo|caudal|fluxo|vazao|masa|massa) (\w+ )*(aire|ar)\b|portata aria",
        ("mass flow",),
        0,
        1500,
        but=rf"{_COMMANDED}|fre[qck]\w*|czest\w*|\w*meter\b|k?hz|volt\w*|m?v\b|signal|"
        r"max\w*|filter\w* correction|temp\w*|egr|second\w*",
    ),
    "engine_speed": Rule(
        r"\brpm\b|engine ?(rpm|speed|revs?)|\bn ?mot\b|\w*drehzahl\w*|\bregime\b|regimen|revolu\w+|rotac\w+|\bgiri\b|"
        r"\brevs\b|\beng(ine)? ?spd\b|umdrehung\w*|^n$",
        ("turning",),
        0,
        20000,
        but=rf"{_COMMANDED}|idle|turb\w*|output|input|wheel|fan|limit\w*|leerlauf\w*|max\w*",
        better=r"engine|motor|moteur",
    ),
    "manifold_pressure": Rule(
        r"\bi?map\b|manifold( absolute| air)? ?press\w*|intake( manifold)?( absolute)? ?press\w*|intake manifold\b|"
        r"saugrohr\w*|ladedruck|\bpsaug\w*|pression (\w+ )*(admission|collecteur|tubulure)|"
        r"presion (\w+ )*(colector|multiple|admision)|pressao (\w+ )*(coletor|admissao)|\bboost\b",
        ("pressure",),
        -105,
        450,
        but=rf"{_COMMANDED}|baro\w*|ambient|fuel|rail|temp\w*|volt\w*|sensor|exhaust|oil",
        better=r"\bi?map\b|manifold",
    ),
    "load": Rule(
        r"\bload\b|motor yuku|\byuk\b|terheles|\blast\b|motorlast|\bcharge\b|\bcarga\b|load pct",
        ("percent",),
        0,
        400,
        but=rf"{_COMMANDED}|throttle|temp\w*|aire? de|canister|{_ANY_TRIM}",
        better=r"calc\w*|engine|motor|moteur",
    ),
    "stft_1": Rule(_SHORT, ("percent",), -60, 60, but=f"{_NO_TRIM}|{_BANK_2}"),
    "ltft_1": Rule(_LONG, ("percent",), -60, 60, but=f"{_NO_TRIM}|{_BANK_2}"),
    "stft_2": Rule(rf"(?=.*({_BANK_2}))({_SHORT}|.*({_SHORT}))", ("percent",), -60, 60, but=_NO_TRIM),
    "ltft_2": Rule(rf"(?=.*({_BANK_2}))({_LONG}|.*({_LONG}))", ("percent",), -60, 60, but=_NO_TRIM),
    "total_trim_1": Rule(_TOTAL, ("percent",), -60, 60, but=f"{_NO_TRIM}|{_BANK_2}|{_PART_TRIM}"),
    "total_trim_2": Rule(rf"(?=.*({_BANK_2})).*({_TOTAL})", ("percent",), -60, 60, but=f"{_NO_TRIM}|{_PART_TRIM}"),
    "lambda_error": Rule(
        rf"(?=.*({_MIXTURE})).*\b({_ERROR})|(?=.*\b({_ERROR})).*({_MIXTURE})",
        ("percent",),
        -100,
        400,
        but=r"volt\w*|heat\w*|status|temp\w*|codes?|count\w*",
    ),
    "lambda_measured": Rule(
        _MIXTURE,
        ("lambda", "afr", "phi", "percent"),
        0.4,
        2.2,
        but=rf"{_COMMANDED}|volt\w*|current|strom|spannung|tension|heat\w*|regler\w*|control|"
        r"integrator|stat(us|e|o|ut)?\b|estado|etat|stan\b|stav\b|trim|"
        r"adapt\w*|temp\w*|loop|lambda ?reg\w*|feedback|error|deviation|abweich\w*|fehler",
        better=r"wide ?band|wb|meas\w*|ist\b|actual|breitband|sensor 1|s1|b ?\d ?s1|34",
    ),
    "lambda_commanded": Rule(
        rf"(?=.*\b({_COMMANDED})).*({_MIXTURE})",
        ("lambda", "afr", "phi", "percent"),
        0.4,
        2.2,
        but=r"throttle|egr|volt\w*",
    ),
    "fuel_system": Rule(
        r"fuel ?sys\w*( \w+)*|(closed|open|fuel) ?loop( status)?|loop status|kraftstoffsystem\w*|regelkreis( \w+)*|"
        r"lambda ?regelung( \w+)*|lambda (control|feedback) (active|status|state|on|enabled)\b|\bfss\b|^loop$|"
        r"(estado|etat|statut) (\w+ )*(combust\w+|carburant)",
        (),
        0,
        4352,
        but=r"pressure|druck|2\b|bank 2|pump\w*|level|tank\w*|rail|temp\w*|cut\b|consum\w*|inject\w*|cap\b|type",
        better=r"\b1\b|bank 1|a\b",
    ),
    "coolant_temperature": Rule(
        r"coolant( temp\w*)?|\bect\b|\bclt\b|kuhl(mittel|wasser)\w*( temp\w*)?|motortemp\w*|water temp\w*|"
        r"engine temp\w*|temp\w* (\w+ )*(liquide|eau|moteur|refriger\w+|arrefec\w+|motor|anticongelante)|"
        r"(refrigerante|liquido refriger\w+)",
        ("temperature",),
        -50,
        220,
        but=r"oil|ol\b|huile|aceite|oleo|air|fan",
        better=r"coolant|ect|kuhl",
    ),
    "intake_temperature": Rule(
        r"\biat\b|(intake|inlet)( manifold)?( air)? ?temp\w*|\bmat\b|\bact\b|ansaug(luft)?\w*( temp\w*)?|"
        r"temp\w* (\w+ )*(admission|admision|admissao|aspiration)|charge air temp\w*|air intake temp\w*",
        ("temperature",),
        -50,
        220,
        but=r"ambient|exhaust|press\w*|druck|ext\w*|out\w*|umgeb\w*|aussen\w*",
        better=r"iat|intake|ansaug",
    ),
    "throttle": Rule(
        r"throttle( pos\w*| angle| plate\w*)?|\btps\b|drosselklappe\w*|papillon|mariposa|borboleta|\bwdk\w*",
        ("percent",),
        -5,
        105,
        but=rf"{_COMMANDED}|actuator|pedal|volt\w*|\b[bcdef]\b|accel\w*|motor|stell\w*|{_ANY_TRIM}",
        better=r"^throttle$|absolute|position$|^throttle pos\w*$",
    ),
    "pedal": Rule(
        r"pedal\w*|accelerat\w*( pos\w*)?|\bapp\b|fahrpedal\w*|gaspedal\w*|accelerateur|acelerador",
        ("percent",),
        -5,
        105,
        but=rf"{_COMMANDED}|brake|clutch|brems\w*|volt\w*|lateral|longitudinal|\b[xyz]\b|vehicle acc\w*|m s2",
        better=r"\bd\b|pos\w*",
    ),
    "purge": Rule(
        r"purge\w*|evap\w*|tankentluftung\w*|canister|purga",
        ("percent",),
        0,
        100,
        but=r"press\w*|vapou?r|monitor|temp\w*",
    ),
    "battery_voltage": Rule(
        r"batt\w*|control module volt\w*|module volt\w*|(system|ecu|supply) volt\w*|bordspannung|\bub\b|\bvbat\w*|"
        r"tension (\w+ )*batterie|bateria|batteriespannung|module v\b|voltage control module|bat v\b",
        ("voltage",),
        0,
        70,
        but=r"temp\w*|hybrid|current|charge|soc",
    ),
    "vehicle_speed": Rule(
        r"(vehicle|road|car) ?(speed|spd)|\bvss\b|^speed$|^speed \w+$|\w*geschwindigkeit|vitesse|velocidad\w*|"
        r"^veh ?spd|speed obd",
        ("speed",),
        0,
        400,
        but=r"gps|obrotow\w*|rotation|average|wheel|wind|engine|motor|moteur|fan|cruise|mittlere",
        better=r"vehicle|obd|fahrzeug|vehicule",
    ),
    "barometer": Rule(
        r"baro\w*|umgebungsdruck|luftdruck|atmos\w*( press\w*)?|(pression|presion|pressao) (\w+ )*(atmo\w+|baro\w+)|"
        r"ambient press\w*",
        ("pressure",),
        40,
        120,
    ),
}

# Words of further languages (Italian, Dutch, Polish, Czech, Swedish), and short forms.
_FURTHER: Mapping[Role, str] = {
    "sensor_signal": r"lmm( \w+)*|luchtmassameter|luftmasse(matare|nmesser)|przeplywomierz\w*|vahy vzduchu|debitmetre|"
    r"fluxo de ar|flujo de aire|\w*debi\w*met\w*|(\w+ )*debitm\b|misuratore (\w+ )*(massa|portata)|"
    r"(mass )?air ?(mass ?|flow ?)?(meter|sensor)( \w+)*|f (lmm|maf)\b|mafhz"
    r"|hava akis\w* (sensor|olcer)\w*|hava debimetre\w*|legtomegmero\w*|levego ?mennyiseg ?mero\w*",
    "airflow": r"luchtmassa(stroom)?\b|debit massique|hmotnost vzduchu|masa powietrza|luftmassflode|luchtstroom|"
    r"luftflode|luftmassa\b|przeplyw powietrza|prutok vzduchu|"
    r"portata (\w+ )*aria|massa (d )?aria|mf air|airflowgs|^m ?l$"
    r"|hava (akis|debi|kutle)\w*|kutlesel hava\w*|legtomeg( ?aram)?\b|levegotomeg\w*|legaram\w*"
    r"|levego ?aram\w*",
    "engine_speed": r"\w*toerental|vitesse (de )?(rotation|moteur)|obroty\b|predkosc obrotowa|otacky\b|\w*varvtal|"
    r"n eng\b|reg mot\b|engine ?speed"
    r"|motor (devri|devir|hizi)\b|^devir\b|\w*fordulat\w*",
    "manifold_pressure": r"\w*spruitstuk\w*|tlak (\w+ )*sac\w*|inlaat\w*druk|cisnienie (w )?(kolektor\w*|dolot\w*)|"
    r"tlak v sani|"
    r"insugstryck|pressione (\w+ )*(collettore|aspirazione)|manifold ?abs\w*|manifoldpress\w*|p (man|sr|im|adm)\b"
    r"|manifold\w* (mutlak )?basinc\w*|emme basinc\w*|szivo\w* ?nyomas\w*",
    "stft_1": r"\w*trim kor?t\w*|kortetermijn\w*|korttid\w*|(fuel )?trim st\b|korte termijn|korekta krotko\w*|"
    r"kratkodob\w*|shortterm\w*|short ?fuel ?trim\w*|"
    r"correzione (\w+ )*breve|fr short|\bkzt\b|\bshrtft\w*"
    r"|kisa (vade|donem)\w*|rovid ?(tavu|ideju)\w*",
    "ltft_1": r"\w*trim lang\w*|langetermijn\w*|langtid\w*|(fuel )?trim lt\b|lange termijn|korekta dlugo\w*|"
    r"dlouhodob\w*|longterm\w*|long ?fuel ?trim\w*|"
    r"correzione (\w+ )*lung\w*|fr long|\blzt\b"
    r"|uzun (vade|donem)\w*|hosszu ?(tavu|ideju)\w*",
    "fuel_system": rf"{_STATE_OF_MIXTURE}|"
    r"fuel ?stat\w*|\w*brandstofsysteem\w*|uklad\w* paliwow\w*|palivov\w* system\w*|"
    r"branslesystem\w*|stato (\w+ )*(combust|carbur)\w*|status kraftstoff\w*|st fuel|\bkst\b"
    r"|gemisch ?regel\w*|yakit sistem\w*|uzemanyag ?rendszer\w*",
    "coolant_temperature": r"chlodzac\w*|kylvatten\w*|temp\w* (\w+ )*(agua|wody|vody)|koelvloeistof\w*|koelwater\w*|"
    r"plynu chlodz\w*|chladici\w* kapalin\w*|kylvatske\w*|"
    r"kuehl\w*|temp\w* (\w+ )*(raffredd\w+|acqua)|coolanttemp\w*|t (km|cool|clt|eau)\b"
    r"|cool(ing)? ?(water )?temp\w*|sogutma (suyu|sivi)\w*|huto(folyadek|viz)\w*",
    "intake_temperature": r"ladeluft\w*|inlaattemp\w*|insugstemp\w*|"
    r"temp\w* (\w+ )?(air|aria|ar|aire|powietrza|vzduchu)$|tep\w* vzduchu$|(intake|inlet) air$|inlaatlucht\w*|"
    r"powietrza dolot\w*|nasavan\w*|insugning\w*|"
    r"aria aspir\w*|"
    r"temp\w* (\w+ )*aspira\w*|intaketemp\w*|t (ansaug|intake|im|air adm)\b"
    r"|int air temp\w*|emme (hava\w*|manifold\w*)? ?sicaklig\w*|szivo ?(levego)?\w* homerseklet\w*"
    r"|beszivott levego\w*",
    "throttle": r"gasklep\w*|trottel\w*|skrtici\w* klap\w*|przepustnic\w*|skrtici klapka|spjall\w*|farfalla|^tp$|"
    r"^pap$|pos thr|^dk$"
    r"|gaz kelebeg\w*|kelebek\b|fojto ?szelep\w*|pillango ?szelep\w*",
    "pedal": r"gaspedaal|pedal gazu|plynovy pedal|acceleratore"
    r"|gaz pedali|gazpedal\w*",
    "purge": r"regenerier\w*|koolstoffilter\w*|ontluchting\w*|przedmuch\w*|odvetran\w*|kanister\w*|"
    r"akf\b|aktivkohle\w*|charbon actif|carbon activo|carboni attivi|spurgo|\btev\b|tankentlueft\w*|dc purge"
    r"|\w+ontlucht\w*|odpowietrz\w*|\w*avluftning\w*|\w*tahliye\w*|\w*szelloz\w*",
    "battery_voltage": r"accuspanning|napiecie akumulatora|napeti (akumulatoru|baterie)|batterispanning"
    r"|aku (voltaj|gerilim)\w*|akkumulator\w*",
    "vehicle_speed": r"\w*snelheid|^speed km ?h$|\w+hastighet|predkosc\b|rychlost|hastighet|velocita\b|"
    r"^vit ve?hc?\b|vehiclespeed|v veh|^v$"
    r"|arac hizi|(jarmu)?sebesseg\w*",
    "barometer": r"luchtdruk|cisnienie atmosf\w*|atmosfer\w* tlak|lufttryck"
    r"|barometrik|atmosfer basinc\w*|legnyomas\w*",
}
RULES = {
    role: rule if role not in _FURTHER else replace(rule, name=f"{rule.name}|{_FURTHER[role]}")
    for role, rule in RULES.items()
}

ALIASES: Mapping[Role, str] = {
    "sensor_signal": "sensor maf_signal maf_frequency maf_voltage signal",
    "airflow": "maf air_flow mass_airflow",
    "engine_speed": "rpm speed_of_engine n",
    "manifold_pressure": "map pressure manifold",
    "load": "engine_load",
    "stft_1": "stft stft1 short_term_trim",
    "ltft_1": "ltft ltft1 long_term_trim",
    "stft_2": "stft2",
    "ltft_2": "ltft2",
    "total_trim_1": "total_trim total_trim1",
    "total_trim_2": "total_trim2",
    "lambda_error": "error",
    "lambda_measured": "measured_fuel_ratio fuel_ratio lambda wideband measured afr lambda_meas",
    "lambda_commanded": "commanded_fuel_ratio commanded target commanded_lambda lambda_target lambda_cmd",
    "fuel_system": "loop fuel_status loop_status",
    "coolant_temperature": "coolant ect clt",
    "intake_temperature": "iat intake",
    "throttle": "tps",
    "pedal": "app accelerator",
    "purge": "evap",
    "battery_voltage": "battery voltage",
    "vehicle_speed": "speed vss",
    "barometer": "baro",
}
