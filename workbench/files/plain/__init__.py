"""A session as a folder of plain files that any program reads: FORMAT.md says what stands in them."""
