"""Commands that change a table by hand or from another source."""
