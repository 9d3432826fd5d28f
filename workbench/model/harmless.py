"""Text from elsewhere, such as names in a log or a session, made safe to show."""

import re

# Control characters steer a terminal (ECMA-48); overrides and isolates of the bidirectional algorithm (UAX 9) let a
# text read otherwise than it is; line and paragraph separators break a line; lone surrogates are no text at all.
_STEERING = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)


def harmless(text: str) -> str:
    """Write out what could steer a terminal or turn the reading direction, as numbers; the rest stays."""
    return _STEERING.sub(lambda found: _written(ord(found[0])), text)


def _written(code: int) -> str:
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
