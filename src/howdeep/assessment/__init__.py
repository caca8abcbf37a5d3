"""One job through every step to the whole answer, and what asks about it: why, what would change it, what lacks."""
