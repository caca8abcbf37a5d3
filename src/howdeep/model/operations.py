"""Work, what it takes, and how deep it goes."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from .condition import Condition
from .frozen import dataclass
from .sources import Source
from .terms import CONFIG, Rung, Stage


@dataclass(frozen=True, slots=True)
class Step:
    """A rung that holds on engines built in a certain way."""

    __pydantic_config__ = CONFIG

    rung: Rung
    """The rung."""
    when: Condition | None = None
    """How the engine must be built (engine.* facts only); without it, always."""


@dataclass(frozen=True, slots=True)
class HoursStep:
    """Hours that hold on engines built in a certain way."""

    __pydantic_config__ = CONFIG

    hours: float
    """Hours, counted as the operation's own."""
    when: Condition
    """How the engine must be built (engine.* facts only)."""


@dataclass(frozen=True, slots=True)
class BringsStep:
    """Operations that another brings on some engines only."""

    __pydantic_config__ = CONFIG

    operations: tuple[str, ...]
    """Operations that belong with it there."""
    when: Condition
    """How the engine must be built (engine.* facts only)."""


@dataclass(frozen=True, slots=True)
class WorkStep:
    """A step of the assembly sheet, for every engine or for some."""

    __pydantic_config__ = CONFIG

    text: str
    """What is done; {figure} names a figure of the engine sheet."""
    when: Condition | None = None
    """How the engine must be built (engine.* facts only); without it, always."""


@dataclass(frozen=True, slots=True)
class Belongs:
    """Why an operation stands in a job in which nothing that was found calls for it by itself."""

    __pydantic_config__ = CONFIG

    sort: Literal["access", "open", "undone", "service", "proof", "part"]
    """access: other work is reached through it; open: made good while it lies open; undone: other work undoes it, so it
    is done anew; service: set or serviced so that it does not spoil the proof; proof: proves the work; part: a part of
    the operation that brings it."""
    because: str
    """Why, in one sentence for a customer."""
    leaves: str = ""
    """For access: what is then so, as the end of 'it costs less because ...' (the head is off)."""
    alone: str = ""
    """Why, where it belongs to the depth of the job alone and nothing undoes it: it then counts as service."""


