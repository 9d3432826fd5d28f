"""Numbers with the word for what is counted, so that one thing is not many."""

from workbench.phrases import phrase


def counted(number: float, singular: str, plural: str = "") -> str:
    """Write how many there are, as in "1 row" or "20 rows"; many is one and an s if not said."""
    thing = singular if number == 1 else plural or singular + "s"
    return phrase(f"{{n:.0f}} {thing}", n=number)
