"""What the window knows at this moment, and how a change of the session reaches it. Nothing is drawn here."""
