"""The job: one customer's case, as it stands in its file and as values."""

from __future__ import annotations

from dataclasses import field
from typing import Any, Literal

from .engine import Engine
from .expect import Expect
from .frozen import dataclass
from .kind import General
from .terms import CONFIG, Rung
from .values import Value

JOB_FORMAT = 1


@dataclass(frozen=True, slots=True)
class Customer:
    """Who brings the engine, and what they say."""

    __pydantic_config__ = CONFIG

    name: str = ""
    """Name."""
    phone: str = ""
    """Telephone number."""
    email: str = ""
    """Mail address."""
    address: str = ""
    """Postal address."""
    words: str = ""
    """The complaint in the customer's own words."""
    machine: str = ""
    """What the engine sits in."""
    value_running: str = ""
    """What the machine is worth running, as the customer and the shop see it, e.g. '3400.00'."""
    value_as_is: str = ""
    """What it is worth as it stands; nothing where it is not said."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where the engine was tested."""

    __pydantic_config__ = CONFIG

    altitude: str = ""
    """Altitude with unit, e.g. '1200 ft'; without it sea level, and the output says so."""
    air_temperature: str = ""
    """Air temperature with unit."""


OTHER_WAIVERS = {
    "floor": "promised on less than the chance that this shop asks for",
    "two_steps": "so deep a job sold without opening and looking first",
}
"""What may be waived besides the holds of the rules, and what is then done."""


@dataclass(frozen=True, slots=True)
class Waiver:
    """A check that holds a deeper promise, waived in writing."""

    __pydantic_config__ = CONFIG

    by: str
    """Who decided."""
    reason: str = ""
    """Why."""
    date: str = ""
    """When."""
    how: str = ""
    """How: in person, by telephone, in writing."""


@dataclass(frozen=True, slots=True)
class Note:
    """Something to be remembered that no question asks for. It moves no answer."""

    __pydantic_config__ = CONFIG

    date: str
    """When it was written (ISO date)."""
    text: str
    """The note."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A photograph kept beside the job, named by what is in it."""

    __pydantic_config__ = CONFIG

    date: str
    """When it was kept (ISO date)."""
    of: str
    """What it shows: an observation, or words."""
    file: str
    """Its name in the folder of the job's photographs."""
    sha256: str
    """Hash of its bytes: whether it is still the same picture."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A numbered paper that was printed."""

    __pydantic_config__ = CONFIG

    number: str
    """As it stands on the paper, e.g. 'E-1001'."""
    kind: Literal["estimate", "change sheet"]
    """What it is."""
    date: str
    """When it was numbered (ISO date)."""
    content: str
    """Short hash of what it says: the same paper printed again carries the same number."""
    total: str = ""
    """Its total, e.g. '1240.00'."""


@dataclass(frozen=True, slots=True)
class Found:
    """What was really found, and how it ended."""

    __pydantic_config__ = CONFIG

    date: str
    """When the job was closed (ISO date)."""
    causes: dict[str, Literal["present", "absent"]] = field(default_factory=dict)
    """Cause -> present or absent; a cause not looked at is not listed."""
    scope_done: Rung | None = None
    """Scope really done."""
    hours: float | None = None
    """Hours worked."""
    cost: str = ""
    """What it cost the customer in the end, e.g. '1240.00'."""
    came_back: Literal["yes", "no", ""] = ""
    """Whether the engine came back with the same trouble."""
    note: str = ""
    """Anything else."""


@dataclass(frozen=True, slots=True)
class Job:
    """One customer's case, as written in its file."""

    __pydantic_config__ = CONFIG

    howdeep_job: Literal[1]
    """Format of the file."""
    engine: str
    """Id of an engine sheet, a path beside the job, a kind of engine, or 'unknown'; or a mapping of what is known of
    it, which reads as 'unknown' or its kind."""
    title: str = ""
    """A claim (cases) or a short name (jobs)."""
    opened: str = ""
    """Date the job was opened (ISO)."""
    customer: Customer = Customer()
    """The customer."""
    place: Place = Place()
    """Where the readings were taken."""
    answers: dict[str, Any] = field(default_factory=dict)
    """Observation -> answer, for choices; 'unknown' for "don't know", 'later' for "not now"."""
    readings: dict[str, Any] = field(default_factory=dict)
    """Observation -> measured value with unit, before opening."""
    teardown: dict[str, Any] = field(default_factory=dict)
    """Observation -> what the teardown showed."""
    notes: tuple[Note, ...] = ()
    """Notes, the oldest first."""
    photos: tuple[Photo, ...] = ()
    """Photographs, the oldest first."""
    done: tuple[str, ...] = ()
    """Operations done for this trouble that did not cure it. Answers and readings are those of the engine as it stands
    now, after that work."""
    waived: dict[str, Waiver] = field(default_factory=dict)
    """Hold, 'floor' or 'two_steps' -> waiver."""
    papers: tuple[Paper, ...] = ()
    """Numbered papers, the oldest first."""
    promises: dict[str, Any] = field(default_factory=dict)
    """Promise id -> the promise exactly as made. In the file, where it is kept: file (in the folder `JOB.promises`
    beside the job) and sha256 of its bytes; a promise of older versions stands there whole until the next save."""
    approvals: tuple[dict[str, str], ...] = ()
    """Recorded yeses: date, time, by, sum, how, promise, and the sheet (file and number) that it was said to."""
    found: Found | None = None
    """What was really found."""
    expect: Expect | None = None
    """Cases only: the outcome expected."""


@dataclass(frozen=True, slots=True)
class OpenJob:
    """A job read from its file against the rule base: values ready to reason with."""

    path: str
    """File it was read from."""
    digest: str
    """Hash of the file's bytes when it was read."""
    job: Job
    """As written."""
    engine: Engine
    values: dict[str, Value]
    """Observation -> value: a word, a number in the observation's unit, or a tuple with one per cylinder; for
    readings at several places each element is a tuple of rows, each a tuple of columns."""
    unknown: frozenset[str]
    """Observations answered "don't know"."""
    later: frozenset[str]
    """Observations put off."""
    places: dict[str, tuple[int, int]] = field(default_factory=dict)
    """Observation -> line and column in the file."""
    sheet_questions: tuple[str, ...] = ()
    """What is questioned in the engine sheet, as file:line:column and a sentence."""
    general: General | None = None
    """How the engine was filled in where it has no sheet; None for an engine sheet."""

    @property
    def priced_as(self) -> str:
        """Under which name the parts of this engine alone are priced: its sheet, else the kind it is taken as."""
        return self.general.kind if self.general else self.job.engine
