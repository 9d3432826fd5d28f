"""Tasks that ask before they act: command forms, correcting, approving, gates, logs. No permanent panel."""
