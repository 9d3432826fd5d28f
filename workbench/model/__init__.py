"""What things are: frozen values that every other floor speaks in."""