@dataclass(frozen=True, slots=True)
class Operation:
    """One piece of work."""

    __pydantic_config__ = CONFIG

    title: str
    """What is done, in the trade's words."""
    plain: str
    """What is done, for a customer."""
    rung: tuple[Step, ...]
    """The smallest rung at which it can be done; the first step whose condition holds."""
    hours: float
    """Hours where the engine sheet gives none (a judgement that the shop overwrites); 0 where they are counted with the
    operation that brings it, which then is the one labour line of both."""
    stage: Stage
    """Where it stands on the way through the engine: strip, block, crank, pistons, bottom, top, head, gear, settings,
    start or proof."""
    source: tuple[Source, ...]
    """Where this comes from."""
    belongs: Belongs | None = None
    """Why it is done where only the depth of the job or other work calls for it; needed for what a scope always holds
    and for what another operation brings."""
    per: Literal["engine", "cylinder", "valve", "rod", "main"] = "engine"
    """What the hours are counted for."""
    hours_by: tuple[HoursStep, ...] = ()
    """Hours in place of the general ones where access is easier or harder: the first step whose condition holds."""
    spared: Condition | None = None
    """Answers by which it was done before the engine came in, so that no hours are counted for it."""
    applies: Condition | None = None
    """Kinds of engine it can be done on (engine.* facts only)."""
    when: Condition | None = None
    """Besides the odds of the causes it cures: facts or findings that call for it."""
    opens: tuple[str, ...] = ()
    """What it opens to view."""
    ends_job: bool = False
    """True where it is the start and proof that ends a job; of those that a job needs none of, the shortest ends it."""
    comes_with_engine: bool = False
    """True where a replacement engine brings it along, so that it is not done again on that."""
    instead_of: tuple[str, ...] = ()
    """Operations whose place it takes: where it joins, they do not."""
    brings: tuple[str, ...] = ()
    """Operations that belong with it once this far in."""
    brings_where: tuple[BringsStep, ...] = ()
    """More of them, on engines that are built so: every step whose condition holds."""
    parts: dict[str, str] = field(default_factory=dict)
    """Part -> quantity: 'each engine|cylinder|valve|inlet_valve|exhaust_valve|rod|main|head_stud' or a number."""
    machine: dict[str, str] = field(default_factory=dict)
    """Machine-shop operation -> quantity, written in the same way."""
    cautions: tuple[str, ...] = ()
    """Ids of cautions shown before it."""
    proved_by: tuple[str, ...] = ()
    """Ids of observations or checks that prove the work."""
    before: tuple[str, ...] = ()
    """Ids of observations or checks to make before this operation starts."""
    during: tuple[str, ...] = ()
    """Ids of teardown observations to make while it is open."""
    steps: tuple[WorkStep, ...] = ()
    """Steps of the assembly sheet, in order: a text, or a text and how the engine must be built for it."""
    begins: dict[Stage, int] = field(default_factory=dict)
    """Where the steps belong to more than one stage: stage -> number of its first step, in the order of the stages; the
    first of them begins at 1 and `stage` is among them."""
    after: dict[Stage, tuple[str, ...]] = field(default_factory=dict)
    """Stage -> operations that come before it there: those with steps in that stage stand first, any other must belong
    to an earlier stage."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""

    @property
    def may_bring(self) -> tuple[str, ...]:
        """All that it brings, on one engine or another."""
        return tuple(dict.fromkeys((*self.brings, *(name for step in self.brings_where for name in step.operations))))


@dataclass(frozen=True, slots=True)
class Scope:
    """A rung of the ladder."""

    __pydantic_config__ = CONFIG

    title: str
    """Name of the rung."""
    plain: str
    """What it means, for a customer."""
    always: tuple[str, ...] = ()
    """Operations that always belong to this rung, where they apply to the engine."""
    access: tuple[str, ...] = ()
    """Operations without which no work of this depth can be reached."""
    opens: str = ""
    """What is open to view at this rung."""
    does_not: str = ""
    """What this rung leaves as it is."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Part:
    """A part or consumable."""

    __pydantic_config__ = CONFIG

    title: str
    """What it is."""
    plain: str
    """What it is for, for a customer."""
    kind: Literal["part", "consumable"] = "part"
    """Part or consumable."""
    applies: Condition | None = None
    """Kinds of engine that have it (engine.* facts only); no work on others calls for it."""
    sized_by: str = ""
    """Id of the teardown observation that must be measured before it is ordered."""
    size_fact: str = ""
    """Reduced fact that carries the size to order."""
    supplier: Literal["engine parts", "electrical", "general"] = "engine parts"
    """Who sells it: an engine parts house, an electrical supplier, or a general store."""
    contains: tuple[str, ...] = ()
    """Of a set: the parts in it. No work calls for a set; it is set against the single ones by price."""
    confirm: str = ""
    """How its size is confirmed before assembly; {figure} names a figure of the engine sheet."""
    never_reuse: bool = False
    """Whether the old one never goes back."""
    in_supplies: bool = False
    """Whether the shop's percentage for supplies covers it, where one is charged: it then has no line of its own."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Machining:
    """One machine-shop operation that is bought in."""

    __pydantic_config__ = CONFIG

    title: str
    """What the machine shop does."""
    plain: str
    """Why, for a customer."""
    take_along: tuple[str, ...] = ()
    """Parts that the machine shop must have in hand to do it."""
    machined_to: str = ""
    """Id of the size fact that says to which size; empty where it makes no size."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Caution:
    """A danger and how to keep out of it."""

    __pydantic_config__ = CONFIG

    title: str
    """The danger in a few words."""
    text: str
    """What to do."""
    source: tuple[Source, ...]
    """Authority."""
    applies: Condition | None = None
    """Kinds of engine that have this danger (engine.* facts only)."""
    stages: tuple[Stage, ...] = ()
    """Stages of the work at which it bites; without them, at every one."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""
