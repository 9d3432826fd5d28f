"""Where each command is declared, so that running one does not import all of them.

The list saves time and decides nothing: a test holds it against the declarations, and a word that is not in it is
looked for in all modules.
"""

from importlib import import_module

from workbench.commands.declaring.registry import COMMANDS, Command
from workbench.phrases import call, phrase

DECLARED_IN = {
    "table.tables": "new add-table",
    "record.settings": "settings",
    "record.exports": "export check",
    "record.copies": "save-copy",
    "record.plain_form": "unpack pack",
    "report.reports": "report",
    "report.cards": "card",
    "logs.logs": "add-log amend-log",
    "logs.stating": "analogue-input compute",
    "logs.inspection": "inspect",
    "evidence.evidence": "evidence correct cautions",
    "evidence.pulling": "pulls leave-out",
    "evidence.breathing": "air",
    "evidence.acknowledging": "acknowledge",
    "evidence.delays": call("wideband-delay"),
    "evidence.samples_of_cell": "cell-samples",
    "table.hand": phrase("set add scale {scale_percent_command}", scale_percent_command=call("scale-percent")),
    "table.shaping": phrase(
        "ramp smooth fill {keep_rising_command} blend {carry_on_command}",
        keep_rising_command=call("keep-rising"),
        carry_on_command=call("carry-on"),
    ),
    "table.clipboard": phrase(
        "copy paste {multiply_by_paste_command}", multiply_by_paste_command=call("multiply-by-paste")
    ),
    "table.axis_names": "rename-axis",
    "table.donors": "take-donor resample-donor insert-breakpoint change-axis",
    "table.ecu_format": "storage parts round",
    "table.physics": "physics",
    "record.history": "history",
    "record.revisions": "roll-back",
    "record.approving": "approve",
    "record.branches": phrase(
        "{name_command} {car_command} branches", name_command=call("name-branch"), car_command=call("put-in-car")
    ),
    "record.comparisons": "difference cell-history changed-by",
    "record.whole_sessions": "compare-sessions",
    "record.signatures": "make-key sign",
    "record.undoing": "undo redo",
    "record.samples": "tour samples",
}


def find(word: str) -> Command | None:
    """Find a command by its word, importing the one module that declares it; None where it is not listed."""
    for module, words in DECLARED_IN.items():
        if word in words.split():
            import_module(f"workbench.commands.{module}")
            return COMMANDS[word]
    return None
