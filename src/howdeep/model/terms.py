"""The closed lists of words that rules, jobs and answers are written in."""

from __future__ import annotations

from typing import Literal

Standing = Literal["published", "common practice", "memory", "judgement"]
Moment = Literal["talk", "test", "teardown"]
MOMENTS: tuple[Moment, ...] = ("talk", "test", "teardown")
Word = Literal["never", "rarely", "sometimes", "half the time", "usually", "nearly always"]
BaseWord = Literal["exceptional", "rare", "uncommon", "common", "very common"]
Stage = Literal["strip", "block", "crank", "pistons", "bottom", "top", "head", "gear", "settings", "start", "proof"]
Rung = Literal["outside", "tune_up", "top_end", "refresh", "rebuild", "replace"]
CONFIG: dict[str, bool | str] = {"extra": "forbid", "coerce_numbers_to_str": True, "allow_inf_nan": False}
Speaker = Literal["instrument", "look", "word", "hearsay"]
Sort = Literal["trouble", "discriminator", "bench"]
EngineDoes = Literal["", "cranks", "runs"]
Risk = Literal["none", "slight", "some"]
RISKS: tuple[Risk, ...] = ("none", "slight", "some")
STAGES: tuple[Stage, ...] = (
    "strip",
    "block",
    "crank",
    "pistons",
    "bottom",
    "top",
    "head",
    "gear",
    "settings",
    "start",
    "proof",
)
"""Where work stands on the way through an engine: taken apart and measured; block made good; crankshaft and camshaft
laid in; pistons and rods; timing gear, oil pump and pan; valves and head on the bench; head on; valve gear and what
hangs on the outside; clearances, ignition and fuel set; fluids, engine in, first start; set and looked at once it has
run."""
RUNGS: tuple[Rung, ...] = ("outside", "tune_up", "top_end", "refresh", "rebuild", "replace")
DEPTH: dict[Rung, int] = {rung: place for place, rung in enumerate(RUNGS)}
"""Rung -> how deep it is: 0 is the shallowest."""
WORDS: tuple[Word, ...] = ("never", "rarely", "sometimes", "half the time", "usually", "nearly always")
BASE_WORDS: tuple[BaseWord, ...] = ("exceptional", "rare", "uncommon", "common", "very common")
WordStanding = Literal["published", "derived", "judgement"]
WORD_STANDINGS: tuple[WordStanding, ...] = ("published", "derived", "judgement")
"""Standing of a frequency word: counted somewhere, reckoned from what was counted, or neither."""


def rung_named(word: str) -> Rung:
    """A word as the rung that it is. Raises ValueError for any other."""
    if word not in RUNGS:
        raise ValueError(f"'{word}' is no rung")
    return word
