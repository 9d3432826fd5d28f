"""Holds the corpus itself, and that shapes which were once read right stay so (one of each family a run of tests)."""

import re
import zlib
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from field.car import HERTZ, STALE, TRUE, drive
from field.judge import base, judge
from field.shape import HELD_WHOLE, ROLES, Shape, std
from field.shapes import FAMILIES, all_shapes

SHAPES = all_shapes()
BY_NAME = {shape.name: shape for shape in SHAPES}
RIGHT = (Path(__file__).parent / "right.txt").read_text().split("\n")[:-1]


def sampled() -> Iterator[str]:
    """Give a name of each family that stays the same from run to run."""
    for family in FAMILIES:
        names = [name for name in RIGHT if name.startswith(f"{family.name}/")]
        yield from sorted(names, key=lambda name: zlib.crc32(name.encode()))[:1]


def test_names_are_unique_and_of_their_family() -> None:
    assert len(BY_NAME) == len(SHAPES) > 300
    assert all(re.fullmatch(r"[a-z_]+/[^/\s]+", shape.name) for shape in SHAPES)


def test_two_thirds_are_for_work() -> None:
    drawn = [shape for shape in SHAPES if shape.family not in HELD_WHOLE]
    work = sum(shape.split == "work" for shape in drawn) / len(drawn)
    assert 0.6 < work < 0.73
    for family in FAMILIES:
        if family.name in HELD_WHOLE:
            assert {shape.split for shape in family.shapes} == {"held"}
            continue
        assert {shape.split for shape in family.shapes} == {"work", "held"}, family.name


def _small(shape: Shape) -> bool:
    return zlib.crc32(shape.name.encode()) % 12 == 0


@pytest.mark.parametrize("shape", [shape for shape in SHAPES if _small(shape)], ids=lambda shape: shape.name)
def test_a_shape_builds_twice_the_same(shape: Shape) -> None:
    first, second = shape.build(), shape.build()
    assert first == second
    assert first.files
    assert set(first.roles) <= set(ROLES.values())
    assert set(shape.optional) <= set(ROLES.values())


def test_a_log_expects_only_names_that_its_text_holds() -> None:
    for shape in SHAPES:
        if shape.family == "codes" and _small(shape):
            built = shape.build()
            (data,) = built.files.values()
            head = data.decode("utf-8").split("\n")[0]
            assert all(name in head for name in built.roles.values()), shape.name


def test_the_drive_is_physical() -> None:
    for banks in (1, 2):
        frame = drive(banks)
        assert all(np.isfinite(values).all() for values in frame.of.values())
        assert np.allclose(np.diff(frame["time"]), 0.05)
        closed = (frame["status"] == 2) & (frame["lam"] < 1.2)
        trims = (1 + frame["stft"] / 100) * (1 + frame["ltft"] / 100)
        truth = np.interp(frame["hz"], HERTZ, TRUE) / np.interp(frame["hz"], HERTZ, STALE)
        assert abs(np.mean((trims * frame["lam"] / frame["cmd"])[closed] / truth[closed]) - 1) < 0.01
        full = frame["cmd"] < 0.9
        assert 60 < full.sum() < 400
        assert frame["coolant"][0] < 75 < frame["coolant"][1500]


def test_base_evidence_holds_the_truth() -> None:
    cells, _ = base(1)
    proven = {k: cell for k, cell in cells.items() if cell[2] == "proven"}
    assert len(proven) > 10
    wrong = [k for k, (ratio, half, _) in proven.items() if abs(ratio - TRUE[k] / STALE[k]) > 2 * half + 0.002]
    assert len(wrong) <= 1


def test_every_column_of_the_standard_log_has_a_role_or_none_on_purpose() -> None:
    assert [c.key for c in std() if c.key not in ROLES] == ["time", "inj"]


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("name", list(sampled()))
def test_stays_right(name: str) -> None:
    verdict = judge(BY_NAME[name])
    assert verdict.good, f"{verdict.kind}: {verdict.message}"
