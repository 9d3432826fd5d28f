"""A drive as a whole, and several together: delay, film, purge, pooling, agreement. Judges no cell."""
