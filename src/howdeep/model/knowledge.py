"""The rule base as typed values. Every field's text is also its description in the editor schema."""

from __future__ import annotations

from dataclasses import field

from .causes import Cause, Finding, History, Line
from .frozen import dataclass
from .judged import Computed
from .judgement import Asking, Deciding, Learning, Telling
from .limits import Gauge, Limit
from .observations import Check, Contradiction, FirstLook, FirstQuestions, Hold, Observation, Reduced, Tool
from .operations import Caution, Machining, Operation, Part, Scope
from .sources import Frequency, Source, SourceWork
from .terms import CONFIG, BaseWord, Moment, Rung, Speaker, Word


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
    """What lies open on the bench, or is looked at or tried from outside and is the fault itself, is misread this
    share as often."""
    slight_share: float = 0.6
    """Share of present faults that are slight; the frequency words mean marked ones."""
    invented: dict[Speaker, float] = field(default_factory=dict)
    """Who speaks -> how often he names a trouble that is not there, as a share of how often he overlooks one that is
    (`misread`); 1 where nothing is said."""
    slight_shows: dict[Moment, float] = field(default_factory=lambda: {"talk": 0.15, "test": 0.8, "teardown": 1.0})
    """Who notices -> how often a slight fault shows a sign, as a share of how often a marked one does."""
    unlisted: dict[Moment, float] = field(default_factory=lambda: {"talk": 0.012, "test": 0.008, "teardown": 0.0005})
    """Who notices -> chance that a fault which is not on the list brings a telling answer to a question."""
    looked_over: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Question -> answers that say that it was not brought in for a trouble: then all that is told may be normal."""
    can_be_run: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Question -> answers with which an engine can be run on as it is."""
    spoken_of: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Complaint -> questions that it is about, in the order in which they are asked: until an answer to one of them
    says that there is something to it the complaint itself was not heard; what they say is invented less often."""
    cure_fails: float = 0.05
    """Share of cures that did not take: a new part that was bad, or work to be done again. The odds of what done work
    cures are taken times this."""
    own_line_from: float = 0.04
    """A cause that may turn up has a line of its own in a quote from this chance on."""
    joins_from: float = 0.15
    """A cure joins the job for a cause with at least this hand in the trouble, however dear a failed job is."""
    idle_below: float = 0.1
    """Work that cures only what has less of a hand in the trouble than this altogether is no job."""
    looking_again: float = 2.0
    """Hours that a failed job costs in looking again."""
    set_up_again: float = 0.5
    """Share of its time that a check takes where another one has made its set-up already."""
    hardly_parts: float = 0.02
    """Bits below which a check can show next to nothing of what is suspected, not worth the walk to the engine: it is
    not named, and a first look that parts less waits behind the others."""
    one_round: float = 60.0
    """Minutes of one round of checks: what it shows decides what comes after."""
    owner_asked_from: float = 0.5
    """Share of the machine's value from which the owner is asked before going on."""
    owners_stretch: float = 1.25
    """How many times what stopping would cost him an owner often goes to."""
    deciding: Deciding = Deciding()
    """From where on something is a suspect, and a job is begun with, looked into or promised."""
    asking: Asking = Asking()
    """What asking is worth, of a customer and at the bench, and in which order it is done."""
    telling: Telling = Telling()
    """From where on something of an answer is said."""
    learning: Learning = Learning()
    """How much the shop's record must say before a word is moved by it."""
    brings_both: float = 0.3
    """So many of the unlisted faults that bring one answer bring another too, where a finding wants both."""
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
    gauges: dict[str, Gauge] = field(default_factory=dict)
    computed: dict[str, Computed] = field(default_factory=dict)
    places: dict[str, tuple[str, int, int]] = field(default_factory=dict)
    """'kind/id' -> file, line, column where it is written."""
    replaced: tuple[str, ...] = ()
    """'kind/id' of entries that a shop's own folder replaced."""
    doubts: tuple[Doubted, ...] = ()
    """What is questioned in the figures of the rules."""
    not_owned: tuple[str, ...] = ()
    """Tools that the shop at hand does not own; the rule base itself owns every one."""
