"""Signed calls to a lab's or the shop's own system: what happened, told without being asked."""
