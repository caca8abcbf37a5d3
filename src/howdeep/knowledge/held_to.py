"""What entries that say how a fact comes about may name: fields of the sheet, limits, gauges, words of a sentence."""

from __future__ import annotations

import functools
import re
import string
import typing
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import fields

from ..errors import nearest
from ..model.engine import Engine, Fit, Journal
from ..model.knowledge import Knowledge
from ..model.limits import Limit
from ..model.quantity import DIMENSION
from .engine_facts import engine_fact_words
from .sheet_guard import MONEY, NO_FIGURES, unit_of

Place = tuple[str | int, ...]
"""Where inside an entry."""
Report = Callable[[str, Place, str, str], None]
"""(kind/id, path inside the entry, message, hint)"""


@functools.cache
def sheet_fields() -> dict[str, type]:
    """Field of the engine sheet -> whether it is a band (Fit), journals (Journal) or one figure (str)."""
    found: dict[str, type] = {}
    for shape, prefix in ((Engine, ""), (Journal, "crankpins."), (Journal, "mains.")):
        hints = typing.get_type_hints(shape)
        for item in fields(shape):
            kinds = {hints[item.name], *typing.get_args(hints[item.name])}
            kind = next((one for one in (Fit, Journal) if one in kinds), None)
            if kind is not None:
                found[f"{prefix}{item.name}"] = kind
            elif kinds == {str} and item.name not in (*NO_FIGURES, *MONEY):
                found[f"{prefix}{item.name}"] = str
    return found


def limits_named(knowledge: Knowledge) -> Iterator[str]:
    """Every limit that a judged, graded or computed fact, or a belief, may use; {volts} with each of its words."""
    for item in knowledge.reduced.values():
        if item.judge:
            ends = item.judge.limits
            for limit in (ends.low, ends.high, ends.wear, ends.share_of_low, *ends.over_high):
                yield from spelt(limit)
        if item.grade:
            for mark in item.grade.marks.values():
                yield from spelt(mark.limit)
    for entry in knowledge.computed.values():
        for limit in entry.limits.values():
            yield from spelt(limit)
    for seen in knowledge.observations.values():
        if seen.believed:
            yield seen.believed.most


def spelt(limit: str) -> Iterator[str]:
    """'charge_low_{volts}' -> charge_low_6, charge_low_12, ...; nothing for none."""
    named = re.search(r"\{([a-z0-9_]+)\}", limit)
    if named is None:
        yield from (limit,) if limit else ()
        return
    for word in engine_fact_words().get(f"engine.{named[1]}", ()):
        yield limit.replace(named[0], word)


def known_entry(knowledge: Knowledge, key: str, path: Place, name: str, where: str, report: Report) -> bool:
    """Whether there is such an entry; reported where not."""
    entries = getattr(knowledge, where)
    if name not in entries:
        singular = {
            "gauges": "gauge",
            "observations": "observation",
            "computed": "computation",
            "reduced": "reduced fact",
        }
        report(key, path, f"there is no {singular[where]} '{name}'", nearest(name, entries))
    return name in entries


def limit_at(knowledge: Knowledge, key: str, path: Place, limit: str, unit: str, report: Report) -> Limit | None:
    """The limit (the first, where a word of the build is filled in) if it is there and of the kind of `unit`."""
    if not limit:
        return None
    names = list(spelt(limit))
    found = next((knowledge.limits[name] for name in names if name in knowledge.limits), None)
    if "{" in limit and not names:
        words = [name.removeprefix("engine.") for name in engine_fact_words()]
        field = limit.partition("{")[2].partition("}")[0]
        report(key, path, f"'{field}' is no word of how an engine is built", nearest(field, words))
    elif found is None:
        report(key, path, f"there is no limit '{limit}'", nearest(limit, knowledge.limits))
    elif (
        unit
        and DIMENSION.get(found.unit) not in (DIMENSION.get(unit), None)
        and not any(f"limits/{name}" in knowledge.replaced for name in names)
    ):  # told at the figure itself
        report(key, path, f"'{limit}' is a {DIMENSION[found.unit]}, and what it limits is a {DIMENSION[unit]}", "")
        return None
    return found


def field_at(key: str, path: Place, name: str, sheet: dict[str, type], kinds: Collection[type], report: Report) -> bool:
    if name in sheet and sheet[name] in kinds:
        return True
    likely = [field for field, kind in sheet.items() if kind in kinds]
    report(
        key,
        path,
        f"'{name}' is no figure of an engine sheet that can stand here"
        if name in sheet
        else f"there is no field '{name}' in an engine sheet",
        nearest(name, likely),
    )
    return False


def same_kind(key: str, path: Place, what: str, unit: str, wanted: Iterable[str], report: Report) -> None:
    """Reported where `what` ('the field x is') is of none of the kinds of the units `wanted`."""
    kinds = list(dict.fromkeys(DIMENSION.get(one, one) for one in wanted))
    if kinds and DIMENSION.get(unit, unit) not in kinds:
        report(key, path, f"{what} a {DIMENSION.get(unit, unit)}, and this is a {' or a '.join(kinds)}", "")


def field_kind(key: str, path: Place, field: str, wanted: Iterable[str], report: Report) -> None:
    """Reported where a figure of the sheet is of none of the kinds wanted."""
    same_kind(
        key, path, f"the field '{field}' of the sheet is", unit_of(field.split(".", maxsplit=1)[0]), wanted, report
    )


def per_inch_of(key: str, path: Place, per: str, limits: dict[str, Limit], report: Report) -> None:
    """A limit that is counted per inch needs to know of what; where none is, nothing may be named."""
    counted = [name for name, limit in limits.items() if limit.per]
    if counted and not per:
        report(
            key,
            path,
            f"'{counted[0]}' is counted per {limits[counted[0]].per}: of which figure of the sheet?",
            "add per, e.g. per: bore",
        )
    elif per and limits and not counted:
        report(key, (*path, "per"), f"none of its limits is counted per inch of '{per}'", "leave it out")


def template_at(key: str, path: Place, told: str, known: tuple[str, ...], report: Report) -> None:
    try:
        found = [part for part in string.Formatter().parse(told) if part[1] is not None]
    except ValueError as error:
        report(key, path, f"'{told}': {error}", "write figures as {name}")
        return
    for _, part, how, turned in found:
        if how or turned:
            report(key, path, f"'{{{part}}}' stands alone: it is shown as the trade reads it", f"write {{{part}}}")
        if part not in known:
            report(
                key,
                path,
                f"'{{{part}}}' stands for nothing here",
                nearest(str(part), known) or f"known: {', '.join(known[:8])}",
            )
