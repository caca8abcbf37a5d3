"""The rule base as typed values. Every field's text is also its description in the editor schema."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, Union

from .condition import AllOf, AnyOf, FactTest, FindingTest, Not

Standing = Literal["published", "common practice", "memory", "judgement"]
Moment = Literal["talk", "test", "teardown"]
MOMENTS: tuple[Moment, ...] = ("talk", "test", "teardown")
Word = Literal["never", "rarely", "sometimes", "half the time", "usually", "nearly always"]
BaseWord = Literal["exceptional", "rare", "uncommon", "common", "very common"]
Stage = Literal["strip", "block", "crank", "pistons", "bottom", "top", "head", "gear", "settings", "start", "proof"]
Rung = Literal["outside", "tune_up", "top_end", "refresh", "rebuild", "replace"]
CONFIG: dict[str, bool | str] = {"extra": "forbid", "coerce_numbers_to_str": True, "allow_inf_nan": False}
When = Union[FactTest, FindingTest, AllOf, AnyOf, Not]
Speaker = Literal["instrument", "look", "word", "hearsay"]
Sort = Literal["trouble", "discriminator", "bench"]
EngineDoes = Literal["", "cranks", "runs"]
Risk = Literal["none", "slight", "some"]
RISKS: tuple[Risk, ...] = ("none", "slight", "some")
STAGES: tuple[Stage, ...] = ("strip", "block", "crank", "pistons", "bottom", "top", "head", "gear", "settings", "start",
                             "proof")
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


@dataclass(frozen=True, slots=True)
class Source:
    """Where a statement comes from."""

    __pydantic_config__ = CONFIG

    standing: Standing
    """published, common practice, memory or judgement."""
    of: str = ""
    """Id in rules/sources.yaml; required where the standing is published."""
    where: str = ""
    """Section, paragraph, table or page."""


@dataclass(frozen=True, slots=True)
class SourceWork:
    """One published work that statements point to."""

    __pydantic_config__ = CONFIG

    title: str
    """Title as printed."""
    number: str = ""
    """Number of the manual, standard or circular."""
    author: str = ""
    """Author or issuing body."""
    year: str = ""
    """Year printed, where known."""
    note: str = ""
    """What was read of it and how sure it is."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Step:
    """A rung that holds on engines built in a certain way."""

    __pydantic_config__ = CONFIG

    rung: Rung
    """The rung."""
    when: When | None = None
    """How the engine must be built (engine.* facts only); without it, always."""


