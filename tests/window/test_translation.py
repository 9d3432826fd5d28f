"""Every text goes through the translator: in a made-up language nothing stays English, and none is cut."""

import json
import pickle
import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from xml.etree import ElementTree as ET

import PySide6
import pytest
from PySide6.QtCore import QLocale, QTranslator
from PySide6.QtWidgets import QApplication
from screen import Screen
from showing import cut_of, texts_of
from translation_source import write

from workbench.model.counting import counted
from workbench.phrases import call, flag, join_phrases, phrase, plural_phrase
from workbench.window.words.phrasing import window_text
from workbench.window.words.translation import NAME, install
from workbench.window.words.wording import plural

TASKS = "gates lanes keys correct approve export add-log smooth settings roll-back".split()

# What a user brings along, and what is the same in every language.
DATA = re.compile(
    r"\{[^}]*\}|https?:\S+|[\w./\\-]+\.(?:csv|session|json|html)\S*|/\S+|\b(?:Ctrl|Shift|Alt|Esc|Enter|Return|Home|"
    r"Backspace|Up|Down|Left|Right|Del|rpm|kPa|deg|degC|ratio|lambda|CSV|HTML|ECU|SESSION|F\d+)\b"
)


def pseudo(text: str) -> str:
    """Make a text a third longer, keeping its places."""
    return f"⟦{text} {'ö' * max(2, round(0.3 * len(text)) - 3)}⟧"


@pytest.fixture(scope="module")
def language(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a made-up language, made by Qt's own tool from the file that translators begin from.

    It stands under two names: one that has two forms for numbers, and one that has three.
    """
    folder = tmp_path_factory.mktemp("words")
    tree = ET.parse(write(folder))  # noqa: S314 - our own file
    for name, forms in (("eo", 2), ("pl", 3)):
        tree.getroot().set("language", name)
        for message in tree.getroot().iter("message"):
            translation = message.find("translation")
            translation.attrib.pop("type", None)
            text = pseudo(message.findtext("source"))
            if message.get("numerus") is None:
                translation.text = text
                continue
            for old in list(translation):
                translation.remove(old)
            for form in range(forms):
                ET.SubElement(translation, "numerusform").text = f"{text}{form}" if forms == 3 else text
        file = folder / f"{NAME}_{name}.ts"
        tree.write(file, encoding="utf-8", xml_declaration=True)
        tool = Path(PySide6.__file__).with_name("lrelease")
        subprocess.run([str(tool), "-silent", str(file)], check=True)
    return folder


@pytest.fixture
def speaking(qapp: QApplication, language: Path) -> Iterator[QTranslator]:
    """The application speaks it."""
    translator = install(qapp, language, QLocale("eo"))
    assert translator is not None
    yield translator
    qapp.removeTranslator(translator)


@pytest.fixture
def abroad(speaking: QTranslator, screen: Screen) -> Screen:
    """A window that was made while the application spoke it."""
    return screen


def english_in(text: str) -> str:
    """Give what of a text is neither within ⟦ ⟧, nor a number, nor what the user brought."""
    kept, depth = "", 0
    for sign in text.replace("\u200b", ""):  # where a long name may be broken
        depth += (sign == "⟦") - (sign == "⟧")
        kept += sign if depth == 0 and sign != "⟧" else " "
    return " ".join(word for word in re.findall(r"[A-Za-z]{3,}", DATA.sub(" ", re.sub(r"<[^>]*>|&\w+;", " ", kept))))


def test_without_a_language_everything_stays_as_it_is(qapp: QApplication, tmp_path: Path) -> None:
    assert install(qapp, tmp_path, QLocale("eo")) is None
    assert window_text(phrase("There is no revision {number}.", number=7)) == "There is no revision 7."


def test_phrases_of_the_core_are_translated_by_their_templates(speaking: QTranslator) -> None:
    refusal = phrase("There is no revision {number}.", number=7)
    assert window_text(refusal) == pseudo("There is no revision {number}.").format(number=7)
    both = join_phrases(" ", (refusal, "Nothing can be undone."))
    assert window_text(both).count("⟦") == 2
    assert window_text("of no template") == "of no template"
    assert window_text(call("add-log")).startswith("“⟦")
    assert window_text(flag("from")).startswith("“⟦")


def test_a_language_has_its_own_forms_for_numbers(qapp: QApplication, language: Path) -> None:
    """Polish has one for 1, one for 2 to 4 and the like, and one for all others (Unicode CLDR 45, plural rules)."""
    translator = install(qapp, language, QLocale("pl"))
    try:
        for number, form in ((1, 0), (2, 1), (4, 1), (5, 2), (12, 2), (22, 1)):
            assert window_text(counted(number, "cell")) == pseudo("{n} cells").format(n=number) + str(form)
            assert plural(number, "1 note", "{n} notes").format(n=number).endswith(f"⟧{form}")
            kept = plural_phrase(number, "{n} cell is undriven.", "{n} cells are undriven.")
            assert window_text(kept).endswith(f"⟧{form}")
    finally:
        qapp.removeTranslator(translator)
    assert [window_text(counted(number, "cell")) for number in (1, 2)] == ["1 cell", "2 cells"]
    assert plural(1, "1 note", "{n} notes") == "1 note"
    assert pickle.loads(pickle.dumps(counted(2, "cell"))) == "2 cells"  # noqa: S301 - our own


def test_what_a_program_reads_stays_english(speaking: QTranslator) -> None:
    assert json.dumps(phrase("{n} of {m}", n=1, m=2)) == '"1 of 2"'


def screens(screen: Screen, settle: Callable[[], None], files: Path, folder: Path) -> Iterator[str]:
    """Walk through the window and name each screen."""
    yield "start"
    screen.begin_from(files / "curve.csv", folder / "car.session")
    settle()
    yield "no log"
    screen.take([files / "curve_drive.csv"])
    settle()
    yield "log understood"
    screen.focus(cell=(20,), layer="ratio")
    for name in TASKS:
        screen.do(name)
        settle()
        yield name
    screen.leave_task()
    screen.bench.evidence.more.emit()
    yield "notes"


def test_nothing_stays_english(abroad: Screen, settle: Callable[[], None], car_files: Path, tmp_path: Path) -> None:
    names = {"Airflow", "sensor", "curve", "car", "airflow", "Mass", "mass", "root", "drive"}
    left: set[tuple[str, str, str]] = set()
    for screen in screens(abroad, settle, car_files, tmp_path):
        state = abroad.scene.state
        brought = set(names)
        if state is not None:
            table = state.table()
            words = [table.name, table.value_label, *(axis.label for axis in table.axes), state.head().author]
            words += [channel.name for drive in state.drives for channel in drive.log.channels]
            brought |= {part for word in words for part in re.findall(r"[A-Za-z]+", word)}
        for place, text in texts_of(abroad.window):
            if english := " ".join(word for word in english_in(text).split() if word not in brought):
                left.add((screen, place, english))
    assert not left, "\n".join(map(str, sorted(left)))


def test_nothing_is_cut_in_a_longer_language(
    abroad: Screen, settle: Callable[[], None], car_files: Path, tmp_path: Path
) -> None:
    cut = {(screen, each) for screen in screens(abroad, settle, car_files, tmp_path) for each in cut_of(abroad.window)}
    assert not cut, "\n".join(map(str, sorted(cut)))
