"""A second made-up shop: its engines, signs and bills follow a model of their own, not the rule base's odds."""
