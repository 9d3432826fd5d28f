"""Several drives together: what each states of a table, visits, vapour, what shifts all alike. Judges no cell."""
