"""One job through every step to the whole answer, and what asks about an answer: why, what would change it, what to look up."""
