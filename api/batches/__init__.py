"""A file of many test records: one verdict a line, done once, gone on with after any break."""
