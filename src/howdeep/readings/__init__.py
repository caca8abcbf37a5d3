"""Readings to facts: pure functions, one module a subject. Nothing here knows of rules or beliefs."""

from .order_sizes import SizeChoice
from .reduce import order_sizes, reduce

__all__ = ["SizeChoice", "order_sizes", "reduce"]
