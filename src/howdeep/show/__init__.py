"""What a person sees. Nothing here computes: it reads values and yields text, tables and pages."""
