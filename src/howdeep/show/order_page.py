"""The order list as one self-contained HTML page."""

from __future__ import annotations

from ..model.prices import Letterhead
from ..model.results import Assessment
from ..quote.orders import SUPPLIERS, total_of
from ..quote.values import OrderList
from .order_text import HOUSES, NOT_YET, set_text
from .sheet_page import rendered


def order_page(
    order: OrderList, answer: Assessment, *, shop: Letterhead | None = None, units: str = "", back: str = ""
) -> str:
    """Supplier by supplier: what is ordered now, what waits for a measurement, and what is held back."""
    houses = []
    for supplier in SUPPLIERS:
        for waits, title in ((False, order.now), (True, "wait for a measurement")):
            lines = tuple(line for line in order.lines if line.supplier == supplier and bool(line.waits_for) is waits)
            houses.append((f"{HOUSES[supplier]}: {title}", lines, total_of(lines)))
    return rendered(
        "order.html",
        answer,
        {"shop": shop, "units": units, "back": back},
        houses=houses,
        order=order,
        not_yet=NOT_YET,
        sets=[set_text(offer, order.currency) for offer in order.sets],
    )
