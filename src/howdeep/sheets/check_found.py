"""A sheet under check and what was found of it so far: what is sound, what is at fault, what is written otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field
from typing import Any

from ..errors import Fault, listed
from ..files.plain_yaml import dump_inline
from ..files.strict_yaml import Document, Path_
from ..model.frozen import dataclass
from ..model.quantity import QuantityError
from ..model.quantity import parse as parse_quantity
from ..model.sheet_form import SheetField, SheetForm
from .printed import Printed, Unreadable, printed
from .printed_spans import UnitWanted
from .printed_units import OFFERED


@dataclass(frozen=True, slots=True)
class Understood:
    """Something that was read as people write it, and how the sheet writes it."""

    fault: Fault
    path: tuple[str | int, ...]
    value: Any


@dataclass(slots=True)
class Walk:
    """The sheet while it is gone through."""

    document: Document
    form: SheetForm
    plain: dict[str, Any]
    """What is sound so far, as the sheet writes it."""
    faults: list[Fault] = field(default_factory=list)
    understood: list[Understood] = field(default_factory=list)

    def fault(self, path: Path_, message: str, hint: str = "", *, at_key: bool = False) -> None:
        self.faults.append(self.document.fault(path, message, hint, at_key=at_key))

    def take(self, path: Path_, value: Any, raw: Any) -> None:
        """A sound value; told where it is written otherwise than the sheet writes it."""
        if value != raw or isinstance(value, bool) != isinstance(raw, bool):
            self.tell(path, raw, value, as_written(value))
        self.put(path, value)

    def tell(self, path: Path_, raw: Any, value: Any, said: str, at: Path_ | None = None) -> None:
        """Say how something was read; `at` is where it stands, where that is not where it belongs. What another field
        brings in is told once, and of what is not written no word of the file is named."""
        if raw is None and any(item.path == path and item.value == value for item in self.understood):
            return
        read = f"{as_written(raw)} is understood as {said}" if raw is not None else f"{said}, as is said elsewhere here"
        fault = self.document.fault(at or path, f"{dotted(path)}: {read}")
        self.understood.append(Understood(fault, path, value))

    def put(self, path: Path_, value: Any) -> None:
        here: dict[Any, Any] = self.plain
        for part in path[:-1]:
            here = here.setdefault(part, {})
        here[path[-1]] = value

    def read(self, path: Path_, form: SheetField, raw: Any, purpose: str = "", like: str = "") -> Printed | None:
        """What is printed at a path; None, and a fault with `purpose` and `like`, where it cannot be read."""
        try:
            return printed(str(raw), dotted(path), form, {})
        except UnitWanted as wanted:
            self.fault(
                path,
                f"{dotted(path)} is {as_written(raw)} and says no unit: {listed(OFFERED[wanted.dimension])}?",
                "; ".join(filter(None, (f"such as '{raw} {form.unit}'", purpose))),
            )
        except Unreadable as error:
            such = f"such as {like}" if like else ""
            self.fault(path, f"{dotted(path)}: {error}", "; ".join(filter(None, (purpose, such))))
        return None


def raw_at(walk: Walk, path: Path_) -> Any:
    here: Any = walk.document.value
    for part in path:
        here = here.get(part) if isinstance(here, dict) else None
    return here


def purpose_of(form: SheetField | None) -> str:
    return f"{form.purpose[0].lower()}{form.purpose[1:].rstrip('.')}" if form else ""


def is_quantity(text: str, unit: str) -> bool:
    try:
        parse_quantity(text, unit=unit)
    except QuantityError:
        return False
    return True


def dotted(path: Sequence[str | int]) -> str:
    return ".".join(map(str, path))


def as_written(raw: Any) -> str:
    """A value as it was written, short."""
    text = (
        dump_inline(raw)
        if isinstance(raw, (dict, list, bool)) or raw is None
        else f"'{raw}'"
        if isinstance(raw, str)
        else f"{raw}"
    )
    return text if len(text) <= 80 else f"{text[:77]}..."
