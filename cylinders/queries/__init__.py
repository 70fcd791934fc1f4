"""Reads that pages, commands and the API need; nothing here writes."""
