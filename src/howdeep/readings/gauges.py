"""Errors of gauges put together. How far one reading may stand off the truth is data (rules/gauges.yaml)."""

from __future__ import annotations

from math import sqrt


def of_difference(error: float) -> float:
    """Error of the difference of two readings with the same gauge."""
    return error * sqrt(2.0)


def combined(*errors: float) -> float:
    """Error of a sum or difference of readings with independent errors."""
    return sqrt(sum(item * item for item in errors))
