"""The window as a whole: actions, search, layout, opening, dispatch of what was asked for. Draws no data."""
