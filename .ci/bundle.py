"""Make the program that one double-clicks: `python3 .ci/bundle.py` leaves a folder and an archive of it in dist/.

It needs neither Python nor a network where it is then used. Run it on the system it is for (Linux, Windows, macOS), on
Linux on the oldest that it shall run on, since it takes that system's C library for granted. What goes in stands in
bundle/bundle.spec. With the build tools installed (`pip install '.[formats,signing,bundle]'`) it uses the Python that
runs it, else it makes an environment in build/environment first.
"""

import importlib.util
import os
import platform
import shutil
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent
RECIPE = HERE / ".ci" / "bundle"
WORK, OUT = HERE / "build", HERE / "dist"
NAME = "calibration-workbench"
TOOLS = ("PyInstaller", "piplicenses", "workbench")


def main() -> int:
    """Build, complete and pack; the exit code is that of the first step that failed."""
    if any(importlib.util.find_spec(tool) is None for tool in TOOLS):
        return elsewhere()
    sys.path[:0] = [str(RECIPE), str(HERE)]
    from desktop import add_desktop_files, draw_icons
    from licences import add_licences

    from workbench import __version__

    pictures = draw_icons(WORK)
    build = [sys.executable, "-m", "PyInstaller", "--noconfirm", "--clean", "--log-level=WARN"]
    command = [*build, "--distpath", str(OUT), "--workpath", str(WORK), str(RECIPE / "bundle.spec")]
    if (code := subprocess.call(command, cwd=HERE)) != 0:
        return code
    folder = OUT / NAME
    if sys.platform == "linux" and shutil.which("strip"):  # a Python built on the spot carries what debuggers want
        inside = folder / "_internal"
        ours = [*inside.glob("libpython*.so*"), *inside.glob("python3*/lib-dynload/*.so")]
        subprocess.run(["strip", "--strip-debug", *map(str, ours)], check=True)
    add_licences(folder, WORK / "bundle" / "COLLECT-00.toc")
    shutil.copyfile(HERE / "README.md", folder / "README.md")
    if sys.platform == "linux":
        add_desktop_files(folder, pictures)
    system = {"win32": "windows", "darwin": "macos"}.get(sys.platform, sys.platform)
    kind = "zip" if sys.platform == "win32" else "gztar"
    name = f"{NAME}-{__version__}-{system}-{platform.machine().lower()}"
    packed = Path(shutil.make_archive(str(OUT / name), kind, OUT, NAME))
    for path in (folder, packed):
        print(f"{size_of(path) / 1e6:7.0f} MB  {path.relative_to(HERE)}")
    return 0


def elsewhere() -> int:
    """Make an environment with the build tools, and do it there."""
    place = WORK / "environment"
    python = place / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if not python.exists():
        subprocess.run([sys.executable, "-m", "venv", str(place)], check=True)
    install = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--editable"]
    subprocess.run([*install, ".[formats,signing,bundle]"], cwd=HERE, check=True)
    return subprocess.call([python, __file__], cwd=HERE)


def size_of(path: Path) -> int:
    """Give the bytes of a file, or of all files of a folder."""
    files = path.rglob("*") if path.is_dir() else [path]
    return sum(each.lstat().st_size for each in files if each.is_file() and not each.is_symlink())


if __name__ == "__main__":
    sys.exit(main())
