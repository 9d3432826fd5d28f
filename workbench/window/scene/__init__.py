"""The current state of the window, and how changes of the session reach it. Draws nothing."""
