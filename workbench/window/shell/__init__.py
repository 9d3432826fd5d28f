"""The main window: actions, search, layout, opening files, dispatch. Draws no data."""
