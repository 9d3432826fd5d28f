"""Set everything up on a new machine: `python3 .ci/begin.py` runs the tour, with `--tests` the tests.

With `--measured` besides, the coverage of the core by its own tests is measured, which takes a quarter longer. With
`--versions oldest` or `--versions newest` all is done with the dependencies pinned by .ci/constraints-oldest.txt or
-newest.txt, in an environment of its own (.venv-oldest, .venv-newest). What the tour makes stays in the folder `out`,
or in another one named by `--into FOLDER`.

Needs nothing but Python 3.11 or newer. Makes a virtual environment in .venv, installs the workbench into it, and says
(or, as root on a Debian, does) what is missing of the system libraries that Qt opens a window with.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent
VERSIONS = sys.argv[sys.argv.index("--versions") + 1 :][:1] if "--versions" in sys.argv else []
PLACE = HERE / "-".join([".venv", *VERSIONS])
INSIDE = PLACE / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
# What Qt's own wheels expect of a Linux desktop, and a font to write with.
LIBRARIES = (
    "libegl1 libgl1 libglib2.0-0 libxkbcommon0 libxkbcommon-x11-0 libdbus-1-3 libfontconfig1 libxcb-cursor0 "
    "libxcb-icccm4 libxcb-image0 libxcb-keysyms1 libxcb-randr0 libxcb-render-util0 libxcb-shape0 libxcb-xinerama0 "
    "fonts-dejavu-core"
).split()
TOOLS = ["xvfb", "openbox", "xdotool"]  # for the one test that presses keys from outside; it is skipped without
# Run beside those of the window, so that each half takes about as long as the other.
BESIDE = [f"tests/test_{name}.py" for name in ("architecture", "cli_streams", "kills", "packaging")]
OTHER_NAMES = {"libglib2.0-0": "libglib2.0-0t64"}  # since Debian 13


def main() -> int:
    """Set up, then run what was asked for; the exit code is that of the last step."""
    tests = "--tests" in sys.argv[1:]
    if sys.version_info < (3, 11):
        print(f"Python 3.11 or newer is needed; this is {sys.version.split()[0]}.", file=sys.stderr)
        return 1
    pinned = [HERE / ".ci" / f"constraints-{name}.txt" for name in VERSIONS]
    if "--versions" in sys.argv and not (pinned and pinned[0].is_file()):
        print("--versions takes oldest or newest.", file=sys.stderr)
        return 2
    say("Looking for what Qt needs of the system")
    provide_libraries([*LIBRARIES, *TOOLS] if tests else LIBRARIES)
    say(f"Making a virtual environment in {PLACE.name}" if not INSIDE.exists() else f"Using {PLACE.name}")
    if not make_environment():
        return 1
    target = ".[test]" if tests else ".[formats,signing]"
    say("Installing the workbench and its libraries, which takes a minute or more")
    install = [INSIDE, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--editable", target]
    if (code := subprocess.call([*install, *(word for path in pinned for word in ("-c", path))], cwd=HERE)) != 0:
        return code
    if tests:
        say("Running the tests, those of the window beside all others")
        return run_tests(measured="--measured" in sys.argv[1:])
    free = next((f"out{n or ''}" for n in range(100) if not (HERE / f"out{n or ''}").exists()), "out")
    folder = sys.argv[sys.argv.index("--into") + 1] if "--into" in sys.argv[:-1] else free
    say(f"Doing the whole job on the sample, in {folder}")
    return subprocess.call([INSIDE, "-m", "workbench", "tour", folder], cwd=HERE)


def run_tests(*, measured: bool) -> int:
    """Run the two halves of the tests at once; the exit code is that of the first part that failed."""
    environment = {**os.environ, "QT_QPA_PLATFORM": os.environ.get("QT_QPA_PLATFORM", "offscreen")}
    command = [INSIDE, "-m", "pytest", "-q"]
    with tempfile.TemporaryFile("w+") as heard:  # what both print at once nobody could read
        # Floors are those of the core, of which the reader's tests run little: not measured, they go to both halves.
        reader = tests_of_reader() if measured else []
        beside = ["tests/window", *BESIDE, *reader[::2]]
        window = subprocess.Popen(
            [*command, *beside], cwd=HERE, env=environment, stdout=heard, stderr=subprocess.STDOUT
        )
        left_out = ["tests/window", *BESIDE, *reader]
        core = [INSIDE, "-m", "coverage", "run", "--parallel-mode", *command[1:]] if measured else command
        parts = [[*core, "tests", *(f"--ignore={path}" for path in left_out)]]
        parts += [[*command, *reader[1::2]]] if measured else []
        codes = [subprocess.call(part, cwd=HERE, env=environment) for part in parts]
        codes.append(window.wait())
        heard.seek(0)
        print(heard.read(), flush=True)
    if measured:
        subprocess.call([INSIDE, "-m", "coverage", "combine", "--quiet"], cwd=HERE)
    return next((code for code in codes if code), 0)


def tests_of_reader() -> list[str]:
    """Name the files of tests of `files/` that use neither sessions nor commands."""
    found = sorted((HERE / "tests" / "files").glob("test_*.py"))
    core = ("workbench.session", "workbench.c")
    return [str(each.relative_to(HERE)) for each in found if not any(word in each.read_text("utf-8") for word in core)]


def say(what: str) -> None:
    """Tell what is being done."""
    print(f"{what} …", file=sys.stderr, flush=True)


def make_environment() -> bool:
    """Make .venv; where Debian's Python comes without the means, get them or say how."""
    if INSIDE.exists():
        return True
    command = [sys.executable, "-m", "venv", str(PLACE)]
    if subprocess.call(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) == 0:
        return True
    shutil.rmtree(PLACE, ignore_errors=True)
    package = f"python{sys.version_info.major}.{sys.version_info.minor}-venv"
    if apt_install([package]) and subprocess.call(command) == 0:
        return True
    print(f"This Python cannot make virtual environments. On Debian: sudo apt-get install {package}", file=sys.stderr)
    return False


def provide_libraries(wanted: list[str]) -> None:
    """Install what Qt needs where this may be done; else say it, for the command line works without."""
    if not sys.platform.startswith("linux") or shutil.which("dpkg-query") is None:
        return
    missing = [name for name in wanted if not (is_there(name) or is_there(OTHER_NAMES.get(name, name)))]
    if missing and not apt_install(missing):
        print(f"For the window: sudo apt-get install {' '.join(missing)}", file=sys.stderr)


def is_there(package: str) -> bool:
    """Tell whether a Debian package is installed."""
    query = ["dpkg-query", "--show", "--showformat", "${db:Status-Status}", package]
    found = subprocess.run(query, capture_output=True, text=True, check=False)
    return found.stdout.strip() == "installed"


def apt_install(packages: list[str]) -> bool:
    """Install Debian packages, as root only; tell whether it worked."""
    if shutil.which("apt-get") is None or not hasattr(os, "geteuid") or os.geteuid() != 0:
        return False
    quiet = {"stdout": subprocess.DEVNULL, "env": {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}}
    subprocess.call(["apt-get", "update", "-qq"], **quiet)
    known = [name for name in packages if is_known(name)]
    known += [OTHER_NAMES[name] for name in packages if name not in known and name in OTHER_NAMES]
    return subprocess.call(["apt-get", "install", "-y", "-qq", "--no-install-recommends", *known], **quiet) == 0


def is_known(package: str) -> bool:
    """Tell whether apt can install a package of that name."""
    found = subprocess.run(["apt-cache", "show", package], capture_output=True, check=False)
    return found.returncode == 0


if __name__ == "__main__":
    sys.exit(main())
