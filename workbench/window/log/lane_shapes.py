"""How high each lane is and what its scale spans: as the log asks for, or as the user set it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

LEAST_LINES = 2.2  # lines of text that a lane is high at least: two figures of its scale
LOWEST_LINES = 1.3  # below which nothing makes a lane lower: two figures, without the room above and below them
TALLER = 1.3  # times higher by one key


@dataclass(frozen=True)
class LaneShape:
    """How the user set a lane.

    Attributes:
        height: in multiples of what it would be high otherwise.
        limits: ends of its scale in the unit of its channels; None where they follow from what was logged.
    """

    height: float = 1.0
    limits: tuple[float, float] | None = None


AS_IT_IS = LaneShape()
Shapes = Mapping[str, LaneShape]  # by the first channel of the lane


def shared_heights(lines: Sequence[int], factors: Sequence[float], room: float, line: float) -> list[float]:
    """Share a height out among lanes, px.

    Args:
        lines: of text in the caption of each lane.
        factors: by which each is to be higher than usual.
        room: px that there are.
        line: px that a line of text is high.

    Returns:
        The height of each. They add up to the room, and none is lower than a line unless all have to be.
    """
    wanted = [usual * factor for usual, factor in zip(usual_heights(lines, room, line), factors, strict=True)]
    least = min(LOWEST_LINES * line, room / max(len(wanted), 1))
    held: dict[int, float] = {}
    while wanted:
        free = {i: height for i, height in enumerate(wanted) if i not in held}
        scale = (room - sum(held.values())) / max(sum(free.values()), 1e-9)
        low = {i: least for i, height in free.items() if height * scale < least}
        if not low or len(low) == len(free):
            return [held.get(i, height * scale) for i, height in enumerate(wanted)]
        held |= low
    return []


def usual_heights(lines: Sequence[int], room: float, line: float) -> list[float]:
    """Give each lane what its caption and two figures take, and share what is left evenly, px."""
    needs = [max(each, LEAST_LINES) * line for each in lines]
    left = (room - sum(needs)) / max(len(needs), 1)
    return [need + left for need in needs] if left > 0 else needs


def moved_border(
    lines: Sequence[int], factors: Sequence[float], room: float, line: float, border: int, by: float
) -> list[float]:
    """Return the factors of `shared_heights` once the border under a lane was moved down; the other lanes stay.

    Args:
        lines: of text in the caption of each lane.
        factors: by which each is to be higher than usual.
        room: px that there are.
        line: px that a line of text is high.
        border: index of the lane above it.
        by: px.
    """
    heights = shared_heights(lines, factors, room, line)
    least = LOWEST_LINES * line
    by = max(min(by, heights[border + 1] - least), least - heights[border])
    heights[border] += by
    heights[border + 1] -= by
    return [height / usual for height, usual in zip(heights, usual_heights(lines, room, line), strict=True)]


def zoomed(limits: tuple[float, float], factor: float, about: float | None = None) -> tuple[float, float]:
    """Make a scale span so many times what it does, about a value; by default about its middle."""
    at = (limits[0] + limits[1]) / 2 if about is None else about
    return at - (at - limits[0]) * factor, at + (limits[1] - at) * factor


def shifted(limits: tuple[float, float], part: float) -> tuple[float, float]:
    """Move a scale up by a part of what it spans."""
    step = (limits[1] - limits[0]) * part
    return limits[0] + step, limits[1] + step
