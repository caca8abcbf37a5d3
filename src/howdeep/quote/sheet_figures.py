"""Figures of the engine sheet put into the steps of a sheet, with blanks for what is really set or measured."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from ..knowledge.engine_facts import count_of
from ..model.engine import Engine, Fit, StandIn, Torque
from ..model.knowledge import Knowledge
from ..model.limits import Limit
from ..model.shown_units import in_units
from .sheet_values import SheetStep

_PLACEHOLDER = re.compile(r"\{([a-z_0-9.]+)\}")
BLANK = "________"
GENERAL = "general, not the maker's"
MISSING = f"{BLANK} (not in the engine sheet: see the maker's manual)"
AMOUNTS = ("bore",)
"""Figures whose wear limit is how much may be worn away, not the size that is left."""


def figure_text(engine: Engine, path: str, units: str = "", *, own: bool = False) -> str | None:
    """A figure of the engine sheet as text, in the shop's units; None where the sheet does not give it. A figure of a
    kind says so. Where the exhausts have a figure of their own it is told with it, unless `own` asks for the figure
    alone."""
    value: Any = engine
    for part in path.split("."):
        value = value.get(part) if isinstance(value, dict) else getattr(value, part, None)
        if value is None:
            return None
    if isinstance(value, Fit):
        text, exhaust = _fit_text(value, units, amount=path in AMOUNTS), getattr(engine, f"{path}_exhaust", None)
        other = _fit_text(exhaust, units) if isinstance(exhaust, Fit) else None
        return f"{text}, exhaust {other}" if text and other and not own else text
    if isinstance(value, Torque):
        oiled = {"yes": "threads oiled", "no": "threads dry"}.get(value.lubricated, f"threads oiled or dry: {BLANK}")
        stages = (
            f"in stages of {', '.join(in_units(stage, units) for stage in value.stages)}"
            if value.stages
            else f"stages: {BLANK}"
        )
        figure = in_units(value.value, units)
        return (
            f"{in_units(value.least, units)} to {figure}, {stages}, {oiled}"
            if value.least
            else (f"{figure}, {stages}, {oiled}")
        )
    if isinstance(value, tuple) and value:
        return ", ".join(in_units(str(item), units) for item in value)
    if isinstance(value, StandIn):
        return f"about {in_units(str(value), units)} ({GENERAL})"
    if isinstance(value, (str, int, float)) and value != "":
        return in_units(str(value), units)
    return None


def _fit_text(fit: Fit, units: str = "", *, amount: bool = False) -> str | None:
    general = any(isinstance(text, StandIn) for text in (fit.low, fit.high, fit.wear))
    note = f", {GENERAL}" if general else ""
    low, high, wear = (in_units(str(text), units) if text else "" for text in (fit.low, fit.high, fit.wear))
    if low and high:
        worn = f", at most {wear} worn" if amount else f", renew {'below' if _below(fit) else 'beyond'} {wear}"
        return f"{low} to {high}" + (worn if wear else "") + note
    if wear:
        return f"at most {wear}{note}"
    return f"{low or high}{note}" if low or high else None


def _below(fit: Fit) -> bool:
    """Whether the wear limit lies below the figure: what wears gets less."""
    numbers = [re.match(r"[-+]?[\d.]+", str(text)) for text in (fit.wear, fit.low)]
    return all(numbers) and float(numbers[0].group()) < float(numbers[1].group())  # type: ignore[union-attr]


def limit_text(limit: Limit, units: str = "") -> str:
    """A general limit as text, e.g. '0.0005 in per inch of diameter'; one by itself in the shop's units."""
    unit = " %" if limit.unit == "percent" else f" {limit.unit}" if limit.unit else ""
    text = f"{limit.value:g}{unit}"
    return f"{text} per {limit.per}" if limit.per else in_units(text, units)


def filled(
    step: str, engine: Engine, limits: Mapping[str, Limit], units: str = "", each: Mapping[str, str] | None = None
) -> SheetStep:
    """A step with the engine's figures and general limits ({limits.id}) put in.

    Where the engine has a figure of its own, blanks follow for what was really set or measured: one, or one for each
    cylinder, journal or valve where `each` says so (`measured_each`).
    """
    figures, blanks, per = [], 0, ""
    named: set[str] = set()

    def put(match: re.Match[str]) -> str:
        nonlocal blanks, per
        name = match.group(1)
        limit = limits.get(name.removeprefix("limits."))
        if limit is not None and name.startswith("limits."):
            figures.append(limit_text(limit, units))
            return figures[-1]
        kind = (each or {}).get(name, "")
        if count_of(engine, kind) > blanks:
            blanks, per = count_of(engine, kind), kind
        text = figure_text(engine, name, units)
        again = name in named
        named.add(name)
        if text is None:
            return BLANK if again else MISSING
        if again and name.startswith("torques."):  # its stages stand in this step already
            text = in_units(engine.torques[name.removeprefix("torques.")].value, units)
        figures.append(text)
        return text

    text = _PLACEHOLDER.sub(put, step)
    return SheetStep(text, blanks > 0, tuple(figures), blanks, per)


def measured_each(knowledge: Knowledge) -> dict[str, str]:
    """Figure of the engine sheet -> what it is measured for: '', 'cylinder', 'main', 'crankpin' ..., from the
    observations that are held against it."""
    found: dict[str, str] = {}
    for item in knowledge.observations.values():
        for path in item.sheet:
            if item.moment == "teardown":
                found.setdefault(path, item.each)
    return found
