"""Frozen values that flow from step to step. They compute nothing and import nothing but each other."""
