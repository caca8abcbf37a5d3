"""Figures and ranges out of the parts of what was typed: each with its unit and whether it is a limit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Literal

from ..model.frozen import dataclass
from ..model.quantity import UNITS
from .printed_tokens import Token, Unreadable, tokens
from .printed_units import unit_named

Mark = Literal["", "low", "high", "limit", "at"]
AGREES = 0.04
"""How far two printings of one figure in two units may lie apart: makers round."""


class UnitWanted(Exception):
    """A bare figure, and nobody has said yet in what unit."""

    def __init__(self, dimension: str):
        super().__init__(dimension)
        self.dimension = dimension


@dataclass(frozen=True, slots=True)
class Number:
    """A number as printed, in a unit that sheets keep."""

    value: Fraction
    text: str
    """As printed where the unit is that of the print, else worked out."""
    unit: str = ""

    @property
    def plain(self) -> str:
        """'0.022 in', as the sheet keeps it."""
        return f"{self.text} {self.unit}".strip()


@dataclass(frozen=True, slots=True)
class Span:
    """One figure, or a range from low to high."""

    low: Number
    high: Number | None = None
    mark: Mark = ""

    @property
    def most(self) -> Number:
        return self.high or self.low


@dataclass(frozen=True, slots=True)
class Reading:
    """What a line of print says."""

    spans: tuple[Span, ...]
    at: Span | None = None
    """What stands behind 'at', of whatever dimension."""
    heat: str = ""
    """'hot' or 'cold' where it is said."""
    oiled: str = ""
    """'yes' or 'no' where it is said."""
    unit: str = ""
    """Unit that was said or taken for the figures; empty for bare numbers."""
    explicit: bool = False
    """True where the line says the unit itself."""
    step: Number | None = None
    """What sizes in a row rise by, where that is said."""


@dataclass(slots=True)
class _Part:
    """A figure or range while its unit and mark are not yet known."""

    low: Token
    high: Token | None = None
    unit: Token | None = None
    mark: Mark = ""
    plus: Token | None = None
    minus: Token | None = None
    step: bool = False
    inside: bool = False
    """True where it stands in brackets."""


def reading_of(text: str, dimension: str, units: Mapping[str, str]) -> Reading:
    """The figures in a line of print. `units` are those said for bare figures, by dimension.

    Raises Unreadable for what has no figure or figures that contradict each other; UnitWanted for a bare figure.
    """
    parts = [part for part in tokens(text, dimension) if part.kind != "word" or part.text in "()"]
    found = _parts(parts)
    if not found:
        raise Unreadable(f"there is no figure in '{text.strip()}'")
    own = [part for part in found if part.mark != "at" and not part.step]
    behind = [part for part in found if part.mark == "at"]
    steps = [part for part in found if part.step]
    if not own:
        raise Unreadable(f"there is no figure before 'at' in '{text.strip()}'")
    wrong = next((part.unit for part in own if part.unit and part.unit.dimension != dimension), None)
    if wrong is not None:
        raise Unreadable(
            f"'{wrong.text.strip()}' is a unit of {wrong.dimension}"
            + (f"; a {dimension} is wanted here" if dimension else "; a bare number is wanted here")
        )
    _share_units([*own, *steps])
    said = next((part.unit for part in own if part.unit), None)
    if dimension and not units.get(dimension) and any(part.unit is None for part in own):
        raise UnitWanted(dimension)
    assumed = units.get(dimension, "")
    wanted = ((unit_named(assumed, dimension) if assumed else None) or (assumed,))[0]
    spans = _once([_span(part, dimension, assumed) for part in own], wanted)
    at = _span(behind[0], behind[0].unit.dimension if behind and behind[0].unit else "", "") if behind else None
    kinds = {part.kind for part in parts}
    return Reading(
        tuple(spans),
        at,
        "hot" if "hot" in kinds else "cold" if "cold" in kinds else "",
        "yes" if "oiled" in kinds else "no" if "dry" in kinds else "",
        spans[0].low.unit,
        said is not None,
        _span(steps[0], dimension, assumed).low if steps else None,
    )


def _parts(parts: Sequence[Token]) -> list[_Part]:
    """Numbers joined to ranges, with the unit behind them and the mark before or behind."""
    behind = _marks_behind(parts)
    found: list[_Part] = []
    pending: Mark = ""
    step, joined, sign, inside = False, False, "", False
    for index, part in enumerate(parts):
        if part.kind == "number":
            last = found[-1] if found else None
            if sign and last is not None:
                if sign in ("plus", "both"):
                    last.plus = part
                if sign in ("minus", "both"):
                    last.minus = part
                sign = ""
            elif joined and last is not None and last.high is None and last.plus is None and not pending and not step:
                last.high = part
            else:
                found.append(_Part(part, mark=pending, step=step, inside=inside))
                pending, step = "", False
            joined = False
        elif part.kind == "unit":
            if found and found[-1].unit is None:
                found[-1].unit = part
        elif part.kind == "range":
            last = found[-1] if found else None
            if last is not None and last.plus is not None and last.minus is None and last.high is None:
                sign = "minus"  # '3.125 +.001 -.000'
            else:
                joined = True
        elif part.kind in ("plus", "minus"):
            sign = ("both" if part.text in ("±", "+/-") else part.kind) if found else ""
        elif part.kind in ("low", "high", "limit"):
            mark: Mark = part.kind
            if index in behind and found:
                found[-1].mark = found[-1].mark or mark
            elif pending != "limit":
                pending = mark
            joined = False
        elif part.kind == "at":
            pending, joined = "at", False
        elif part.kind == "steps":
            step = True
        elif part.kind == "separator":
            joined = False
        elif part.text in "()":
            inside = part.text == "("
    return found


def _marks_behind(parts: Sequence[Token]) -> set[int]:
    """Which marks belong to the figure before them: '.013 min., .019 max.', but 'min .013, max .019'. Between two
    figures it hangs on whether the last mark of the line has a figure behind it."""
    kinds = ["number" if part.kind == "unit" else part.kind for part in parts]
    marks = [index for index, kind in enumerate(kinds) if kind in ("low", "high", "limit")]
    ends = bool(marks) and "number" not in kinds[marks[-1] :]
    result = set()
    for index in marks:
        before = index > 0 and kinds[index - 1] == "number"
        after = index + 1 < len(kinds) and kinds[index + 1] in ("number", "low", "high", "limit", "at")
        if before and (not after or ends):
            result.add(index)
    return result


def _share_units(parts: Sequence[_Part]) -> None:
    """A figure without a unit has that of the next one, else that of the last before it; a unit in brackets says
    nothing of what stands outside them."""
    for row in (list(reversed(parts)), list(parts)):
        unit: Token | None = None
        closed = False
        for part in row:
            if part.unit is not None:
                unit, closed = part.unit, part.inside
            elif not closed or part.inside:
                part.unit = unit


def _span(part: _Part, dimension: str, assumed: str) -> Span:
    def number(token: Token, value: Fraction | None = None) -> Number:
        exact = token.value if value is None else value
        if part.unit:
            unit, factor = part.unit.unit, part.unit.factor
        else:
            unit, factor = (unit_named(assumed, dimension) if assumed else None) or (assumed, Fraction(1))
        if factor == 1 and value is None:
            return Number(exact, token.text, unit)
        return Number(exact * factor, worked_text(exact * factor, factor), unit)

    if part.plus is not None or part.minus is not None:
        up = part.plus.value if part.plus else Fraction(0)
        down = part.minus.value if part.minus else Fraction(0)
        return Span(number(part.low, part.low.value - down), number(part.low, part.low.value + up), part.mark)
    low, high = number(part.low), number(part.high) if part.high else None
    if high is not None and high.value < low.value:
        low, high = high, low
    return Span(low, high, part.mark)


def decimal_text(value: Fraction) -> str:
    """A number in decimals: exact where six places are enough, else four figures."""
    for places in range(7):
        if (value * 10**places).denominator == 1:
            return f"{float(value):.{places}f}"
    return f"{float(value):.4g}"


def worked_text(value: Fraction, factor: Fraction) -> str:
    """A number that was worked out: thousandths to the thousandth at least, other systems of units to four figures."""
    if factor == 1:
        return decimal_text(value)
    if factor.numerator == 1 or factor.denominator == 1:
        text = decimal_text(value)
        places = len(text.partition(".")[2])
        return text if factor >= 1 or places >= 3 else f"{float(value):.3f}"
    return f"{float(value):.4g}"


def in_unit(number: Number, unit: str) -> Fraction:
    """The value of a number in another unit of its dimension; itself where either has no unit."""
    if not number.unit or number.unit == unit:
        return number.value
    for units in UNITS.values():
        if number.unit in units and unit in units:
            return number.value * Fraction(repr(units[number.unit][0])) / Fraction(repr(units[unit][0]))
    return number.value


def _once(spans: list[Span], wanted: str) -> list[Span]:
    """Figures printed in two units once. Raises Unreadable where the two do not say the same."""
    units = list(dict.fromkeys(span.low.unit for span in spans))
    if len(units) < 2:
        return spans
    rows = {unit: [span for span in spans if span.low.unit == unit] for unit in units}
    kept = wanted if wanted in rows else units[0]
    for unit, row in rows.items():
        if unit != kept and not all(any(_same(mine, other) for mine in rows[kept]) for other in row):
            _contradicted(rows[kept], row)
            return spans  # one fit in two units: taken as printed, and questioned by the guard
    return rows[kept]


def _same(mine: Span, other: Span) -> bool:
    """Whether one figure or range is printed twice, in two units."""
    return mine.mark == other.mark and _agree(mine.low, other.low) and _agree(mine.most, other.most)


def _contradicted(kept: list[Span], row: list[Span]) -> None:
    """Raises Unreadable where as many figures stand in the other unit and say something else."""
    if len(kept) != len(row) or any(mine.mark != other.mark for mine, other in zip(kept, row, strict=True)):
        return
    for mine, other in zip(kept, row, strict=True):
        for one, two in ((mine.low, other.low), (mine.most, other.most)):
            if not _agree(one, two):
                raise Unreadable(
                    f"{one.plain} and {two.plain} are not the same: {one.plain} is "
                    f"{float(in_unit(one, two.unit)):.4g} {two.unit}"
                )


def _agree(one: Number, two: Number) -> bool:
    here, there = float(in_unit(one, two.unit)), float(two.value)
    return abs(here - there) <= AGREES * max(abs(here), abs(there), 1e-12)
