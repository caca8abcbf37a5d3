"""From facts to findings by rules, and from findings to the odds of each cause."""
