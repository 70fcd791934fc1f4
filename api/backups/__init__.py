"""One archive with everything, put back into an empty place; and the move to another database."""
