"""What is asked, tested and measured: questions, checks, facts reduced from readings, and what comes before others."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from .condition import Condition
from .frozen import dataclass
from .judged import Believed, Grade, Judge
from .limits import Limit
from .sources import Source
from .terms import CONFIG, EngineDoes, Moment, Risk, Rung, Speaker


@dataclass(frozen=True, slots=True)
class AnswersOn:
    """Answers of a choice that are offered on some engines only."""

    __pydantic_config__ = CONFIG

    answers: tuple[str, ...]
    """Answers that mean nothing on any other engine."""
    when: Condition
    """How the engine must be built (engine.* facts only)."""


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
    applies: Condition | None = None
    """Kinds of engine it makes sense on (engine.* facts only)."""
    only_on: tuple[AnswersOn, ...] = ()
    """For a choice: answers that are offered on some engines only (no choke on a diesel). What is on record stands."""
    follows: Condition | None = None
    """Its ground: asked only while this is present; dropped when the ground is gone."""
    needs: Condition | None = None
    """What the engine must be able to do; not offered where this is absent."""
    valid_when: Condition | None = None
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
    uses: tuple[str, ...] = ()
    """Parts that it uses up, one of each; they belong to what it costs."""
    days: float = 0.0
    """Days until its answer is there, where it is not there at once."""
    procedure: str = ""
    """How a mechanic does it, in full."""
    cautions: tuple[str, ...] = ()
    """Ids of cautions shown before it."""
    opened_by: tuple[str, ...] = ()
    """For a teardown observation: ids of the operations by which the engine stands open where it is made."""
    opens_where: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """For a choice: answer -> ids of the operations by which the engine stands open where it is given."""
    laid_open_by: tuple[str, ...] = ()
    """For a look from outside: ids of the operations that lay open what it looks at, so that nobody makes it then."""
    phrases: tuple[str, ...] = ()
    """Words customers use that lead here."""
    said: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """For a choice: answer -> what customers say where it is that one. In a phrase the order of the words counts, up to
    two words between them do not; a hyphen keeps two together, a stroke stands between words of which one will do,
    words joined by + come in any order, .. leaves more room, $ is the end of the clause, and years>1, hours<500 or
    minutes=2..30 is an amount."""
    not_said: tuple[str, ...] = ()
    """For a choice: what sounds like an answer and is none ("too hot to touch"); where it stands nothing of this
    question is heard in the same half of a clause."""
    sheet: tuple[str, ...] = ()
    """For a number: the figures of the engine sheet that it is held against, shown beside it (bore, ring_gap)."""
    gauge: str = ""
    """For a number: id of the gauge that it is read with, which says how far a reading may stand off the truth."""
    error: float | None = None
    """For a number: how far a reading may stand off the truth, in its unit, where that is not what its gauge says."""
    believed: Believed | None = None
    """For a number: up to where it is believed."""
    doubted_when: Condition | None = None
    """For a number: where it can hardly be, so that who types it is asked once whether it is right. It counts then."""
    doubt: str = ""
    """What is asked about such a reading, in a sentence."""
    shown_as: str = ""
    """For a number: id of the reduced fact that papers show in its place (a skirt as its clearance)."""
    decided_by: str = ""
    """For a number: the one figure of the engine sheet that decides it, worth looking up before it is read."""
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
    """A fact that follows from readings: judged, graded or computed."""

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
    judge: Judge | None = None
    """How one measurement is judged: against the sheet's band and wear limit, else general ones."""
    grade: Grade | None = None
    """How one reading is put into words by marks."""
    computed_by: str = ""
    """Id of the computation (computed.yaml) that gives it."""
    taken_from: tuple[str, ...] = ()
    """Ids of the observations whose readings it is computed from; of a judged or graded fact its own one."""
    sold_in: str = ""
    """For a size: where the engine sheet lists the sizes that are sold (oversizes, crankpins.undersizes)."""
    limits: dict[str, Limit] = field(default_factory=dict)
    """Limits that are written beside the fact they judge; they count as if they stood in limits.yaml."""
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
class Contradiction:
    """Answers that cannot both be true."""

    __pydantic_config__ = CONFIG

    title: str
    """What contradicts what."""
    when: Condition
    """Present where the answers contradict each other."""
    unless: Condition | None = None
    """Answers that reconcile the two: where it is known to hold nothing is contradicted."""
    settled_by: tuple[str, ...] = ()
    """Operations that change one into the other: once one of them is done, one was said before it and one after."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Hold:
    """A cheap outside fault that looks like a deep one: no deeper promise until its check is made or waived."""

    __pydantic_config__ = CONFIG

    title: str
    """A claim: what looks like what."""
    when: Condition
    """Signs that this fault could be behind."""
    above: Rung
    """Scopes deeper than this rung are held."""
    check: str
    """Id of the observation or check that unmasks it."""
    because: str
    """Why the check comes first."""
    source: tuple[Source, ...]
    """Where this comes from."""
    applies: Condition | None = None
    """Kinds of engine it applies to."""
    also_by: tuple[str, ...] = ()
    """Other observations any of which unmasks it as well."""
    before: tuple[str, ...] = ()
    """Operations that lie no deeper and cost days all the same: every job that holds one of them is held."""
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
    when: Condition
    """The complaint."""
    checks: tuple[str, ...]
    """Ids of checks or observations, the first look first."""
    because: str
    """Why these come first."""
    source: tuple[Source, ...]
    """Where this comes from."""
    unless: Condition | None = None
    """Where it does not count all the same."""
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
    when: Condition
    """The complaint."""
    asks: tuple[str, ...]
    """Ids of questions at the counter, the first asked first."""
    because: str
    """Why these come first."""
    source: tuple[Source, ...]
    """Where this comes from."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""
