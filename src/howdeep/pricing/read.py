"""The shop's price list: found, read strictly, and refused with every fault at once."""

from __future__ import annotations

import dataclasses
import functools
import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError, nearest
from ..files.strict_yaml import Document, parse, read
from ..files.what_file import another_file
from ..knowledge.cache import file_cached
from ..knowledge.figure_guard import Doubt
from ..knowledge.plausible import plausible_files, plausible_table
from ..knowledge.validate import typed
from ..knowledge.where import shipped_rules
from ..model.knowledge import Knowledge
from ..model.prices import Mark, PriceList
from .guard import guard_prices
from .marks import figures_in, is_date, parted
from .money import MoneyError, read_money, read_percent

OPTIONAL = ("towing", "growth_charge", "reopening", "replacement", "teardown_inspection", "wait_up_to")
"""Sums that may stand empty: there is none."""
_PERCENT = ("supplies_percent", "tax_percent", "deposit_percent", "look_credit_percent")
_FLOORS = ("promise_floor", "firm_floor")
_MOST_HOURS = 400.0
FACTORS = (1.0, 3.0)
"""Least and most factor on work added at teardown."""


def example_prices() -> Path:
    """The price list that comes with the package: an invented shop's."""
    return shipped_rules() / "prices" / "example-shop.yaml"


def find_prices(option: str | Path | None = None, folder: str | Path | None = None) -> Path:
    """The price list to use: the option, else HOWDEEP_PRICES, else prices.yaml beside the job, else the example."""
    named = option or os.environ.get("HOWDEEP_PRICES") or None
    if named is not None:
        return Path(named)
    if folder is not None and os.path.lexists(Path(folder) / "prices.yaml"):  # a broken link is a fault, not a lack
        return Path(folder) / "prices.yaml"
    return example_prices()


def load_prices(path: str | Path, knowledge: Knowledge, engines: Iterable[str] | None = None) -> PriceList:
    """Read a price list against the rule base (and, where given, the ids of the engine sheets).

    Raises HowdeepError with all faults, each at its line: a missing or zero labour rate, a price that is negative, no
    plain decimal or in another currency, an unknown part, machine operation, operation or engine.
    """
    sheets = None if engines is None else sorted(engines)
    held = [
        file.read_text(encoding="utf-8", errors="replace")
        for file in (example_prices(), *plausible_files((), "prices"))
    ]
    also = (knowledge.version, *held, *(("any engine",) if sheets is None else sheets))
    prices = file_cached("prices", PriceList, Path(path), also, lambda: _read(path, knowledge, sheets))
    # the copy hangs on the content alone, and the same content may stand in another file
    return dataclasses.replace(prices, questions=tuple(f"{path}:{text}" for text in prices.questions))


def check_text(text: str, file: str, knowledge: Knowledge) -> PriceList:
    """The list that a text holds, which is to be saved under a name. Raises HowdeepError with all faults."""
    return _checked(parse(text, file), knowledge, None)


def _read(path: str | Path, knowledge: Knowledge, sheets: list[str] | None) -> PriceList:
    return _checked(read(path), knowledge, sheets)


@dataclasses.dataclass(frozen=True, slots=True)
class Checked:
    """What stands in a price list and what is wrong with it."""

    faults: list[Fault]
    questions: list[Fault]
    prices: PriceList | None


def _checked(document: Document, knowledge: Knowledge, sheets: list[str] | None) -> PriceList:
    checked = look_over(document, knowledge, sheets)
    if checked.prices is None:
        raise HowdeepError(checked.faults)
    return dataclasses.replace(
        checked.prices, questions=tuple(str(dataclasses.replace(item, file="")) for item in checked.questions)
    )


def look_over(document: Document, knowledge: Knowledge, sheets: list[str] | None) -> Checked:
    """Every fault and question of a list. Raises HowdeepError where it is none at all."""
    faults: list[Fault] = []
    if other := another_file(document, "price list"):
        raise HowdeepError(other)
    if not isinstance(document.value, dict):
        raise HowdeepError(document.fault((), "is not a price list", "start one with 'howdeep prices new FILE'"))
    plain = dict(document.value)
    for name in ("marks", "stand_ins", "questions"):
        if name in plain:
            del plain[name]
            faults.append(
                document.fault(
                    (name,),
                    f"'{name}' is not a field here",
                    "a mark stands with its figure: piston: {figure: 88.00, example: true}",
                    at_key=True,
                )
            )
    bare, marks = parted(document, plain, faults)
    _check_figures(document, bare, faults)
    faults.extend(_unknown(document, bare, knowledge, sheets))
    prices = typed(document, (), _without_faulty(bare), PriceList, faults)
    if prices is not None:
        faults.extend(_of_the_list(document, prices))
    refused, asked = _guarded(document, bare, marks, knowledge)
    faults.extend(refused)
    usable = None if faults or prices is None else dataclasses.replace(prices, marks=marks)
    return Checked(sorted(set(faults)), asked, usable)


