"""What stands around table and log: evidence, next step, status strip, history. Tasks stand elsewhere."""
