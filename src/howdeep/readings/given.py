"""What a function that computes facts is given: readings, limits, gauges and figures of the sheet by parameter names.

Which reading or limit a name stands for is said by the rules (computed.yaml); no function knows an id.
"""

from __future__ import annotations

from typing import Any

from ..model.engine import Engine, Fit, Journal
from ..model.frozen import dataclass
from ..model.judged import Computed, Judge
from ..model.quantity import Quantity
from ..model.values import Grid
from .figures import Band, Figure, band, figure
from .measured import Taken


def field_of(engine: Engine, path: str) -> Fit | Journal | str | None:
    """What stands in a field of the engine sheet ('ring_gap', 'crankpins.clearance', 'lash_inlet'); None where there is
    no such part."""
    found: Any = engine
    for part in path.split("."):
        found = getattr(found, part, None)
    return found if isinstance(found, (Fit, Journal, str)) else None


def first_field(engine: Engine, paths: tuple[str, ...]) -> Fit | Journal | str | None:
    """The first of several fields of the sheet that is filled in; None where none is."""
    for path in paths:
        found = field_of(engine, path)
        if found and found != Fit():
            return found
    return None


def inches_of(engine: Engine, path: str) -> float | None:
    """Size in inches that a limit counted per inch is multiplied by: the middle of a band, else the end that is
    known."""
    found = field_of(engine, path) if path else None
    if isinstance(found, str):
        single = figure(found, "in")
        return single.value if single else None
    known = band(found, "in") if isinstance(found, Fit) else Band()
    one = known.low or known.high
    return known.middle() if known.middle() is not None else one.value if one else None


def limit_of(taken: Taken, name: str, unit: str, times: float | None = 1.0) -> Figure | None:
    """General limit in `unit`, times the dimension that it is counted for; {volts} in its id is a word of the build."""
    if "{" in name:
        build = taken.engine.build
        name = name.format_map({field: getattr(build, field) for field in build.__dataclass_fields__})
    return taken.limits.get(name, unit, times) if name else None


def error_of(taken: Taken, gauge: str, unit: str) -> float:
    """How far one reading with a gauge may stand off the truth, in `unit`."""
    item = taken.rules.gauges[gauge]
    return item.error if item.unit == unit else Quantity(item.error, item.unit).to(unit)


@dataclass(frozen=True, slots=True)
class Given:
    """What one function is given of a job."""

    taken: Taken
    by: Computed

    @property
    def engine(self) -> Engine:
        return self.taken.engine

    def numbers(self, name: str, unit: str) -> tuple[float | None, ...] | None:
        """One number in `unit` per cylinder (journal, valve); None where none was taken."""
        return self.taken.numbers(self.by.readings[name], unit)

    def grids(self, name: str, unit: str) -> tuple[Grid | None, ...] | None:
        """Readings at several places per cylinder (journal) in `unit`; None where none was taken."""
        return self.taken.grids(self.by.readings[name], unit)

    def words(self, name: str) -> tuple[str | None, ...] | None:
        """One answer per journal (cylinder, valve); None where none was given."""
        return self.taken.words(self.by.readings[name])

    def number(self, name: str, unit: str) -> float | None:
        """A single number in `unit`; None where not taken."""
        return self.taken.number(self.by.readings[name], unit)

    def word(self, name: str) -> str | None:
        """Answer of a choice; None where not given."""
        return self.taken.word(self.by.readings[name])

    def limit(self, name: str, unit: str, times: float | None = 1.0) -> Figure | None:
        """General limit in `unit`, times the dimension it is counted for; None where either is not known."""
        return limit_of(self.taken, self.by.limits[name], unit, times)

    def most(self, name: str, unit: str, times: float = 1.0) -> float:
        """A figure up to which a reading is believed, in `unit` (a share as a fraction); infinite without one."""
        found = self.limit(name, unit, times)
        return float("inf") if found is None else found.value / (100.0 if unit == "percent" else 1.0)

    def error(self, name: str, unit: str = "in") -> float:
        """How far one reading with a gauge may stand off the truth, in `unit`."""
        return error_of(self.taken, self.by.gauges[name], unit)

    def sheet(self, name: str) -> Fit | Journal | str | None:
        """The first filled-in field of the sheet that stands for a name."""
        return first_field(self.taken.engine, self.by.sheet[name])

    def band(self, name: str, unit: str) -> Band:
        """A band of the sheet in `unit`, empty where it is silent."""
        found = self.sheet(name)
        return band(found, unit) if isinstance(found, Fit) else Band()

    def journal(self, name: str = "journal") -> Journal | None:
        """Crankpins or mains of the sheet."""
        found = self.sheet(name)
        return found if isinstance(found, Journal) else None

    def reading(self, name: str) -> str:
        """Id of the observation that stands for a name."""
        return self.by.readings[name]

    def fact(self, name: str) -> str:
        """Id of the reduced fact that stands for a name."""
        return self.by.facts[name]

    def judge(self, name: str) -> Judge | None:
        """How another fact is judged."""
        return self.taken.rules.reduced[self.by.judged[name]].judge

    def also(self, name: str) -> Given:
        """What another function is given."""
        return Given(self.taken, self.taken.rules.computed[self.by.also[name]])
