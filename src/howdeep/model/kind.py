"""Kinds of engine, and what is known of an engine whose sheet nobody has."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from .engine import Build
from .frozen import dataclass
from .sources import Source
from .terms import CONFIG


@dataclass(frozen=True, slots=True)
class GeneralFigure:
    """A figure of a kind: what stands in where the maker's is not known, and how far makers differ in it."""

    __pydantic_config__ = CONFIG

    value: str
    """The figure that stands in, with unit."""
    least: str
    """The least that a maker of such engines gives for it, with unit."""
    most: str
    """The most that a maker of such engines gives for it, with unit."""
    source: tuple[Source, ...]
    """Where the figure comes from."""


@dataclass(frozen=True, slots=True)
class Era:
    """What the years say of a point in which engines of a kind differ."""

    __pydantic_config__ = CONFIG

    field: str
    """A field of the build."""
    word: str
    """What it is taken to be."""
    first: int = 0
    """From this year on; 0: from the beginning."""
    last: int = 9999
    """Up to this year."""


@dataclass(frozen=True, slots=True)
class Variant:
    """Figures of a kind that go with one way of building it."""

    __pydantic_config__ = CONFIG

    field: str
    """A field of the build."""
    word: str
    """The word with which these figures go."""
    figures: dict[str, GeneralFigure]
    """Figures by their place in an engine sheet, over those of the kind."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of engine: how such engines are built as a rule, and general figures for them."""

    __pydantic_config__ = CONFIG

    name: str
    """What such an engine is called in the trade, e.g. 'Farm diesel four'."""
    note: str
    """What such engines are like."""
    place: int
    """Its place among the kinds where nothing tells them apart; 1 is what most often comes in."""
    years: tuple[int, int]
    """First and last year in which such engines were built in number."""
    build: Build
    """How they are built as a rule."""
    figures: dict[str, GeneralFigure]
    """Figures by their place in an engine sheet, e.g. 'ring_gap.wear'."""
    source: tuple[Source, ...]
    """Where the description comes from."""
    words: tuple[str, ...] = ()
    """What else people call it."""
    choices: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Field of the build -> words in which engines of this kind differ, the commonest first."""
    eras: tuple[Era, ...] = ()
    """What the years settle of the choices."""
    variants: tuple[Variant, ...] = ()
    """Figures that go with one of the choices."""
    rings_per_piston: int = 4
    """Rings on each piston."""
    mains_count: int = 0
    """How many main bearings; 0: one more than cylinders."""
    lash_state: Literal["hot", "cold", ""] = ""
    """Whether lash is set hot or cold, as a rule."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Described:
    """What a job says of an engine that has no sheet. An empty text was not asked; 'unknown' was, and nobody knows."""

    kind: str = ""
    """Id of a kind, where one is named."""
    year: str = ""
    """About when it was built, e.g. '1936', '1930s' or '1935-1940'."""
    build: tuple[tuple[str, str], ...] = ()
    """Field of the build -> word, in the order of the fields; cylinders as a figure in words."""

    def word(self, name: str) -> str:
        """What is said of one field; empty where nothing is."""
        return self.year if name == "year" else self.kind if name == "kind" else dict(self.build).get(name, "")

    def known(self, name: str) -> str:
        """The same, and empty as well where nobody knows."""
        word = self.word(name)
        return "" if word == "unknown" else word


@dataclass(frozen=True, slots=True)
class Standing:
    """A figure of a kind that stands in, by its place in an engine sheet."""

    path: str
    value: str
    least: str
    most: str
    standings: tuple[str, ...]
    """How well its sources stand: published, common practice, memory or judgement."""


@dataclass(frozen=True, slots=True)
class General:
    """How an engine without a sheet was filled in."""

    described: Described
    kind: str
    """Id of the kind whose figures stand in."""
    title: str
    """What that kind is called."""
    assumed: tuple[tuple[str, str], ...]
    """Field of the build -> word that nobody said and that was taken from the kind, in the order of the fields."""
    figures: tuple[Standing, ...]
    """Figures of the kind that stand in, in order of their places."""
