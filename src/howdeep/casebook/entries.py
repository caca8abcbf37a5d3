"""Entries of published works as values. Every field's text says what may stand in it."""

from __future__ import annotations

from dataclasses import field
from typing import Any, Literal

from ..model.frozen import dataclass
from ..model.job import OpenJob
from ..model.terms import CONFIG


@dataclass(frozen=True, slots=True)
class Printed:
    """One entry as written: a trouble with its sign, and what the work prints of it."""

    __pydantic_config__ = CONFIG

    title: str
    """The trouble and the sign that separates it, in our own words."""
    where: str
    """Section, table or page."""
    engine: str | dict[str, Any] = ""
    """What it is laid on: the id of a shipped engine sheet, or the build of the work's own engine, as in a job."""
    answers: dict[str, Any] = field(default_factory=dict)
    """Observation -> answer: the complaint and the sign, as far as a customer says them."""
    readings: dict[str, Any] = field(default_factory=dict)
    """Observation -> value, as far as a test shows them."""
    teardown: dict[str, Any] = field(default_factory=dict)
    """Observation -> value, as far as the open engine shows them."""
    unsayable: tuple[str, ...] = ()
    """Parts of the complaint or the sign that no question of the rule base takes."""
    causes: tuple[str, ...] = ()
    """Printed causes that the rule base has, in printed order. What a printed line may be here stands as several."""
    unknown_causes: tuple[str, ...] = ()
    """Printed causes that it has not."""
    not_ours: tuple[str, ...] = ()
    """Printed causes that none of the engines here is built to have (ports, blower, petcocks, hot bulb)."""
    behind: tuple[str, ...] = ()
    """For a worn part found: what the work prints as the reason of the wear. It is no cause of a complaint."""
    remedy: tuple[str, ...] = ()
    """Operations that the printed action comes to, any of which will do; none: what cures the printed causes."""
    unknown_remedy: tuple[str, ...] = ()
    """Printed actions that no operation of the rule base is."""
    tests: tuple[str, ...] = ()
    """Printed tests, as checks or observations."""
    no_job: str = ""
    """Why it makes no job: it prints no trouble with a cause."""
    facts: dict[str, str] = field(default_factory=dict)
    """What an entry that makes no job says."""


@dataclass(frozen=True, slots=True)
class Handbook:
    """One file: a published work and its entries."""

    __pydantic_config__ = CONFIG

    howdeep_handbook: Literal[1]
    """Format of the file."""
    work: str
    """Id in rules/sources.yaml."""
    built: str
    """Engines that the work speaks of."""
    entries: dict[str, Any]
    """Id -> entry."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry, checked against the rule base and ready to be asked."""

    work: str
    id: str
    built: str
    printed: Printed
    job: OpenJob | None
    """The job it makes; None where it makes none."""
    file: str
    line: int

    @property
    def name(self) -> str:
        """'work/id', for lists."""
        return f"{self.work}/{self.id}"
