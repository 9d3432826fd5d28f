"""When each row was logged: which column is the clock, what one count of it is, and what is wrong with it."""