@dataclass(frozen=True, slots=True)
class Observation:
    """One question with its answer: at the counter, at a check, or at teardown."""

    __pydantic_config__ = CONFIG

    title: str
    """Short noun phrase for lists and tables."""
    ask: str
    """The question in the customer's words (talk) or the instruction in one sentence (test, teardown)."""
    moment: Moment
    """talk: at the counter; test: a check before anything is opened; teardown: once it is open."""
    group: str
    """Questions of one group are asked together (starting, smoke, oil ...)."""
    kind: Literal["choice", "number"]
    """A choice among answers, or a number."""
    answers: dict[str, str] = field(default_factory=dict)
    """For a choice: answer -> its wording for a person. 'unknown' is always possible and never listed."""
    worsens: tuple[str, ...] = ()
    """For a choice: answers from sound to worst, where they form such an order."""
    sound: tuple[str, ...] = ()
    """For a choice: the answers that a sound engine gives; where the question has a ground (`follows`), those that say
    no more than the ground. Without it, the first of `worsens`."""
    named: tuple[str, ...] = ()
    """For a choice: the telling answers in the order in which one would be named if two faults gave one each, the least
    alarming first. Without it, the rest of `worsens`. An answer in neither tells nothing (there is no gauge) and is
    taken as not known."""
    speaks: Speaker | None = None
    """Who speaks: an instrument known good; one look, feel or ear of the mechanic; the customer's own word; hearsay (it
    was renewed, another shop found). Without it: talk word; a number at a test or teardown instrument; else look."""
    implies: dict[str, dict[str, str]] = field(default_factory=dict)
    """For a choice: answer -> what it also answers, as observation -> answer (no smoke at all: none when pulling)."""
    unit: str = ""
    """For a number: the unit its fact is kept in."""
    bare: bool = False
    """For a number: whether a bare number is taken in that unit."""
    range: tuple[float, float] | None = None
    """For a number: the plausible range in that unit; outside it the value is refused."""
    each: Literal["", "cylinder", "main", "crankpin", "inlet_valve", "exhaust_valve"] = ""
    """One value per cylinder (main journal, crankpin, valve), numbered from 1 at the front; else a single value."""
    rows: tuple[str, ...] = ()
    """For readings taken at several places: their names, e.g. top, middle, bottom."""
    columns: tuple[str, ...] = ()
    """For readings taken on several axes: their names, e.g. thrust, pin."""
    applies: When | None = None
    """Kinds of engine it makes sense on (engine.* facts only)."""
    follows: When | None = None
    """Its ground: asked only while this is present; dropped when the ground is gone."""
    needs: When | None = None
    """What the engine must be able to do; not offered where this is absent."""
    valid_when: When | None = None
    """Conditions of a valid test; where absent, the value is kept, shown as not valid and draws no finding."""
    runs_engine: EngineDoes = ""
    """What the engine does while it is made: nothing, is cranked (starter, handle or tow), or runs. What must be warm
    to be valid takes a run as well, which need not be written again."""
    minutes: float = 1.0
    """Minutes it takes."""
    risk: Risk = "none"
    """Chance of doing harm by making the check."""
    setup: str = ""
    """What must be set up; checks with the same set-up are done together."""
    tools: tuple[str, ...] = ()
    """Tools it takes."""
    procedure: str = ""
    """How a mechanic does it, in full."""
    cautions: tuple[str, ...] = ()
    """Ids of cautions shown before it."""
    opened_by: tuple[str, ...] = ()
    """For a teardown observation: ids of the operations by which the engine stands open where it is made."""
    phrases: tuple[str, ...] = ()
    """Words customers use that lead here."""
    sheet: tuple[str, ...] = ()
    """For a number: the figures of the engine sheet that it is held against, shown beside it (bore, ring_gap)."""
    proved: Literal["at once", "in use"] = "at once"
    """Whether the test after the work shows that it is gone, or only use does (oil use, faults that come hot)."""
    source: tuple[Source, ...] = ()
    """Where the procedure or the question comes from."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """One way a check may turn out, as facts it would give."""

    __pydantic_config__ = CONFIG

    title: str
    """What is seen."""
    facts: dict[str, str | float | dict[str, str | float]]
    """Fact -> value; for a fact per cylinder {each: v}, {one: v, others: w} or {neighbours: v, others: w}."""


@dataclass(frozen=True, slots=True)
class Check:
    """Several observations made as one check (dry then wet compression), with the outcomes worth telling apart."""

    __pydantic_config__ = CONFIG

    title: str
    """Name of the check."""
    observations: tuple[str, ...]
    """Ids of the observations made in it, in order."""
    outcomes: dict[str, Outcome]
    """Outcomes that exclude each other."""
    minutes: float
    """Minutes for all of it."""
    because: str
    """What it tells apart."""
    source: tuple[Source, ...]
    """Where it comes from."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Reduced:
    """A fact computed from readings by howdeep.readings."""

    __pydantic_config__ = CONFIG

    title: str
    """What it is."""
    kind: Literal["choice", "number"]
    """A word or a number."""
    unit: str = ""
    """Unit of the number."""
    each: Literal["", "cylinder", "main", "crankpin", "inlet_valve", "exhaust_valve"] = ""
    """One value per cylinder (journal, valve), or a single one."""
    answers: tuple[str, ...] = ()
    """The words it can take."""
    worsens: tuple[str, ...] = ()
    """The words from sound to worst, where they form such an order."""
    sound: tuple[str, ...] = ()
    """The words that a sound engine gives. Without it, the first of `worsens`."""
    named: tuple[str, ...] = ()
    """The telling words in the order in which one would be read if two faults gave one each, the least alarming first.
    Without it, the rest of `worsens`. A word in neither tells nothing: it is taken as not known."""
    taken_from: tuple[str, ...] = ()
    """Ids of the observations whose readings it is computed from."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


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
    applies: When | None = None
    """Kinds of engine that can have it (engine.* facts only)."""
    slight: bool = True
    """Whether it can be there and slight; false for what is there or is not, such as an engine that is stuck."""
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
    when: When
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
    when: When
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


@dataclass(frozen=True, slots=True)
class HoursStep:
    """Hours that hold on engines built in a certain way."""

    __pydantic_config__ = CONFIG

    hours: float
    """Hours, counted as the operation's own."""
    when: When
    """How the engine must be built (engine.* facts only)."""


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
    applies: When | None = None
    """Kinds of engine it can be done on (engine.* facts only)."""
    when: When | None = None
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
    steps: tuple[str, ...] = ()
    """Steps of the assembly sheet, in order; {figure} names a figure of the engine sheet."""
    begins: dict[Stage, int] = field(default_factory=dict)
    """Where the steps belong to more than one stage: stage -> number of its first step, in the order of the stages; the
    first of them begins at 1 and `stage` is among them."""
    after: dict[Stage, tuple[str, ...]] = field(default_factory=dict)
    """Stage -> operations that come before it there: those with steps in that stage stand first, any other must belong
    to an earlier stage."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


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
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Tool:
    """A tool that a small shop may not own."""

    __pydantic_config__ = CONFIG

    title: str
    """What it is."""
    needed_for: tuple[str, ...]
    """Ids of the observations that cannot be made without it; what has an everyday stand-in is not among them."""
    source: tuple[Source, ...]
    """Where that comes from."""
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
    applies: When | None = None
    """Kinds of engine that have this danger (engine.* facts only)."""
    stages: tuple[Stage, ...] = ()
    """Stages of the work at which it bites; without them, at every one."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A general limit that stands in where the engine sheet is silent, or a figure beyond which a reading is not
    believed."""

    __pydantic_config__ = CONFIG

    title: str
    """What it limits."""
    value: float
    """The figure."""
    unit: str
    """Its unit."""
    source: tuple[Source, ...]
    """Where it comes from."""
    per: str = ""
    """What it is counted for, e.g. 'inch of bore'."""
    because: str = ""
    """Why, where the title does not say it."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Answers that cannot both be true."""

    __pydantic_config__ = CONFIG

    title: str
    """What contradicts what."""
    when: When
    """Present where the answers contradict each other."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Hold:
    """A cheap outside fault that looks like a deep one: no deeper promise until its check is made or waived."""

    __pydantic_config__ = CONFIG

    title: str
    """A claim: what looks like what."""
    when: When
    """Signs that this fault could be behind."""
    above: Rung
    """Scopes deeper than this rung are held."""
    check: str
    """Id of the observation or check that unmasks it."""
    because: str
    """Why the check comes first."""
    source: tuple[Source, ...]
    """Where this comes from."""
    applies: When | None = None
    """Kinds of engine it applies to."""
    also_by: tuple[str, ...] = ()
    """Other observations any of which unmasks it as well."""
    lifted_by: tuple[str, ...] = ()
    """Ids of findings any of which shows that it is not this."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class FirstLook:
    """What the trade looks at first for a complaint; the value of a check can overtake it."""

    __pydantic_config__ = CONFIG

    title: str
    """A claim: what is looked at first for what."""
    when: When
    """The complaint."""
    checks: tuple[str, ...]
    """Ids of checks or observations, the first look first."""
    because: str
    """Why these come first."""
    source: tuple[Source, ...]
    """Where this comes from."""
    comes_before: tuple[str, ...] = ()
    """Ids of first looks that come after all of this one where both are called for."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class FirstQuestions:
    """What the trade asks a customer first for a complaint; a question that is worth clearly more can overtake it."""

    __pydantic_config__ = CONFIG

    title: str
    """A claim: what is asked first of whom."""
    when: When
    """The complaint."""
    asks: tuple[str, ...]
    """Ids of questions at the counter, the first asked first."""
    because: str
    """Why these come first."""
    source: tuple[Source, ...]
    """Where this comes from."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Frequency:
    """A figure that frequency words rest on: counted by a published work, or derived from such figures.

    The source of a link says that a fault shows a sign, not how often; that is a statement of its own. A word that no
    figure names is judgement.
    """

    __pydantic_config__ = CONFIG

    title: str
    """A claim: what is how often what."""
    standing: Literal["published", "derived"]
    """published: counted for what the words say; derived: reckoned from what was counted, as `how` says."""
    counted: str
    """What was counted, over how many, where and when."""
    figure: float
    """The figure: a share from 0 to 1; where `against` is given, how many times as often; of a history shift, how many
    times the odds."""
    words: tuple[str, ...]
    """What it grounds: causes/CAUSE (a base word), findings/FINDING/CAUSE or findings/FINDING/otherwise (a link word),
    blame/FINDING/CAUSE (base and link word together: how often this cause brings this sign), history/RULE/CAUSE,
    misread/SPEAKER, unlisted/MOMENT. Several are added up."""
    because: str
    """Why it reaches these words, and how far it may be trusted for them."""
    source: tuple[Source, ...]
    """The works that print it."""
    against: tuple[str, ...] = ()
    """For a ratio: the words it is counted against, added up."""
    under: tuple[str, ...] = ()
    """Ids of history rules that are taken as present on both sides."""
    low: float | None = None
    """Least that the words may come to. Without `low` and `high`, the figure must lie nearer to the word than to any
    other."""
    high: float | None = None
    """Most that the words may come to."""
    rests_on: tuple[str, ...] = ()
    """For a derived figure: the figures it is reckoned from."""
    how: str = ""
    """For a derived figure: how it is reckoned."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Settings:
    """The one table that binds words to numbers, and the few constants of the reasoning."""

    __pydantic_config__ = CONFIG

    words: dict[Word, float]
    """Frequency word -> probability."""
    base_words: dict[BaseWord, float]
    """Base word -> probability."""
    misread: dict[Speaker, float]
    """Who speaks -> chance of a mistaken answer."""
    include_at: float
    """An operation joins the job where a cause it cures is at least this probable."""
    source: tuple[Source, ...]
    """Where the numbers come from."""
    direct_shown: float = 0.995
    """What the highest frequency word means in a direct finding."""
    direct_mistaken: float = 0.000001
    """Chance that a direct finding on the open engine was mistaken. The lowest frequency word means nothing besides the
    chance of a mistake as the `otherwise` of a direct finding."""
    seen_open: float = 0.1
    """What lies open on the bench, or is tried from outside and is the fault itself, is misread this share as often."""
    slight_share: float = 0.6
    """Share of present faults that are slight; the frequency words mean marked ones."""
    slight_shows: dict[Moment, float] = field(default_factory=lambda: {"talk": 0.15, "test": 0.8, "teardown": 1.0})
    """Who notices -> how often a slight fault shows a sign, as a share of how often a marked one does."""
    unlisted: dict[Moment, float] = field(default_factory=lambda: {"talk": 0.012, "test": 0.008, "teardown": 0.0005})
    """Who notices -> chance that a fault which is not on the list brings a telling answer to a question."""
    looked_over: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Question -> answers that say that it was not brought in for a trouble: then all that is told may be normal."""
    spoken_of: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Complaint -> questions that it is about, in the order in which they are asked: until one of them is answered the
    complaint itself was not heard."""
    cure_fails: float = 0.05
    """Share of cures that did not take: a new part that was bad, or work to be done again. The odds of what done work
    cures are taken times this."""
    condition_weights: dict[str, float] = field(default_factory=dict)
    """System of causes -> how far its faults come together with those of the others: log odds a unit of the engine's
    shared condition."""
    sure: dict[str, str] = field(default_factory=dict)
    """Figure of the settings that is questioned and right all the same -> why (words.rarely, include_at)."""


@dataclass(frozen=True, slots=True, order=True)
class Doubted:
    """A figure of the rules that can hardly be right, and where it stands."""

    file: str
    line: int
    column: int
    message: str
    hint: str
    key: str
    """'kind/id' of its entry, or 'settings'."""
    path: tuple[str, ...]
    """Where it stands inside the entry."""
    excused: bool = False
    """Whether its entry, or the settings, say why it is right all the same."""


@dataclass(frozen=True, slots=True)
class Knowledge:
    """The whole rule base. Mappings are in order of id."""

    version: str
    """Version of the rule base (rules/settings.yaml) and the first letters of its content hash."""
    settings: Settings
    sources: dict[str, SourceWork]
    limits: dict[str, Limit]
    cautions: dict[str, Caution]
    parts: dict[str, Part]
    machining: dict[str, Machining]
    tools: dict[str, Tool]
    observations: dict[str, Observation]
    checks: dict[str, Check]
    reduced: dict[str, Reduced]
    causes: dict[str, Cause]
    history: dict[str, History]
    findings: dict[str, Finding]
    lines: dict[str, Line]
    operations: dict[str, Operation]
    scopes: dict[Rung, Scope]
    contradictions: dict[str, Contradiction]
    holds: dict[str, Hold]
    first_looks: dict[str, FirstLook]
    first_questions: dict[str, FirstQuestions] = field(default_factory=dict)
    frequencies: dict[str, Frequency] = field(default_factory=dict)
    places: dict[str, tuple[str, int, int]] = field(default_factory=dict)
    """'kind/id' -> file, line, column where it is written."""
    replaced: tuple[str, ...] = ()
    """'kind/id' of entries that a shop's own folder replaced."""
    doubts: tuple[Doubted, ...] = ()
    """What is questioned in the figures of the rules."""
    not_owned: tuple[str, ...] = ()
    """Tools that the shop at hand does not own; the rule base itself owns every one."""
