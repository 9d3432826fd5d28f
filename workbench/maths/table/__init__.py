"""A table by itself: reading it as the ECU does, scaling, smoothing, storage, physics. No drive is needed here."""
