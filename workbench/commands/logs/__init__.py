"""Commands that read logs, look at files, and tie drives to revisions."""
