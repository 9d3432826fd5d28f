"""Commands on the record: history, approval, export, reports, settings, samples."""
