"""Ways of writing a log other than a header with lines of values below: turned into those, or taken apart by clocks."""
