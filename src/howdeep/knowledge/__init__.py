"""The rule base: found, read, checked and turned into typed values."""
