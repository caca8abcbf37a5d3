"""Worked cases as tests of the rule base, the figures they gave, and what a shop's own rules move in them."""
