"""What the functions that compute facts are called and what each must be given; howdeep.readings holds them to it.

Names here are parameters, never ids of the rule base: which reading, limit or gauge one stands for is said by the rules
(computed.yaml).
"""

from __future__ import annotations

from typing import Literal

from ..model.frozen import dataclass

Phase = Literal["admit", "believe", "reduce", "order"]
"""Before anything is worked out; questions to readings; facts; sizes to order."""


@dataclass(frozen=True, slots=True)
class Signature:
    """Parameters of one function, all required: the phase in which it runs, and names by what they stand for."""

    phase: Phase
    readings: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()
    gauges: tuple[str, ...] = ()
    sheet: tuple[str, ...] = ()
    facts: tuple[str, ...] = ()
    judged: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    """Computations that it builds on, each named by its function."""
    words: tuple[str, ...] = ()
    """Readings that are choices; all others are numbers."""
    grids: tuple[str, ...] = ()
    """Readings that are taken at several places."""


PARTS = ("readings", "limits", "gauges", "sheet", "facts", "judged", "also")
SIGNATURES: dict[str, Signature] = {
    "place": Signature("admit", ("pressure", "vacuum")),
    "refused_on_diesel": Signature("admit", ("refused", "instead")),
    "strokes_counted": Signature("admit", ("strokes", "first", "second"), ("least",), facts=("valid",)),
    "compression_believed": Signature(
        "believe", ("dry", "wet"), ("over_adiabatic", "over_sheet", "most", "bar_above", "bar_below")
    ),
    "vacuum_believed": Signature("believe", ("level",)),
    "battery_believed": Signature("believe", ("rest", "cranking"), ("most", "like_6_from", "like_6_to"), ("meter",)),
    "bores_believed": Signature("believe", ("bore",), ("over",), ("bore",), grids=("bore",)),
    "skirts_believed": Signature("believe", ("skirt", "bore"), ("under", "over"), ("bore", "skirt"), grids=("bore",)),
    "journals_believed": Signature("believe", ("size",), ("under",), ("size",), ("journal", "other"), grids=("size",)),
    "lift_believed": Signature("believe", ("lift",), ("most", "rocker"), (), ("lift",)),
    "compression": Signature(
        "reduce",
        ("dry", "wet"),
        ("low", "very_low", "high", "neighbour", "wet_rise", "wet_rise_least"),
        ("gauge", "repeat"),
        (),
        (
            "expected_low",
            "expected_high",
            "percent_of_expected",
            "spread_percent",
            "spread",
            "spread_verdict",
            "lowest_to_highest",
            "below_average",
            "level",
            "wet_rise",
            "wet_rise_share",
            "wet_answer",
        ),
    ),
    "leakage": Signature("reduce", ("loss",), facts=("percent",)),
    "vacuum": Signature("reduce", ("level",), ("normal", "band", "very_low"), facts=("corrected", "level")),
    "oil_pressure": Signature(
        "reduce", ("pressure",), ("none", "least", "least_part_splash", "most"), ("gauge",), ("band",), ("state",)
    ),
    "cooling": Signature("reduce", ("lost",), ("most", "over_cap"), ("gauge",), facts=("holds",)),
    "blow_by_of_size": Signature("reduce", ("flow", "speed"), ("most",), facts=("state",)),
    "head_flatness": Signature(
        "reduce", ("along", "across"), ("along", "across"), ("enters", "next"), ("flatness",), ("flatness",)
    ),
    "deck_flatness": Signature("reduce", ("along",), ("along",), ("enters", "next"), ("flatness",), ("flatness",)),
    "bores": Signature(
        "reduce",
        ("size",),
        ("wear", "taper", "out_of_round", "good_share"),
        ("gauge",),
        (),
        ("wear", "taper", "out_of_round", "verdict", "next_oversize"),
        grids=("size",),
    ),
    "pistons": Signature(
        "reduce",
        ("skirt", "bore"),
        ("low", "high", "wear", "skirt_wear"),
        ("bore", "skirt"),
        (),
        ("clearance", "verdict", "fitted"),
        grids=("bore",),
    ),
    "sleeves": Signature("reduce", ("stand_out",), ("low", "high", "spread"), ("gauge",), (), ("verdict",)),
    "journals": Signature(
        "reduce",
        ("size", "look"),
        ("out_of_round", "taper", "polish", "wear", "most_under"),
        ("gauge",),
        ("journal",),
        ("verdict",),
        ("clearance",),
        words=("look",),
        grids=("size",),
    ),
    "lobes": Signature("reduce", ("lift",), ("short",), ("gauge",), ("lift",), ("verdict",)),
    "shells": Signature(
        "order",
        ("size", "clearance"),
        sheet=("journal",),
        facts=("size",),
        judged=("clearance",),
        also=("journals",),
        grids=("size",),
    ),
    "shims": Signature(
        "order", ("rods", "mains", "left"), ("thickness",), facts=("shims",), judged=("rods", "mains"), words=("left",)
    ),
    "bored_sizes": Signature(
        "order",
        ("bore", "skirt", "gap"),
        (),
        ("gap",),
        facts=("bores", "pistons", "rings", "gasket"),
        judged=("gap",),
        also=("bores", "pistons"),
        grids=("bore",),
    ),
}
"""Name of a function -> what it must be given."""
