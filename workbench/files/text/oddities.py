"""What was found out of order among the lines of a text, told in as few sentences as it takes."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from workbench.files.text.layout import Layout, left_out
from workbench.files.vocabulary.recording import Spoilt, Tally, listed
from workbench.files.vocabulary.spelling import plain_words
from workbench.phrases import phrase, plural_phrase

FEWEST_ALIKE, SHOWN = 3, 4  # columns whose cells hold the same text: told together, so many by name
# Months by how they begin in English, German, French, Spanish, Italian, Portuguese, Dutch, Polish, Czech and Swedish,
# without accents, as spreadsheets abbreviate them.
_MONTH = (
    r"(?:jan|feb|mar|mrz|maer|apr|may|mai|maj|jun|jul|aug|sep|oct|okt|nov|dec|dez|janv|fevr?|avr|juin|juil|aout|ene|"
    r"abr|ago|dic|gen|mag|giu|lug|set|ott|out|mrt|mei|sty|lut|kwi|cze|lip|sie|wrz|paz|lis|gru|led|uno|bre|dub|kve|cer|"
    r"srp|zar|rij|pro)[a-z]{0,9}"
)
_DATE = re.compile(
    rf"\d{{1,4}} {_MONTH}( \d{{2,4}})?|{_MONTH} \d{{1,4}}|"  # 01. Mai, 5-May, May 05
    r"\d{4} \d{1,2} \d{1,2}( (00 00( 00)?|t00 00 00))?|\d{1,2} \d{1,2} \d{4}( 00 00( 00)?)?"  # 2026-05-01, 01.05.2026
)


def is_date(text: str) -> bool:
    """Tell whether a cell holds a date, as a spreadsheet makes of a number such as 1.5 or 5-1."""
    return any(letter.isdigit() for letter in text) and _DATE.fullmatch(plain_words(text)) is not None


@dataclass
class Oddities:
    """What was found out of order, with line numbers."""

    cut: str = ""
    blank: Tally = field(default_factory=Tally)
    short: Tally = field(default_factory=Tally)
    long: Tally = field(default_factory=Tally)
    header: Tally = field(default_factory=Tally)
    worked_out: Tally = field(default_factory=Tally)
    cells: dict[int, Tally] = field(default_factory=dict)
    shown: dict[int, str] = field(default_factory=dict)
    nul: Tally = field(default_factory=Tally)
    dates: dict[int, Tally] = field(default_factory=dict)
    shown_date: dict[int, str] = field(default_factory=dict)
    glued: dict[int, str] = field(default_factory=dict)
    commas: dict[int, int] = field(default_factory=dict)

    def no_number(self, column: int, line: int, text: str) -> None:
        """Take in a cell of a column of numbers that holds something else."""
        tallies, shown = (self.dates, self.shown_date) if is_date(text) else (self.cells, self.shown)
        tallies.setdefault(column, Tally()).add(f"line {line}")
        shown.setdefault(column, text.replace("\0", "")[:30])

    def spoilt(self, layout: Layout) -> Mapping[str, Spoilt]:
        """Give channel -> what a spreadsheet made of its numbers."""
        return {layout.names[at]: Spoilt(tally.count, self.shown_date[at]) for at, tally in self.dates.items()}

    def notes(self, layout: Layout) -> list[str]:
        """Give all of it as sentences."""
        notes = [self.cut] * bool(self.cut)
        for tally, word in ((self.short, "fewer"), (self.long, "more")):
            if tally.count:
                notes.append(
                    plural_phrase(
                        tally.count,
                        "{n} row was dropped, not padded, having {word} cells than the header: {tally}.",
                        "{n} rows were dropped, not padded, having {word} cells than the header: {tally}.",
                        word=word,
                        tally=tally,
                    )
                )
        if self.blank.count:
            notes.append(phrase("Empty lines and comments among the values were skipped: {blank}.", blank=self.blank))
        if self.header.count:
            notes.append(phrase("Repeated header lines were skipped: {header}.", header=self.header))
        if self.nul.count:
            notes.append(
                phrase(
                    "Caution: NUL bytes in {nul}: the file was not written or copied whole, so rows may be missing.",
                    nul=self.nul,
                )
            )
        notes += left_out(str(self.worked_out))
        notes += self._cell_notes(layout)
        if self.commas:
            named = [layout.names[column] for column in sorted(self.commas)]
            notes.append(
                phrase(
                    "{names}: some numbers are written with a decimal comma and others with a point, first in line "
                    "{line}: both were read as decimals.",
                    names=listed(named[:SHOWN], len(named)),
                    line=min(self.commas.values()),
                )
            )
        if self.glued:
            named = [f"{layout.names[column]} ({unit})" for column, unit in sorted(self.glued.items())]
            notes.append(
                phrase("Units attached to the cells were removed: {named}.", named=listed(named[:6], len(named)))
            )
        return notes

    def _cell_notes(self, layout: Layout) -> list[str]:
        """Tell of cells without a number: in one sentence of columns whose cells hold the same."""
        alike: dict[str, list[int]] = {}
        for column in sorted(self.cells):
            alike.setdefault(self.shown[column].casefold() if len(self.cells) > FEWEST_ALIKE else "", []).append(column)
        if len(alike) > FEWEST_ALIKE:  # a few words in turn, as 'n/a' and 'no data'
            alike = {"": sorted(self.cells)}
        notes: list[str] = []
        for columns in alike.values():
            if len(columns) < FEWEST_ALIKE:
                notes += [self._cell_note(layout, column) for column in columns]
                continue
            words = list(dict.fromkeys(self.shown[column] for column in columns))
            notes.append(
                phrase(
                    "{count} cells of {names} hold no number but text such as {words}, first in {place}; they count "
                    "as missing.",
                    count=sum(self.cells[column].count for column in columns),
                    names=listed([layout.names[column] for column in columns[:SHOWN]], len(columns)),
                    words=" or ".join(repr(word) for word in words[:2]),
                    place=_first([self.cells[column] for column in columns]),
                )
            )
        return notes

    def _cell_note(self, layout: Layout, column: int) -> str:
        return phrase(
            "{layout}: no number in {tally}, such as {shown!r}; that counts as missing.",
            layout=layout.names[column],
            tally=self.cells[column],
            shown=self.shown[column],
        )


def _first(tallies: Sequence[Tally]) -> str:
    return min((tally.places[0] for tally in tallies), key=lambda place: int(place.rpartition(" ")[2]))
