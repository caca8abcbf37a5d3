"""Checks of the rule base: each a small class with a code, a severity by consequence, and its own explanation."""
