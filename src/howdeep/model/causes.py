"""Faults, what their signs say of them, and what an engine's life says before any sign."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from .condition import Condition
from .frozen import dataclass
from .operations import Step
from .sources import Source
from .terms import CONFIG, BaseWord, Sort, Word


@dataclass(frozen=True, slots=True)
class Cause:
    """A fault that can be present or absent."""

    __pydantic_config__ = CONFIG

    title: str
    """Noun phrase in the trade's words."""
    plain: str
    """What it is, for a customer."""
    system: str
    """starting, ignition, fuel, cooling, breathing, lubrication, exhaust, valves, gaskets, rings, bottom_end, seals."""
    base: BaseWord
    """How often an old engine that comes in has it, before anything is known."""
    cured_by: tuple[str, ...]
    """Ids of operations that cure it, the usual one first; any one is enough."""
    seen_at: tuple[Step, ...]
    """The smallest rung whose work opens it to view; the first step whose condition holds."""
    because: str
    """Why it happens to old engines and why the base frequency is what it is."""
    source: tuple[Source, ...]
    """Where this comes from."""
    applies: Condition | None = None
    """Kinds of engine that can have it (engine.* facts only)."""
    slight: bool = True
    """Whether it can be there and slight; false for what is there or is not, such as an engine that is stuck."""
    places: tuple[str, ...] = ()
    """Ids of findings of places, at one of which it shows as a rule: once it shows at one, another that is sound denies
    nothing of it (a leak at the pan gasket leaves the covers dry)."""
    wait: str = ""
    """What happens if it is left, for a customer."""
    run_on: Literal["harmless", "wears", "damages", "dangerous"] = "wears"
    """What running on does: nothing, wear, damage, or danger to people or the whole engine. What is dangerous forbids
    running it."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class History:
    """What the engine's life says of the odds before any symptom."""

    __pydantic_config__ = CONFIG

    title: str
    """A claim."""
    when: Condition
    """Condition over answers and engine facts."""
    shifts: dict[str, float]
    """Cause -> decibans added to its base odds where the condition is present."""
    because: str
    """Why."""
    source: tuple[Source, ...]
    """Where this comes from."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Finding:
    """A yes/no conclusion that a rule draws from facts and earlier findings."""

    __pydantic_config__ = CONFIG

    title: str
    """A claim that can be true or false."""
    when: Condition
    """The condition."""
    because: str
    """One or two sentences for a person: why the sign means what it means."""
    fooled_by: str
    """What makes it wrong."""
    source: tuple[Source, ...]
    """Where this comes from."""
    explained_by: dict[str, Word] = field(default_factory=dict)
    """Cause -> if this cause is present, how often would you see the finding? Empty for an intermediate conclusion."""
    otherwise: Word | None = None
    """How often it is seen with none of the listed causes; required where causes are listed."""
    direct: bool = False
    """True where it is the fault itself, seen, measured or tried, and not a sign of it."""
    forbids_running: str = ""
    """Why the engine must not be run while this is present, for a customer; empty where it may."""
    forbids_cranking: bool = False
    """True where it must not be turned by starter, handle or tow either; by hand, slowly, it may."""
    lifted_by: tuple[str, ...] = ()
    """Ids of findings any of which shows that it may be run all the same."""
    for_seconds: tuple[str, ...] = ()
    """Ids of observations for which it may be run all the same, no longer than they take."""
    sort: Sort | None = None
    """trouble: what the customer wants gone; bench: a defect seen or measured, gone once it is cured; discriminator: a
    sign that only tells causes apart. Without it, by the latest moment of what it reads: talk trouble, test
    discriminator, teardown bench."""
    mild: bool = False
    """True for trouble that the owner of an old engine lives with: it need not go where he came for something else."""
    covers: tuple[str, ...] = ()
    """Ids of findings that follow from it whatever is behind it: where it is present they say nothing of their own."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this rule is right all the same."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of evidence: findings that tell the same story; only the most telling present one counts."""

    __pydantic_config__ = CONFIG

    title: str
    """The story they tell."""
    findings: tuple[str, ...]
    """Ids, the most telling first."""
    because: str
    """Why they are not independent."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""
