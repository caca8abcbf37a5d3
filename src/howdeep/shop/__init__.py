"""The shop's own settings: found, read, changed, and what they make of the rule base and the prices."""
