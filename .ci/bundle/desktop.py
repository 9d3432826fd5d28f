"""What a desktop needs to know of the bundle: its icon, its place in the menu, its file type; and how to add them."""

import subprocess
import sys
from pathlib import Path

NAME = "calibration-workbench"
ROOT = Path(__file__).resolve().parents[2]
SIZES = (16, 32, 48, 64, 128, 256)
MIME = "application/x-calibration-session"

ENTRY = f"""[Desktop Entry]
Type=Application
Name=Calibration workbench
Comment=From drive logs and a table to an approved table
Exec={{program}} %f
Icon={NAME}
Terminal=false
Categories=Engineering;Science;
MimeType={MIME};
"""

# A session is an SQLite database with its own application id at byte 68 (files/disk/session_header.py).
FILE_TYPE = f"""<?xml version="1.0" encoding="UTF-8"?>
<mime-info xmlns="http://www.freedesktop.org/standards/shared-mime-info">
  <mime-type type="{MIME}">
    <comment>Calibration session</comment>
    <icon name="{NAME}"/>
    <magic priority="80">
      <match type="string" offset="0" value="SQLite format 3"><match type="string" offset="68" value="CWB1"/></match>
    </magic>
    <glob pattern="*.session"/>
  </mime-type>
</mime-info>
"""

ADD = f"""#!/bin/sh
# Adds the workbench to your own menu and opens sessions with it; nothing outside your home is touched.
# Run it again after you moved the folder; with --remove it takes all of it away.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
share=${{XDG_DATA_HOME:-$HOME/.local/share}}
entry=$share/applications/{NAME}.desktop
type=$share/mime/packages/{NAME}.xml
if [ "${{1:-}}" = --remove ]; then
    rm -f "$entry" "$type" "$share"/icons/hicolor/*/apps/{NAME}.png
else
    mkdir -p "$share/applications" "$share/mime/packages"
    quoted=$(printf '%s' "$here/{NAME}" | sed 's/[\\\\"`$]/\\\\\\\\&/g; s/[&|\\\\]/\\\\&/g')
    sed "s|{{program}}|\\"$quoted\\"|" "$here/share/applications/{NAME}.desktop" > "$entry"
    cp "$here/share/mime/packages/{NAME}.xml" "$type"
    mkdir -p "$share/icons" && cp -R "$here/share/icons/hicolor" "$share/icons/"
fi
for step in "update-mime-database $share/mime" "update-desktop-database $share/applications"; do
    command -v "${{step%% *}}" > /dev/null && $step || true
done
"""

DRAW = """
import sys
from PySide6.QtWidgets import QApplication
from workbench.window.kit.style import application_icon
application = QApplication(["-", "-platform", "offscreen"])
for path in sys.argv[1:]:
    size = int(path.rpartition("_")[2].partition(".")[0])
    if not application_icon().pixmap(128, 128).scaled(size, size).save(path):
        sys.exit(f"{path} cannot be written")
"""


def draw_icons(folder: Path) -> dict[int, Path]:
    """Draw the program's sign in all sizes; also as Windows and macOS want it.

    Returns:
        Size in px -> its PNG.
    """
    folder.mkdir(parents=True, exist_ok=True)
    pictures = {size: folder / f"app_{size}.png" for size in SIZES}
    others = [folder / "app_256.ico", folder / "app_256.icns"]
    subprocess.run([sys.executable, "-c", DRAW, *map(str, [*pictures.values(), *others])], cwd=ROOT, check=True)
    for path in others:
        path.replace(folder / f"app{path.suffix}")
    return pictures


def add_desktop_files(folder: Path, pictures: dict[int, Path]) -> None:
    """Put menu entry, file type, icons and the script that adds them into an unpacked bundle."""
    share = folder / "share"
    for size, picture in pictures.items():
        place = share / "icons" / "hicolor" / f"{size}x{size}" / "apps" / f"{NAME}.png"
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(picture.read_bytes())
    for place, text in (
        (share / "applications" / f"{NAME}.desktop", ENTRY),
        (share / "mime" / "packages" / f"{NAME}.xml", FILE_TYPE),
        (folder / "add-to-menu.sh", ADD),
    ):
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(text, "utf-8")
    script = folder / "add-to-menu.sh"
    script.chmod(0o755)
