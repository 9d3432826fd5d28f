"""Qt without our domain: theme, controls, plots, threads, messages. Nothing here knows a table, a log or a session."""
