"""Readings to facts: pure functions, one module a subject. Nothing here knows of rules or beliefs."""

from .order import SizeChoice
from .reduce import order_sizes, reduce

__all__ = ["SizeChoice", "order_sizes", "reduce"]