def _guarded(
    document: Document, bare: dict[str, Any], marks: dict[str, Mark], knowledge: Knowledge
) -> tuple[list[Fault], list[Fault]]:
    """What is refused and what is questioned in the figures of a list, at their places."""
    found = held_figures(bare, marks, knowledge)

    def place(doubt: Doubt) -> Fault:
        marked = (*doubt.path, "figure")
        return document.fault(
            marked if marked in document.places else doubt.path, doubt.message, doubt.hint, at_key=doubt.at_key
        )

    refused, asked = ([place(item) for item in part] for part in found)
    return refused, sorted(asked)


def held_figures(bare: dict[str, Any], marks: dict[str, Mark], knowledge: Knowledge) -> tuple[list[Doubt], list[Doubt]]:
    """What is refused and what is questioned in a plain list with bare figures and their marks."""
    example = _example(example_prices().read_bytes())
    examples = [
        path
        for path, _ in figures_in(bare)
        if marks.get(".".join(path), Mark(example=bare.get("example") is True)).example
    ]
    return guard_prices(bare, examples, example, knowledge, plausible_table((), "prices").values())


@functools.lru_cache(maxsize=1)
def _example(content: bytes) -> dict[str, Any]:
    """The example list, plain, with bare figures."""
    document = parse(content.decode("utf-8"), "the example list")
    return parted(document, document.value, [])[0]


def _without_faulty(plain: Any) -> Any:
    """The list with something harmless for figures that are faults already, so that the shape is checked once."""
    return (
        {key: "0" if value is None else _without_faulty(value) for key, value in plain.items()}
        if isinstance(plain, dict)
        else plain
    )


def _check_figures(document: Document, bare: dict[str, Any], faults: list[Fault]) -> None:
    """Every figure a price, percentage or factor of its kind, in the currency of the list."""
    currency = str(bare.get("currency", ""))
    if currency and not (len(currency) == 3 and currency.isalpha() and currency.isupper()):
        faults.append(
            document.fault(("currency",), f"'{currency}' is not a currency of three capital letters", "for example USD")
        )
        currency = ""
    for where, value in figures_in(bare):
        if value is None:
            continue
        text, place = str(value), (*where, "figure")
        try:
            if where[0] in _PERCENT:
                if read_percent(text) > 100 and where[0] != "tax_percent":
                    faults.append(document.fault(place, f"'{text}' is more than 100 percent"))
            elif where[0] == "growth_factor":
                _check_factor(document, place, text, faults)
            elif text or where[0] not in OPTIONAL:
                amount = read_money(text, currency or text.strip()[:3])
                if where == ("labour_rate",) and not amount:
                    faults.append(document.fault(place, "the labour rate is 0; without it no work has a price"))
        except MoneyError as error:
            faults.append(document.fault(place, str(error)))


def _check_factor(document: Document, place: tuple[str, ...], text: str, faults: list[Fault]) -> None:
    try:
        factor = float(text)
    except ValueError:
        factor = -1.0
    if not FACTORS[0] <= factor <= FACTORS[1]:
        faults.append(
            document.fault(
                place,
                f"'{text}' is not a factor from 1 to 3",
                "1.10 means that work added at teardown costs a tenth more",
            )
        )


def _of_the_list(document: Document, prices: PriceList) -> Iterator[Fault]:
    """Faults of what is no figure: dates, hours, floors, days."""
    if not is_date(prices.date):
        yield document.fault(("date",), f"'{prices.date}' is not a date such as 2026-01-31")
    for field in _FLOORS:
        chance = getattr(prices, field)
        if not 0 <= chance <= 1:
            yield document.fault(
                (field,),
                f"'{chance:g}' is not a chance from 0 to 1",
                f"write {chance / 100:g} for {chance:g} percent" if 1 < chance <= 100 else "",
            )
    for operation, hours in prices.hours.items():
        if not 0 < hours <= _MOST_HOURS:
            yield document.fault(("hours", operation), f"'{hours:g}' hours is not more than 0 and at most 400")
    for field, what in (("valid_days", "a quote holds for at least one"), ("old_after_days", "give one or more")):
        if getattr(prices, field) < 1:
            yield document.fault((field,), f"'{getattr(prices, field)}' days: {what}")


def _unknown(
    document: Document, plain: dict[str, Any], knowledge: Knowledge, sheets: list[str] | None
) -> Iterator[Fault]:
    """Names that the rule base (or the folder of engine sheets) does not have."""

    def table(field: str) -> dict[Any, Any]:
        return plain[field] if isinstance(plain.get(field), dict) else {}

    kinds = (
        ("parts", knowledge.parts, "part"),
        ("machine", knowledge.machining, "machine-shop operation"),
        ("hours", knowledge.operations, "operation"),
    )
    for field, known, what in kinds:
        for name in table(field):
            if name not in known:
                yield document.fault(
                    (field, name), f"there is no {what} '{name}' in the rule base", nearest(name, known), at_key=True
                )
    for engine, parts in table("engine_parts").items():
        if sheets is not None and engine not in sheets:
            yield document.fault(
                ("engine_parts", engine), f"there is no engine sheet '{engine}'", nearest(engine, sheets), at_key=True
            )
        for name in parts if isinstance(parts, dict) else ():
            if name not in knowledge.parts:
                yield document.fault(
                    ("engine_parts", engine, name),
                    f"there is no part '{name}' in the rule base",
                    nearest(name, knowledge.parts),
                    at_key=True,
                )
