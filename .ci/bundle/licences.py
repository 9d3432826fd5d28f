"""The licences of all parts: listed by pip-licenses, and their texts put into the bundle.

`python .ci/bundle/licences.py` prints the list, and fails where a part's licence is unknown or not among those allowed.
"""

import ast
import re
import shutil
import subprocess
import sys
from importlib import metadata
from pathlib import Path

from packaging.requirements import Requirement

PROGRAM = "calibration-workbench"
EXTRAS = ("formats", "signing")
TEXTS = Path(__file__).parent / "licences"
# What may be handed on beside a program of any licence; words that pip-licenses finds in the parts' own descriptions.
ALLOWED = """
    MIT;BSD;Apache;0BSD;PSF;Python Software Foundation;ISC;Zlib;Unlicense;Mozilla Public License 2.0;MPL-2.0;
    LGPL;Lesser General Public License;Dual License;CC0
""".replace("\n", "").replace("    ", "")

NOTICE = """What is in this folder, and under which terms

Calibration workbench {version}: its owner has not chosen a licence yet, so no right to copy or change it is given
beyond what the owner tells you. The other parts are free software; each part's terms are in the folder licences/, and
licences/parts.txt lists them.

Qt (libQt6*.so.6 in _internal/PySide6/Qt/lib, and its plugins beside it), PySide6, Shiboken, asammdf and python-can are
used under the GNU Lesser General Public License, version 3 (licences/LGPL-3.0.txt, with licences/GPL-3.0.txt). They are
unchanged. You may replace them: Qt's libraries are ordinary shared files,
loaded by their names, and asammdf and can are ordinary folders of Python modules in _internal; put a build of the same
or a compatible version in their place. You may take the program apart to debug such changes.
Their sources: https://download.qt.io/official_releases/QtForPython/ (PySide6 {pyside}; Qt of the same version under
https://download.qt.io/official_releases/qt/), https://pypi.org/project/asammdf/ ({asammdf}),
https://pypi.org/project/python-can/ ({can}).
"""


def parts() -> list[str]:
    """Name all packages that the program needs when it is installed with its readers and signatures."""
    found: dict[str, None] = {}
    waiting = [(PROGRAM, EXTRAS)]
    while waiting:
        name, extras = waiting.pop()
        for line in metadata.requires(name) or ():
            needed = Requirement(line)
            marks = needed.marker
            if marks is not None and not any(marks.evaluate({"extra": extra}) for extra in (*extras, "")):
                continue
            plain = re.sub(r"[-_.]+", "-", needed.name).lower()
            if plain not in found and plain != PROGRAM:
                found[plain] = None
                waiting.append((needed.name, tuple(needed.extras)))
    return sorted(found)


def listing(*more: str) -> str:
    """List the parts with version and licence.

    Raises:
        CalledProcessError: when pip-licenses finds one that is not allowed.
    """
    command = [sys.executable, "-m", "piplicenses", "--from=mixed", "--order=license", "--packages", *parts(), *more]
    return subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True).stdout


def add_licences(folder: Path, contents: Path) -> None:
    """Put notice, list and texts into an unpacked bundle.

    Args:
        folder: the bundle.
        contents: PyInstaller's own list of what it put there.
    """
    place = folder / "licences"
    shutil.copytree(TEXTS, place, dirs_exist_ok=True)
    (place / "parts.txt").write_text(listing("--with-urls"), "utf-8")
    for name in parts():
        for path in metadata.files(name) or ():
            if re.search(r"licen[cs]e|copying|notice", path.name, re.IGNORECASE) and ".dist-info" in str(path):
                copy(Path(str(path.locate())), place / name / path.name)
    python = Path(sys.base_prefix) / "lib" / f"python{sys.version_info.major}.{sys.version_info.minor}" / "LICENSE.txt"
    copy(python, place / "python" / "LICENSE.txt")
    for package in system_packages(contents):
        copy(Path("/usr/share/doc") / package / "copyright", place / "system" / f"{package}.txt")
    version = metadata.version
    text = NOTICE.format(
        version=version(PROGRAM),
        pyside=version("PySide6-Essentials"),
        asammdf=version("asammdf"),
        can=version("python-can"),
    )
    (folder / "NOTICE.txt").write_text(text, "utf-8")


def copy(source: Path, target: Path) -> None:
    """Copy a file that is there."""
    if source.is_file():
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source, target)


def system_packages(contents: Path) -> list[str]:
    """Name the Debian packages that libraries of the system in the bundle come from."""
    if shutil.which("dpkg") is None:
        return []
    entries = ast.literal_eval(contents.read_text("utf-8"))
    files = {Path(each[1]).resolve() for each in flat(entries) if each[2] == "BINARY"}
    files = {path for path in files if path.is_relative_to("/usr/lib") or path.is_relative_to("/lib")}
    found = set()
    for path in sorted(files):
        merged = {str(path), str(path).removeprefix("/usr")}  # Debian's /lib is /usr/lib
        for name in merged:
            told = subprocess.run(["dpkg", "--search", name], capture_output=True, text=True, check=False).stdout
            found |= {line.split(":")[0] for line in told.splitlines()}
    return sorted(found)


def flat(entries: object) -> list[tuple[str, str, str]]:
    """Find the entries (name in the bundle, where it is from, kind) in PyInstaller's nested list."""
    if isinstance(entries, tuple) and len(entries) == 3 and all(isinstance(each, str) for each in entries):
        return [entries]
    return [found for each in entries for found in flat(each)] if isinstance(entries, list | tuple) else []


def main() -> int:
    """Print the list, and say which parts are not allowed."""
    command = [sys.executable, "-m", "piplicenses", "--from=mixed", "--order=license", "--partial-match"]
    return subprocess.call([*command, f"--allow-only={ALLOWED}", "--packages", *parts()])


if __name__ == "__main__":
    sys.exit(main())
