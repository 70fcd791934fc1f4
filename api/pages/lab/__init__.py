"""A lab without a program of its own: sign in with the key, scan, enter, look, send."""
