"""Speed as ratios: each case against a floor or the obvious way, measured in one run."""
