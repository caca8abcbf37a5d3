"""What a good mechanic and a good shopkeeper judge by, in figures: all of it is judgement, and a shop may set its own.

Sections of the settings of the rule base. Every field's text is also its description in the editor schema.
"""

from __future__ import annotations

from .frozen import dataclass
from .terms import CONFIG


@dataclass(frozen=True, slots=True)
class Deciding:
    """From where on a fault is a suspect, a job worth its price, and work is begun with, looked into or promised."""

    __pydantic_config__ = CONFIG

    suspect: float = 0.15
    """A cause with at least this hand in what was noticed is a suspect."""
    likely: float = 0.35
    """A cause with at least this hand in what was noticed is likely: a dangerous one forbids running."""
    as_good_as_certain: float = 0.95
    """A cause that was seen itself and is at least so probable need not be looked for."""
    worth_naming: float = 0.005
    """A cause that a job leaves is named from this hand in what was noticed."""
    hopeful: float = 0.3
    """A job less likely to be enough is no recommendation, however little it costs to begin."""
    even: float = 0.4
    """Cheap work about as likely as not to be enough is begun with before anything is opened."""
    cheap: float = 0.5
    """Work that costs at most so much of what it may save - a look inside, or stopping - is tried first."""
    alike: float = 0.05
    """Expected costs that differ by at most this share are alike."""
    near: float = 0.05
    """A job that reaches the floor is promised where it costs at most so much more in the end than the cheapest."""
    defensible: float = 0.1
    """A job whose expected cost exceeds the least by at most this share can be defended."""
    adds: float = 0.1
    """An opening that adds less to the chance opens the engine for nothing."""
    may_do: float = 0.3
    """A deep job is not sold unseen where a shallower package is likelier than this to do."""
    quick_hours: float = 1.0
    """A job that costs no more than so many hours of labour, and cures a suspect that stands out, is done before
    anything more is tested, where it is about as likely as not to be enough."""
    stands_out: float = 0.5
    """A suspect with at least this hand in what was noticed stands out; while none does, a check that parts the
    suspects comes before a promise."""
    depth_stands_out: float = 0.7
    """A depth that some suspect needs with at least this chance stands out, whichever of them it is."""
    parts_well: float = 0.3
    """Bits from which on a check parts the suspects well enough to come before such a promise."""
    parts_much: float = 0.15
    """Before a cheap beginning, and before a look inside, only a check that lowers the uncertainty by so many bits
    comes first; while no suspect is likely, before a promise too."""
    without_prices: float = 0.8
    """Without prices the shallowest package at least this likely to be enough stands in for the cheapest."""
    much_unknown: float = 0.2
    """With a chance below 1 - this that the rung is enough, a tear-down price is offered first."""
    never_from: float = 0.5
    """What is likelier than this to turn up is no surprise: it belongs to the work or to the checks."""
    held_beside: float = 0.2
    """A job less likely than this to be enough is not held beside the proposed one for what it costs in the end."""
    worth_a_line: float = 0.05
    """A shallower job with almost no chance, less than this, is not worth a line beside the proposed one."""


@dataclass(frozen=True, slots=True)
class Asking:
    """What a question and a check are worth asking for, and in which order they are asked."""

    __pydantic_config__ = CONFIG

    parted_hours: float = 1.0
    """Hours of looking that one whole suspect parted from another saves."""
    bill_share: float = 0.1
    """Share of a difference of the expected bill that knowing it is worth at the counter."""
    danger_hours: float = 0.3
    """Hours that finding out is worth that an engine must not be run."""
    promise_hours: float = 0.5
    """Hours that it saves where the cheapest job can be promised and need not be begun with: a second visit."""
    first_sign_hours: float = 0.25
    """Hours that a first sign saves while nothing has shown: what was noticed can be parted, what was not cannot."""
    decides_from: float = 0.25
    """Share of the way to a promise below which an answer decides nothing."""
    least_minutes: float = 4.0
    """Minutes of labour that an answer must be worth to be asked for: what it takes from a customer's patience, and
    that each answer may be mistaken."""
    trade_minutes: float = 2.0
    """Minutes of labour that what the trade asks first must be worth: less moves hardly anything on this engine. It
    takes half as much of a customer's patience: he expects it."""
    patience: int = 5
    """So many questions a customer answers willingly, "don't know" counted twice; each one beyond must be worth a
    minute more than the one before it."""
    follows: float = 0.35
    """A follow-up of the last answer goes before a better question elsewhere if it is worth this share of it."""
    same_subject: float = 0.6
    """The same of a question on the subject just talked about."""
    overtakes_times: float = 3.0
    """Another question overtakes what the trade asks first where it is worth so many times as much, and by
    `overtakes_minutes` more; a follow-up of the last answer where it is worth so many times as much."""
    overtakes_minutes: float = 15.0
    """Minutes of labour that another question must be worth more to overtake what the trade asks first."""
    look_overtaken_minutes: float = 30.0
    """Minutes of labour that a check must save before it overtakes what the trade looks at first: less is within what
    the odds, judgement as they are, can tell apart."""
    look_overtaken_share: float = 0.5
    """It must also part the suspects at least this well, beside the look that parts them best: what a small suspect
    moves in the price alone is no reason to begin with it."""
    words_lead_from: float = 0.6
    """From this share of likeness on a question that the customer's words lead to is asked among the first."""
    carries: float = 0.2
    """Share of the way to a promise that a customer's word is expected to go, for it to be asked for at the bench."""
    found: float = 0.8
    """Chance of a hand from which on a fault is taken for found: what is called very likely."""
    parts_first: float = 0.3
    """Bits from which on a check is made before a customer is asked from the bench for what might carry the answer to a
    promise: while the fault is not found his word on all else promises nothing."""
    checks_a_round: int = 8
    """Checks of one round: more than these nobody keeps in mind."""
    always_named: int = 3
    """Checks of a round that every answer names, however long they take."""


@dataclass(frozen=True, slots=True)
class Telling:
    """From where on something of an answer is said, and to whom."""

    __pydantic_config__ = CONFIG

    named_from: float = 0.1
    """A cause is named as a suspect from this chance of having a hand in what was noticed."""
    to_customer_from: float = 0.2
    """It is named in the annex of an estimate, to a customer, from this chance on."""
    decides_from: float = 0.05
    """A cause decides for another depth from this hand in what was noticed, where something speaks for it."""
    outcomes_from: float = 0.02
    """Answers of a question and outcomes of a check that are less likely than this are not told."""
    hardly_surer: float = 0.1
    """More work that makes it surer by less is called hardly worth it."""
    unexplained_from: float = 0.3333333333333333
    """That nothing on the list explains a sign is said from this chance on."""
    denied_decibans: float = 10.0
    """Decibans (to a tenth of the odds) that the sound answers must take from a marked fault that was seen on the open
    engine before it is worth saying: one sign that it nearly always shows, or two that it usually shows."""


@dataclass(frozen=True, slots=True)
class Learning:
    """How much the shop's own record must say before it moves a word."""

    __pydantic_config__ = CONFIG

    word_worth: float = 20.0
    """A frequency word as it stands is worth so many jobs seen."""
    base_worth: float = 50.0
    """Base odds as they stand are worth so many jobs."""
    least_jobs: int = 12
    """With fewer jobs in which the cause was there, nothing is proposed."""
    looked_at: float = 0.8
    """Base odds are learned only where the cause was looked at in this share of the jobs: who looks where he suspects
    finds more than there is."""


__all__ = ["Asking", "Deciding", "Learning", "Telling"]
