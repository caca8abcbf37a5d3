"""How a reduced fact comes about, as the rules declare it: a measurement judged, graded, or computed by a function.

Ids of the rule base stand here in values alone (which observation, limits, gauge); code knows parameter names.
"""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from .frozen import dataclass
from .terms import CONFIG

BandWord = Literal["good", "usable", "too_close", "beyond", "tight"]
BAND_WORDS: tuple[BandWord, ...] = ("good", "usable", "too_close", "beyond", "tight")
"""Bands of a judged measurement; 'tight' is less than the least of a new part, where more is worse."""
Worse = Literal["high", "low"]


@dataclass(frozen=True, slots=True)
class Ends:
    """General limits that stand in where the engine sheet is silent: ids of limits, in which {volts} stands for a word
    of the build."""

    __pydantic_config__ = CONFIG

    low: str = ""
    """Least of a new part."""
    high: str = ""
    """Most of a new part."""
    wear: str = ""
    """How far it may go in service, on the side that is worse."""
    over_high: tuple[str, ...] = ()
    """What may be added to the most of a new part, one allowance on the other; one in percent is a share of it. It goes
    before `wear` where the sheet says what is new."""
    share_of_low: str = ""
    """Where less is worse: percent of the least of a new part that it may fall to."""


@dataclass(frozen=True, slots=True)
class Judge:
    """One measurement held to what a new part has and to how far it may go: good, usable, too close to call, beyond, or
    tighter than new."""

    __pydantic_config__ = CONFIG

    of: str
    """Id of the observation that is judged."""
    sheet: tuple[str, ...] = ()
    """Fields of the engine sheet, the first that is filled in: a band with low, high and wear (ring_gap,
    crankpins.clearance), or one figure, which is how far it may go (valve_margin)."""
    limits: Ends = Ends()
    """General limits where the sheet is silent."""
    per: str = ""
    """Field of the sheet whose size a limit counted per inch is multiplied by (bore, crankpins.size)."""
    good_share: float | None = None
    """Share of the limit up to which a part is as good as new, where nobody says what new is."""
    gauge: str = ""
    """Id of the gauge whose error counts; without it, that of the observation."""
    differences: bool = False
    """Whether the figure is the difference of two readings with that gauge."""
    worse: Worse = "high"
    """Which side is wear."""
    words: dict[BandWord, str] = field(default_factory=dict)
    """Band -> word that comes out in it; without it, the band's own name."""
    tighter: str = "tighter than new"
    """What is said beside a value below the least of a new part."""
    silent: str = ""
    """What is remarked where neither the sheet nor a limit says anything."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One figure that a reading is graded by: that of the sheet, else a general limit."""

    __pydantic_config__ = CONFIG

    limit: str = ""
    """Id of a limit, in which {volts} stands for a word of the build."""
    sheet: str = ""
    """Field of the engine sheet that goes before it (lash_inlet, oil_pressure_idle.wear)."""
    times: float = 1.0
    """Share of the sheet's figure."""
    from_sheet: str = ""
    """What {mark_from} of the sentence says where the figure is that of the sheet."""
    from_kind: str = ""
    """The same where it is what engines of its kind have."""
    from_limit: str = ""
    """The same where it is the general limit."""


@dataclass(frozen=True, slots=True)
class Step:
    """One word of a graded reading and up to where it holds."""

    __pydantic_config__ = CONFIG

    word: str
    """The word."""
    below: str = ""
    """It holds below this mark, or mark - mark or mark + mark; the last step has neither end."""
    up_to: str = ""
    """It holds up to and with this mark."""


@dataclass(frozen=True, slots=True)
class Grade:
    """One reading put into words by marks, from the least reading to the greatest."""

    __pydantic_config__ = CONFIG

    of: str
    """Id of the observation that is graded."""
    marks: dict[str, Mark]
    """Marks by name; the first says where the grading comes from. Without all of them nothing is concluded."""
    steps: tuple[Step, ...]
    """Words from the least reading to the greatest."""
    told: str
    """How it came about, in one sentence: {reading}, {mark}, {mark_from}, {build.volts}, {sheet.lash_state}."""
    silent: str = ""
    """What is remarked where a mark is not known."""


@dataclass(frozen=True, slots=True)
class Believed:
    """Up to where a reading is believed; beyond it the value is questioned with the likely slip, and draws no
    finding."""

    __pydantic_config__ = CONFIG

    most: str
    """Id of the limit."""
    told: str
    """What is wrong with more: 'is more than such a clearance can be ({most})'; also {inches} and {new}."""
    usual: tuple[float, float]
    """Where such readings lie as a rule, by which the slip is found: in its unit, or times what `most` is counted
    by."""
    per: str = ""
    """Field of the sheet whose size `most` is counted per inch of."""
    share_of: str = ""
    """Field of the sheet of whose figure for a new part `most` is a percentage."""


@dataclass(frozen=True, slots=True)
class Computed:
    """Facts, questions or sizes that a function of howdeep.readings computes, and what it is given for that."""

    __pydantic_config__ = CONFIG

    title: str
    """What is computed."""
    by: str
    """Name of the function."""
    readings: dict[str, str] = field(default_factory=dict)
    """Parameter -> id of the observation."""
    limits: dict[str, str] = field(default_factory=dict)
    """Parameter -> id of the limit, in which {volts} stands for a word of the build."""
    gauges: dict[str, str] = field(default_factory=dict)
    """Parameter -> id of the gauge."""
    sheet: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Parameter -> fields of the engine sheet, the first that is filled in."""
    facts: dict[str, str] = field(default_factory=dict)
    """What the function gives -> id of the reduced fact."""
    judged: dict[str, str] = field(default_factory=dict)
    """Parameter -> id of a judged fact whose limits it needs."""
    also: dict[str, str] = field(default_factory=dict)
    """Parameter -> id of another computation that it builds on."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""
