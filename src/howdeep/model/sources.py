"""Where statements of the rule base come from, and figures that its frequency words rest on."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from .frozen import dataclass
from .terms import CONFIG, Standing


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
