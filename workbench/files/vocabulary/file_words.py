"""Words of any language by which files say what is no quantity: a clock, a state, yes and no, the parts of a list.

What names a quantity stands in `vocabulary`. All but `WORKED_OUT` are held against words without accents, capitals and
signs (`spelling.plain_words`).
"""

import re

CLOCK = re.compile(
    r"\b(time\w*|zeit\w*|temps|tiempo|tempo|tijd\w*|czas\w*|cas|tid|timestamp|seconds?|secs?|sekund\w*|secondi|"
    r"segundos|clock|uhrzeit|hora|heure|ora|elapsed|(engine )?run ti[mn]e|msec|millis\w*|usec|micros\w*|nsec|nanos\w*|"
    r"epoch\w*|unix\w*|ts|stamp|"
    r"date ?time|date|datum|fecha|data|ticks?|utc|gmt|horodat\w*|ido|aika|zaman|timp|t|"
    r"sek|seg|dauer|duree|duracion|durata|duracao|duur|czasu|casova|tidsstampel|mjd)\b"
)
NO_CLOCK = re.compile(
    r"since|mil\b|inject\w*|dwell|timing|delay|react\w*|codes?|pulse|duty|burn|spark|lag|remain\w*|to \w+|zone|vor"
)
# A clock that counts down to the end of a recording.
COUNTS_DOWN = re.compile(r"\b(remain\w*|count ?down|left|to go|verbleib\w*|restzeit|restant\w*|rimanent\w*)\b")
TICKS = re.compile(r"\b(ticks?|counts?|counter|timer|cycles?)\b")
RUN_TIME = re.compile(r"run ti[mn]e|laufzeit|runtime|since start")
# A clock before the channels it times, where a file has several.
GROUP_CLOCK = re.compile(r"^((time\w*|zeit\w*|temps|tiempo|tempo|tijd|czas|cas|tid|ts|timestamp)\b|(t ?\d?|x)$)")
# Columns of a clock in parts, as they follow each other: name, seconds of one, and how many at most.
CLOCK_PARTS = (
    (r"(hours?|hh?|hrs?|stunden?|std|heures?|horas?|ore|ora|uur|godzin[ay]|timmar?|hodin[ay])", 3600.0, 24.0),
    (r"(min(ute[sn]?|s|uti|utos?)?|mm?|minuut|minut[ay]?|minuter)", 60.0, 60.0),
    (r"(sec(onde?s?|ondi)?|ss?|sek(unden?|und[ay]|und|under)?|segundos?|s)", 1.0, 61.0),
    (r"(m ?s(ec(onds?)?)?|milli(s|seconds?|sekunden?|secondes?|segundos?|secondi)?|fff|ms)", 1e-3, 1000.0),
)

FUEL_SYSTEM = re.compile(
    r"fuel ?sys|loop|kraftstoffsystem|combust|carburant|regelkreis|lambda ?(regelung|control|feedback)"
)
# What a flag says where it is 1 or on: that the loop is closed, or open.
FLAG_CLOSED = re.compile(r"\bclosed ?loop|geschlossen|\blambda ?(regelung|control|feedback)")
FLAG_OPEN = re.compile(r"\bopen ?loop|offen")
LOOP_CLOSED = re.compile(
    r"\b(cl|closed|geschlossen\w*|geregelt\w*|ferme\w*|cerrad\w*|fechad\w*|chius\w*|gesloten|zamkn\w*|uzavr\w*|sluten|"
    r"stangd)\b"
)
LOOP_OPEN = re.compile(
    r"\b(ol|open|offen\w*|gesteuert\w*|ouvert\w*|abiert\w*|abert\w*|apert\w*|otw\w*|otev\w*|oppen)\b"
)
YES = re.compile(r"on|ein|an|true|wahr|yes|ja|active|aktiv|activated|aktiviert|enabled|1")
NO = re.compile(r"off|aus|false|falsch|no|nein|(not |in)active|(nicht |in)aktiv|deactivated|deaktiviert|disabled|0")
VALVE_OPEN = re.compile(r"open|opened|offen|geoffnet|auf")
VALVE_SHUT = re.compile(r"closed|shut|geschlossen|zu")

# Headings of a list that has a line for each reading: of the names, the values and their units.
LISTED_NAMES = re.compile(
    r"^(pid|name|channel|signal|parameter|sensor|kanal|messgrosse|quantity|canal|signalname|label|item)s?( name)?$"
)
LISTED_VALUES = re.compile(r"^(value|wert|messwert|valeur|valor|reading|data|physical value|val)s?$")
LISTED_UNITS = re.compile(r"^(unit|einheit|unite|unidad|unidade)s?$")

# A line that was worked out over all rows.
WORKED_OUT = re.compile(
    r"(average|avg|mean|median|min(imum|imo|imalwert)?|max(imum|imo|imalwert)?|m[ií]nim[oa]|m[aá]xim[oa]|total|sum|summe|somme|"
    r"mittel(wert)?|durchschnitt|moyenne|media|m[eé]dia|promedio|gemiddelde?|medel|std(ev)?|count|[Σ∑Øø⌀])\.?:?",
    re.IGNORECASE,
)
# A sensor behind the catalyst.
BEHIND_CATALYST = re.compile(
    r"\b(b ?\d ?)?s ?2\b|\bsensor 2\b|rear|post|after|downstream|hinter|nach kat|arriere|trasera"
)
