"""All that can be done in the window, in the order of its menus: the commands, and what the window does by itself."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from workbench.commands.declaring.registry import COMMANDS, Command
from workbench.model.cells import ALL
from workbench.window.scene.scene import Layer
from workbench.window.shell.actions import Action, always, in_session, with_draft, with_outside, with_questions
from workbench.window.shell.dispatch import Routes
from workbench.window.shell.opening import Opening
from workbench.window.shell.workspace import Bench
from workbench.window.words.phrasing import window_text
from workbench.window.words.wording import tr


@dataclass(frozen=True)
class OfWindow:
    """What only the window as a whole can do."""

    search: Callable[[], None]
    next_theme: Callable[[], None]
    resize_text: Callable[[int], None]
    quit: Callable[[], object]
    next_row_height: Callable[[], None]
    gather: Callable[[], None]


def all_actions(routes: Routes, opening: Opening, bench: Bench, window: OfWindow) -> Iterator[Action]:
    """Yield the records of everything that can be done."""
    own = {
        "copy": routes.copy,
        "paste": routes.paste,
        "new": opening.choose_table,
        "roll-back": routes.roll_back,
        "card": routes.write_card,
    }
    for command in COMMANDS.values():
        record = of_command(command, routes)
        yield replace(record, trigger=own[command.word]) if command.word in own else record
    yield from _of_sessions(routes, opening)
    yield from _of_tables(routes)
    yield from _of_views(routes, bench, window)


def of_command(command: Command, routes: Routes) -> Action:
    """Make the record of a command from its declaration."""
    return Action(
        name=command.word,
        title=tr(command.title),
        menu=command.menu,
        shortcut=command.shortcut,
        tip=window_text(command.summary),
        trigger=partial(routes.open_command, command),
        icon=command.icon or command.word,
        enabled=in_session if command.takes_state else always,
    )


# fmt: off
def _of_sessions(routes: Routes, opening: Opening) -> Iterator[Action]:
    yield Action("start", tr("Start page"), "Session", "Ctrl+W", tr("Close the session and show the start page."),
                 opening.leave, "app")
    yield Action("open", tr("Open a session…"), "Session", "Ctrl+O", tr("Open a session file."),
                 opening.choose, "open", always)
    yield Action("sample", tr("Open the sample"), "Session", "", tr("Open a copy of the sample session."),
                 opening.open_sample, "app", always)
    yield Action("sample-table", tr("Try the sample table"), "Session", "",
                 tr("Begin a session from the sample's table; invented data."), opening.try_table, "app", always)
    yield Action("sample-log", tr("Try the sample drive"), "Session", "",
                 tr("Begin a session from the sample's table, and add its drive; invented data."), opening.try_log,
                 "app", always)
    yield Action("paste-table", tr("New session from the clipboard"), "Session", "Ctrl+Shift+P",
                 tr("Begin a session from a table copied in a spreadsheet."), opening.paste, "paste", always)
    yield Action("watch", tr("Watch a folder for logs…"), "Log", "Ctrl+Shift+W",
                 tr("Offer each new log written to the folder."),
                 opening.choose_folder, "folder-watch")
    yield Action("drive", tr("Log details"), "Log", "Ctrl+Shift+L",
                 tr("Channels, roles and assumptions."), routes.open_drive, "inspect")
    yield Action("questions", tr("Answer open questions"), "Log", "", tr("What a log leaves open before it counts."),
                 routes.open_questions, "inspect", with_questions)
    yield Action("lanes", tr("Choose lanes"), "Log", "", tr("Choose which channels are drawn."),
                 routes.open_lanes, "log")
    yield Action("gates", tr("Gates…"), "Evidence", "Ctrl+Shift+G",
                 tr("Limits of the gates, and the samples each rejected."), routes.open_gates, "settings")
    yield Action("wideband-place", tr("Where the wideband sits…"), "Evidence", "",
                 tr("Say whether it sits before or after the catalyst."), routes.open_place, "log")


def _of_tables(routes: Routes) -> Iterator[Action]:
    yield Action("apply", tr("Apply the draft"), "Table", "Ctrl+Shift+Return", tr("Record the draft as a revision."),
                 routes.apply, "approve", with_draft)
    yield Action("drop", tr("Drop the draft"), "Table", "", tr("Discard it and keep the table (Esc)."),
                 routes.drop, "close", with_draft)
    yield Action("entry", tr("Type a change of the chosen cells"), "Table", "F2",
                 tr("12.5 sets, +3 % changes, *0.97 scales."), routes.type_a_change, "set")
    yield Action("copy-all", tr("Copy all values"), "Table", "Ctrl+Shift+C",
                 tr("Without axes, for pasting elsewhere."), partial(routes.copy, ALL), "copy")
    yield Action("story", tr("History of this cell"), "History", "Ctrl+Shift+H", tr("All revisions that changed it."),
                 routes.tell_story, "history")
    yield Action("compare", tr("Compare with the chosen revision"), "History", "", tr("Show the changes since it."),
                 routes.compare_chosen, "difference")
    yield Action("compare-file", tr("Compare with a file or session…"), "History", "Ctrl+Alt+D",
                 tr("Show its values beside the table and in the picture."), routes.outside.ask, "difference")
    yield Action("compare-none", tr("Stop comparing with files"), "History", "", tr("Show only this session's tables."),
                 routes.outside.leave, "close", with_outside)
    yield Action("flick", tr("Toggle before / after"), "History", "F4",
                 tr("Show the compared revision, and back."), routes.flick, "difference")


def _of_views(routes: Routes, bench: Bench, window: OfWindow) -> Iterator[Action]:
    yield Action("next", tr("Do the next step"), "View", "F5", tr("Do what the top strip proposes."),
                 bench.strip.step_now, "next", always)
    yield Action("gather", tr("Gather the evidence"), "Evidence", "", tr("Work out anew what the logs say."),
                 window.gather, "evidence")
    yield Action("search", tr("Search all commands"), "View", "Ctrl+F", tr("By any of their words."),
                 window.search, "search", always)
    for name, title, key, widget in (
        ("numbers", tr("Go to the numbers"), "Alt+1", lambda: bench.numbers.view),
        ("picture", tr("Go to the picture"), "Alt+2", lambda: bench.picture.shown),
        ("history", tr("Go to the history"), "Alt+3", lambda: bench.rail),
        ("log", tr("Go to the log"), "Alt+4", lambda: bench.log.lanes),
    ):
        yield Action(f"go-{name}", title, "View", key, tr("Move the keyboard focus there."),
                     partial(routes.go, name, widget))
    yield Action("go-message", tr("Go to the message"), "View", "Alt+5", tr("To what is offered or was refused there."),
                 bench.notice.take_keyboard)
    yield Action("go-worst", tr("Go to the worst cell"), "View", "Ctrl+G", tr("The one farthest from its target."),
                 routes.go_to_the_worst)
    layers: tuple[tuple[Layer, str, str], ...] = (
        ("value", tr("Show values"), tr("What the ECU looks up.")),
        ("change", tr("Show changes"), tr("Against the compared revision.")),
        ("ratio", tr("Show airflow ratios"), tr("Measured over table airflow.")),
        ("half_width", tr("Show the 95 % interval"), tr("Half the 95 % interval.")),
        ("samples", tr("Show samples"), tr("Samples per cell.")),
        ("standing", tr("Show standing"), tr("Proven, thin or undriven.")),
    )
    for number, (layer, title, tip) in enumerate(layers, start=1):
        yield Action(f"layer-{layer}", title, "View", f"Ctrl+{number}", tip, partial(routes.show_layer, layer))
    yield Action("theme", tr("Next theme"), "View", "Ctrl+T", tr("Light, dark or direct sun."),
                 window.next_theme, "theme", always)
    yield Action("larger", tr("Larger text"), "View", "Ctrl++", tr("Up to 24 pt."),
                 partial(window.resize_text, 1), "", always)
    yield Action("smaller", tr("Smaller text"), "View", "Ctrl+-", tr("Down to 9 pt."),
                 partial(window.resize_text, -1), "", always)
    yield Action("rows", tr("Dense or high rows"), "View", "Ctrl+Shift+D", tr(
        "Low rows for the desk, high rows for touch."
    ),
                 window.next_row_height, "", always)
    yield Action("alone", tr("Maximise this panel"), "View", "F10", tr("Toggle between this panel and all panels."),
                 bench.room.toggle_alone)
    for panel, title in (
        ("numbers", tr("Show or hide the numbers")), ("picture", tr("Show or hide the picture")),
        ("evidence", tr("Show or hide the evidence")), ("history", tr("Show or hide the history")),
        ("log", tr("Show or hide the log")),
    ):
        yield Action(f"hide-{panel}", title, "View", "", tr("The other panels use its space."),
                     partial(bench.room.toggle, panel))
    yield Action("help", tr("The job, step by step"), "Help", "Shift+F1", tr("Cautions and steps; works offline."),
                 routes.show_help, "search", always)
    yield Action("keys", tr("Keys"), "Help", "F1", tr("All shortcuts on one page."), routes.show_keys, "keys", always)
    yield Action("quit", tr("Quit"), "Session", "Ctrl+Q", tr("What was applied is saved; a draft is asked about."),
                 window.quit, "close", always)
