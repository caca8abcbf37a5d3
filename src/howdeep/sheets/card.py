"""The spec card of an engine sheet as a value: every figure a shop looks for, and a blank where nobody knows it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import MISSING, fields, replace
from typing import Any

from ..errors import Fault
from ..model.engine import Build
from ..model.frozen import dataclass
from ..model.sheet_form import SheetField, SheetForm
from .draft import Draft, fields_of, value_at
from .tightening import said as torque_said

BLANK = "________"
_DEFAULTS = {f"build.{item.name}": item.default for item in fields(Build) if item.default is not MISSING}
"""What is taken of a build where its sheet does not say."""
USUAL = "as is usual for such an engine; nobody has looked"


@dataclass(frozen=True, slots=True)
class CardRow:
    """One figure or word of the card."""

    label: str
    text: str
    """The figure, or a blank."""
    usual: bool = False
    """True where nobody has looked and what is usual stands in."""

    @property
    def known(self) -> bool:
        return self.text != BLANK


@dataclass(frozen=True, slots=True)
class CardPart:
    """The rows under one heading."""

    title: str
    rows: tuple[CardRow, ...]
    words: bool = False
    """True where the rows are short words that can stand one behind the other."""


@dataclass(frozen=True, slots=True)
class Card:
    """The whole card."""

    id: str
    name: str
    note: str
    parts: tuple[CardPart, ...]
    doubts: tuple[str, ...]
    """What is questioned in the sheet."""
    sources: tuple[str, ...]
    """What the figures stand on."""

    @property
    def filled(self) -> tuple[int, int]:
        """(figures and words that are known, all that such an engine has)."""
        rows = [row for part in self.parts for row in part.rows]
        return sum(row.known and not row.usual for row in rows), len(rows)


def card_of(draft: Draft, questions: Sequence[Fault] = ()) -> Card:
    """The card of a sheet that can be used."""
    parts = []
    built = [*_rows(draft, "first"), *_rows(draft, "build")]
    figures = [row for path, row in built if not path.startswith("build.") and path != "note"]
    parts.append(CardPart("Build", tuple(row for path, row in built if path.startswith("build.")), words=True))
    for name, group in draft.form.groups.items():
        if name == "first" or name == "build":
            continue
        rows = [row for _, row in _rows(draft, name)]
        if name == "compression":
            rows = [*figures, *rows]
        parts.append(CardPart(group.title if name != "compression" else "Bore, stroke, compression", tuple(rows)))
    other = [
        CardRow(f"{name.replace('_', ' ')}", torque_said(item))
        for name, item in (draft.plain.get("torques") or {}).items()
        if draft.form.field(f"torques.{name}") is None
    ]
    hours = [
        CardRow(name.replace("_", " "), f"{item:g} h")
        for name, item in (draft.plain.get("hours") or {}).items()
        if draft.form.field(f"hours.{name}") is None
    ]
    more = {_title(draft.form, "torques"): other, _title(draft.form, "hours"): hours}
    parts = [
        replace(
            part,
            rows=(*part.rows, *more.get(part.title, ())),
            words=part.words or part.title == _title(draft.form, "hours"),
        )
        for part in parts
    ]
    sources = tuple(
        dict.fromkeys(
            " ".join(filter(None, (str(item.get("standing", "")), str(item.get("of", "")), str(item.get("where", "")))))
            for item in draft.plain.get("source") or ()
            if isinstance(item, Mapping)
        )
    )
    return Card(
        draft.id,
        str(draft.plain.get("name", "")),
        " ".join(str(draft.plain.get("note") or "").split()),
        tuple(parts),
        tuple(fault.message for fault in questions),
        sources,
    )


def _title(form: SheetForm, name: str) -> str:
    return form.groups[name].title if name in form.groups else ""


def _rows(draft: Draft, name: str) -> list[tuple[str, CardRow]]:
    """The rows of one group, by path."""
    if name not in draft.form.groups:
        return []
    result = []
    for path, field in fields_of(draft.form.groups[name], draft).items():
        value = value_at(draft.plain, path)
        usual = path in draft.assumed
        if value is None and path in _DEFAULTS:
            value, usual = _DEFAULTS[path], True
        if value is None and (path.startswith("hours.") or field.seldom):
            continue  # hours of the price list stand in; what few makers print is no blank
        text = shown(value, field) if value is not None else ""
        result.append((path, CardRow(field.label, text or BLANK, usual)))
    return result


def shown(value: Any, field: SheetField) -> str:
    """A plain value of the sheet as a person reads it, short: '0.013-0.019 in, limit 0.040'."""
    if field.kind == "band" and isinstance(value, Mapping):
        return _band(value, field)
    if field.kind == "torque" and isinstance(value, Mapping):
        return _torque(value)
    if field.kind == "order":
        return "-".join(map(str, value))
    if field.kind == "sizes":
        return _row([str(item) for item in value])
    if field.kind == "ratio":
        return f"{value:g} to 1"
    if field.kind == "hours":
        return f"{value:g} h"
    return " ".join(str(value).replace("_", " ").split()) if field.kind == "word" else " ".join(str(value).split())


def _band(fit: Mapping[str, Any], field: SheetField) -> str:
    low, high, wear = (str(fit.get(part) or "") for part in ("low", "high", "wear"))
    text = _joined(low, high) if low and high else low or (f"up to {high}" if high else "")
    if not wear:
        return text
    word = {"less": "least", "amount": "wear limit"}.get(field.worn, "limit")
    unit = (low or high).rpartition(" ")[2]
    return ", ".join(filter(None, (text, f"{word} {wear.removesuffix(f' {unit}')}")))


def _torque(plain: Mapping[str, Any]) -> str:
    least, value = str(plain.get("least") or ""), str(plain.get("value") or "")
    parts = [_joined(least, value) if least else value]
    stages = [str(item) for item in plain.get("stages") or ()][:-1]
    parts += [f"by {_row(stages)}"] if stages else []
    parts += [str(plain["size"])] if plain.get("size") else []
    parts += [{"yes": "oiled", "no": "dry"}[plain["lubricated"]]] if plain.get("lubricated") else []
    return ", ".join(parts)


def _joined(low: str, high: str) -> str:
    """'0.013-0.019 in' where the unit is one, else both in full."""
    number, _, unit = low.rpartition(" ")
    if number and high.endswith(f" {unit}") and "/" not in low + high.removesuffix(unit):
        return f"{number}-{high}"
    return f"{low} to {high}"


def _row(items: list[str]) -> str:
    units = {item.rpartition(" ")[2] for item in items}
    if len(units) == 1 and items:
        unit = units.pop()
        return ", ".join(item.removesuffix(f" {unit}") for item in items) + f" {unit}"
    return ", ".join(items)
