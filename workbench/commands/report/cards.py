"""What to drive next, on paper for the one who drives."""

from pathlib import Path

from workbench.commands.declaring.kinds import FIRST, NewFile, Replace, TableName
from workbench.commands.declaring.registry import Answer, Job, command
from workbench.commands.evidence.evidence import gather_for
from workbench.errors import FileError, InputError
from workbench.files.disk.atomic_write import check_place, write_whole
from workbench.files.disk.clock import now
from workbench.files.export.card import Card, card_html, card_report
from workbench.files.export.printing import report_pdf
from workbench.maths.verdict.plan import SAFELY
from workbench.model.state import State
from workbench.phrases import flag, phrase

ENDINGS = (".html", ".htm", ".pdf")
# Common practice, no source.
CAUTIONS = (
    SAFELY,
    "Never watch a screen or this card while you drive: the passenger reads it out.",
    "Stop a pull at once when the wideband reads leaner than commanded, or when the engine knocks.",
)
FIRST_DRIVE = (
    "Drive ten to fifteen minutes with a warm engine, at many speeds and loads, with a passenger at the laptop.",
    "With a wideband, add two or three pulls at full throttle on a closed course, one at a time.",
    "Stop a pull when the wideband reads leaner than commanded.",
    "Log the sensor signal (or engine speed and manifold pressure), short and long trims, both lambdas.",
    "Log coolant temperature, throttle, loop state and purge too, if the ECU offers them.",
)
MORE_OF_IT = "Nothing in particular is missing. Drive as usual for ten minutes, so that the correction is confirmed."


@command("Write a card for the driver", menu="Evidence", icon="car")
def card(
    state: State,
    file: NewFile,
    *,
    replace: Replace = False,
    table: TableName = FIRST,
) -> Job[Path]:
    """Write what to drive next as a page to print for the driver, cautions first.

    Args:
        file: the file to write; its ending says whether it is .pdf or .html.
        replace: replace an existing file; sessions and their logs are never replaced.
        table: the table whose current revision is meant; the first one if not given.

    Example:
        card car.session next_drive.pdf
    """
    check_place(file, {drive.log.sha256 for drive in state.drives})
    if file.suffix.lower() not in ENDINGS:
        raise InputError(
            phrase("A card is written as .pdf or .html, not as {ending!r}.", ending=file.suffix),
            "Give a file name that ends in .pdf or .html.",
        )
    if file.exists() and not replace:
        raise FileError(
            phrase("{file} already exists.", file=file),
            phrase("Name another file, or give {replace_flag}.", replace_flag=flag("replace")),
        )
    head = state.head(table)
    steps: tuple[str, ...] = FIRST_DRIVE
    if state.drives:
        try:
            found = yield from gather_for(state, head.table.name, "all", "both", "")
            steps = tuple(line for line in found.plan if line != SAFELY) or (MORE_OF_IT,)
        except InputError:
            steps = FIRST_DRIVE  # no drive fits this revision
    made = Card(head.table.name, head.id, CAUTIONS, steps, now())
    if file.suffix.lower() == ".pdf":
        content = yield from report_pdf(card_report(made))
    else:
        content = card_html(made).encode()
    write_whole(file, content)
    return Answer(
        file,
        lambda: {"path": str(file), "revision": head.id, "steps": list(steps)},
        (
            phrase("Card for the driver written to {file}. Print it.", file=file),
            *steps,
        ),
    )
