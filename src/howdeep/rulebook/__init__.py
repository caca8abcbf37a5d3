"""The rule base as a person reads it: entries with all that leads to and from them, statements and their standing."""
