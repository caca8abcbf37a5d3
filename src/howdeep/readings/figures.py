"""Figures to judge by: the engine sheet's first, else a general limit, and every figure says which it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from ..model.engine import Engine, Fit, StandIn
from ..model.frozen import dataclass
from ..model.limits import Limit
from ..model.quantity import Quantity, parse

SHEET = "engine sheet"


@dataclass(frozen=True, slots=True)
class Figure:
    """A number and where it comes from."""

    value: float
    unit: str
    basis: str
    """'engine sheet', 'general limit <id>' or 'arithmetic'."""

    def __str__(self) -> str:
        return shown(self.value, self.unit)


@dataclass(frozen=True, slots=True)
class Band:
    """What a part may measure: new from low to high, and the wear limit; None where nobody says."""

    low: Figure | None = None
    high: Figure | None = None
    wear: Figure | None = None

    def middle(self) -> float | None:
        """Middle of the new band, where both ends are known."""
        return None if self.low is None or self.high is None else (self.low.value + self.high.value) / 2


def shown(value: float, unit: str) -> str:
    """A number with its unit and as many decimals as the trade reads: '0.0024 in', '112 psi', '12.40 V'."""
    places = {"in": 4, "psi": 0, "V": 2, "inHg": 1, "percent": 0, "rpm": 0, "lbf": 0, "ft3/h": 0}.get(unit)
    text = f"{value:g}" if places is None else f"{value:.{places}f}"
    if text.startswith("-") and not text.strip("-0."):
        text = text[1:]
    return f"{text} %" if unit == "percent" else f"{text} {unit}".strip()


def figure(text: str, unit: str) -> Figure | None:
    """A figure of the engine sheet in `unit`, or of the kind that stands in for one; None where both are silent. Raises
    QuantityError for a wrong unit."""
    return Figure(parse(text, unit=unit).to(unit), unit, basis_of_text(text)) if text else None


def amounts(texts: Iterable[str], unit: str) -> list[float]:
    """Figures of the engine sheet in `unit`, in order. Raises QuantityError for a wrong unit."""
    return [parse(text, unit=unit).to(unit) for text in texts]


def basis_of_text(text: str) -> str:
    """'engine sheet', or the general limit that a figure of a kind is."""
    return text.basis if isinstance(text, StandIn) else SHEET


def band(fit: Fit | None, unit: str) -> Band:
    """Low, high and wear of a band of the sheet in `unit`."""
    if fit is None:
        return Band()
    return Band(figure(fit.low, unit), figure(fit.high, unit), figure(fit.wear, unit))


@dataclass(frozen=True, slots=True)
class Limits:
    """The general limits of the rule base."""

    by_id: Mapping[str, Limit]

    def get(self, name: str, unit: str, times: float | None = 1.0) -> Figure | None:
        """General limit `name` in `unit`, times the dimension it is counted for; None where the rule base has none or
        the dimension is not known (`times` None)."""
        limit = self.by_id.get(name)
        if limit is None or times is None:
            return None
        return Figure(Quantity(limit.value, limit.unit).to(unit) * times, unit, f"general limit {name}")


def first(*figures: Figure | None) -> Figure | None:
    """The first figure that is known."""
    return next((item for item in figures if item is not None), None)


def above(base: Figure | None, allowance: Figure | None) -> Figure | None:
    """`base` plus an allowance (high limit + so much), with the allowance's basis; None where either is missing."""
    if base is None or allowance is None:
        return None
    return replace(allowance, value=base.value + allowance.value)


def times(base: Figure | None, share: float) -> Figure | None:
    """`base` times `share`, with the same basis."""
    return None if base is None else replace(base, value=base.value * share)


def filled(given: Band, *, low: Figure | None = None, high: Figure | None = None, wear: Figure | None = None) -> Band:
    """`given` with general figures where it is silent. A general low or high never stands beside one of the sheet, for
    the two need not belong together."""
    if given.low is None and given.high is None:
        return Band(low, high, first(given.wear, wear))
    return Band(given.low, given.high, first(given.wear, wear))


def bore_in(engine: Engine) -> float | None:
    """Standard bore in inches: the middle of the sheet's band."""
    known = band(engine.bore, "in")
    middle = known.middle()
    return middle if middle is not None else known.low.value if known.low else known.high.value if known.high else None


def displacement_in3(engine: Engine) -> float | None:
    """Swept volume of the whole engine in cubic inches (pi/4 x bore² x stroke x cylinders)."""
    bore, stroke = bore_in(engine), figure(engine.stroke, "in")
    if bore is None or stroke is None:
        return None
    return 0.7853981633974483 * bore * bore * stroke.value * engine.build.cylinders
