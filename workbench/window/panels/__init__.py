"""The panels around table and log: evidence, next step, status strip, history. Tasks belong in tasks/."""
