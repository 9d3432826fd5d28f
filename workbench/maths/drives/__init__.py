"""A drive as a whole: its table, its delay, its film, the wideband's place in its exhaust. Judges no cell."""
