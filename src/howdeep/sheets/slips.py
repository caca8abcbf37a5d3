"""The slips that would make a doubted figure right: another unit, the decimal point, radius for diameter."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from ..files.strict_yaml import Path_
from ..knowledge.sheet_guard import unit_of
from ..model.frozen import dataclass
from ..model.quantity import DIMENSION, UNITS, QuantityError, parse
from .draft import Draft, doubt_of, with_values
from .printed_spans import decimal_text
from .printed_units import OFFERED, unit_named

MOST = 3
_PLACES = (
    (Fraction(1, 10), "the decimal point one place to the left"),
    (Fraction(10), "the decimal point one place to the right"),
    (Fraction(1, 100), "the decimal point two places to the left"),
    (Fraction(100), "the decimal point two places to the right"),
    (Fraction(1, 1000), "the decimal point three places to the left"),
)
_ROUND = (
    (Fraction(2), "a radius was typed where the diameter is kept"),
    (Fraction(1, 2), "a diameter was typed where half of it is kept"),
)


@dataclass(frozen=True, slots=True)
class Slip:
    """One way in which the figure would be right."""

    value: Any
    """Plain value of the field."""
    why: str
    """'thousandths were meant', in a few words."""


def likely_slips(draft: Draft, path: str, value: Any, others: Mapping[str, Any]) -> list[Slip]:
    """At most three other readings of what was typed that nothing is said against, the likeliest first."""
    found: list[Slip] = []
    seen: set[tuple[tuple[Path_, str], ...]] = set()
    for slip in _readings(value, unit_of(path.split(".", maxsplit=1)[0])):
        if len(found) == MOST:
            break
        size = _size_of(slip.value)
        if size not in seen and not doubt_of(draft, with_values(draft, {path: slip.value, **others})):
            found.append(slip)
            seen.add(size)
    return found


def _size_of(value: Any) -> tuple[tuple[Path_, str], ...]:
    """What a reading comes to, whatever its unit: the same figure is not offered twice."""
    sizes = []
    for at, raw in _numbers(value, ()):
        number, unit = _split(raw)
        factor = UNITS[DIMENSION[unit]][unit][0] if unit in DIMENSION else 1.0
        sizes.append((at, f"{float(number or 0) * factor:.3g}"))
    return tuple(sizes)


def _readings(value: Any, unit: str) -> Iterator[Slip]:
    numbers = dict(_numbers(value, ()))
    if not numbers:
        return
    dimension = DIMENSION[unit]
    own = {text.rpartition(" ")[2] for text in numbers.values() if isinstance(text, str)}
    for other in OFFERED.get(dimension, ()):
        named = unit_named(other, dimension)
        if named and own and other not in own:
            yield Slip(_changed(value, lambda text, named=named: _in(text, named)), f"{other} was meant")
            if len(own) == 1 and (unit_kept := next(iter(own))) in DIMENSION:
                yield Slip(
                    _changed(value, lambda text, named=named, kept=unit_kept: _into(_in(text, named), kept)),
                    f"{other} was meant",
                )
    for factor, why in _PLACES:
        yield Slip(_changed(value, lambda text, factor=factor: _times(text, factor)), why)
    if len(numbers) > 1:
        for place in numbers:
            for factor, why in _PLACES[:2]:
                yield Slip(_changed(value, lambda text, factor=factor: _times(text, factor), only=place), why)
            for other in OFFERED.get(dimension, ()):
                named = unit_named(other, dimension)
                if named and other not in own:
                    yield Slip(
                        _changed(value, lambda text, named=named: _in(text, named), only=place),
                        f"{other} was meant for one of them",
                    )
    for factor, why in _ROUND:
        if dimension == "length":
            yield Slip(_changed(value, lambda text, factor=factor: _times(text, factor)), why)


def _numbers(value: Any, at: Path_) -> Iterator[tuple[Path_, Any]]:
    if isinstance(value, Mapping):
        for key, item in value.items():
            if key not in ("size", "grade", "lubricated", "count", "source"):
                yield from _numbers(item, (*at, key))
    elif isinstance(value, (list, tuple)):
        for index, item in enumerate(value):
            yield from _numbers(item, (*at, index))
    elif isinstance(value, (str, int, float)) and not isinstance(value, bool):
        yield at, value


def _changed(value: Any, step: Any, at: Path_ = (), only: Path_ | None = None) -> Any:
    if isinstance(value, Mapping):
        return {
            key: item
            if key in ("size", "grade", "lubricated", "count", "source")
            else _changed(item, step, (*at, key), only)
            for key, item in value.items()
        }
    if isinstance(value, (list, tuple)):
        return [_changed(item, step, (*at, index), only) for index, item in enumerate(value)]
    return step(value) if only in (None, at) else value


def _times(raw: Any, factor: Fraction) -> Any:
    number, unit = _split(raw)
    if number is None:
        return raw
    result = number * factor
    if isinstance(raw, (int, float)):
        return int(result) if result.denominator == 1 else round(float(result), 4)
    return f"{decimal_text(result)} {unit}".strip()


def _in(raw: Any, named: tuple[str, Fraction]) -> Any:
    number, _ = _split(raw)
    return raw if number is None or not isinstance(raw, str) else f"{decimal_text(number * named[1])} {named[0]}"


def _into(raw: Any, unit: str) -> Any:
    """A figure in another unit, to four figures."""
    return raw if not isinstance(raw, str) else f"{parse(raw, unit=unit).to(unit):.4g} {unit}"


def _split(raw: Any) -> tuple[Fraction | None, str]:
    if isinstance(raw, (int, float)):
        return Fraction(str(raw)), ""
    unit = str(raw).rpartition(" ")[2]
    try:
        if unit in DIMENSION:
            parse(raw, unit=unit)
        else:
            unit = ""
        whole, _, part = str(raw).removesuffix(unit).strip().rpartition(" ")
        return (Fraction(whole) if whole else Fraction(0)) + Fraction(part), unit
    except (QuantityError, ValueError, ZeroDivisionError):
        return None, ""
