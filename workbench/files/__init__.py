"""Files: logs, tables and the session store."""
