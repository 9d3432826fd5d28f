"""Names, units and roles that channels and axes go by, and a recording before it is understood. Reads no file."""
