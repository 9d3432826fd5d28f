"""Commands that change a table by hand or from elsewhere."""
