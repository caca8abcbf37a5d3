"""A price list begun and changed: figures put where they belong, comments and layout of the rest kept."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError, StaleFile
from ..files.edit_yaml import edited
from ..files.plain_yaml import dump_inline
from ..files.strict_yaml import Document, digest_of, read
from ..files.whole import locked, write_whole
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.prices import TABLES, TERMS, PriceList
from .asked import title_of
from .marks import figures_in
from .places import keys_of
from .read import check_text

_ORDER = (
    "name",
    "date",
    "currency",
    "example",
    "old_after_days",
    "labour_rate",
    "tax_percent",
    "tax_on",
    "supplies_percent",
    "comeback_charge",
    "towing",
    "growth_factor",
    "growth_charge",
    "reopening",
    "replacement",
    "teardown_inspection",
    "look_inside",
    "look_credit_percent",
    "deposit_percent",
    "wait_up_to",
    "risk",
    "promise_floor",
    "firm_floor",
    "valid_days",
    "machine",
    "parts",
    "engine_parts",
    "hours",
    "shop",
)
HEAD = """\
# A price list for howdeep: what work costs at one shop. Every figure marked `example: true` is an invented example and
# not yours. Put your own in its place, `piston: "88.00"`, or let 'howdeep prices new' ask for it.
# A figure may carry the day it holds from: `piston: {figure: "88.00", date: 2026-01-31}`; without one the date of the
# list holds. What is older than old_after_days is called old wherever it is used. A part that is left out has no price:
# quotes say so and add up the rest.
"""


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of the shop's own, to be put into its list."""

    text: str
    date: str
    """Day from which it holds (ISO)."""


def new_list(knowledge: Knowledge, example: PriceList, *, name: str, currency: str, date: str) -> str:
    """The text of a new list: every figure of the example, marked as one."""

    def marked(text: str) -> str:
        return dump_inline({"figure": text, "example": True})

    lines = [
        HEAD,
        *(
            f"{key}: {dump_inline(value)}\n"
            for key, value in (
                ("name", name),
                ("date", date),
                ("currency", currency),
                ("old_after_days", example.old_after_days),
            )
        ),
    ]
    for key in _ORDER[5:]:
        value = getattr(example, key)
        if key in TERMS and value:
            lines.append(f"{key}: {marked(value)}\n")
        elif key == "tax_on":
            lines.append(f"{key}: {dump_inline(list(value))}\n")
        elif key in ("promise_floor", "firm_floor", "valid_days"):
            lines.append(f"{key}: {value}\n")
        elif key in TABLES and value:
            lines.append(f"{key}:\n")
            lines += [
                f"  {item}: {marked(text)}  # {title_of(knowledge, f'{key}.{item}')}\n" for item, text in value.items()
            ]
    return "".join(lines)


def create_list(path: Path, text: str) -> str:
    """Write a new list; returns its digest. Raises HowdeepError where the file exists."""
    write_whole(path, text.encode(), force=False)
    return digest_of(text.encode())


def put_figures(
    path: Path,
    knowledge: Knowledge,
    figures: Mapping[str, Figure | None],
    *,
    others: Mapping[str, Any] | None = None,
    digest: str = "",
) -> str:
    """Put figures into a list by place (None takes one out), and plain values of other fields; returns the new digest.

    The new text is checked before it is written. Raises HowdeepError with every fault (nothing is then saved),
    StaleFile where the file is not the one with `digest`.
    """
    path = Path(path)
    with locked(path):
        document = read(path)
        if digest and document.digest != digest:
            raise StaleFile(Fault(str(path), 0, 0, "was changed by someone else meanwhile; nothing was saved"))
        if not isinstance(document.value, dict):
            raise HowdeepError(document.fault((), "is not a price list"))
        text = text_with(document, knowledge, figures, others or {})
        write_whole(path, text.encode(), digest=document.digest)
    return digest_of(text.encode())


def text_with(
    document: Document, knowledge: Knowledge, figures: Mapping[str, Figure | None], others: Mapping[str, Any]
) -> str:
    """The text of a list with figures and other fields put in. Raises HowdeepError with every fault that it would
    have."""
    after = changed(document.value, figures, others)
    text = edited(document.text, document.value, after, _ORDER, inline=True)
    check_text(text, document.file, knowledge)
    return text


def _each_marked(plain: Mapping[str, Any]) -> dict[str, Any]:
    """A list that is an example as a whole, with the mark on each figure instead."""
    after = {key: value for key, value in plain.items() if key != "example"}
    for place, value in figures_in(dict(plain)):
        here = after
        for table in place[:-1]:
            here[table] = {**here[table]}
            here = here[table]
        bare = value if isinstance(value, dict) else {"figure": value}
        here[place[-1]] = {**bare, "example": True}
    return after


def changed(
    plain: Mapping[str, Any], figures: Mapping[str, Figure | None], others: Mapping[str, Any]
) -> dict[str, Any]:
    """The plain list with figures put in their places. Of a list that is an example as a whole every other figure is
    marked as one, so that those put in are the shop's own."""
    after = {**(_each_marked(plain) if plain.get("example") is True else plain), **others}
    for place, figure in figures.items():
        *tables, name = keys_of(place)
        here = after
        for table in tables:
            inner = here.get(table)
            here[table] = {**inner} if isinstance(inner, dict) else {}
            here = here[table]
        if figure is None:
            here.pop(name, None)
        elif figure.date == str(plain.get("date")):
            here[name] = figure.text
        else:
            here[name] = {"figure": figure.text, "date": figure.date}
    return {key: value for key, value in after.items() if value != {} or plain.get(key) == {}}
