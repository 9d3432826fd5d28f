"""The order of the menus, that of the job; what a click with the other button offers; what the search finds."""

from collections.abc import Iterable, Sequence

# Names of acts and words of commands; what is not named stands in a last group of its menu.
ORDER: dict[str, tuple[tuple[str, ...], ...]] = {
    "Session": (
        ("new", "paste-table", "open"),
        ("sample-table", "sample-log", "sample"),
        ("add-table", "settings"),
        ("export", "report", "save-copy", "unpack", "pack"),
        ("check", "make-key"),
        ("samples", "tour"),
        ("start", "quit"),
    ),
    "Log": (
        ("add-log", "watch"),
        ("drive", "questions", "amend-log", "inspect"),
        ("analogue-input", "compute"),
        ("lanes",),
    ),
    "Evidence": (
        ("correct",),
        ("evidence", "cell-samples", "pulls", "leave-out", "air", "card"),
        ("cautions", "acknowledge"),
        ("gates", "wideband-place", "wideband-delay"),
        ("gather",),
    ),
    "Table": (
        ("apply", "drop"),
        ("entry", "set", "scale-percent", "scale", "add"),
        ("copy", "copy-all", "paste", "multiply-by-paste"),
        ("carry-on", "smooth", "fill", "ramp", "blend", "keep-rising", "round"),
        ("insert-breakpoint", "change-axis", "rename-axis", "take-donor", "resample-donor"),
        ("physics", "storage", "parts"),
    ),
    "History": (
        ("undo", "redo"),
        ("history", "story"),
        ("flick", "compare", "difference", "compare-file", "compare-none", "compare-sessions"),
        ("roll-back",),
        ("put-in-car", "name-branch", "branches"),
        ("approve", "sign"),
    ),
    "View": (
        ("next", "search"),
        ("go-numbers", "go-picture", "go-history", "go-log", "go-message", "go-worst"),
        ("layer-value", "layer-change", "layer-ratio", "layer-half_width", "layer-samples", "layer-standing"),
        ("alone", "hide-numbers", "hide-picture", "hide-evidence", "hide-history", "hide-log"),
        ("theme", "larger", "smaller", "rows"),
    ),
}
# What people say who do not know how it is called here.
SAYINGS = {
    "correct": "half step share limit learn apply the logs",
    "blend": "half way back part some cells",
    "roll-back": "revert restore roll back some cells go back to",
    "put-in-car": "flashed in the car since",
    "name-branch": "name branch variant",
    "undo": "undo log take back wrong role mistake remove log",
    "redo": "again forward",
    "drive": "roles channels units wideband position what was understood",
    "amend-log": "wrong revision role change log",
    "analogue-input": "wideband volts counts calibration sensor curve scale",
    "compute": "formula math expression calculate channel",
    "add-log": "import drive datalog file",
    "export": "save csv flash file hand over",
    "go-numbers": "go to cell find cell table",
    "go-worst": "go to cell worst error",
    "entry": "type edit change percent factor",
    "scale-percent": "raise lower richer leaner add percent",
    "gather": "work out again refresh evaluate after cancel",
    "gates": "filter settings warm steady limits",
    "pulls": "full throttle wide open run",
    "cautions": "warnings lean danger alarm",
    "acknowledge": "accept warning reason",
    "air": "density weather volumetric efficiency barometer temperature",
    "wideband-place": "sensor position location before after behind catalyst where",
    "wideband-delay": "sensor lag transport late shift wideband seconds",
    "leave-out": "exclude ignore pull stretch lift",
    "story": "history of a cell who changed",
    "flick": "before after compare toggle",
    "smooth": "even out bumps",
    "carry-on": "extrapolate undriven fill",
    "fill": "interpolate between cells",
    "alone": "maximise full screen bigger panel",
    "rows": "dense touch row height smaller rows",
    "larger": "font zoom bigger text",
    "smaller": "font zoom text",
}

# What is offered where, by a click with the other button; an empty name parts groups.
ON_CELLS = (
    "entry", "scale-percent", "set", "", "smooth", "fill", "ramp", "blend", "carry-on", "round", "", "copy", "paste",
    "multiply-by-paste", "", "story", "flick", "roll-back", "undo",
)  # fmt: skip
ON_PICTURE = ("correct", "smooth", "carry-on", "", "flick", "layer-value", "layer-change", "layer-ratio", "", "alone")
ON_LANES = ("drive", "lanes", "add-log", "", "pulls", "cautions", "gates", "", "alone", "undo")
ON_REVISIONS = (
    "compare", "flick", "difference", "", "roll-back", "put-in-car", "name-branch", "", "approve", "export", "",
    "history", "undo", "redo",
)  # fmt: skip
OF_CHOSEN = ("put-in-car", "name-branch")  # about the revision that is chosen in the history


def in_groups(menu: str, names: Sequence[str]) -> list[list[str]]:
    """Put the names of a menu into its groups, in the order of the job; none is lost, and no group is empty."""
    listed = [[name for name in group if name in names] for group in ORDER.get(menu, ())]
    known = {name for group in listed for name in group}
    listed.append([name for name in names if name not in known])
    return [group for group in listed if group]


def in_order(menu: str, names: Iterable[str]) -> list[str]:
    """Give the names of a menu in the order of the job."""
    return [name for group in in_groups(menu, tuple(names)) for name in group]
