"""What one interview in a terminal remembers between questions."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from rich.console import Console

from .prompt import Ask
from .reading import Units
from .screen import size_of


@dataclass(slots=True)
class Sitting:
    """What one interview remembers between questions."""

    console: Console
    ask: Ask
    history: list[str] = field(default_factory=list)
    """Questions answered, the newest last."""
    asked_again: set[str] = field(default_factory=set)
    """Questions put off and asked once more; who puts them off again is not asked a third time."""
    passed: set[str] = field(default_factory=set)
    """Questions beyond those worth asking that were put off in this sitting."""
    read: set[str] = field(default_factory=set)
    """Cautions that were read."""
    ticked: set[str] = field(default_factory=set)
    """Tests whose conditions were asked for."""
    units: Units = field(default_factory=Units)
    unsaved: tuple[str, str, Any] | None = None
    """Question, what was typed and its plain value, where it is not known to be on disk."""

    @property
    def width(self) -> int:
        return size_of(self.console)[0]


class Enough(Exception):
    """The person has had enough of this part."""
