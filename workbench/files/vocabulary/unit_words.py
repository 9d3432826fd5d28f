"""Units as they are written in other scripts and languages, brought to the spellings that are known.

From memory, as the trade writes them there; checked against nothing.
"""

import re
from functools import cache

# What is known -> how it is written elsewhere, parted by blanks, lower case.
_PARTS = {
    "min": "мин хв минут λεπ λεπτο λεπτό dk dak perc minut минута 分 分钟 分鐘 분 นาที phút دقيقة دق דקה",
    "h": "ч час год год. t time sa saat ó óra hod godz sat val ώρα ωρα "
    "时 時 小时 小時 时间 시 시간 ชม ชั่วโมง giờ tunti ساعة שעה",
    "s": "с сек sn sek мп δ δευτ 秒 秒钟 초 วินาที giây ثانية שנייה",
    "rev": "об обр оборот обороти o okr omdr omd rot vrt aps apgr kierr ford d dev devir obr varv vòng στρ στροφές "
    "回転 回 转 轉 转数 회전 รอบ دورة סיבוב",
    "km": "км χλμ χμ 公里 千米 킬로미터 กม كم ק״מ",
    "kg": "кг 公斤 千克 กก كغ كجم",
    "g": "г gr 克 กรัม غ غرام",
    "mg": "мг 毫克",
    "m": "м 米",
    "kpa": "кпа 千帕 千帕斯卡 كيلوباسكال",
    "hpa": "гпа 百帕",
    "pa": "па",
    "mpa": "мпа 兆帕",
    "bar": "бар 巴",
    "mbar": "мбар 毫巴",
    "hz": "гц герц 赫兹 赫茲 赫 هرتز",
    "khz": "кгц 千赫",
    "v": "в вольт 伏 伏特 โวลต์ volttia voltti فولت",
    "mv": "мв 毫伏",
    "ms": "мс мсек 毫秒",
    "°c": "°с 摄氏度 攝氏度 ℃ °ц",
    "%": "процент процентов 百分比 퍼센트 เปอร์เซ็นต์",
}
_KNOWN = {word: part for part, words in _PARTS.items() for word in words.split()}
# Whole units that are abbreviated by their first letters.
_WHOLE = {
    "σ.α.λ": "rpm", "σαλ": "rpm", 'סל"ד': "rpm", "סל״ד": "rpm",
    'קמ"ש': "km/h", "קמ״ש": "km/h", "د/د": "rpm", "د.د": "rpm",
    "كم/س": "km/h", "km/t": "km/h", "km/sa": "km/h", "кмч": "km/h", "rpм": "rpm", "กม./ชม": "km/h", "时速": "km/h",
}  # fmt: skip


@cache
def in_known_spelling(text: str) -> str:
    """Write a unit of another language as one that is known; empty where it is none.

    Args:
        text: without capitals, its strokes without blanks.
    """
    bare = text.strip(" .")
    if bare in _WHOLE:
        return _WHOLE[bare]
    above, stroke, below = (part.strip(" .") for part in bare.partition("/"))
    if not stroke:
        found = _KNOWN.get(bare, "")
        # A letter alone, or a word for time alone, is no unit: those begin and end names of channels, too.
        return found if found not in ("rev", "h") and not (bare.isascii() and len(bare) < 3) else ""
    if above not in _KNOWN and below not in _KNOWN:
        return ""
    numerator, denominator = _KNOWN.get(above, above), _KNOWN.get(below, below)
    if numerator in ("rev", "1", "r", "u") and denominator in ("min", "s"):
        return f"rev/{denominator}" if denominator == "s" else "rev/min"
    return f"{re.sub(r'[.]', '', numerator)}/{denominator}"
