"""What asks before it acts: forms of commands, correcting, approving, gates, logs. No permanent panel."""
