"""Names, units and roles of channels and axes; a recording before interpretation. Reads no file."""
