"""The figures of a price list held to what they can be, beside each other and beside the example list.

The example's figures are brought to the level of the list's own first (the middle of own over example), so that neither
country nor year matters. What can hardly be is questioned; a word in the list (`sure`) settles it.
"""

from __future__ import annotations

import contextlib
import statistics
from collections.abc import Callable, Iterable, Mapping
from decimal import InvalidOperation
from typing import Any

from ..knowledge.figure_guard import Doubt, Guard, Number, Path_, hold_all, settled, told
from ..model.knowledge import Knowledge
from ..model.plausible import Plausible
from .marks import figures_in
from .money import MoneyError, read_money

ENOUGH = 5
"""Own figures of a table from which its level is taken (judgement)."""
_PERCENT = ("supplies_percent", "tax_percent", "deposit_percent", "look_credit_percent", "growth_factor")
_PLAIN = ("promise_floor", "firm_floor", "valid_days", "old_after_days")


def numbers_of_prices(bare: Mapping[str, Any]) -> dict[Path_, Number]:
    """Every guarded figure of a plain list with bare figures; what is no figure is not among them, nor is a percentage
    of 0, which is none."""
    currency = str(bare.get("currency", ""))
    found: dict[Path_, Number] = {}
    for path, value in figures_in(dict(bare)):
        text = "" if value is None else str(value).strip()
        with contextlib.suppress(MoneyError, ValueError, InvalidOperation):
            if path[0] in _PERCENT:
                number = float(text)
            else:
                number = float(read_money(text, currency or text[:3]))
            if number or path[0] not in _PERCENT:
                found[path] = Number(number, text)
    for place, value in _others(bare):
        with contextlib.suppress(ValueError, TypeError):
            found[place] = Number(float(value), f"{value}")
    return found


def _others(bare: Mapping[str, Any]) -> Iterable[tuple[Path_, Any]]:
    for name in _PLAIN:
        if name in bare:
            yield (name,), bare[name]
    hours = bare.get("hours")
    for name, value in hours.items() if isinstance(hours, dict) else ():
        yield ("hours", name), value


def guard_prices(
    bare: Mapping[str, Any],
    examples: Iterable[Path_],
    example: Mapping[str, Any],
    knowledge: Knowledge,
    table: Iterable[Plausible],
) -> tuple[list[Doubt], list[Doubt]]:
    """What is refused and what is questioned in a plain list with bare figures.

    `examples`: figures that are marked as examples; `example`: the example list, plain and bare.
    """
    numbers, shown, marked = numbers_of_prices(bare), numbers_of_prices(example), frozenset(examples)
    level = _levels(numbers, shown, marked, same=bare.get("currency") == example.get("currency"))

    def beside(path: Path_, other: Path_) -> Number | None:
        if other == ("general",):  # of an engine of which the example has no price either
            if path in shown:
                return None
            part = ("parts", path[-1])
            return numbers.get(part) or _at(shown.get(part), level(part))
        if other != ("example",):
            held = tuple(str(part) for part in other)
            return numbers.get(held) if (path in marked) == (held in marked) else None
        if path[0] == "hours":
            operation = knowledge.operations.get(str(path[1]))
            return Number(operation.hours, f"{operation.hours:g}") if operation and operation.hours else None
        if path in marked and path in shown and shown[path].value == numbers[path].value:
            return None  # the example itself
        return _at(shown.get(path), 1.0 if path in marked else level(path))

    guard = Guard(numbers, lambda path: "", beside, lambda path: f"the list says so: sure: {{{told(path)}: why}}")
    hold_all(guard, table)
    sure = bare.get("sure")
    return guard.refused, settled(guard, sure if isinstance(sure, dict) else {}, "price list")


def _at(number: Number | None, level: float | None) -> Number | None:
    if number is None or level is None:
        return None
    return Number(number.value * level, f"{number.value * level:.2f}")


def _levels(
    numbers: Mapping[Path_, Number], shown: Mapping[Path_, Number], marked: frozenset[Path_], *, same: bool
) -> Callable[[Path_], float | None]:
    """The level of the list's own figures over the example's, by figure: of the table where it has enough of its own,
    else of all, else of the labour rate; in another currency None where nothing tells."""
    ratios: dict[str, list[float]] = {}
    for path, number in numbers.items():
        other = shown.get(path)
        if (
            path not in marked
            and path[0] in ("parts", "machine", "labour_rate")
            and number.value > 0
            and other
            and other.value > 0
        ):
            ratios.setdefault(str(path[0]), []).append(number.value / other.value)
    every = [ratio for found in ratios.values() for ratio in found]
    middle = statistics.median(every) if len(every) >= ENOUGH else 1.0 if same else None

    def level(path: Path_) -> float | None:
        if path[0] == "labour_rate":  # nothing but the currency holds it to the example's
            return 1.0 if same else middle
        own = ratios.get("parts" if path[0] == "engine_parts" else str(path[0]), ())
        return statistics.median(own) if len(own) >= ENOUGH else middle

    return level
