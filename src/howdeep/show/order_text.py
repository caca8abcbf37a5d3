"""The order list in a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from ..quote.orders import SUPPLIERS, total_of
from ..quote.values import OrderLine, OrderList, SetOffer
from .layout import heading, indent, item
from .words import chance, money

HOUSES = {"engine parts": "Engine parts house", "electrical": "Electrical supplier", "general": "General store"}
NOT_YET = "Do not order yet: only if it is found"


def order_text(order: OrderList, *, general: str = "") -> Iterator[RenderableType]:
    """The order list: supplier by supplier, now and later, and what is held back."""
    yield Text("Order list", style="bold")
    for text in filter(None, (order.head, general)):
        yield item(text, "!")
    for supplier in SUPPLIERS:
        lines = tuple(line for line in order.lines if line.supplier == supplier)
        now, waiting = (tuple(line for line in lines if bool(line.waits_for) is waits) for waits in (False, True))
        if now:
            yield heading(f"{HOUSES[supplier]}: {order.now} ({money(total_of(now), order.currency)})")
        for line in now:
            yield item(line_text(line))
        if waiting:
            yield heading(f"{HOUSES[supplier]}: wait for a measurement")
        for line in waiting:
            yield item(line_text(line))
    if order.machine:
        yield heading("Machine shop")
    for work in order.machine:
        yield item(
            f"{work.quantity} x {work.title}"
            + (f", to {work.size}" if work.size else "")
            + (f"; take along: {', '.join(work.take_along).lower()}" if work.take_along else "")
            + (f", {money(work.amount)}" if work.amount is not None else "")
        )
    if order.sets:
        yield heading("A set, or single gaskets")
    for offer in order.sets:
        yield item(set_text(offer, order.currency))
    if order.hold_back:
        yield heading(NOT_YET)
    for held in order.hold_back:
        yield item(f"{held.quantity} x {held.title}: {held.only_if.lower()}, {chance(held.chance)}")
    if order.hold_back:
        yield indent("How often is judgement, not a count.")


def line_text(line: OrderLine) -> str:
    """'4 x Piston with pin, 0.020 in over (measured from bore diameter), 232.00'."""
    text = f"{line.quantity} x {line.title}"
    if line.size:
        text += f", {line.size}" + (f" (from {line.measured_from.lower()})" if line.measured_from else "")
    if line.waits_for:
        text += f" - after: {line.waits_for.lower()}"
    if line.sold_in:
        text += f"; sold in standard, {', '.join(line.sold_in)}"
    if line.amount is not None:
        text += f", {money(line.amount)}"
    return text + (f". Would do: {'; '.join(line.alternatives)}" if line.alternatives else "")


def set_text(offer: SetOffer, currency: str) -> str:
    """Which is cheaper, and by how much; what is asked for where a price is missing."""
    singles = f"{', '.join(offer.singles).lower()} one by one"
    besides = f" It also holds, not needed here: {', '.join(offer.unneeded).lower()}." if offer.unneeded else ""
    if offer.singles_price is None:
        return f"{offer.title}: takes the place of {singles}; not all of them have a price.{besides}"
    sum_text = f"{singles} come to {money(offer.singles_price, currency)}"
    if offer.price is None:
        return f"{offer.title}: {sum_text}; below that the set is cheaper. Ask its price.{besides}"
    apart = money(abs(offer.price - offer.singles_price), currency)
    told = (
        f"buy the set, {apart} less"
        if offer.price < offer.singles_price
        else f"buy them singly, {apart} less"
        if offer.price > offer.singles_price
        else "they come to the same"
    )
    return f"{offer.title}, {money(offer.price, currency)}: {told}; {sum_text}.{besides}"
