"""Simulated wear of tags, seeded: it ranks designs and promises no read rate in the field."""
