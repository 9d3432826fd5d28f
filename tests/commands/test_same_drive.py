"""A drive that was exported twice, at another rate or in another format, does not count twice."""

from pathlib import Path

import pytest
from family.car import run as driven
from family.car import write
from family.lottery import draw
from field.shape import log, std

from workbench.commands.logs.logs import add_log
from workbench.errors import InputError
from workbench.files.logs import read_log
from workbench.files.tables.tables import read_table
from workbench.files.together import is_same_drive
from workbench.session import Session
from workbench.work import run


def exported(path: Path, every: int, later: float, sign: str) -> Path:
    """Write every so many rows of a log anew, on another clock, with another delimiter, without its last column."""
    head, *rows = path.read_text(encoding="utf-8").splitlines()
    lines = [head.replace(",", sign)]
    for row in rows[::every]:
        time, *cells = row.split(",")
        lines.append(sign.join([f"{float(time) + later:.3f}", *cells]))
    again = path.with_name(f"again_{every}.txt")
    again.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return again


@pytest.mark.parametrize(("every", "later"), [(1, 0.0), (4, 0.0), (20, 1000.0)])
def test_another_export_of_a_drive_is_refused(tmp_path: Path, every: int, later: float) -> None:
    path = tmp_path / "drive.csv"
    path.write_bytes(log(std()).files["drive.csv"])
    (tmp_path / "curve.csv").write_text("Airflow sensor (Hz),Airflow (g/s)\n2000,5\n9000,150\n")
    with Session.create(tmp_path / "car.session", read_table(tmp_path / "curve.csv")[0]) as session:
        session.record(run(add_log(session.state, (path,))).change)
        again = exported(path, every, later, "\t")
        with pytest.raises(InputError, match="of the same drive as log 1") as refused:
            run(add_log(session.state, (again,)))
        assert "--again" in (refused.value.hint or "")
        session.record(run(add_log(session.state, (again,), again=True)).change)
        assert len(session.state.drives) == 2


def test_other_drives_are_others(tmp_path: Path) -> None:
    """Of 780 pairs of cars none is taken for one drive; nor is the same car on another road."""
    logs = []
    for number in (1, 2):
        for seed in (2, 4):
            _, paths = write(tmp_path, driven(draw(seed), number=number), "curve", "Hz", f"{seed}_{number}_")
            logs.append(run(read_log(paths[0])))
    pairs = [(a, b) for at, a in enumerate(logs) for b in logs[at + 1 :]]
    assert not any(is_same_drive(*pair) for pair in pairs)
