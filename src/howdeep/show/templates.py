"""The templates of every self-contained page, with what all of them may use."""

from __future__ import annotations

import functools
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from ..model.shown_units import in_prose
from ..quote.sheet_values import SheetStep
from .price_notes import line_note
from .words import ADVICE, chance, money, moved, percent

if TYPE_CHECKING:
    from jinja2 import Environment


@functools.cache
def environment() -> Environment:
    """The templates, with automatic escaping; an undefined name is an error. jinja2 is loaded only here."""
    from pathlib import Path

    from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
    from markupsafe import Markup

    folder = Path(__file__).with_name("templates")
    made = Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=pass_context(_in_units),
    )
    made.filters.update(
        money=money,
        percent=percent,
        chance=chance,
        moved=moved,
        figured=figured,
        count=_count,
        price_note=line_note,
        anchor=anchor,
    )
    # in a style element nothing is unescaped: an escaped quote would void its whole line
    styles = {name: Markup((folder / f"{name}.css").read_text(encoding="utf-8")) for name in ("paper", "sheet")}
    made.globals.update(advice=ADVICE, style=styles["paper"], sheet_style=styles["paper"] + styles["sheet"])
    return made


def _in_units(context: Any, value: Any) -> Any:
    """What a template prints, with its figures in the shop's units where the page was given them."""
    if type(value) is not str:  # neither drawn pictures nor a person's own words
        return value
    return in_prose(value, context.get("units") or "")


def figured(step: SheetStep, units: str) -> Any:
    """The text of a step, its figures marked to be set large."""
    from markupsafe import Markup, escape

    text, rest = Markup(""), step.text
    for figure in step.figures:
        before, found, rest = rest.partition(figure)
        text += escape(in_prose(before, units)) + Markup('<b class="fig">{}</b>').format(in_prose(found, units))
    return text + escape(in_prose(rest, units))


def anchor(key: str) -> str:
    """The id of an entry of the rule base on its page."""
    return key.replace("/", "-", 1)


def _count(value: Decimal) -> str:
    """A quantity without needless zeros."""
    return f"{value.normalize():f}"
