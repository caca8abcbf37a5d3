"""How an engine sheet is asked for: groups of fields, the words people use, and what is usual where nobody looked."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from .frozen import dataclass
from .sources import Source
from .terms import CONFIG

FieldKind = Literal[
    "word", "yes_no", "count", "ratio", "order", "band", "figure", "sizes", "torque", "hours", "money", "text"
]


@dataclass(frozen=True, slots=True)
class SheetField:
    """One field of the sheet, as it is asked for, explained and printed."""

    __pydantic_config__ = CONFIG

    label: str
    """Name of the field on the card, a few letters."""
    title: str
    """What is asked, as it stands before the prompt."""
    purpose: str
    """What the figure or the word is for, in one sentence."""
    kind: FieldKind
    """How what is typed is read."""
    unit: str = ""
    """Unit of the dimension: what is typed may carry any other of it."""
    like: str = ""
    """How a manual prints it."""
    worn: Literal["more", "less", "amount", ""] = ""
    """Of a band: whether the wear limit lies above it, below it, or is an amount of wear."""
    pick: Literal["most", "least", "middle", ""] = ""
    """Of a single figure: which is taken where a range is printed."""
    at: str = ""
    """Field that takes what stands behind 'at': the speed or the length that the figure belongs to."""
    state: str = ""
    """Field that takes 'hot' or 'cold' where that stands with the figure."""
    least: int = 0
    """Of a count: the smallest."""
    most: int = 0
    """Of a count: the largest."""
    seldom: bool = False
    """True where few makers print it: the card then has no blank for it."""
    words: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """The sheet's own word -> other ways in which people say it."""
    built: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Word of the build -> what it must be for the field to be asked."""


@dataclass(frozen=True, slots=True)
class SheetGroup:
    """Fields that stand together in a manual."""

    __pydantic_config__ = CONFIG

    title: str
    """Heading."""
    about: str
    """What to know before it is filled in."""
    fields: dict[str, SheetField]
    """Path in the sheet, such as 'crankpins.clearance' -> the field, in the order of asking."""


@dataclass(frozen=True, slots=True)
class UsualBuild:
    """How an engine is mostly made where nobody has looked. Of each word the first entry that fits speaks."""

    __pydantic_config__ = CONFIG

    set: dict[str, str | int]
    """Word of the build -> what is usual."""
    because: str
    """Why."""
    source: tuple[Source, ...]
    """Where it comes from."""
    built: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Word of the build -> what it must be."""


@dataclass(frozen=True, slots=True)
class SheetForm:
    """The whole form: groups in order, and what is usual."""

    groups: dict[str, SheetGroup]
    """Id -> group, in the order of asking."""
    usual: dict[str, UsualBuild]
    """Id -> entry, in the order of speaking."""

    def field(self, path: str) -> SheetField | None:
        """The field at a path of the sheet; None where the form has none."""
        return next((group.fields[path] for group in self.groups.values() if path in group.fields), None)
