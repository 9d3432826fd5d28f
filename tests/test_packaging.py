"""What is handed to a user: the source archive and the wheel built from it, installed away from the checkout."""

import json
import os
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parent.parent
SHIPPED = ("icons", "sample_sessions")


def run(*words: object, folder: Path, **environment: str) -> str:
    done = subprocess.run(
        [sys.executable, *map(str, words)],
        cwd=folder,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The source archive, made from the checkout and unpacked elsewhere."""
    place = tmp_path_factory.mktemp("archive")
    run("-m", "hatchling", "build", "-t", "sdist", "-d", place, folder=CHECKOUT)
    with tarfile.open(next(place.glob("*.tar.gz"))) as packed:
        packed.extractall(place, filter="data")
    return next(each for each in place.iterdir() if each.is_dir())


@pytest.fixture(scope="module")
def wheel(archive: Path) -> Path:
    """The wheel, made from the source archive alone."""
    run("-m", "hatchling", "build", "-t", "wheel", folder=archive)
    return next((archive / "dist").glob("*.whl"))


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that `pip install --target` filled; its dependencies are those that the tests run with."""
    target = tmp_path_factory.mktemp("installed")
    run("-m", "pip", "install", "--quiet", "--no-index", "--no-deps", "--target", target, wheel, folder=target)
    return target


def test_the_source_archive_holds_all_that_is_tested_and_built(archive: Path) -> None:
    for name in (*SHIPPED, "workbench", "tests", ".ci", "pyproject.toml", "README.md", "DEVELOPERS.md"):
        assert (archive / name).exists(), name


def test_the_wheel_holds_what_the_program_reads_of_its_own(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    for folder in SHIPPED:
        wanted = {f"workbench/{folder}/{path.name}" for path in (CHECKOUT / folder).iterdir() if path.is_file()}
        assert wanted
        assert wanted <= names
    assert "workbench/README.md" in names
    package = CHECKOUT / "workbench"
    for path in (*package.rglob("*.sql"), *package.rglob("*.jinja"), package / "py.typed"):
        assert path.relative_to(CHECKOUT).as_posix() in names


def test_the_installed_program_does_the_whole_job_away_from_the_checkout(installed: Path, tmp_path: Path) -> None:
    answer = json.loads(run("-m", "workbench", "tour", "out", "--json", folder=tmp_path, PYTHONPATH=str(installed)))
    assert (tmp_path / answer["session"]).is_file()
    values = (tmp_path / answer["table"]).read_text("utf-8").splitlines()[1:]
    assert len(values) > 10
    where = run("-c", "import workbench; print(workbench.__file__)", folder=tmp_path, PYTHONPATH=str(installed))
    assert Path(where.strip()).is_relative_to(installed)


def test_the_installed_window_finds_its_icons_and_its_sample(installed: Path, tmp_path: Path) -> None:
    question = (
        "from PySide6.QtWidgets import QApplication\n"
        "from workbench.window.kit.style import pixmap, shipped_folder\n"
        "application = QApplication(['-', '-platform', 'offscreen'])\n"
        "drawn = pixmap('correct', '#000000', 32).toImage()\n"
        "print(sum(drawn.pixelColor(x, y).alpha() > 0 for x in range(32) for y in range(32)))\n"
        "print(shipped_folder('sample_sessions'))\n"
    )
    inked, samples = run("-c", question, folder=tmp_path, PYTHONPATH=str(installed)).splitlines()
    assert int(inked) > 20
    assert Path(samples).is_relative_to(installed)
    assert list(Path(samples).glob("*.session"))
