"""Texts that stand for a state of the fuel system, turned into the codes of SAE J1979, parameter 03."""

import re

import numpy as np

from workbench.files.recording import TextArray
from workbench.files.words import plain_words
from workbench.model.arrays import FloatArray

_FUEL_SYSTEM = re.compile(r"fuel ?sys|loop|kraftstoffsystem|combust|carburant")


def tells_state(name: str) -> bool:
    """Tell whether a channel's name is that of a fuel system state."""
    return _FUEL_SYSTEM.search(plain_words(name)) is not None


def state_codes(name: str, texts: TextArray) -> FloatArray | None:
    """Turn texts such as `CL` or `open loop` into the codes of SAE J1979, parameter 03; None where they are others.

    Args:
        name: of the channel.
        texts: its cells, shape (rows,).
    """
    if not tells_state(name):
        return None
    codes = {text: _state(plain_words(str(text))) for text in set(texts.tolist())}
    values = np.array([codes[text] for text in texts.tolist()])
    return values if np.isfinite(values).any() else None


def _state(words: str) -> float:
    closed = re.search(r"\b(cl|closed|geschlossen|ferme\w*|cerrad\w*|fechad\w*)\b", words) is not None
    opened = re.search(r"\b(ol|open|offen|ouvert\w*|abiert\w*|abert\w*)\b", words) is not None
    fault = re.search(r"\b(fault|fehler|failure|defaut|fallo)\b", words) is not None
    if closed:
        return 16.0 if fault else 2.0
    if opened:
        if fault:
            return 8.0
        return 4.0 if re.search(r"\b(drive|load|decel\w*|cut|last)\b", words) else 1.0
    return float("nan")
