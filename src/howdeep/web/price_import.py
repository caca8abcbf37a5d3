"""The routes that take prices from a supplier's table: what matched is shown; nothing is written before a tick."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path

from flask import Flask, redirect, render_template, request

from ..assessment.session import Shop
from ..clock import date_today
from ..errors import HowdeepError
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..pricing.asked import title_of
from ..pricing.csv_import import MAX_BYTES, table_of
from ..pricing.matching import Match, matched
from ..pricing.read import example_prices, load_prices
from ..pricing.stand_ins import with_stand_ins
from ..pricing.write import Figure, put_figures
from ..sheets.choices import engine_choices
from ..show.import_text import KINDS, SEPARATORS
from .guard import Again
from .live import LiveShop, look_again
from .price_saving import refuse_odd
from .saving import EXPIRED, fault_lines

MOST = 400
"""Rows of one kind that the page shows and offers."""
NONE_YET = "There is no price list of your own yet; begin it first, then take prices into it."


@dataclass(frozen=True, slots=True)
class Line:
    """One row of the table as the page shows it."""

    line: int
    part: str
    price: str
    why: str
    before: str
    """The shop's own figure that stands there now; empty where there is none."""
    offers: tuple[tuple[str, str], ...]
    """(what a tick sends, what it would be taken for), the likeliest first."""


@dataclass(frozen=True, slots=True)
class Group:
    """The rows of one kind."""

    kind: str
    mark: str
    title: str
    count: int
    share: float
    """Length of its bar, of 99."""
    lines: tuple[Line, ...]


def add_price_import(app: Flask, folder: Path, shop: Shop, live: LiveShop, again: Again) -> None:
    """Add the routes to the application."""

    def page(faults: tuple[str, ...] = (), groups: Sequence[Group] = (), told: str = ""):
        return render_template(
            "prices_import.html",
            faults=faults,
            groups=groups,
            told=told,
            form=request.form,
            begun=live.begun_prices() is not None,
            most=MOST,
            currency=shop.prices.currency,
            choices=engine_choices(shop.folders, folder),
        )

    @app.route("/prices/import", methods=["GET", "POST"])
    def price_table():
        if request.method == "GET":
            return page()
        path, sent = live.begun_prices(), request.files.get("table")
        if path is None:
            return page((NONE_YET,)), 409
        if sent is None or not sent.filename:
            return page(("Choose the table first: a CSV file, as a spreadsheet or a supplier writes it.",)), 422
        engine = request.form.get("engine", "")
        try:
            if engine and engine not in {one.id for one in engine_choices(shop.folders, folder)}:
                raise HowdeepError("Choose the engine from the list.")
            raw = sent.stream.read(MAX_BYTES + 1)
            if len(raw) > MAX_BYTES:
                raise HowdeepError(f"The table is larger than {MAX_BYTES // 1_000_000} MB.")
            read = table_of(
                raw,
                "",
                shop.prices.currency,
                part_column=request.form.get("part", "").strip(),
                price_column=request.form.get("price", "").strip(),
            )
        except HowdeepError as error:
            return page(fault_lines(error)), 422
        prices = with_stand_ins(shop.prices, load_prices(example_prices(), shop.knowledge))
        found = matched(shop.knowledge, read.rows, prices, engine)
        decimal = {",": "decimal comma", ".": "decimal point"}.get(read.decimal, "whole figures")
        return page(
            groups=_groups(shop.knowledge, found),
            told=(
                f"{len(read.rows)} rows; part from '{read.part_column}', price from '{read.price_column}'; "
                f"{SEPARATORS.get(read.separator, read.separator)} between cells, {decimal}, {read.encoding}."
            ),
        )

    @app.post("/prices/import/take")
    def take_prices():
        path = live.begun_prices()
        if path is None:
            return page((NONE_YET,)), 409
        try:
            refuse_odd(path)
            figures = _ticked(request.form.getlist("take"), date_today())
            if not figures:
                raise HowdeepError("Nothing was ticked, so nothing was written. Choose the table again.")
            put_figures(path, shop.knowledge, figures)
            look_again()
        except HowdeepError as error:
            return page(fault_lines(error)), 422
        return redirect(f"/prices?taken={len(figures)}", 303)

    again.update({"price_table": lambda: page((EXPIRED,)), "take_prices": lambda: page((EXPIRED,))})


def _ticked(sent: Iterable[str], date: str) -> dict[str, Figure]:
    """Place -> figure of every tick. Raises HowdeepError for what is no price, and for two prices of one thing."""
    figures: dict[str, Figure] = {}
    for text in filter(None, sent):
        place, _, price = text.partition(" ")
        try:
            amount = Decimal(price)
        except InvalidOperation:
            amount = Decimal(0)
        if not amount.is_finite() or amount <= 0 or place.partition(".")[0] not in ("parts", "machine", "engine_parts"):
            raise HowdeepError(f"'{text[:80]}' is no price of a part. Choose the table again.")
        figure = Figure(f"{amount}", date)
        if figures.setdefault(place, figure) != figure:
            raise HowdeepError(
                f"Two rows give one thing different prices, {figures[place].text} and {figure.text}: "
                "tick one of them. Choose the table again."
            )
    return figures


def _groups(knowledge: Knowledge, found: Sequence[Match]) -> list[Group]:
    groups = []
    for kind, mark, title in KINDS:
        rows = [match for match in found if match.kind == kind]
        if rows:
            groups.append(
                Group(
                    kind,
                    mark,
                    title,
                    len(rows),
                    round(99 * len(rows) / len(found), 1),
                    tuple(_line(knowledge, match) for match in rows[:MOST]),
                )
            )
    return groups


def _line(knowledge: Knowledge, match: Match) -> Line:
    row = match.row
    offers = (
        tuple((f"{place} {row.price}", title_of(knowledge, place)) for place in match.places)
        if row.price is not None and match.kind in ("exact", "near")
        else ()
    )
    return Line(
        row.line,
        row.part or "(no name)",
        f"{row.price:,.2f}" if row.price is not None else row.shown,
        match.why,
        match.before,
        offers,
    )


__all__ = ["Group", "Line", "add_price_import"]
