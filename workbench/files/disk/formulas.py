"""Text that a spreadsheet would work out instead of showing it: a name in someone's log may be a command there."""

FORMULAS = ("=", "+", "-", "@")  # begin one (common practice, no source)


def beyond_formulas(text: str) -> str:
    """Put an apostrophe, which says that this is text, before what a spreadsheet would work out."""
    return f"'{text}" if begins_formula(text) else text


def begins_formula(text: str) -> bool:
    """Tell whether a text begins a formula, behind apostrophes or bare."""
    return text.lstrip("'").startswith(FORMULAS)
