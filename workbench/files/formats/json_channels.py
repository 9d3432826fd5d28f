"""JSON in which every channel has moments of its own: two lists beside each other, or a list of points."""

import re
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

_NAMES, _UNITS = ("name", "channel", "signal", "label", "key", "id"), ("unit", "units")
_TIME = re.compile(r"t|ts|times?(stamps?)?(_?m?s)?|timestamps?|moments?|zeit|temps|tiempo|x", re.IGNORECASE)
FEWEST_CHANNELS, FEWEST = 2, 2  # of them, and values in one
FEWEST_PAIRS = 3  # channels of bare pairs; fewer may be curves

Points = tuple[list[Any], list[Any]]


def channels_on_own_times(found: Any) -> tuple[list[str], list[Any], list[Any]] | None:
    """Give name, moment and value of every reading; None where channels have no moments of their own.

    Args:
        found: objects by the names of channels, or a list of objects that name them.
    """
    if isinstance(found, list) and found and all(isinstance(each, dict) for each in found):
        titled = [(_text_of(each, _NAMES), each) for each in found]
    elif isinstance(found, dict):
        titled = [(name, each) for name, each in found.items() if isinstance(each, dict | list)]
    else:
        return None
    channels = [(_titled(name, each), _points(each)) for name, each in titled if name]
    if len(channels) < max(FEWEST_CHANNELS, len(titled)) or any(points is None for _, points in channels):
        return None
    if len(channels) < FEWEST_PAIRS and any(isinstance(each, list) for _, each in titled):
        return None
    names: list[str] = []
    moments: list[Any] = []
    values: list[Any] = []
    for name, points in channels:
        if points is not None:
            names += [name] * len(points[0])
            moments += points[0]
            values += points[1]
    return names, moments, values


def _text_of(record: Mapping[str, Any], keys: tuple[str, ...]) -> str:
    return next((record[key] for key in keys if isinstance(record.get(key), str)), "")


def _titled(name: str, found: Any) -> str:
    unit = _text_of(found, _UNITS) if isinstance(found, dict) else ""
    return f"{name} ({unit})" if unit else name


def _points(found: Any) -> Points | None:
    """Give moments and values of a channel; None where it has none of its own."""
    if isinstance(found, dict):
        lists = {key: value for key, value in found.items() if isinstance(value, list)}
        time = [key for key in lists if _TIME.fullmatch(key)]
        if len(lists) != 2 or len(time) != 1:
            return _points(next(iter(lists.values()))) if len(lists) == 1 else None
        values = next(value for key, value in lists.items() if key != time[0])
        return (lists[time[0]], values) if _are_numbers(lists[time[0]]) and len(values) == len(lists[time[0]]) else None
    if not isinstance(found, list) or len(found) < FEWEST:
        return None
    if all(isinstance(each, list) and len(each) == 2 for each in found):
        moments, values = [each[0] for each in found], [each[1] for each in found]
        return (moments, values) if _are_numbers(moments) and _rise(moments) else None
    if all(isinstance(each, dict) and len(each) == 2 for each in found):
        time = [key for key in found[0] if _TIME.fullmatch(key)]
        other = [key for key in found[0] if key not in time]
        if len(time) == len(other) == 1 and all(set(each) == set(found[0]) for each in found):
            return [each[time[0]] for each in found], [each[other[0]] for each in found]
    return None


def _are_numbers(values: list[Any]) -> bool:
    return len(values) >= FEWEST and all(isinstance(each, int | float) for each in values)


def _rise(values: list[Any]) -> bool:
    return all(a <= b for a, b in pairwise(values))
