"""A text without a mark is read in the code page in which all its letters are at home, whatever the country."""

import pytest
from field.languages import LANGUAGES
from field.trade import FURTHER

from workbench.files.disk.alphabets import code_page
from workbench.files.disk.text_decoding import decode

PAGES = {
    "german": ("cp1252", "cp850", "mac-roman"),
    "french": ("cp1252", "mac-roman"),
    "spanish": ("cp1252",),
    "italian": ("cp1252",),
    "portuguese": ("cp1252",),
    "swedish": ("cp1252", "cp850"),
    "danish": ("cp1252",),
    "norwegian": ("cp1252",),
    "finnish": ("cp1252",),
    "polish": ("cp1250", "cp852", "iso8859-2"),
    "czech": ("cp1250", "cp852", "iso8859-2"),
    "hungarian": ("cp1250",),
    "turkish": ("cp1254",),
    "russian": ("cp1251", "koi8-r", "cp866"),
    "greek": ("cp1253",),
}
WORDS = LANGUAGES | FURTHER


@pytest.mark.parametrize(("language", "page"), [(name, page) for name, pages in PAGES.items() for page in pages])
@pytest.mark.parametrize("units", ["", "°C"])
def test_names_of_channels_survive_their_country(language: str, page: str, units: str) -> None:
    head = ";".join(f"{name} ({units})" if units else name for name in WORDS[language].split("|"))
    content = f"{head}\n0,0;1,5\n0,1;1,6\n".encode(page)
    text = decode(content, "drive.csv")
    assert text.text.split("\n")[0] == head
    assert (text.note == "") == content.isascii()


@pytest.mark.parametrize("page", ["cp1252", "cp850", "mac-roman"])
def test_a_degree_sign_alone_is_one(page: str) -> None:
    content = "Time,Coolant (°C)\n0,80\n".encode(page)
    assert decode(content, "drive.csv").text.startswith("Time,Coolant (°C)")


def test_bytes_of_no_page_still_have_one() -> None:
    content = bytes(range(128, 256))
    assert len(content.decode(code_page(content), "replace")) > 100


JAPANESE = "時間 (s),エンジン回転数 (rpm),車速 (km/h),吸入空気量 (g/s),短期燃料補正 (%),冷却水温 (°C)"
SIMPLIFIED = "时间 (s),发动机转速 (rpm),车速 (km/h),空气流量 (g/s),短期燃油修正 (%)"
TRADITIONAL = "時間 (s),引擎轉速 (rpm),車速 (km/h),空氣流量 (g/s),冷卻水溫 (C)"
KOREAN = "시간 (s),엔진 회전수 (rpm),차속 (km/h),공기량 (g/s)"


@pytest.mark.parametrize(
    ("head", "page"),
    [
        (JAPANESE.replace("°", ""), "cp932"), (JAPANESE.replace("°", ""), "euc_jp"), (SIMPLIFIED, "gb18030"),
        (TRADITIONAL, "big5"), (KOREAN, "cp949"), ("Время (с),Обороты (об/мин),Нагрузка (%)", "iso8859-5"),
        ("זמן (s),סיבובי מנוע (rpm),עומס (%)", "cp1255"), ("الزمن (s),سرعة المحرك (rpm),الحمل (%)", "cp1256"),
        ("เวลา (s),ความเร็วรอบ (rpm),ภาระ (%)", "cp874"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("rows", [3, 400])
def test_scripts_of_other_countries_survive_too(head: str, page: str, rows: int) -> None:
    content = (head + "\n" + "0.0,1.5,3\n" * rows).encode(page)
    assert decode(content, "drive.csv").text.split("\n")[0] == head
