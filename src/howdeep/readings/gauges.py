"""What a shop's gauges can be trusted to: one table of default errors.

Each figure is how far one reading, taken with care, may stand off the truth. They are judgement: a shop that knows its
gauges better should hold them to its own. A difference of two readings with the same gauge (taper, out-of-round) has
the square root of two times the error of one.
"""

from __future__ import annotations

from math import sqrt

ERRORS: dict[str, tuple[float, str]] = {
    "micrometer": (0.0002, "in"),  # outside micrometer with a vernier, zero checked
    "bore_gauge": (0.0005, "in"),  # dial bore gauge or telescoping gauge set with a micrometer
    "feeler": (0.0005, "in"),  # feeler leaves: the next leaf is half a thou or a thou away
    "straightedge": (0.001, "in"),  # feeler under a straightedge: the next leaf is up to a thou thicker
    "leaf": (0.0002, "in"),  # a leaf itself: one that enters proves a gap of its own thickness
    "caliper": (0.002, "in"),  # vernier caliper on an edge, such as the margin of a valve
    "dividers": (0.004, "in"),  # a width taken off with dividers or blueing and read on a steel rule under a glass
    "gauge_strip": (0.0005, "in"),  # width of a crushed strip read against its printed scale
    "dial_gauge": (0.0005, "in"),  # end play, lift, stand-out, stem wobble
    "spring_tester": (2.0, "lbf"),
    "compression_gauge": (4.0, "psi"),
    "compression_repeat": (2.0, "psi"),  # the same gauge on the next cylinder: its own error falls out
    "leakage_gauge": (2.0, "percent"),
    "vacuum_gauge": (0.5, "inHg"),
    "voltmeter": (0.05, "V"),
    "oil_gauge": (1.0, "psi"),
    "cooling_tester": (0.25, "psi"),
    "flow_meter": (5.0, "ft3/h"),
}
"""Gauge -> (error, unit)."""


def error(gauge: str) -> float:
    """Default error of one reading with `gauge`, in the unit the table gives."""
    return ERRORS[gauge][0]


def error_of_difference(gauge: str) -> float:
    """Default error of the difference of two readings with the same gauge."""
    return error(gauge) * sqrt(2.0)


def combined(*errors: float) -> float:
    """Error of a sum or difference of readings with independent errors."""
    return sqrt(sum(item * item for item in errors))
