"""What lies on disk: logs, tables and the session store."""
