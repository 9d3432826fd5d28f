"""Numbers as they are told: with the word for what is counted, so that one thing is not many; with signs."""

from workbench.phrases import plural_phrase


def counted(number: float, singular: str, plural: str = "") -> str:
    """Write how many there are, as in "1 row" or "20 rows"; many is one and an s if not said."""
    return plural_phrase(number, f"{{n}} {singular}", f"{{n}} {plural or singular + 's'}")


def signed(value: float, digits: int = 1) -> str:
    """Write a number with its sign; what rounds to 0 has none."""
    text = f"{value:+.{digits}f}"
    return text if float(text) else text[1:]
