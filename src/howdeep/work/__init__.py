"""Which operations, parts and tests belong to a rung, and why."""
