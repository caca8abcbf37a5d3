"""A group of a sheet filled in at once, as a form does: what is sound is saved, what is not comes back with reasons."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field
from typing import Any

from ..errors import HowdeepError, StaleFile
from ..model.frozen import dataclass
from ..model.quantity import DIMENSION
from ..model.sheet_form import SheetField
from .doubts import figures_questioned, said_against
from .draft import CONFIRMED, Draft, doubt_of, fields_of, saved, value_at, with_values
from .printed import Unreadable, printed
from .printed_spans import UnitWanted
from .printed_units import OFFERED, unit_named
from .slips import likely_slips
from .tightening import said as torque_said

TRIES = 8


@dataclass(frozen=True, slots=True)
class Back:
    """A field that was not saved, and why."""

    typed: str
    lines: tuple[str, ...]
    slips: tuple[tuple[str, str], ...] = ()
    """(what would be typed, which slip it mends)."""
    may_keep: bool = False
    """True where a tick that it is right as typed saves it."""


@dataclass(frozen=True, slots=True)
class Filled:
    """What became of a group."""

    draft: Draft
    said: dict[str, str] = field(default_factory=dict)
    """Path -> how it was read, of what was saved."""
    back: dict[str, Back] = field(default_factory=dict)
    """Path -> what was not saved."""


def as_typed(value: Any, form: SheetField) -> str:
    """A value of the sheet as it could be typed: reading it gives the value again."""
    if value is None:
        return ""
    if form.kind == "band" and isinstance(value, Mapping):
        low, high, wear = (str(value.get(part) or "") for part in ("low", "high", "wear"))
        band = f"{low} to {high}" if low and high else low or (f"up to {high}" if high else "")
        return ", ".join(filter(None, (band, f"limit {wear}" if wear else "")))
    if form.kind == "torque" and isinstance(value, Mapping):
        stages = [str(item) for item in value.get("stages") or ()][:-1]
        figure = f"{value['least']} to {value['value']}" if value.get("least") else str(value.get("value", ""))
        rest = [
            str(value.get("size") or ""),
            f"grade {value['grade']}" if value.get("grade") else "",
            f"{value['count']} off" if value.get("count") else "",
            {"yes": "oiled", "no": "dry"}.get(str(value.get("lubricated") or ""), ""),
        ]
        return " ".join(filter(None, [", ".join([*stages, figure]), *rest]))
    if form.kind == "sizes":
        return ", ".join(map(str, value))
    if form.kind == "order":
        return "-".join(map(str, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def text_at(draft: Draft, path: str) -> str:
    """What stands in the field of a form: nothing for what is only assumed."""
    form = draft.form.field(path)
    return "" if form is None or path in draft.assumed else as_typed(value_at(draft.plain, path), form)


def units_in(draft: Draft, group: str) -> dict[str, str]:
    """Dimension -> unit of the group's figures, for each that it has; empty where no figure tells."""
    found: dict[str, str] = {}
    for path, form in fields_of(draft.form.groups[group], draft).items():
        if form.unit and len(OFFERED.get(DIMENSION[form.unit], ())) > 1:
            words = text_at(draft, path).replace(",", " ").split()
            unit = next((word for word in words if word in DIMENSION and DIMENSION[word] == DIMENSION[form.unit]), "")
            found[DIMENSION[form.unit]] = found.get(DIMENSION[form.unit]) or unit
    return found


def fill_group(open_draft: Callable[[], Draft], group: str, typed: Mapping[str, str]) -> Filled:
    """Save what a form holds for a group. `typed`: path -> text, 'was.<path>' what stood there when the form was made,
    'unit.<dimension>' the unit of bare figures, 'slip.<path>' a reading that was chosen instead, 'sure.<path>' that an
    odd figure is right. Raises HowdeepError where the file cannot be read or written."""
    units = {name.removeprefix("unit."): unit for name, unit in typed.items() if name.startswith("unit.") and unit}
    units = {
        dimension: unit for dimension, unit in units.items() if dimension in OFFERED and unit_named(unit, dimension)
    }
    units |= {dimension: offered[0] for dimension, offered in OFFERED.items() if len(offered) == 1}
    draft = open_draft()
    filled = Filled(draft)
    for path, form in fields_of(draft.form.groups[group], draft).items():
        was = typed.get(f"was.{path}", "")
        text = " ".join((typed.get(f"slip.{path}") or typed.get(path, was)).split())
        if path not in typed or text == was:
            continue
        filled = _one(filled, open_draft, path, form, text, was, units, f"sure.{path}" in typed)
    return filled


def _one(
    filled: Filled,
    open_draft: Callable[[], Draft],
    path: str,
    form: SheetField,
    text: str,
    was: str,
    units: Mapping[str, str],
    sure: bool,
) -> Filled:
    """One field read, doubted or saved."""

    def returned(draft: Draft, *lines: str, slips: tuple[tuple[str, str], ...] = (), may_keep: bool = False) -> Filled:
        return Filled(draft, filled.said, {**filled.back, path: Back(text, lines, slips, may_keep)})

    draft = filled.draft
    for _ in range(TRIES):
        here = text_at(draft, path)
        if here not in (was, text):
            return returned(
                draft, f"Somebody else saved '{here or 'nothing'}' here meanwhile. Save again to put yours in."
            )
        values: dict[str, Any] = {path: None}
        said, explicit = "blank", False
        if text:
            try:
                made = printed(text, path, form, units)
            except UnitWanted as wanted:
                return returned(
                    draft, f"In what unit? Choose one of {', '.join(OFFERED[wanted.dimension])} above, or type it."
                )
            except Unreadable as error:
                return returned(
                    draft,
                    f"{str(error)[:1].upper()}{str(error)[1:]}.",
                    *([f"Type it like: {form.like}"] if form.like else []),
                )
            kept = made.value
            if form.kind in ("band", "torque") and (source := (value_at(draft.plain, path) or {}).get("source")):
                kept = {**kept, "source": source}
            values, said, explicit = {path: kept, **made.others}, made.said, made.explicit
        plain = with_values(draft, values)
        doubt = doubt_of(draft, plain)
        if doubt and not doubt.refused and (sure or (explicit and doubt.only_units)):
            plain = with_values(draft, values, dict.fromkeys(figures_questioned(doubt), CONFIRMED))
        elif doubt:
            slips = likely_slips(
                draft, path, values[path], {name: item for name, item in values.items() if name != path}
            )
            offered = tuple((as_typed(slip.value, form), slip.why) for slip in slips)
            return returned(draft, *said_against(draft.form, doubt), slips=offered, may_keep=not doubt.refused)
        try:
            draft = saved(draft, plain)
        except StaleFile:
            draft = open_draft()
            continue
        shown = torque_said(values[path]) if form.kind == "torque" and values[path] else said
        return Filled(draft, {**filled.said, path: shown}, filled.back)
    raise HowdeepError("Another program keeps writing this sheet, so this was not saved. Save again.")
