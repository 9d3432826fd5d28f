"""Names of channels in scripts other than the Latin one, as the English words that the vocabulary knows.

From memory, as the trade writes them there; checked against nothing. A name that is read so only proposes a role: unit
and values must fit it as ever.
"""

import re
import unicodedata
from functools import cache

_RUSSIAN = {
    "обороты двигателя": "engine speed", "обороты": "engine speed", "частота вращения": "engine speed",
    "скорость автомобиля": "vehicle speed", "скорость машины": "vehicle speed", "скорость": "vehicle speed",
    "положение дроссельной заслонки": "throttle", "дроссельная заслонка": "throttle", "дроссель": "throttle",
    "заслонка": "throttle", "педаль": "pedal", "нагрузка на двигатель": "engine load", "нагрузка двигателя":
    "engine load", "нагрузка": "load", "датчик массового расхода воздуха": "mass air flow sensor",
    "датчик расхода":
    "mass air flow sensor", "дмрв": "mass air flow sensor", "расходомер": "mass air flow sensor",
    "массовый расход воздуха": "mass air flow", "расход воздуха": "mass air flow", "воздуха": "",
    "топлива": "fuel",
    "краткосрочн": "short term fuel trim ", "кратковременн": "short term fuel trim ", "долгосрочн":
    "long term fuel trim ", "долговременн": "long term fuel trim ", "коррекция": "", "лямбда": "lambda",
    "измеренн": "measured ", "фактическ": "measured ", "заданн": "commanded ",
    "желаем": "commanded ", "требуем":
    "commanded ", "температура охлаждающей жидкости": "coolant temp", "охлаждающей жидкости": "coolant",
    "температура двигателя": "coolant temp", "температура впускного": "intake air temp",
    "температура всасываемого":
    "intake air temp", "температура воздуха на впуске": "intake air temp", "температура": "temp",
    "давление во впускном коллекторе": "intake manifold pressure", "давление в коллекторе":
    "intake manifold pressure", "давление впуска": "intake manifold pressure", "абсолютное давление":
    "intake manifold pressure", "атмосферное давление": "barometric pressure", "барометрическое":
    "barometric pressure", "продувка": "evap purge", "адсорбер": "canister", "состояние топливной системы":
    "fuel system status", "статус топливной системы": "fuel system status", "топливная система": "fuel system",
    "напряжение": "voltage", "аккумулятор": "battery", "бортсети": "battery", "банк": "bank ",
}  # fmt: skip
_GREEK = {
    "στροφες κινητηρα": "engine speed", "στροφες": "engine speed",
    "ταχυτητα οχηματος": "vehicle speed", "ταχυτητα":
    "vehicle speed", "πεταλουδα": "throttle", "γκαζι": "throttle",
    "φορτιο κινητηρα": "engine load", "φορτιο": "load",
    "αισθητηρας ροης αερα": "mass air flow sensor", "αισθητηρας μαζας αερα": "mass air flow sensor", "ροη αερα":
    "mass air flow", "μαζα αερα": "mass air flow", "παροχη αερα": "mass air flow", "βραχυπροθεσμ":
    "short term fuel trim ", "μακροπροθεσμ": "long term fuel trim ", "λαμδα": "lambda",
    "μετρουμεν": "measured ",
    "μετρημεν": "measured ", "πραγματικ": "measured ", "ζητουμεν": "commanded ",
    "επιθυμητ": "commanded ", "στοχος":
    "commanded ", "θερμοκρασια ψυκτικου": "coolant temp", "ψυκτικου": "coolant", "θερμοκρασια εισαγωγης":
    "intake air temp", "θερμοκρασια αερα": "intake air temp", "θερμοκρασια": "temp", "πιεση πολλαπλης":
    "intake manifold pressure", "πιεση εισαγωγης": "intake manifold pressure", "βαρομετρικη πιεση":
    "barometric pressure", "ατμοσφαιρικη πιεση": "barometric pressure", "εξαερισ": "evap purge ", "καθαρισμ":
    "evap purge ", "κατασταση συστηματος καυσιμου": "fuel system status",
    "συστημα καυσιμου": "fuel system status",
    "καυσιμου": "fuel",
}  # fmt: skip
_JAPANESE = {
    "エンジン回転数": "engine speed", "エンジン回転速度": "engine speed", "回転数": "engine speed",
    "車速": "vehicle speed",
    "スロットル開度": "throttle", "スロットル": "throttle", "アクセル": "pedal",
    "エンジン負荷": "engine load", "負荷":
    "load", "エアフローセンサー": "mass air flow sensor", "エアフローセンサ": "mass air flow sensor",
    "エアフロメーター":
    "mass air flow sensor", "エアフローメーター": "mass air flow sensor", "吸入空気量": "mass air flow", "吸気量":
    "mass air flow", "空気量": "mass air flow", "空気流量": "mass air flow", "短期": "short term fuel trim ", "長期":
    "long term fuel trim ", "燃料補正": "", "燃料トリム": "", "目標": "commanded ", "指令": "commanded ", "要求":
    "commanded ", "実測": "measured ", "実": "measured ", "測定": "measured ", "ラムダ": "lambda", "空燃比": "afr",
    "空気過剰率": "lambda", "冷却水温": "coolant temp", "冷却水": "coolant", "水温": "coolant temp", "吸気温度":
    "intake air temp", "吸気温": "intake air temp", "吸気管圧力": "intake manifold pressure", "吸気圧":
    "intake manifold pressure", "マニホールド圧": "intake manifold pressure",
    "インマニ圧": "intake manifold pressure",
    "吸気マニホールド": "intake manifold ", "圧力": "pressure", "大気圧": "barometric pressure",
    "パージ": "evap purge",
    "燃料システム": "fuel system status", "燃料系": "fuel system status", "状態": "", "バッテリー": "battery", "電圧":
    "voltage", "温度": "temp", "バンク": "bank ",
}  # fmt: skip
_CHINESE = {
    "发动机转速": "engine speed", "引擎转速": "engine speed", "發動機轉速": "engine speed", "转速": "engine speed",
    "轉速": "engine speed", "车速": "vehicle speed", "車速": "vehicle speed", "节气门": "throttle",
    "節氣門": "throttle",
    "油门": "pedal", "发动机负荷": "engine load", "负荷": "load", "负载": "load", "空气流量传感器":
    "mass air flow sensor", "空气流量计": "mass air flow sensor", "进气流量": "mass air flow", "空气流量":
    "mass air flow", "进气量": "mass air flow", "空气质量": "mass air flow", "短期": "short term fuel trim ", "长期":
    "long term fuel trim ", "燃油修正": "", "目标": "commanded ", "指令": "commanded ", "期望": "commanded ", "实际":
    "measured ", "实测": "measured ", "测量": "measured ", "过量空气系数": "lambda", "空燃比": "afr", "冷却液":
    "coolant ", "冷却水": "coolant ", "水温": "coolant temp", "进气温度": "intake air temp", "进气管":
    "intake manifold ", "进气歧管": "intake manifold ", "歧管": "intake manifold ", "进气压力":
    "intake manifold pressure", "压力": "pressure", "大气压力": "barometric pressure",
    "大气压": "barometric pressure",
    "碳罐": "evap purge ", "炭罐": "evap purge ", "燃油系统": "fuel system status", "状态": "", "电瓶": "battery",
    "蓄电池": "battery", "电压": "voltage", "温度": "temp",
}  # fmt: skip
_KOREAN = {
    "엔진 회전수": "engine speed", "엔진회전수": "engine speed", "회전수": "engine speed",
    "엔진 속도": "engine speed",
    "차속": "vehicle speed", "차량 속도": "vehicle speed", "스로틀": "throttle", "액셀": "pedal",
    "가속 페달": "pedal",
    "엔진 부하": "engine load", "부하": "load", "공기량 센서": "mass air flow sensor", "공기유량 센서":
    "mass air flow sensor", "공기 유량 센서": "mass air flow sensor", "흡입공기량": "mass air flow", "흡입 공기량":
    "mass air flow", "공기량": "mass air flow", "공기 유량": "mass air flow", "단기": "short term fuel trim ", "장기":
    "long term fuel trim ", "연료 보정": "", "연료보정": "", "연료 트림": "", "목표": "commanded ",
    "지령": "commanded ",
    "실측": "measured ", "측정": "measured ", "실제": "measured ", "람다": "lambda", "공연비": "afr", "냉각수":
    "coolant ", "흡기온도": "intake air temp", "흡기 온도": "intake air temp", "흡기온": "intake air temp", "흡기압":
    "intake manifold pressure", "흡기 압력": "intake manifold pressure", "흡기 매니폴드": "intake manifold ",
    "매니폴드": "intake manifold ", "압력": "pressure", "대기압": "barometric pressure", "퍼지": "evap purge",
    "연료 시스템": "fuel system status", "연료시스템": "fuel system status", "배터리": "battery", "전압": "voltage",
    "온도": "temp", "수온": "coolant temp",
}  # fmt: skip
_ARABIC = {
    "سرعة المحرك": "engine speed", "دوران المحرك": "engine speed", "عدد الدورات": "engine speed",
    "سرعة المركبة":
    "vehicle speed", "سرعة السيارة": "vehicle speed", "السرعة": "vehicle speed",
    "الخانق": "throttle", "دواسة": "pedal", "حمل المحرك":
    "engine load", "الحمل": "load", "حساس تدفق الهواء": "mass air flow sensor", "حساس الهواء":
    "mass air flow sensor", "تدفق الهواء": "mass air flow", "كتلة الهواء": "mass air flow",
    "قصير": "short term ",
    "قصيرة": "short term ", "طويل": "long term ", "طويلة": "long term ", "المدى": "", "الأمد": "",
    "تصحيح الوقود":
    "fuel trim", "الوقود": "fuel", "لامدا": "lambda", "لمبدا": "lambda", "المقاسة": "measured",
    "المقاس": "measured",
    "الفعلية": "measured", "المطلوبة": "commanded", "المطلوب": "commanded", "المستهدفة": "commanded",
    "حرارة سائل التبريد": "coolant temp", "سائل التبريد": "coolant", "حرارة الماء": "coolant temp",
    "حرارة هواء السحب": "intake air temp", "هواء السحب": "intake air",
    "حرارة الهواء": "intake air temp", "حرارة":
    "temp", "ضغط مشعب السحب": "intake manifold pressure", "ضغط المشعب": "intake manifold pressure", "ضغط السحب":
    "intake manifold pressure", "الضغط الجوي": "barometric pressure", "تنفيس": "evap purge",
    "تطهير": "evap purge",
    "حالة نظام الوقود": "fuel system status", "نظام الوقود": "fuel system status",
}  # fmt: skip
_HINDI = {
    "इंजन गति": "engine speed", "इंजन की गति": "engine speed", "इंजन चाल": "engine speed", "वाहन गति":
    "vehicle speed", "वाहन की गति": "vehicle speed", "गति": "vehicle speed", "थ्रॉटल": "throttle",
    "थ्रोटल": "throttle", "पेडल": "pedal",
    "इंजन भार": "engine load", "भार": "load", "लोड": "load", "वायु प्रवाह सेंसर": "mass air flow sensor",
    "एयरफ्लो सेंसर": "mass air flow sensor", "वायु प्रवाह": "mass air flow", "वायु द्रव्यमान": "mass air flow",
    "अल्पकालिक": "short term fuel trim ", "अल्पावधि": "short term fuel trim ",
    "दीर्घकालिक": "long term fuel trim ",
    "दीर्घावधि": "long term fuel trim ", "लैम्ब्डा": "lambda", "लैम्डा": "lambda", "लैंबडा": "lambda", "मापा":
    "measured ", "मापित": "measured ", "वास्तविक": "measured ", "लक्ष्य": "commanded ", "आदेशित": "commanded ",
    "वांछित": "commanded ", "शीतलक": "coolant ", "इनटेक": "intake ", "अंतर्ग्रहण": "intake air ",
    "सेवन": "intake ",
    "वायु": "air", "तापमान": "temp", "ताप": "temp", "मैनिफोल्ड": "manifold ", "दबाव": "pressure",
    "दाब": "pressure",
    "वायुमंडलीय": "barometric ", "पर्ज": "evap purge", "ईंधन प्रणाली": "fuel system status", "ईंधन तंत्र":
    "fuel system status", "ईंधन": "fuel", "स्थिति": "",
}  # fmt: skip


def _bare(text: str) -> str:
    folded = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in folded if not unicodedata.combining(sign))


@cache
def _terms() -> tuple[re.Pattern[str], dict[str, str]]:
    terms: dict[str, str] = {}
    for words in (_RUSSIAN, _GREEK, _JAPANESE, _CHINESE, _KOREAN, _ARABIC, _HINDI):
        terms |= {_bare(term): english for term, english in words.items()}
    longest = sorted(terms, key=len, reverse=True)
    return re.compile("|".join(map(re.escape, longest))), terms


FIRST_OF_OTHERS = "\u0370"  # Greek is the first script behind the Latin ones


def in_english(name: str) -> str:
    """Write words of a name that are known in another script as English ones; other names stay as they are."""
    if name.isascii() or max(name) < FIRST_OF_OTHERS:
        return name
    pattern, terms = _terms()
    bare = _bare(name)
    made = pattern.sub(lambda found: f" {terms[found[0]]} ", bare)
    return name if made == bare else made
