"""What a worked case expects of the answer: what a mechanic would say of it, written down before it is run."""

from __future__ import annotations

from dataclasses import field

from .answer_kinds import Kind, Worth
from .frozen import dataclass
from .odds import OddsWord
from .terms import CONFIG, Rung


@dataclass(frozen=True, slots=True)
class Expect:
    """Cases only: the outcome expected."""

    __pydantic_config__ = CONFIG

    first: tuple[str, ...] = ()
    """The likeliest cause is one of these."""
    among_leading: tuple[str, ...] = ()
    """Each of these is among the five likeliest causes."""
    not_leading: tuple[str, ...] = ()
    """None of these is among the three likeliest causes."""
    likelier: tuple[tuple[str, ...], ...] = ()
    """Rows of causes: of each row every one is likelier than the next to have a hand in what was noticed."""
    odds_at_least: dict[OddsWord, tuple[str, ...]] = field(default_factory=dict)
    """Odds in words -> causes that are at least so likely to have a hand in what was noticed."""
    odds_at_most: dict[OddsWord, tuple[str, ...]] = field(default_factory=dict)
    """Odds in words -> causes that are at most so likely to have a hand in it."""
    speaks_for: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Sign that is present -> causes that it makes likelier, taken by itself."""
    speaks_rather_for: dict[str, dict[str, tuple[str, ...]]] = field(default_factory=dict)
    """Sign that is present -> cause -> causes that it makes likelier than they were by less, taken by itself."""
    enough_at_least: dict[OddsWord, tuple[str, ...]] = field(default_factory=dict)
    """Odds in words -> jobs (a rung, or a rung with ':only') after which everything noticed is at least so likely to be
    gone."""
    enough_at_most: dict[OddsWord, tuple[str, ...]] = field(default_factory=dict)
    """Odds in words -> jobs after which it is at most so likely to be gone."""
    came_for: tuple[OddsWord, ...] = ()
    """The chance that what it was brought in for goes away by the recommended work is one of these."""
    scope: tuple[Rung, ...] = ()
    """The recommended scope is one of these."""
    not_scope: tuple[Rung, ...] = ()
    """The recommended scope is none of these."""
    next_check: tuple[str, ...] = ()
    """The next check is one of these ('quote_now' where none comes before the answer)."""
    present: tuple[str, ...] = ()
    """Findings present."""
    absent: tuple[str, ...] = ()
    """Findings absent."""
    unknown: tuple[str, ...] = ()
    """Findings unknown."""
    held_by: tuple[str, ...] = ()
    """Holds that stand."""
    not_held_by: tuple[str, ...] = ()
    """Holds that do not stand."""
    invalid: tuple[str, ...] = ()
    """Observations shown as not valid."""
    contradictions: tuple[str, ...] = ()
    """Contradictions shown."""
    straight: bool = False
    """Nothing that was told, read or seen contradicts anything else."""
    operations: tuple[str, ...] = ()
    """Operations in the recommended work."""
    not_operations: tuple[str, ...] = ()
    """Operations not in it."""
    may_turn_up: tuple[str, ...] = ()
    """Operations that stand beside the recommended work as 'if found'."""
    work_at: dict[Rung, tuple[str, ...]] = field(default_factory=dict)
    """Rung -> operations that work of that depth would hold, recommended or not."""
    not_work_at: dict[Rung, tuple[str, ...]] = field(default_factory=dict)
    """Rung -> operations that work of that depth would not hold."""
    parts: tuple[str, ...] = ()
    """Parts on the list of the recommended work."""
    not_parts: tuple[str, ...] = ()
    """Parts not on it."""
    hours: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Job -> least and most hours of its work, reckoned by hand."""
    price: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Job -> least and most it costs by the example price list, without tax and allowances, reckoned by hand."""
    cautions: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Operation of the recommended work -> cautions that stand before its first step."""
    dangers: tuple[str, ...] = ()
    """Findings or causes for which it must not be run."""
    not_dangers: tuple[str, ...] = ()
    """Findings or causes for which running it is not forbidden."""
    worth: tuple[Worth, ...] = ()
    """Each of these is said of the recommended work beside the machine's value and a replacement engine."""
    not_worth: tuple[Worth, ...] = ()
    """None of these is."""
    kind: tuple[Kind, ...] = ()
    """The kind of answer is one of these."""
    job: tuple[str, ...] = ()
    """The job that the answer speaks of is one of these: a rung, or a rung with ':only'."""
    quote_total: str = ""
    """Total of the quote for the recommended scope with the example price list."""
    known_gap: str = ""
    """Why this expectation fails today; the case rings when it starts to hold."""
    published: str = ""
    """Id of the published source that this case follows, with section."""
