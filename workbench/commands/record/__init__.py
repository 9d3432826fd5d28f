"""Commands on the session as a record: history, approving, exporting, reports, settings, samples."""
