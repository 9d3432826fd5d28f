"""Whether a window can be opened here at all; found out before Qt would abort over it."""

import ctypes
import importlib.util
import os
import re
import sys
from pathlib import Path

from workbench import PROGRAM

# Debian's packages for the libraries that Qt's xcb plugin needs (packages.debian.org, bookworm and trixie).
PACKAGES = {
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-shm.so.0": "libxcb-shm0",
    "libxcb-sync.so.1": "libxcb-sync1",
    "libxcb-xfixes.so.0": "libxcb-xfixes0",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxcb-util.so.1": "libxcb-util1",
    "libxcb.so.1": "libxcb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libX11-xcb.so.1": "libx11-xcb1",
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libfontconfig.so.1": "libfontconfig1",
    "libfreetype.so.6": "libfreetype6",
    "libdbus-1.so.3": "libdbus-1-3",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libwayland-client.so.0": "libwayland-client0",
}
HEADLESS = f"The command line does the same job without a window: {PROGRAM} --help"
QUIET_PLATFORMS = ("offscreen", "minimal", "vnc", "linuxfb", "eglfs", "minimalegl", "vkkhrdisplay")


def trouble() -> str:
    """Explain why no window can be opened, and what to do; empty where one can."""
    if (
        missing := _missing_library(lambda: importlib.import_module("PySide6.QtWidgets"))
    ) or not sys.platform.startswith("linux"):
        return missing
    asked = os.environ.get("QT_QPA_PLATFORM", "").partition(":")[0].partition(";")[0]
    if asked in QUIET_PLATFORMS:
        return ""
    if asked.startswith("wayland") or (not asked and _wayland_socket() is not None and not os.environ.get("DISPLAY")):
        return "" if _wayland_socket() is not None else _no_display("WAYLAND_DISPLAY")
    if not os.environ.get("DISPLAY"):
        return _no_display("DISPLAY")
    plugin = _plugin("xcb")
    if plugin is not None and (missing := _missing_library(lambda: ctypes.CDLL(str(plugin)))):
        return missing
    return "" if _answers() else _no_display("DISPLAY", os.environ["DISPLAY"])


def _no_display(variable: str, value: str = "") -> str:
    what = (
        f"No display responds at {variable}={value}." if value else f"There is no display here ({variable} is not set)."
    )
    return f"{what} A window needs a desktop session, or ssh -X. {HEADLESS}"


def _wayland_socket() -> Path | None:
    name = os.environ.get("WAYLAND_DISPLAY")
    path = Path(os.environ.get("XDG_RUNTIME_DIR", "/run")) / name if name else None
    return path if path is not None and path.exists() else None


def _plugin(name: str) -> Path | None:
    found = importlib.util.find_spec("PySide6")
    folders = [] if found is None else list(found.submodule_search_locations or [])
    paths = (Path(folder) / "Qt" / "plugins" / "platforms" / f"libq{name}.so" for folder in folders)
    return next((path for path in paths if path.exists()), None)


def _missing_library(load: "object") -> str:
    try:
        if callable(load):
            load()
    except (ImportError, OSError) as error:
        match = re.search(r"(lib[\w.+-]+\.so[.\d]*)", str(error))
        if match is None:
            return f"The window's library cannot be loaded: {error} Install PySide6-Essentials. {HEADLESS}"
        package = PACKAGES.get(match[1], f"the package that holds {match[1]}")
        remedy = f"apt-get install {package}" if match[1] in PACKAGES else f"install {package}"
        return f"A system library that the window needs is missing: {match[1]}. To fix it: {remedy} {HEADLESS}"
    return ""


def _answers() -> bool:
    """Try to reach the X server the way Qt will, without Qt, which would abort."""
    try:
        xcb = ctypes.CDLL("libxcb.so.1")
    except OSError:
        return True
    xcb.xcb_connect.restype = ctypes.c_void_p
    xcb.xcb_connection_has_error.argtypes = [ctypes.c_void_p]
    xcb.xcb_disconnect.argtypes = [ctypes.c_void_p]
    connection = xcb.xcb_connect(None, None)
    good = connection is not None and xcb.xcb_connection_has_error(connection) == 0
    if connection is not None:
        xcb.xcb_disconnect(connection)
    return good
