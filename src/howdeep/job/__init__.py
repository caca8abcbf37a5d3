"""The job file: read strictly, written whole, never over somebody else's change."""
