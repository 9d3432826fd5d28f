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
