"""Files: strict YAML in, whole files out. Knows nothing of engines."""
